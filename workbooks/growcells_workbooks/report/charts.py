"""Small charts of pH, EC and temperature for each bed, on one scale each so that beds compare at a glance."""

from __future__ import annotations

import datetime
import functools
import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

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

from .figures import MEASURED, Figures
from .look import ACCENT, FACE, GREY, RULE

WIDTH, HEIGHT = 9.5, 3.9
"""Size of a chart [cm]."""
ROWS, COLUMNS = 9, 6
"""Sheet rows and columns that a chart takes."""
ROW_HEIGHT = 12.5
"""Height of the rows under charts [points]."""
BEDS_ON_A_PAGE = 4
FIRST_ROW = 6
PAGE_ROWS = BEDS_ON_A_PAGE * ROWS
DAYS_IN_WEEK = 7
SMALLEST_STEP, MOST_STEPS = 0.5, 4
POINT = 12_700
"""English metric units in a point (ISO/IEC 29500-1, 20.1.10.16)."""


BandCells = dict[tuple[str, str], list[tuple[int, int]]]
"""Where the ends of a band stand, by bed and measure: the row and column of the first of two cells below each other."""


def add_charts(
    sheet: Worksheet, data: Worksheet, places: dict[str, tuple[int, int]], bands: BandCells, figures: Figures
) -> None:
    """Put a row of charts for each bed on a sheet, drawn from rows of the data sheet, with the ends of its bands."""
    first, last = figures.history_days
    crops = {week.name: week.bed.crop for week in figures.beds}
    scales = {name: scale(_values(name, bands, data, figures)) for name in MEASURED}
    for number, (bed, (start, end)) in enumerate(places.items()):
        page, on_page = divmod(number, BEDS_ON_A_PAGE)
        top = FIRST_ROW + page * PAGE_ROWS + on_page * ROWS
        label = f"{bed}, {crops[bed]}" if crops.get(bed) else bed
        for side, (measure, axis) in enumerate(axes(figures).items()):
            chart = small_chart(f"{label}: {axis.split(' [')[0]}", axis, scales[measure])
            chart.x_axis.scaling.min, chart.x_axis.scaling.max = serial(first), serial(last)
            for row, column in bands.get((bed, measure), []):
                ends = Reference(data, min_col=column, min_row=row, max_row=row + 1)
                chart.series.append(band_end(str(data.cell(row, 1).value), _days(data, row, row + 1), ends))
            values = Reference(data, min_col=3 + side, min_row=start, max_row=end)
            chart.series.append(series(f"{label}: {axis}", _days(data, start, end), values))
            sheet.add_chart(chart, sheet.cell(top, 1 + side * COLUMNS).coordinate)
        if on_page == BEDS_ON_A_PAGE - 1 and number + 1 < len(places):
            sheet.row_breaks.append(Break(id=FIRST_ROW + (page + 1) * PAGE_ROWS - 1))
        for row in range(top, top + ROWS):
            sheet.row_dimensions[row].height = ROW_HEIGHT
    pages, rest = divmod(len(places), BEDS_ON_A_PAGE)
    bottom = FIRST_ROW + pages * PAGE_ROWS + rest * ROWS - 1
    sheet.print_area = f"A1:{sheet.cell(bottom, len(MEASURED) * COLUMNS).coordinate}"


def axes(figures: Figures) -> dict[str, str]:
    """The measures shown and the names of their axes."""
    return {
        "ph": "pH",
        "ec": f"EC [{figures.unit_label('readings.ec')}]",
        "temperature": f"Water [{figures.unit_label('readings.temperature')}]",
    }


def _days(data: Worksheet, first: int, last: int) -> Reference:
    return Reference(data, min_col=2, min_row=first, max_row=last)


def _values(measure: str, bands: BandCells, data: Worksheet, figures: Figures) -> list[float | None]:
    """What the scale of a measure must hold: all readings and the ends of all bands."""
    read = [getattr(reading, measure) for reading in figures.history]
    ends = [data.cell(*place).value for (_, name), places in bands.items() if name == measure for place in places]
    return [*read, *(end for end in ends if isinstance(end, (int, float)))]


def serial(day: datetime.date) -> int:
    """The number that a sheet keeps for a day."""
    return (day - SPREADSHEET_EPOCH).days


@dataclass(frozen=True)
class Scale:
    """The limits of an axis and the distance of its marks."""

    low: float
    high: float
    step: float


def scale(values: Iterable[float | None]) -> Scale:
    """An axis of two to four whole steps that holds all values, none of them on its ends unless that is 0."""
    known = [value for value in values if value is not None]
    if not known:
        return Scale(0.0, 1.0, 0.5)
    step = SMALLEST_STEP
    for factor in itertools.cycle((2, 2, 2.5)):  # 0.5, 1, 2, 5, 10 …
        low, high = (math.ceil(min(known) / step) - 1) * step, (math.floor(max(known) / step) + 1) * step
        if min(known) >= 0:
            low = max(low, 0.0)
        if high - low <= MOST_STEPS * step:
            return Scale(low, max(high, low + 2 * step), step)
        step *= factor
    raise AssertionError("the steps grow without end")


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
    drawn = Series(values, days, title=name)
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = GraphicalProperties(ln=LineProperties(solidFill=ACCENT, w=POINT * 5 // 4))
    mark = GraphicalProperties(solidFill=ACCENT, ln=LineProperties(solidFill=ACCENT, w=POINT // 2))
    drawn.marker = Marker(symbol="circle", size=4, spPr=mark)
    return drawn


def band_end(name: str, days: Reference, values: Reference) -> XYSeries:
    """A dashed line without marks at an end of a band."""
    drawn = Series(values, days, title=name)
    assert isinstance(drawn, XYSeries)
    drawn.smooth = False
    drawn.graphicalProperties = GraphicalProperties(
        ln=LineProperties(solidFill=GREY, w=POINT * 3 // 4, prstDash="dash")
    )
    drawn.marker = Marker(symbol="none")
    return drawn
