"""The cells of a new sheet, put in any order and written at once."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass

from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from growcells.cells.kinds import LONGEST_TEXT

from ..gate.safe_xml import writable
from .styles import Painter, Style

PIXELS_IN_DIGIT, PIXELS_IN_POINT = 7, 4 / 3
"""How XlsxWriter counts widths and heights; a digit of our face at 10 points is 7 pixels wide."""


@dataclass(frozen=True)
class Computed:
    """A formula and its value; "" where it is not computed yet."""

    formula: str
    value: float | str = ""


Content = str | float | datetime.date | datetime.time | Computed | None


class CellWriter:
    """The cells of a sheet, rows and columns counted from 1.

    XlsxWriter takes what stands in a cell and how it looks in one call; both are kept until ``finish``.
    """

    def __init__(self, sheet: Worksheet, painter: Painter) -> None:
        self.sheet = sheet
        self.painter = painter
        self.contents: dict[tuple[int, int], Content] = {}
        self.styles: dict[tuple[int, int], Style] = {}
        self.heights: dict[int, float] = {}
        """Those of the rows that were written [points]."""
        self.column_widths: dict[int, float] = {}
        """[characters]"""
        self.column_styles: dict[int, Style] = {}
        """How the cells of a column look that are not written."""
        self.merged: dict[tuple[int, int], int] = {}
        """The last column of the cells that are one, by the place of the first."""
        self.breaks: list[int] = []
        """The rows after which a page ends."""

    @property
    def book(self) -> Workbook:
        """The workbook of the sheet."""
        return self.painter.book

    def put(self, row: int, column: int, value: Content) -> None:
        """Put a value into a cell: a text as text, a number as a number, the error of one that no cell can hold."""
        self.contents[row, column] = value

    def paint(self, row: int, column: int, style: Style) -> None:
        """Give a cell a style."""
        self.styles[row, column] = style

    def merge(self, row: int, first: int, last: int) -> None:
        """Make one cell of several beside each other; each of them has been given its style."""
        if last > first:
            self.merged[row, first] = last

    def column_width(self, place: int) -> float:
        """The width of a column [characters]."""
        return self.column_widths[place]

    def set_height(self, row: int, height: float) -> None:
        """Make a row so high [points]."""
        self.heights[row] = height

    def freeze(self, row: int, column: int) -> None:
        """Keep what stands above and to the left of a cell in sight."""
        self.sheet.freeze_panes(row - 1, column - 1)

    def finish(self) -> None:
        """Write all of it."""
        for column, width in self.column_widths.items():
            look = self.painter.look(self.column_styles.get(column))
            self.sheet.set_column_pixels(column - 1, column - 1, width * PIXELS_IN_DIGIT, look)
        for row, height in self.heights.items():
            self.sheet.set_row_pixels(row - 1, height * PIXELS_IN_POINT)
        for (row, first), last in self.merged.items():
            self.sheet.merge_range(row - 1, first - 1, row - 1, last - 1, "")
        for place in self.styles | self.contents:
            self.write(*place, self.contents.get(place), self.styles.get(place))
        self.sheet.set_h_pagebreaks(self.breaks)

    def write(self, row: int, column: int, value: Content, style: Style | None = None) -> None:
        """Write a cell that is put only once. A text stays text, whatever it looks like, even when it is edited."""
        place = row - 1, column - 1
        if isinstance(value, str) and value:
            look = self.painter.look(style, value.startswith(("=", "+", "-", "@")))
            self.sheet.write_string(*place, writable(value)[:LONGEST_TEXT], look)
            return
        look = self.painter.look(style)
        if value is None or value == "":
            self.sheet.write_blank(*place, None, look)
        elif isinstance(value, Computed):
            self.sheet.write_formula(*place, value.formula, look, value.value)
        elif isinstance(value, bool):
            self.sheet.write_boolean(*place, value, look)
        elif isinstance(value, datetime.date | datetime.time):
            self.sheet.write_datetime(*place, value, look)  # type: ignore[call-overload]  # it takes days and times too
        elif math.isfinite(value):
            self.sheet.write_number(*place, value, look)
        else:
            self.sheet.write_formula(*place, "=#NUM!", look, "#NUM!")
