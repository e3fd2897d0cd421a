"""The look of the report: black text, thin rules, one muted accent; nothing that is told by colour alone."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.styles.styleable import StyleableObject
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from ..writing import put_text
from .text_size import wrapped_lines

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
FONTS = {
    "title": TITLE,
    "subtitle": SUBTITLE,
    "section": SECTION,
    "head": HEAD,
    "body": BODY,
    "strong": STRONG,
    "small": SMALL,
}

_THIN = Side(style="thin", color=RULE)
_ACCENT_RULE = Side(style="medium", color=ACCENT)
_DARK = Side(style="thin", color="000000")
RULES = {
    "": Border(),
    "thin": Border(bottom=_THIN),
    "dark": Border(bottom=_DARK),
    "accent": Border(bottom=_ACCENT_RULE),
}

DATE = "d mmm yyyy"
SHORT_DATE = "ddd d mmm"
WHOLE = "0"
PLAIN = "#,##0.0"
FINE = "#,##0.0##"

LINE_HEIGHT = 13
"""Height of a line of text in a table [points]."""
LETTER, A4 = 1, 9
"""Paper sizes (ISO/IEC 29500-1, 18.3.1.63)."""


@dataclass(frozen=True)
class Formula:
    """A formula that a reader may want to follow, with its value."""

    text: str
    value: float


Value = str | float | int | datetime.date | datetime.time | Formula | None


def mass_format(unit: str) -> str:
    """The number format of masses: the tenth of a gram is enough, the tenth of a kilogram or an ounce is not."""
    return PLAIN if unit in ("g", "mg") else FINE


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading with the unit, its width in characters and the format of its numbers.

    ``span`` is the number of sheet columns that it takes; ``width`` is then that of all of them.
    """

    heading: str
    width: float
    format: str = ""
    wrap: bool = False
    group: str = ""
    span: int = 1

    @property
    def is_text(self) -> bool:
        """Whether its cells are texts, set to the left."""
        return not self.format


@dataclass(frozen=True)
class Style:
    """How a cell looks; ``font`` and ``rule`` are names of FONTS and RULES."""

    font: str = "body"
    rule: str = ""
    across: str = "left"
    down: str = "center"
    indent: int = 0
    wrap: bool = False
    format: str = "General"


def new_book() -> Workbook:
    """A workbook without sheets, whose column widths are counted in digits of our own face."""
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    book._fonts[0] = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]  # openpyxl has no public way
    book._named_styles["Normal"].font = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]
    return book


@dataclass
class Painter:
    """Gives cells their style. Each style is worked out once: openpyxl takes long over it."""

    made: dict[Style, object] = field(default_factory=dict)

    def paint(self, cell: StyleableObject, style: Style) -> None:
        """Give a cell a style."""
        if style not in self.made:
            cell.font = FONTS[style.font]
            cell.border = RULES[style.rule]
            cell.alignment = Alignment(
                horizontal=style.across, vertical=style.down, indent=style.indent, wrap_text=style.wrap
            )
            cell.number_format = style.format
            made = copy(cell._style)  # type: ignore[attr-defined]  # openpyxl has no public way
            made.quotePrefix = 0
            self.made[style] = made
        else:
            # A text that must stay text when it is edited has a style of its own, set before.
            quoted = cell.quotePrefix
            cell._style = copy(self.made[style])  # type: ignore[attr-defined]
            if quoted:
                cell.quotePrefix = True


