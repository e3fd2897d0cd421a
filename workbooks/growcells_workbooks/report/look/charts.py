"""The charts of the report as those of a sheet: small, on one scale for a measure, so that beds compare at a glance."""

from __future__ import annotations

import datetime
import functools
import math
from collections.abc import Mapping, Sequence
from typing import Literal

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.axis import ChartLines, NumericAxis
from openpyxl.chart.label import DataLabel, DataLabelList
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import XYSeries
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.colors import ColorChoice, SchemeColor
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, TwoCellAnchor
from openpyxl.drawing.text import CharacterProperties, Font, Paragraph, ParagraphProperties, RegularTextRun
from openpyxl.worksheet.worksheet import Worksheet

from growcells.cells.kinds import SPREADSHEET_EPOCH
from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...gate.safe_xml import literal, writable
from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import ACCENT, FACE, GREY, RULE
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
POINT = 12_700
"""English metric units in a point (ISO/IEC 29500-1, 20.1.10.16)."""
BELOW_TITLES = 3 * POINT
"""A chart that touches the titles that are printed on every page would be printed with them."""
SHADE = 12_000
"""How much a band covers [thousandths of a percent]."""
SIGNS: dict[str, Literal["diamond", "square", "triangle", "x"]] = {
    "planted": "diamond",
    "changed": "square",
    "fed": "triangle",
    "trouble": "x",
}
"""The signs of what happened."""

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
    across = max((len(charts) for charts in grid.rows), default=1)
    columns = writer.width // across
    for number, charts in enumerate(grid.rows):
        row = top + number * rows_high(height)
        for side, described in enumerate(charts):
            width = sum(writer.column_width(1 + side * columns + at) for at in range(columns)) * WIDTH_OF_DIGIT
            chart = _chart(described, tables, (width, height))
            begin = AnchorMarker(col=side * columns, row=row - 1, rowOff=BELOW_TITLES)
            end = AnchorMarker(col=(side + 1) * columns, row=row - 1 + rows_high(height))
            chart.anchor = TwoCellAnchor(editAs="twoCell", _from=begin, to=end)  # type: ignore[assignment]
            writer.sheet.add_chart(chart)


def _chart(described: Chart, tables: Tables, size: tuple[float, float]) -> ScatterChart:
    chart = small_chart(described.title, described.scale, size)
    chart.x_axis.scaling.min, chart.x_axis.scaling.max = serial(described.first), serial(described.last)
    assert isinstance(chart.x_axis, NumericAxis)
    chart.x_axis.majorUnit = DAYS_IN_WEEK if size[0] > WIDE else 2 * DAYS_IN_WEEK
    ends = [line for line in described.lines if line.dashed]
    if described.shade and described.band:
        chart.series.append(_shade(described, described.shade, described.band, tables, size[1]))
    for line in described.lines:
        draw = band_end if line in ends else series
        drawn = draw(line.name, _reference(line.days, tables), _reference(line.values, tables))
        if line not in ends:
            drawn.dLbls = _last_value(line)
        chart.series.append(drawn)
    for event in described.events:
        chart.series.append(_signs(event, tables))
    return chart


def _last_value(line: Line) -> DataLabelList | None:
    """The label of the latest reading."""
    read = [place for place, (_, value) in enumerate(line.points) if value is not None]
    if not read:
        return None
    shown = DataLabel(idx=read[-1], showVal=True, dLblPos="r", txPr=lettered(1000, "000000", bold=True))
    for part in ("showSerName", "showCatName", "showLegendKey", "showPercent", "showBubbleSize"):
        setattr(shown, part, False)
    return DataLabelList(
        dLbl=[shown], showVal=False, showSerName=False, showCatName=False, showLegendKey=False, showPercent=False
    )


def _shade(
    described: Chart, middle: Line, band: tuple[float | None, float | None], tables: Tables, height: float
) -> XYSeries:
    """The band as a broad pale line at its middle, as broad as the band is high on the paper.

    Programs differ in which line they draw first, so that this one is to be seen through.
    """
    limits, (low, high) = described.scale, band
    bottom, top = (limits.low if low is None else low), (limits.high if high is None else high)
    part = (top - bottom) / (limits.high - limits.low)
    broad = part * (height - AROUND["top"] - AROUND["bottom"])
    shade = Series(_reference(middle.values, tables), _reference(middle.days, tables), title=held(middle.name))
    assert isinstance(shade, XYSeries)
    pale = ColorChoice(schemeClr=SchemeColor(val="tx1", alpha=SHADE))  # type: ignore[arg-type]  # its stubs are wrong
    line = LineProperties(solidFill=pale, w=round(broad * POINT), cap="flat")
    shade.graphicalProperties = GraphicalProperties(ln=line)
    shade.marker, shade.smooth = unmarked(), False
    return shade


