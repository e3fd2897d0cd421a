"""The pages with readings: the week's, those of four weeks, and their charts."""

from __future__ import annotations

import datetime

from openpyxl.worksheet.worksheet import Worksheet

from ..reading import Reading
from .charts import BandCells, add_charts
from .figures import MEASURED, Figures
from .look import DATE, PLAIN, SHORT_DATE, Column, Page, Value, mass_format
from .paper import Paper, finish, freeze

CHARTS = "Charts"
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
