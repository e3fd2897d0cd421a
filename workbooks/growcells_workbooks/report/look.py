"""The look of the report: black text, thin rules, one muted accent; nothing that is told by colour alone."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from ..writing import put_text

FACE = "Arial"
ACCENT = "4A6A5E"
RULE = "BFC7C3"
GREY = "595959"

TITLE = Font(name=FACE, size=18, color="000000")
SUBTITLE = Font(name=FACE, size=10, color=GREY)
SECTION = Font(name=FACE, size=12, bold=True, color=ACCENT)
HEAD = Font(name=FACE, size=9, color=GREY)
BODY = Font(name=FACE, size=10, color="000000")
STRONG = Font(name=FACE, size=10, bold=True, color="000000")
SMALL = Font(name=FACE, size=9, color=GREY)

_THIN = Side(style="thin", color=RULE)
_ACCENT_RULE = Side(style="medium", color=ACCENT)
_DARK = Side(style="thin", color="000000")

DATE = "d mmm yyyy"
SHORT_DATE = "ddd d mmm"
WHOLE = "0"
PLAIN = "#,##0.0"

LETTER, A4 = 1, 9
"""Paper sizes (ISO/IEC 29500-1, 18.3.1.63)."""

Value = str | float | int | datetime.date | None


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading with the unit, its width in characters and the format of its numbers."""

    heading: str
    width: float
    format: str = ""
    wrap: bool = False
    group: str = ""

    @property
    def is_text(self) -> bool:
        """Whether its cells are texts, set to the left."""
        return not self.format


def new_book() -> Workbook:
    """A workbook without sheets, whose column widths are counted in digits of our own face."""
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    book._fonts[0] = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]  # openpyxl has no public way
    book._named_styles["Normal"].font = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]
    return book


class Page:
    """A sheet of the report, written from the top down."""

    def __init__(self, sheet: Worksheet, title: str, subtitle: str, width: int) -> None:
        self.sheet = sheet
        self.width = width
        self.row = 1
        sheet.sheet_view.showGridLines = False
        self.line(title, TITLE)
        sheet.row_dimensions[1].height = 28
        self.line(subtitle, SUBTITLE)
        for column in range(1, width + 1):
            sheet.cell(2, column).border = Border(bottom=_ACCENT_RULE)
        sheet.row_dimensions[2].height = 18
        self.row = 4

    def widths(self, columns: Sequence[Column]) -> None:
        """Set the widths of the sheet's columns."""
        for place, column in enumerate(columns, 1):
            self.sheet.column_dimensions[get_column_letter(place)].width = column.width

    def line(self, text: str, font: Font = BODY, lines: int = 1) -> None:
        """A line of text across the page, over as many rows' height as it needs."""
        cell = self.sheet.cell(self.row, 1)
        assert isinstance(cell, Cell)
        put_text(cell, text)
        cell.font = font
        cell.alignment = Alignment(vertical="top", wrap_text=lines > 1)
        if lines > 1:
            self.sheet.merge_cells(start_row=self.row, end_row=self.row, start_column=1, end_column=self.width)
            self.sheet.row_dimensions[self.row].height = 13.5 * lines
        self.row += 1

    def paragraph(self, text: str, width: float) -> None:
        """A text over the whole page of this width [characters], in as many lines as it needs."""
        self.line(text, lines=wrapped_lines(text, width))

    def section(self, text: str) -> None:
        """A heading within the page."""
        self.sheet.row_dimensions[self.row].height = 20
        self.line(text, SECTION)

    def gap(self) -> None:
        """An empty row."""
        self.row += 1

    def table(
        self, columns: Sequence[Column], rows: Sequence[Sequence[Value]], totals: Sequence[Value] | None = None
    ) -> tuple[int, int]:
        """A table at the current row; the answer is the rows of its first and last line."""
        if any(column.group for column in columns):
            self._groups(columns)
        for place, column in enumerate(columns, 1):
            self._heading(place, column)
        self.sheet.row_dimensions[self.row].height = 13 * max(column.heading.count("\n") + 1 for column in columns) + 4
        self.row += 1
        first = self.row
        for row in rows:
            self._values(columns, row, BODY, _THIN)
        last = self.row - 1
        if totals is not None:
            self._values(columns, totals, STRONG, None)
        return first, last

    def _groups(self, columns: Sequence[Column]) -> None:
        for place, column in enumerate(columns, 1):
            if column.group and (place == 1 or columns[place - 2].group != column.group):
                cell = self.sheet.cell(self.row, place)
                assert isinstance(cell, Cell)
                put_text(cell, column.group)
                cell.font = STRONG
                size = sum(other.group == column.group for other in columns)
                for under in range(place, place + size):
                    self.sheet.cell(self.row, under).border = Border(bottom=_THIN)
                cell.alignment = Alignment(horizontal="center")
                self.sheet.merge_cells(
                    start_row=self.row, end_row=self.row, start_column=place, end_column=place + size - 1
                )
        self.row += 1

    def _heading(self, place: int, column: Column) -> None:
        cell = self.sheet.cell(self.row, place)
        assert isinstance(cell, Cell)
        put_text(cell, column.heading)
        cell.font = HEAD
        cell.alignment = alignment(column.is_text, place, "bottom", wrap=True)
        cell.border = Border(bottom=_DARK)

    def _values(self, columns: Sequence[Column], row: Sequence[Value], font: Font, rule: Side | None) -> None:
        for place, (column, value) in enumerate(zip(columns, row, strict=True), 1):
            cell = self.sheet.cell(self.row, place)
            assert isinstance(cell, Cell)
            put_value(cell, value, column.format)
            cell.font = font
            cell.alignment = alignment(column.is_text, place, "center", wrap=column.wrap)
            if rule is not None:
                cell.border = Border(bottom=rule)
        self._fit_height(columns, row)
        self.row += 1

    def _fit_height(self, columns: Sequence[Column], row: Sequence[Value]) -> None:
        """Rows with wrapped text get their height here: not every program works it out when it opens a file."""
        lines = max(
            (
                wrapped_lines(value, column.width - 1)
                for column, value in zip(columns, row, strict=True)
                if column.wrap and isinstance(value, str)
            ),
            default=1,
        )
        self.sheet.row_dimensions[self.row].height = 13 * lines + 3


