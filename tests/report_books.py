"""The pages of a report's workbook, several of which may stand on one sheet."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from unittest.mock import patch

from openpyxl import Workbook, load_workbook
from openpyxl.cell import Cell, MergedCell
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.merge import MergedCellRange
from openpyxl.worksheet.worksheet import Worksheet

TITLES = {
    "Week": r"Week \d+ of \d{4}",
    "Doses": "To weigh in the coming week",
    "Form": "Readings of the coming week",
    "Charts": "pH, EC and water temperature, the last four weeks",
    "Photos": "Photos of the beds",
    "Trial": "Standings of the trial",
    "Costs": "Costs and stock",
    "Rounds": "Rounds and harvests",
    "Reasons": "The advice and its reasons",
    "Method": "How these figures were made",
    "Checks": "What to check in the log",
    "Cautions": "Cautions",
    "Readings": "Readings of the week",
    "Water": "Water used",
    "Nutrients": "Nutrients in the water",
    "History": "The readings behind the charts",
}
"""The titles of the pages, in their order."""
TITLE_SIZE = 18


def report_book(path: Path, **options: bool) -> Workbook:
    """A workbook as ``load_workbook`` opens it, its cells with the borders that the file gives them.

    openpyxl would work out those of merged cells anew, which takes most of the time that a report takes to open. Of
    neighbours that are equally wide it gives the width of the first alone, and here each has its own.
    """
    with patch.object(MergedCellRange, "format", lambda cells: None):
        book = load_workbook(path, **options)
    for sheet in book.worksheets:
        for columns in list(sheet.column_dimensions.values()):
            for place in range(columns.min + 1, columns.max + 1):
                sheet.column_dimensions[get_column_letter(place)].width = columns.width
    return book


def titles_of(book: Workbook) -> list[str]:
    """The names of the pages in their order."""
    return [name for sheet in book.worksheets for row in sheet.iter_rows() if (name := _titled(row[0]))]


def _titled(cell: Any) -> str:
    if cell.font.size != TITLE_SIZE or not cell.value:
        return ""
    return next((name for name, title in TITLES.items() if re.fullmatch(title, str(cell.value))), "")


def sheet_of(book: Workbook, name: str) -> Worksheet:
    """The sheet on which a page stands."""
    for sheet in book.worksheets:
        if any(_titled(row[0]) == name for row in sheet.iter_rows()):
            assert isinstance(sheet, Worksheet)
            return sheet
    raise KeyError(name)


def cells_of(book: Workbook, name: str) -> list[list[Cell]]:
    """The cells of a page row by row, each of those made of several once."""
    rows: list[list[Cell]] = []
    inside = False
    for row in sheet_of(book, name).iter_rows():
        titled = _titled(row[0])
        inside = titled == name if titled else inside
        if inside:
            rows.append([cell for cell in row if isinstance(cell, Cell) and not isinstance(cell, MergedCell)])
    return rows


def rows_of(book: Workbook, name: str) -> list[list[Any]]:
    """The values of a page row by row."""
    return [[cell.value for cell in row] for row in cells_of(book, name)]


def row_of(book: Workbook, name: str, first: str) -> list[Any]:
    """The values of the first row of a page that begins with this text."""
    return next(row for row in rows_of(book, name) if row[0] == first)


def texts_of(book: Workbook, name: str) -> list[str]:
    """The texts of a page."""
    return [value for row in rows_of(book, name) for value in row if isinstance(value, str)]
