"""The charts of the report as those of a sheet: small, on one scale for a measure, so that beds compare at a glance."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.chart_scatter import ChartScatter
from xlsxwriter.worksheet import Worksheet

from growcells.cells.kinds import SPREADSHEET_EPOCH
from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...gate.safe_xml import literal, writable
from ...sheets.cell_writer import PIXELS_IN_DIGIT, PIXELS_IN_POINT
from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import ACCENT, BLACK, FACE, GREY, RULE
from ...sheets.table_columns import LINE_HEIGHT
from ...sheets.text_size import text_width
from ..pages.page import Cells, Chart, ChartGrid, Event, Line
from ..pages.scale import Scale

TALLEST = 190.0
"""Most that a chart is high [points]."""
MOST_ON_A_PAGE = 7
"""Rows of charts below each other on a page; with more their letters would touch."""
AROUND = {"left": 36.0, "right": 34.0, "top": 19.0, "bottom": 20.0}
"""Room beside the plot for letters [points]: the labels of the axes, the latest value, the name."""
NARROWEST = "i"
"""A letter than which none takes less room."""
WIDTH_OF_DIGIT = 5.56
"""Of our face at 10 points [points]; a chart is as wide as the columns below it."""
WIDE = 220.0
"""From this width on a chart has room for a date a week [points]."""
BELOW_TITLES = 3.0
"""A chart that touches the titles that are printed on every page would be printed with them [points]."""
ABOVE_NEXT = 1.5
"""One that ends where its page does may be printed on the next as well, since programs round heights [points]."""
PAPER, SHADE = "FFFFFF", "E0E0E0"
"""Colours of the plot, and of the band in it."""
SIGNS = {"planted": "diamond", "changed": "square", "fed": "triangle", "trouble": "x"}
"""The signs of what happened."""

Options = dict[str, Any]
"""What XlsxWriter takes for a part of a chart; widths of lines and sizes of letters and marks are in points."""
Tables = Mapping[str, tuple[Worksheet, int, Sequence[int]]]
"""Where the tables that charts are drawn from stand: by key the sheet, the row of the first record, the columns."""


def rows_of_charts(rows: int, room: float) -> tuple[float, set[int]]:
    """The height of each of some rows of charts [points], and the rows that begin a new page."""
    pages = math.ceil(rows / MOST_ON_A_PAGE)
    on_a_page = math.ceil(rows / pages)
    return min(room / on_a_page, TALLEST), set(range(on_a_page, rows, on_a_page))


def rows_high(height: float) -> int:
    """The sheet rows under a chart of this height."""
    return max(round(height / LINE_HEIGHT), 1)


def draw_charts(writer: SheetWriter, top: int, height: float, grid: ChartGrid, tables: Tables) -> None:
    """Put charts on a sheet from a row on, drawn from cells of tables."""
    columns = writer.width // max((len(charts) for charts in grid.rows), default=1)
    tall = int((height - BELOW_TITLES - ABOVE_NEXT) * PIXELS_IN_POINT)
    for number, charts in enumerate(grid.rows):
        for side, described in enumerate(charts):
            width = sum(writer.column_width(1 + side * columns + at) for at in range(columns))
            chart = _chart(writer.book, described, tables, (width * WIDTH_OF_DIGIT, height))
            chart.set_size({"width": int(width * PIXELS_IN_DIGIT), "height": tall})
            place = {"y_offset": BELOW_TITLES * PIXELS_IN_POINT}
            writer.sheet.insert_chart(top + number * rows_high(height) - 1, side * columns, chart, place)


def _chart(book: Workbook, described: Chart, tables: Tables, size: tuple[float, float]) -> ChartScatter:
    """A chart of this width and height [points] without legend or frame."""
    chart = book.add_chart({"type": "scatter", "subtype": "straight_with_markers"})
    assert isinstance(chart, ChartScatter)
    chart.set_style(1)
    chart.set_legend({"none": True})
    chart.set_chartarea({"fill": {"none": True}, "border": {"none": True}})
    chart.show_hidden_data()
    chart.set_title({"name_font": letters(BLACK), "layout": {"x": 0, "y": 0}})
    # Set by itself, since set_title would take a name such as "Bed!A1" for a cell.
    chart.title.name = writable(in_a_line(described.title, size[0]))
    chart.set_plotarea(_plot(described, size))
    chart.set_x_axis(
        {
            **_axis("d mmm"),
            "min": serial(described.first),
            "max": serial(described.last),
            "major_unit": DAYS_IN_WEEK if size[0] > WIDE else 2 * DAYS_IN_WEEK,
        }
    )
    limits = described.scale
    chart.set_y_axis(
        {
            **_axis("0" if limits.step >= 1 else "0.0"),
            "min": limits.low,
            "max": limits.high,
            "major_unit": limits.step,
            "major_gridlines": {"visible": True, "line": lined(RULE, 0.5)},
        }
    )
    for line in described.lines:
        _draw_line(chart, line, tables)
    for event in described.events:
        color = GREY if event.kind == "fed" else BLACK
        sign = mark(SIGNS[event.kind], 7, color, 0.75)
        _draw(chart, event.kind, event, tables, line={"none": True}, marker=sign)
    return chart


def _plot(described: Chart, size: tuple[float, float]) -> Options:
    """The place of the plot in a chart; its filling shows the band, at whatever size it is drawn."""
    width, height = size
    plot: Options = {
        "layout": {
            "x": AROUND["left"] / width,
            "y": AROUND["top"] / height,
            "width": 1 - (AROUND["left"] + AROUND["right"]) / width,
            "height": 1 - (AROUND["top"] + AROUND["bottom"]) / height,
        }
    }
    if described.band:
        plot["gradient"] = shaded(described.band, described.scale)
    return plot


def shaded(band: tuple[float | None, float | None], limits: Scale) -> Options:
    """A filling that changes its colour at once at the ends of a band, from the top down."""
    low, high = band
    whole = limits.high - limits.low
    begin = 0.0 if high is None else 100 * (limits.high - high) / whole
    end = 100.0 if low is None else 100 * (limits.high - low) / whole
    stops = [
        *([(PAPER, 0.0), (PAPER, begin)] if begin else []),
        *((SHADE, begin), (SHADE, end)),
        *([(PAPER, end), (PAPER, 100.0)] if end < 100 else []),
    ]
    return {"colors": [f"#{color}" for color, _ in stops], "positions": [position for _, position in stops]}


def _draw_line(chart: ChartScatter, line: Line, tables: Tables) -> None:
    """A thin straight line with a small round mark at each reading, the latest labelled; an end of a band dashed."""
    if line.dashed:
        dashes = {**lined(GREY, 0.75), "dash_type": "dash"}
        _draw(chart, line.name, line, tables, line=dashes, marker={"type": "none"})
        return
    round_mark = mark("circle", 4, ACCENT, 0.5)
    _draw(chart, line.name, line, tables, line=lined(ACCENT, 1.25), marker=round_mark)
    read = [record for record, (_, value) in enumerate(line.points, line.values.first) if value is not None]
    if read:
        days, values = (replace(cells, first=read[-1], last=read[-1]) for cells in (line.days, line.values))
        latest = replace(line, days=days, values=values)
        label = {"value": True, "position": "right", "font": letters(BLACK, bold=True)}
        _draw(chart, line.name, latest, tables, line={"none": True}, marker=round_mark, data_labels=label)


def _draw(chart: ChartScatter, name: str, drawn: Line | Event, tables: Tables, **look: Options) -> None:
    """What the cells of a line or of signs hold."""
    chart.add_series({"categories": _cells(drawn.days, tables), "values": _cells(drawn.values, tables), **look})
    # Set by itself, since add_series would take a name such as "Bed!A1" for a cell.
    chart.series[-1]["name"] = literal(writable(name))


def _cells(cells: Cells, tables: Tables) -> list[str | int]:
    sheet, first, places = tables[cells.table]
    column = places[cells.column] - 1
    return [str(sheet.name), first + cells.first - 1, column, first + cells.last - 1, column]


def _axis(number_format: str) -> Options:
    """An axis with marks and labels at the edge of the plot."""
    return {
        "num_format": number_format,
        "num_font": letters(GREY),
        "line": lined(GREY, 0.5),
        "major_tick_mark": "outside",
        "minor_tick_mark": "none",
        "label_position": "low",
    }


def serial(day: datetime.date) -> int:
    """The number that a sheet keeps for a day."""
    return (day - SPREADSHEET_EPOCH).days


def in_a_line(name: str, room: float) -> str:
    """The name of a chart in a line of this width [points], what it is of cut where there is too little room."""
    most = int(room / (text_width(NARROWEST) * WIDTH_OF_DIGIT)) + 1
    bed, colon, measure = (part[:most] for part in name.rpartition(": "))
    shown = f"{bed}{colon}{measure}"
    while text_width(shown) * WIDTH_OF_DIGIT > room and bed:
        bed = bed[:-1]
        shown = f"{bed.rstrip(' ,')}…{colon}{measure}"
    return shown


def letters(color: str, bold: bool = False) -> Options:
    """Letters of a chart."""
    return {"name": FACE, "size": 10, "color": f"#{color}", "bold": bold}


def lined(color: str, width: float) -> Options:
    """A line."""
    return {"color": f"#{color}", "width": width}


def mark(symbol: str, size: int, color: str, width: float) -> Options:
    """A filled mark with a line of this width around it."""
    return {"type": symbol, "size": size, "fill": {"color": f"#{color}"}, "border": lined(color, width)}
