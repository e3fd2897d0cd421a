"""What the planning sheets of a starter log share: labelled figures, and tables that one formula gives."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from xlsxwriter.utility import xl_col_to_name

from ..sheets.cell_writer import Computed
from ..sheets.print_setup import LETTER, set_up_print
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import Painter, Style
from ..sheets.table_columns import Column

LABEL_COLUMNS = 4
"""Columns that the label of a figure takes."""
FIGURE_HEIGHT = 16
"""Height of a row with a figure [points]."""


@dataclass(frozen=True)
class Figure:
    """A figure of a plan: its name in formulas, its label, what stands there, its format, and what to know of it.

    A formula names the other figures that it is written with in braces.
    """

    name: str
    label: str
    value: float | str
    format: str
    note: str = ""

    @property
    def computed(self) -> bool:
        """Whether a formula stands there."""
        return isinstance(self.value, str) and self.value.startswith("=")


def plan_page(painter: Painter, name: str, title: str, hint: str, columns: Sequence[Column]) -> SheetWriter:
    """A sheet that prints on one page."""
    sheet = painter.book.add_worksheet(name)
    page = SheetWriter(sheet, painter, title, hint, len(columns), columns)
    set_up_print(sheet, landscape=False, paper=LETTER, footer=title, one_page=True)
    return page


def write_figures(page: SheetWriter, figures: Sequence[Figure]) -> dict[str, str]:
    """Write figures below each other; the answer is the cell of each by its name."""
    place = LABEL_COLUMNS + 1
    cells = {figure.name: f"${xl_col_to_name(place - 1)}${row}" for row, figure in enumerate(figures, page.row)}
    for figure in figures:
        row = page.row
        page.put(row, 1, figure.label)
        for column in range(1, LABEL_COLUMNS + 1):
            page.paint(row, column, Style("body", "thin"))
        page.merge(row, 1, LABEL_COLUMNS)
        page.put(row, place, Computed(str(figure.value).format(**cells)) if figure.computed else figure.value)
        across = "left" if figure.format == "@" else "right"
        font = "strong" if figure.computed else "body"
        page.paint(row, place, Style(font, "thin", across, format=figure.format))
        page.put(row, place + 1, figure.note)
        page.paint(row, place + 1, Style("small", indent=1))
        page.set_height(row, FIGURE_HEIGHT)
        page.row += 1
    return cells


def write_array(page: SheetWriter, row: int, rows: int, columns: int, formula: str) -> list[str]:
    """A formula that gives a table, beside the printed page; the answer is the letters of its columns."""
    first, style = page.width + 2, Style("small")
    places = list(itertools.product(range(row, row + rows), range(first, first + columns)))
    bottom, right = places[-1]
    page.sheet.write_array_formula(row - 1, first - 1, bottom - 1, right - 1, formula, page.painter.look(style), "")
    for place in places[1:]:  # a cell must stand in the file for a value to be stored in it
        page.paint(*place, style)
    return [xl_col_to_name(first - 1 + place) for place in range(columns)]


def write_blank_table(page: SheetWriter, columns: Sequence[Column], rows: int) -> range:
    """A table whose cells are to be filled with formulas; the answer is its rows."""
    first, last = page.table(columns, [[None] * len(columns)] * rows)
    return range(first, last + 1)


def finish_page(page: SheetWriter) -> None:
    """Write the page, and print it and not what it is worked out from."""
    page.finish()
    page.sheet.print_area(0, 0, page.row - 2, page.width - 1)