def alignment(is_text: bool, place: int, vertical: str, *, wrap: bool) -> Alignment:
    """Texts stand to the left, a little away from the numbers before them; numbers to the right."""
    if is_text:
        return Alignment(horizontal="left", vertical=vertical, indent=place > 1, wrap_text=wrap)
    return Alignment(horizontal="right", vertical=vertical, wrap_text=wrap)


LETTERS_IN_WIDTH = 1.1
"""Letters of running text to a unit of column width, which is the width of a digit; measured on our own pages."""


def wrapped_lines(text: str, width: float) -> int:
    """How many lines a text takes in a column of this width [characters], words kept whole."""
    width = int(width * LETTERS_IN_WIDTH)
    lines = 0
    for part in text.split("\n"):
        used, lines = 0.0, lines + 1
        for word in part.split(" "):
            if used and used + 1 + len(word) > width:
                used, lines = 0.0, lines + 1
            used += len(word) + (1 if used else 0)
            lines += int(used // (width + 1))
            used %= width + 1
    return lines


def put_value(cell: Cell, value: Value, number_format: str = "") -> None:
    """Put a value into a cell: a text as text, a number as a number, a date as a date."""
    if isinstance(value, str):
        put_text(cell, value)
    elif value is not None:
        cell.value = value
        if number_format:
            cell.number_format = number_format


def set_up_print(sheet: Worksheet, *, landscape: bool, paper: int, footer: str, title_rows: str = "") -> None:
    """Print on the width of one sheet of paper, with a footer and repeated title rows."""
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.page_setup.paperSize = paper
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    assert sheet.sheet_properties.pageSetUpPr is not None
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    margins = sheet.page_margins
    margins.left = margins.right = 0.6
    margins.top, margins.bottom = 0.6, 0.7
    margins.header = margins.footer = 0.3
    # An ampersand starts a code in headers and footers; two of them are one.
    footers = sheet.oddFooter
    assert footers is not None and footers.left is not None and footers.right is not None
    left, right = footers.left, footers.right
    left.text = footer.replace("&", "&&")
    right.text = "page &P of &N"
    for part in (left, right):
        part.font, part.size, part.color = f"{FACE},Regular", 8, GREY
    if title_rows:
        sheet.print_title_rows = title_rows
