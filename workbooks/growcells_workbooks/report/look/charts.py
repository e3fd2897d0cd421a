"""The charts of the report as those of a sheet: small, on one scale for a measure, so that beds compare at a glance."""

from __future__ import annotations

import datetime
import functools
from collections.abc import Mapping

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.axis import ChartLines, NumericAxis
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.marker import Marker
from openpyxl.chart.series import XYSeries
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.chart.text import RichText, Text
from openpyxl.chart.title import Title
from openpyxl.drawing.line import LineProperties
from openpyxl.drawing.text import CharacterProperties, Font, Paragraph, ParagraphProperties, RegularTextRun
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from growcells.cells.kinds import SPREADSHEET_EPOCH

from ...gate.safe_xml import literal, writable
from ...sheets.styles import ACCENT, FACE, GREY, RULE
from ..figures.week_figures import DAYS_IN_WEEK
from ..pages.page import Cells, Chart, ChartGrid
from ..pages.scale import Scale

WIDTH, HEIGHT = 9.5, 3.9
"""Size of a chart [cm]."""
ROWS, COLUMNS = 9, 6
"""Sheet rows and columns that a chart takes."""
ROW_HEIGHT = 12.5
"""Height of the rows under charts [points]."""
ROWS_ON_A_PAGE = 4
POINT = 12_700
"""English metric units in a point (ISO/IEC 29500-1, 20.1.10.16)."""

Tables = Mapping[str, tuple[Worksheet, int]]
"""Where the tables that charts are drawn from stand: by key the sheet and the row of the first record."""


def draw_charts(sheet: Worksheet, top: int, grid: ChartGrid, tables: Tables) -> None:
    """Put charts on a sheet from a row on, drawn from cells of tables."""
    for number, charts in enumerate(grid.rows):
        row = top + number * ROWS
        for side, described in enumerate(charts):
            sheet.add_chart(_chart(described, tables), sheet.cell(row, 1 + side * COLUMNS).coordinate)
        if number % ROWS_ON_A_PAGE == ROWS_ON_A_PAGE - 1 and number + 1 < len(grid.rows):
            sheet.row_breaks.append(Break(id=row + ROWS - 1))
        for under in range(row, row + ROWS):
            sheet.row_dimensions[under].height = ROW_HEIGHT
    across = max((len(charts) for charts in grid.rows), default=1)
    sheet.print_area = f"A1:{sheet.cell(top + len(grid.rows) * ROWS - 1, across * COLUMNS).coordinate}"


def _chart(described: Chart, tables: Tables) -> ScatterChart:
    chart = small_chart(described.title, described.axis, described.scale)
    chart.x_axis.scaling.min, chart.x_axis.scaling.max = serial(described.first), serial(described.last)
    for line in described.lines:
        draw = band_end if line.dashed else series
        chart.series.append(draw(line.name, _reference(line.days, tables), _reference(line.values, tables)))
    return chart


def _reference(cells: Cells, tables: Tables) -> Reference:
    sheet, first = tables[cells.table]
    return Reference(sheet, min_col=cells.column + 1, min_row=first + cells.first, max_row=first + cells.last)


def serial(day: datetime.date) -> int:
    """The number that a sheet keeps for a day."""
    return (day - SPREADSHEET_EPOCH).days


def small_chart(name: str, axis: str, limits: Scale) -> ScatterChart:
    """A chart without legend or frame, its axes shown and named."""
    chart = ScatterChart()
    chart.style = 1
    chart.scatterStyle = "lineMarker"
    chart.width, chart.height = WIDTH, HEIGHT  # type: ignore[assignment]  # a default of openpyxl misleads its stubs
    chart.title = title(name, 1000, "000000")
    chart.legend = None
    chart.roundedCorners = False
    chart.graphical_properties = GraphicalProperties(noFill=True, ln=LineProperties(noFill=True))
    chart.layout = Layout(ManualLayout(layoutTarget="inner", xMode="edge", yMode="edge", x=0.13, y=0.2, w=0.82, h=0.47))
    assert isinstance(chart.x_axis, NumericAxis) and isinstance(chart.y_axis, NumericAxis)
    for ax, text in ((chart.x_axis, "date"), (chart.y_axis, axis)):
        ax.delete = False
        ax.title = title(text, 800, GREY)
        ax.txPr = RichText(p=[paragraph(800, GREY)])
        ax.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=GREY, w=POINT // 2))
        ax.majorTickMark, ax.minorTickMark = "out", "none"
        ax.tickLblPos = "low"
    chart.x_axis.number_format = "d mmm"
    chart.x_axis.majorUnit = DAYS_IN_WEEK
    chart.x_axis.majorGridlines = None
    chart.y_axis.number_format = "0" if limits.step >= 1 else "0.0"
    chart.y_axis.scaling.min, chart.y_axis.scaling.max = limits.low, limits.high
    chart.y_axis.majorUnit = limits.step
    chart.y_axis.majorGridlines = ChartLines(spPr=GraphicalProperties(ln=LineProperties(solidFill=RULE, w=POINT // 2)))
    return chart


def title(text: str, size: int, color: str) -> Title:
    """A title of a chart or an axis that takes its own room."""
    written = paragraph(size, color)
    written.r = [RegularTextRun(rPr=letters(size, color), t=text)]
    return Title(tx=Text(rich=RichText(p=[written])), overlay=False)


def paragraph(size: int, color: str) -> Paragraph:
    """A paragraph without text; size in hundredths of a point."""
    return Paragraph(pPr=ParagraphProperties(defRPr=letters(size, color)), endParaRPr=letters(size, color))


@functools.cache
def letters(size: int, color: str) -> CharacterProperties:
    """Letters of a chart; size in hundredths of a point."""
    return CharacterProperties(sz=size, b=False, solidFill=color, latin=Font(typeface=FACE))


def series(name: str, days: Reference, values: Reference) -> XYSeries:
    """A thin straight line with a small round mark at each reading."""
    drawn = Series(values, days, title=literal(writable(name)))
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=ACCENT, w=POINT * 5 // 4))
    mark = GraphicalProperties(solidFill=ACCENT, ln=LineProperties(solidFill=ACCENT, w=POINT // 2))
    drawn.marker = Marker(symbol="circle", size=4, spPr=mark)
    return drawn


def band_end(name: str, days: Reference, values: Reference) -> XYSeries:
    """A dashed line without marks at an end of a band."""
    drawn = Series(values, days, title=literal(writable(name)))
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = GraphicalProperties(
        ln=LineProperties(solidFill=GREY, w=POINT * 3 // 4, prstDash="dash")
    )
    drawn.marker = Marker(symbol="none")
    return drawn
