"""The pages with readings: the week's, those of four weeks, and their charts."""

from __future__ import annotations

from openpyxl.worksheet.worksheet import Worksheet

from .charts import add_charts
from .look import DATE, PLAIN, SHORT_DATE, Column, Value
from .paper import Paper, freeze

CHARTS = "Charts"


def readings_page(paper: Paper) -> None:
    """The readings of the week, bed by bed, each with its place in the log."""
    figures = paper.figures
    unit = figures.unit_label
    columns = [
        Column("Bed", 9),
        Column("Date", 12, SHORT_DATE),
        Column("pH", 8, "0.0#"),
        Column(f"EC\n[{unit('readings.ec')}]", 9, "0.00"),
        Column(f"water\n[{unit('readings.temperature')}]", 9, "0.0"),
        Column(f"depth\n[{unit('readings.depth')}]", 9, "0.00"),
        Column(f"water added\n[{unit('readings.water_added')}]", 12, PLAIN),
        Column(f"feed added\n[{unit('readings.feed_added')}]", 12, PLAIN),
        Column("Notes", 34, wrap=True),
        Column("In the log", 18),
    ]
    page = paper.page("Readings", "Readings of the week", columns, landscape=True)
    heading = page.row
    rows: list[list[Value]] = []
    for reading in figures.in_week:
        numbers = [reading.ph, reading.ec, reading.temperature, reading.depth, reading.water_added, reading.feed_added]
        rows.append([reading.bed, reading.date, *numbers, reading.notes, f"{reading.sheet}, row {reading.row}"])
    page.table(columns, rows)
    if not rows:
        page.line("No reading in this week.")
    freeze(page, heading, 2)


def charts_page(paper: Paper) -> None:
    """pH and EC of each bed over four weeks, all on the same scales; the charts come with the readings they show."""
    page = paper.page(CHARTS, "pH and EC, the last four weeks", [Column("", 8)] * 12, landscape=False)
    if not paper.figures.history:
        page.line("No reading in these weeks.")


def history_page(paper: Paper) -> None:
    """The readings of four weeks, and the charts that show them."""
    figures = paper.figures
    columns = [
        Column("Bed", 9),
        Column("Date", 13, DATE),
        Column("pH", 9, "0.0#"),
        Column(f"EC [{figures.unit_label('readings.ec')}]", 14, "0.00"),
        Column(f"water [{figures.unit_label('readings.temperature')}]", 14, "0.0"),
    ]
    page = paper.page("History", "Four weeks of readings", columns, landscape=False, width=len(columns) + 2)
    heading = page.row
    rows: list[list[Value]] = [[r.bed, r.date, r.ph, r.ec, r.temperature] for r in figures.history]
    first, _ = page.table(columns, rows)
    freeze(page, heading)
    places: dict[str, tuple[int, int]] = {}
    for row, reading in enumerate(figures.history, first):
        start, _ = places.get(reading.bed, (row, row))
        places[reading.bed] = (start, row)
    charts = paper.book[CHARTS]
    assert isinstance(charts, Worksheet)
    if places:
        add_charts(charts, heading, page.sheet, places, figures)
