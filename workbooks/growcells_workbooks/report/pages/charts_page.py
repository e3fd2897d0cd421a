"""The pages with charts: the readings of four weeks drawn bed by bed, and the rows that they are drawn from."""

from __future__ import annotations

import datetime

from openpyxl.worksheet.worksheet import Worksheet

from ...reading import Reading
from ...sheets.sheet_writer import Page
from ...sheets.table_columns import DATE, Column, Value
from ..figures.week_figures import MEASURED, Figures
from ..look.charts import BandCells, add_charts
from .paper import Paper, finish, freeze
from .readings_page import CLOCK

CHARTS = "Charts"


def _when(reading: Reading) -> datetime.date:
    """The date of a reading, with the time where it is known, so that the readings of a day stand apart in charts."""
    return reading.moment if reading.time else reading.date


def charts_page(paper: Paper) -> None:
    """pH, EC and temperature of each bed over four weeks, all on the same scales; they come with the readings shown."""
    columns = [Column("", 8.2)] * 18
    page = paper.page(CHARTS, "pH, EC and water temperature, the last four weeks", columns, landscape=True)
    if not paper.figures.history:
        page.line("No reading in these weeks.")
    else:
        page.line("Dashed lines are the ends of the bands. All charts of a measure have one scale.", "small")
    page.sheet.print_title_rows = f"1:{page.row - 1}"


def history_page(paper: Paper) -> None:
    """The readings of four weeks and the bands, and the charts that show them."""
    figures = paper.figures
    timed = any(reading.time for reading in figures.history)
    columns = [
        Column("Bed", max(16, paper.bed_column(16).width + 5)),
        Column("Date", 18, f"{DATE} {CLOCK}") if timed else Column("Date", 13, DATE),
        Column("pH", 12, "0.0#"),
        Column(f"EC [{figures.unit_label('readings.ec')}]", 14, "0.00"),
        Column(f"water [{figures.unit_label('readings.temperature')}]", 14, "0.0"),
    ]
    page = paper.page("History", "The readings behind the charts", columns, landscape=False)
    heading = page.row
    rows: list[list[Value]] = [[r.bed, _when(r), r.ph, r.ec, r.temperature] for r in figures.history]
    first, _ = page.table(columns, rows)
    freeze(page, heading)
    places: dict[str, tuple[int, int]] = {}
    for row, reading in enumerate(figures.history, first):
        start, _ = places.get(reading.bed, (row, row))
        places[reading.bed] = (start, row)
    if places:
        bands = _band_rows(page, figures, [columns[0], Column("Date", columns[1].width, DATE), *columns[2:]])
        charts = paper.book[CHARTS]
        assert isinstance(charts, Worksheet)
        add_charts(charts, page.sheet, places, bands, figures)
    finish(page)


def _band_rows(page: Page, figures: Figures, columns: list[Column]) -> BandCells:
    """The ends of the bands as the charts draw them: two days, and the value on both."""
    first, last = figures.history_days
    cells: BandCells = {}
    page.gap()
    page.section("The bands in the charts")
    rows: list[list[Value]] = []
    start = page.row + 1
    for bed in figures.beds:
        for end in ("low", "high"):
            values = [getattr(band, end) if (band := bed.bands[name]) else None for name in MEASURED]
            if not any(value is not None for value in values):
                continue
            for number, name in enumerate(MEASURED):
                if values[number] is not None:
                    cells.setdefault((bed.name, name), []).append((start + len(rows), 3 + number))
            rows += [[f"{bed.name}, {end}", day, *values] for day in (first, last)]
    page.table(columns, rows)
    return cells
