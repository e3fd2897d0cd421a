"""A log being written for a test: its sheets, and the truth that is in them."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from growcells_workbooks.reading.inputs.log_cells import LogCell, Sheet

EPOCH = datetime.datetime(1899, 12, 30)
Key = tuple[Any, ...]


@dataclass(frozen=True)
class Truth:
    """A value of a log in fixed units, by what it is of, and the cell that holds it."""

    key: Key
    value: float
    sheet: str
    cell: str


@dataclass
class Page:
    """A sheet being written: cells by row and column."""

    title: str
    cells: dict[tuple[int, int], tuple[object, str]] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)

    def put(self, row: int, column: int, value: object, number_format: str = "General") -> tuple[str, str]:
        """Write a cell; gives its sheet and name."""
        if value is not None and value != "":
            self.cells[row, column] = (value, number_format)
        return self.title, f"{get_column_letter(column)}{row}"

    @property
    def bottom(self) -> int:
        """Its last filled row."""
        return max((row for row, _ in self.cells), default=0)


@dataclass
class Made:
    """A log, its truth, and how it lies."""

    seed: int
    layout: str
    pages: list[Page]
    truths: list[Truth]

    def sheets(self) -> list[Sheet]:
        """The log as the reader is handed it."""
        return [sheet_of(page) for page in self.pages]

    def save(self, path: Path | IO[bytes]) -> None:
        """The log as a workbook."""
        book = Workbook()
        assert book.active is not None
        book.remove(book.active)
        for page in self.pages:
            sheet = book.create_sheet(page.title)
            for (row, column), (value, number_format) in page.cells.items():
                cell = sheet.cell(row, column)
                cell.value = value
                if number_format != "General":
                    cell.number_format = number_format
            for first_row, first_column, last_row, last_column in page.merged:
                sheet.merge_cells(None, first_row, first_column, last_row, last_column)
        book.save(path)


def sheet_of(page: Page) -> Sheet:
    """A page as a sheet of cells."""
    rows: dict[int, dict[int, LogCell]] = {}
    for row, column in sorted(page.cells):
        value, number_format = page.cells[row, column]
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            value = datetime.datetime.combine(value, datetime.time())
        rows.setdefault(row, {})[column] = LogCell(page.title, row, column, value, number_format)
    merged = {}
    for first_row, first_column, last_row, last_column in page.merged:
        first = rows.get(first_row, {}).get(first_column)
        for row in range(first_row, last_row + 1):
            for column in range(first_column, last_column + 1):
                if first is not None and (row, column) != (first_row, first_column) and row in rows:
                    merged[row, column] = first
    return Sheet(page.title, rows, EPOCH, merged)
