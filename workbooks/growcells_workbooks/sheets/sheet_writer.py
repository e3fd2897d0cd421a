"""A sheet written from the top down: lines of text, headings, tables."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from .cell_writer import CellWriter, Computed, Content
from .styles import BODY, FONTS, Painter, Style
from .table_columns import LINE_HEIGHT, Column, Formula, Sum, Value, heading_height, placed, row_height
from .text_size import wrapped_lines

SCREEN_AND_PAPER = 2
"""Where grid lines are hidden, by the number that XlsxWriter has for it."""
SECTION_HEIGHT = 20
"""Height of a heading within a page [points]."""


class SheetWriter(CellWriter):
    """A sheet written from the top down."""

    def __init__(
        self,
        sheet: Worksheet,
        painter: Painter,
        title: str,
        subtitle: str,
        width: int,
        columns: Sequence[Column] = (),
    ) -> None:
        super().__init__(sheet, painter)
        self.width = width
        self.row = 1
        sheet.hide_gridlines(SCREEN_AND_PAPER)
        self.widths(columns)
        self.heading(title, subtitle, known=bool(columns))

    def heading(self, title: str, subtitle: str, known: bool = True) -> None:
        """The title of a page, what it is of, and a rule; ``known``: the columns have their widths."""
        self.line(title, "title", height=28)
        lines = wrapped_lines(subtitle, self.paper_width()) if known else 1
        self.line(subtitle, "subtitle", lines, height=LINE_HEIGHT * lines + 5 if subtitle else 3)
        for column in range(1, self.width + 1):
            self.paint(self.row - 1, column, Style("subtitle", "accent", down="top", wrap=lines > 1))
        self.gap()

    def widths(self, columns: Sequence[Column]) -> None:
        """Set the widths of the sheet's columns."""
        self.column_widths.update((place, column.width) for place, column in enumerate(columns, 1))

    def paper_width(self) -> float:
        """The width of the page [characters]."""
        return sum(self.column_width(place) for place in range(1, self.width + 1))

    def line(self, text: str, font: str = "body", lines: int = 1, height: float = 0) -> None:
        """A line of text across the page, over as many rows' height as it needs."""
        self.put(self.row, 1, text)
        self.paint(self.row, 1, Style(font, down="top", wrap=lines > 1))
        if lines > 1:
            self.merge(self.row, 1, self.width)
        self.set_height(self.row, height or LINE_HEIGHT * lines + 2)
        self.row += 1

    def paragraph(self, text: str, font: str = "body", width: float = 0) -> None:
        """A text over the whole page, or this width of it [characters], in as many lines as it needs."""
        width = (width or self.paper_width()) * BODY.size / FONTS[font].size
        self.line(text, font, lines=wrapped_lines(text, width))

    def section(self, text: str) -> None:
        """A heading within the page."""
        self.line(text, "section", height=SECTION_HEIGHT)

    def gap(self) -> None:
        """An empty row."""
        self.set_height(self.row, LINE_HEIGHT)
        self.row += 1

    def turn(self, row: int = 0) -> None:
        """Print what begins with a row, by default the present one, on a new page."""
        self.breaks.append((row or self.row) - 1)

    def height(self, first: int) -> float:
        """How high the rows from a row on are together [points]."""
        return float(sum(self.heights[row] for row in range(first, self.row)))

    def table(
        self,
        columns: Sequence[Column],
        rows: Sequence[Sequence[Value]],
        totals: Sequence[Value] | None = None,
        rule: str = "thin",
        least: float = 0,
        above: int = 0,
    ) -> tuple[int, int]:
        """A table at the current row; the answer is the rows of its first and last line.

        ``least`` is the least height of a row [points], ``above`` the first row of which this table is a continuation.
        """
        if any(column.group for column in columns):
            self._groups(columns)
        for place, column in placed(columns):
            self._heading(place, column)
        self.set_height(self.row, heading_height(columns))
        self.row += 1
        first = self.row
        for row in rows:
            self._values(columns, row, "body", rule, first, least)
        last = self.row - 1
        if totals is not None:
            self._values(columns, totals, "strong", "", above or first)
        return first, last

    def _groups(self, columns: Sequence[Column]) -> None:
        names = [column.group for column in columns]
        lines = 1
        for place, column in placed(columns):
            number = columns.index(column)
            if column.group and (number == 0 or names[number - 1] != column.group):
                size = sum(other.span for other in columns if other.group == column.group)
                self.put(self.row, place, column.group)
                width = sum(other.width for other in columns if other.group == column.group)
                lines = max(lines, wrapped_lines(column.group, width - 1))
                for under in range(place, place + size):
                    self.paint(self.row, under, Style("strong", "thin", across="center", wrap=True))
                self.merge(self.row, place, place + size - 1)
        self.set_height(self.row, LINE_HEIGHT * lines + 2)
        self.row += 1

    def _heading(self, place: int, column: Column) -> None:
        self.put(self.row, place, column.heading)
        for under in range(place, place + column.span):
            style = style_of(column.is_text, column.format, place > 1, "head", "dark", "bottom", True)
            self.paint(self.row, under, style)
        self.merge(self.row, place, place + column.span - 1)

    def _values(
        self, columns: Sequence[Column], row: Sequence[Value], font: str, rule: str, first: int, least: float = 0
    ) -> None:
        height = max(row_height(columns, row), least)
        self._fill(columns, row, font, rule, first, "top" if height > row_height((), ()) else "center")
        self.set_height(self.row, height)
        self.row += 1

    def _fill(
        self, columns: Sequence[Column], row: Sequence[Value], font: str, rule: str, first: int, down: str
    ) -> None:
        """Put the values of a table's row into their cells."""
        for (place, column), value in zip(placed(columns), row, strict=True):
            if isinstance(value, Formula):
                names = (f"{xl_col_to_name(other - 1)}{self.row}" for other, _ in placed(columns))
                self._formula(self.row, place, value.text.format(*names), value.value)
            elif isinstance(value, Sum):
                letter = xl_col_to_name(place - 1)
                self._formula(self.row, place, f"=SUM({letter}{first}:{letter}{self.row - 1})", value.value)
            else:
                self.put(self.row, place, value)
            style = style_of(column.is_text, column.format, place > 1, font, rule, down, column.wrap)
            for under in range(place, place + column.span):
                self.paint(self.row, under, style)
            self.merge(self.row, place, place + column.span - 1)

    def _formula(self, row: int, column: int, text: str, value: float) -> None:
        self.put(row, column, Computed(text, value) if math.isfinite(value) else value)


class TrialWriter(SheetWriter):
    """A sheet of which only the heights of the rows and the pages matter: nothing is put into its cells."""

    def put(self, row: int, column: int, value: Content) -> None:
        """Put nothing."""

    def paint(self, row: int, column: int, style: Style) -> None:
        """Paint nothing."""

    def merge(self, row: int, first: int, last: int) -> None:
        """Merge nothing."""

    def _fill(
        self, columns: Sequence[Column], row: Sequence[Value], font: str, rule: str, first: int, down: str
    ) -> None:
        """Fill nothing in."""


@cache
def style_of(is_text: bool, number_format: str, inside: bool, font: str, rule: str, down: str, wrap: bool) -> Style:
    """Texts stand to the left, a little away from the numbers before them; numbers to the right."""
    if is_text:
        return Style(font, rule, "left", down, indent=int(inside), wrap=wrap)
    return Style(font, rule, "right", down, wrap=wrap, format=number_format)