def _signs(event: Event, tables: Tables) -> XYSeries:
    """The signs of what happened, at the foot of the chart."""
    drawn = Series(_reference(event.values, tables), _reference(event.days, tables), title=held(event.kind))
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = lined()
    color = GREY if event.kind == "fed" else "000000"
    drawn.marker = mark(SIGNS[event.kind], 7, color, POINT * 3 // 4)
    return drawn


def _reference(cells: Cells, tables: Tables) -> Reference:
    sheet, first, places = tables[cells.table]
    return Reference(sheet, min_col=places[cells.column], min_row=first + cells.first, max_row=first + cells.last)


def serial(day: datetime.date) -> int:
    """The number that a sheet keeps for a day."""
    return (day - SPREADSHEET_EPOCH).days


def small_chart(name: str, limits: Scale, size: tuple[float, float]) -> ScatterChart:
    """A chart of this width and height [points] without legend or frame, its axes shown."""
    width, height = size
    chart = ScatterChart()
    chart.style = 1
    chart.scatterStyle = "lineMarker"
    chart.title = title(in_a_line(name, width), 1000, "000000")
    chart.title.layout = Layout(ManualLayout(xMode="edge", yMode="edge", x=0.0, y=0.0))
    chart.legend = None
    chart.roundedCorners = False
    chart.visible_cells_only = False
    chart.graphical_properties = GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    place = ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge")
    place.x, place.y = AROUND["left"] / width, AROUND["top"] / height
    place.w = 1 - (AROUND["left"] + AROUND["right"]) / width
    place.h = 1 - (AROUND["top"] + AROUND["bottom"]) / height
    chart.layout = Layout(place)
    assert isinstance(chart.x_axis, NumericAxis) and isinstance(chart.y_axis, NumericAxis)
    for ax in (chart.x_axis, chart.y_axis):
        ax.delete = False
        ax.txPr = lettered(1000, GREY)
        ax.graphicalProperties = lined(GREY, POINT // 2)
        ax.majorTickMark, ax.minorTickMark = "out", "none"
        ax.tickLblPos = "low"
    chart.x_axis.number_format = "d mmm"
    chart.x_axis.majorGridlines = None
    chart.y_axis.number_format = "0" if limits.step >= 1 else "0.0"
    chart.y_axis.scaling.min, chart.y_axis.scaling.max = limits.low, limits.high
    chart.y_axis.majorUnit = limits.step
    chart.y_axis.majorGridlines = ChartLines(spPr=lined(RULE, POINT // 2))
    return chart


def in_a_line(name: str, room: float) -> str:
    """The name of a chart in a line of this width [points], what it is of cut where there is too little room."""
    most = int(room / (text_width(NARROWEST) * WIDTH_OF_DIGIT)) + 1
    bed, colon, measure = (part[:most] for part in name.rpartition(": "))
    shown = f"{bed}{colon}{measure}"
    while text_width(shown) * WIDTH_OF_DIGIT > room and bed:
        bed = bed[:-1]
        shown = f"{bed.rstrip(' ,')}…{colon}{measure}"
    return shown


def held(text: str) -> str:
    """The name of a line or of signs as a workbook holds it."""
    return literal(writable(text))


def title(text: str, size: int, color: str) -> Title:
    """A title of a chart or an axis that takes its own room."""
    written = paragraph(size, color)
    written.r = [RegularTextRun(rPr=letters(size, color), t=writable(text))]
    return Title(tx=Text(rich=RichText(p=[written])), overlay=False)


def paragraph(size: int, color: str, bold: bool = False) -> Paragraph:
    """A paragraph without text; size in hundredths of a point."""
    shown = letters(size, color, bold)
    return Paragraph(pPr=ParagraphProperties(defRPr=shown), endParaRPr=shown)


@functools.cache
def letters(size: int, color: str, bold: bool = False) -> CharacterProperties:
    """Letters of a chart; size in hundredths of a point."""
    return CharacterProperties(sz=size, b=bold, solidFill=color, latin=Font(typeface=FACE))


@functools.cache
def lettered(size: int, color: str, bold: bool = False) -> RichText:
    """How the letters of an axis or a label are written; size in hundredths of a point."""
    return RichText(p=[paragraph(size, color, bold)])


@functools.cache
def lined(color: str = "", width: int = 0, dash: Literal["dash"] | None = None) -> GraphicalProperties:
    """A line of this width [English metric units] without a filling; none where it has no color."""
    line = LineProperties(solidFill=color, w=width, prstDash=dash) if color else LineProperties(noFill=True)
    return GraphicalProperties(ln=line)


@functools.cache
def mark(symbol: Literal["circle", "diamond", "square", "triangle", "x"], size: int, color: str, width: int) -> Marker:
    """A mark of this size [points], whose line is so wide [English metric units]."""
    inside = GraphicalProperties(solidFill=color, ln=LineProperties(solidFill=color, w=width))
    return Marker(symbol=symbol, size=size, spPr=inside)


@functools.cache
def unmarked() -> Marker:
    """No mark."""
    return Marker(symbol="none")


def series(name: str, days: Reference, values: Reference) -> XYSeries:
    """A thin straight line with a small round mark at each reading."""
    drawn = Series(values, days, title=held(name))
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = lined(ACCENT, POINT * 5 // 4)
    drawn.marker = mark("circle", 4, ACCENT, POINT // 2)
    return drawn


def band_end(name: str, days: Reference, values: Reference) -> XYSeries:
    """A dashed line without marks at an end of a band."""
    drawn = Series(values, days, title=held(name))
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = lined(GREY, POINT * 3 // 4, "dash")
    drawn.marker = unmarked()
    return drawn
