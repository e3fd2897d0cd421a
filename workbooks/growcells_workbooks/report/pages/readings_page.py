"""The page with the readings of the week."""

from __future__ import annotations

from ...sheets.table_columns import PLAIN, SHORT_DATE, Column, Value, mass_format
from .paper import Paper, finish, freeze

CLOCK = "h:mm"


def readings_page(paper: Paper) -> None:
    """The readings of the week, bed by bed, each with its place in the log."""
    figures = paper.figures
    unit, feed = figures.unit_label, figures.unit_label("readings.feed_added")
    timed = any(reading.time for reading in figures.in_week)
    columns = [
        paper.bed_column(10),
        Column("Date", 12, SHORT_DATE),
        *([Column("Time", 8, CLOCK)] if timed else []),
        Column("pH", 8, "0.0#"),
        Column(f"EC\n[{unit('readings.ec')}]", 9, "0.00"),
        Column(f"water\n[{unit('readings.temperature')}]", 9, "0.0"),
        Column(f"depth\n[{unit('readings.depth')}]", 9, "0.00"),
        Column(f"water added\n[{unit('readings.water_added')}]", 12, PLAIN),
        Column(f"feed added\n[{feed}]", 12, mass_format(feed)),
        Column("Notes", 38, wrap=True),
        Column("In the log", 22, wrap=True),
    ]
    page = paper.page("Readings", "Readings of the week", columns, landscape=True)
    heading = page.row
    rows: list[list[Value]] = []
    for reading in figures.in_week:
        numbers = [reading.ph, reading.ec, reading.temperature, reading.depth, reading.water_added, reading.feed_added]
        when = [reading.date, reading.time] if timed else [reading.date]
        rows.append([reading.bed, *when, *numbers, reading.notes, reading.place])
    page.table(columns, rows)
    if not rows:
        page.line("No reading in this week.")
    freeze(page, heading, 2)
    finish(page)
