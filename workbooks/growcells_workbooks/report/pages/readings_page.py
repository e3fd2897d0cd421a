"""The page with the readings of the week."""

from __future__ import annotations

from collections.abc import Iterator

from ...sheets.table_columns import PLAIN, SHORT_DATE, Column, Value, mass_format
from .material import Material, used
from .page import Block, Page, Table, Text

CLOCK = "h:mm"


def readings_page(material: Material) -> Iterator[Page]:
    """The readings of the week, bed by bed, each with its place in the log."""
    figures = material.figures
    unit, feed = figures.unit_label, figures.unit_label("readings.feed_added")
    timed = any(reading.time for reading in figures.in_week)
    columns = [
        material.bed_column(9, 14),
        Column("Date", 11, SHORT_DATE),
        *([Column("Time", 6, CLOCK)] if timed else []),
        Column("pH", 6, "0.0#"),
        Column(f"EC\n[{unit('readings.ec')}]", 8, "0.00"),
        Column(f"water\n[{unit('readings.temperature')}]", 7, "0.0"),
        Column(f"depth\n[{unit('readings.depth')}]", 7, "0.00"),
        Column(f"water\nin [{unit('readings.water_added')}]", 8, PLAIN),
        Column(f"feed\nin [{feed}]", 8, mass_format(feed)),
        Column("Notes", 21, wrap=True),
        Column("In the log", 14, wrap=True),
    ]
    rows: list[list[Value]] = []
    for reading in figures.in_week:
        numbers = [reading.ph, reading.ec, reading.temperature, reading.depth, reading.water_added, reading.feed_added]
        when = [reading.date, reading.time] if timed else [reading.date]
        rows.append([reading.bed, *when, *numbers, reading.notes, reading.place])
    blocks: list[Block] = [used(Table(columns, rows, frozen_columns=2))]
    if not rows:
        blocks.append(Text("The log has no reading in this week."))
    yield material.page("Readings", "Readings of the week", blocks, behind=True)