class Page:
    """A sheet of the report, written from the top down. ``stored`` takes the values of its formulas."""

    def __init__(
        self,
        sheet: Worksheet,
        title: str,
        subtitle: str,
        width: int,
        painter: Painter | None = None,
        stored: dict[tuple[str, str], float | str] | None = None,
        columns: Sequence[Column] = (),
    ) -> None:
        self.sheet = sheet
        self.width = width
        self.row = 1
        self.painter = painter or Painter()
        self.stored = stored if stored is not None else {}
        sheet.sheet_view.showGridLines = False
        self.widths(columns)
        self.line(title, "title", height=28)
        lines = wrapped_lines(subtitle, self.paper_width()) if columns else 1
        self.line(subtitle, "subtitle", lines, height=LINE_HEIGHT * lines + 5)
        for column in range(1, width + 1):
            self.paint(2, column, Style("subtitle", "accent", down="top", wrap=lines > 1))
        self.row = 4

    def cell(self, row: int, column: int) -> Cell:
        """A cell of the sheet."""
        cell = self.sheet.cell(row, column)
        assert isinstance(cell, Cell)
        return cell

    def paint(self, row: int, column: int, style: Style) -> None:
        """Give a cell a style."""
        cell = self.sheet.cell(row, column)
        assert isinstance(cell, StyleableObject)  # a Cell, or the rest of a merged one
        self.painter.paint(cell, style)

    def widths(self, columns: Sequence[Column]) -> None:
        """Set the widths of the sheet's columns."""
        for place, column in enumerate(columns, 1):
            self.sheet.column_dimensions[get_column_letter(place)].width = column.width

    def paper_width(self) -> float:
        """The width of the page [characters]."""
        widths = self.sheet.column_dimensions
        return sum(widths[get_column_letter(place)].width for place in range(1, self.width + 1))

    def line(self, text: str, font: str = "body", lines: int = 1, height: float = 0) -> None:
        """A line of text across the page, over as many rows' height as it needs."""
        cell = self.cell(self.row, 1)
        put_text(cell, text)
        self.painter.paint(cell, Style(font, down="top", wrap=lines > 1))
        if lines > 1:
            self.merge(self.row, 1, self.width)
            height = height or (LINE_HEIGHT * FONTS[font].size / BODY.size + 0.5) * lines
        if height:
            self.sheet.row_dimensions[self.row].height = height
        self.row += 1

    def paragraph(self, text: str, font: str = "body", width: float = 0) -> None:
        """A text over the whole page, or this width of it [characters], in as many lines as it needs."""
        width = (width or self.paper_width()) * BODY.size / FONTS[font].size
        self.line(text, font, lines=wrapped_lines(text, width))

    def section(self, text: str) -> None:
        """A heading within the page."""
        self.line(text, "section", height=20)

    def gap(self) -> None:
        """An empty row."""
        self.row += 1

    def turn(self) -> None:
        """Print what follows on a new page."""
        self.sheet.row_breaks.append(Break(id=self.row - 1))

    def merge(self, row: int, first: int, last: int) -> None:
        """Make one cell of several beside each other."""
        if last > first:
            self.sheet.merge_cells(start_row=row, end_row=row, start_column=first, end_column=last)

    def table(
        self, columns: Sequence[Column], rows: Sequence[Sequence[Value]], totals: Sequence[Value] | None = None
    ) -> tuple[int, int]:
        """A table at the current row; the answer is the rows of its first and last line."""
        if any(column.group for column in columns):
            self._groups(columns)
        for place, column in placed(columns):
            self._heading(place, column)
        lines = max(sum(wrapped_lines(part, column.width) for part in column.heading.split("\n")) for column in columns)
        self.sheet.row_dimensions[self.row].height = LINE_HEIGHT * lines + 4
        self.row += 1
        first = self.row
        for row in rows:
            self._values(columns, row, "body", "thin")
        last = self.row - 1
        if totals is not None:
            self._values(columns, totals, "strong", "")
        return first, last

    def _groups(self, columns: Sequence[Column]) -> None:
        names = [column.group for column in columns]
        for place, column in placed(columns):
            number = columns.index(column)
            if column.group and (number == 0 or names[number - 1] != column.group):
                size = sum(other.span for other in columns if other.group == column.group)
                put_text(self.cell(self.row, place), column.group)
                for under in range(place, place + size):
                    self.paint(self.row, under, Style("strong", "thin", across="center"))
                self.merge(self.row, place, place + size - 1)
        self.row += 1

    def _heading(self, place: int, column: Column) -> None:
        put_text(self.cell(self.row, place), column.heading)
        for under in range(place, place + column.span):
            self.paint(self.row, under, style_of(column, place, "head", "dark", "bottom", wrap=True))
        self.merge(self.row, place, place + column.span - 1)

    def _values(self, columns: Sequence[Column], row: Sequence[Value], font: str, rule: str) -> None:
        height = row_height(columns, row)
        down = "top" if height > row_height((), ()) else "center"
        for (place, column), value in zip(placed(columns), row, strict=True):
            self.put(self.row, place, value)
            style = style_of(column, place, font, rule, down, column.wrap)
            for under in range(place, place + column.span):
                self.paint(self.row, under, style)
            self.merge(self.row, place, place + column.span - 1)
        self.sheet.row_dimensions[self.row].height = height
        self.row += 1

    def put(self, row: int, column: int, value: Value) -> None:
        """Put a value into a cell: a text as text, a number as a number, a formula with its value."""
        cell = self.cell(row, column)
        if isinstance(value, str):
            put_text(cell, value)
        elif isinstance(value, Formula):
            cell.value = value.text
            self.stored[self.sheet.title, cell.coordinate] = value.value
        elif value is not None:
            cell.value = value


def placed(columns: Sequence[Column]) -> list[tuple[int, Column]]:
    """The columns of a table, each with the sheet column in which it starts."""
    places, start = [], 1
    for column in columns:
        places.append((start, column))
        start += column.span
    return places


def row_height(columns: Sequence[Column], row: Sequence[Value]) -> float:
    """The height of a row [points]: not every program works it out for wrapped text when it opens a file."""
    lines = max(
        (
            wrapped_lines(value, column.width - 1)
            for column, value in zip(columns, row, strict=True)
            if column.wrap and isinstance(value, str)
        ),
        default=1,
    )
    return LINE_HEIGHT * lines + 3


def style_of(column: Column, place: int, font: str, rule: str, down: str, wrap: bool) -> Style:
    """Texts stand to the left, a little away from the numbers before them; numbers to the right."""
    if column.is_text:
        return Style(font, rule, "left", down, indent=int(place > 1), wrap=wrap)
    return Style(font, rule, "right", down, wrap=wrap, format=column.format)


def set_up_print(
    sheet: Worksheet, *, landscape: bool, paper: int, footer: str, title_rows: str = "", one_page: bool = False
) -> None:
    """Print on the width of one sheet of paper (or all on one), with a footer and repeated title rows."""
    sheet.page_setup.orientation = "landscape" if landscape else "portrait"
    sheet.page_setup.paperSize = paper
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = int(one_page)
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
