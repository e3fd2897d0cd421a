"""The filled cells of a workbook, sheet by sheet, with the values that its formulas have."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from growcells.errors import CellError
from growcells.kinds import is_blank

from ..recalculation import FileProblem


@dataclass(frozen=True, slots=True)
class LogCell:
    """A filled cell: its place and its value, an error as a CellError."""

    sheet: str
    row: int
    column: int
    value: object
    number_format: str

    @property
    def name(self) -> str:
        """The cell's name in its sheet: ``D6``."""
        return f"{get_column_letter(self.column)}{self.row}"

    @property
    def text(self) -> str:
        """The value as a person would copy it."""
        return shown(self.value)


def shown(value: object) -> str:
    """A cell value as text: a date in ISO form, a whole number without a point."""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ", "minutes")
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value).strip()


@dataclass(frozen=True)
class Sheet:
    """The filled cells of a sheet by row and column."""

    title: str
    rows: dict[int, dict[int, LogCell]]
    epoch: datetime.datetime


def read_sheets(path: Path, errors: Mapping[tuple[str, str], CellError]) -> list[Sheet]:
    """The sheets of a workbook in their order.

    ``errors`` gives the error of cells, by sheet and name, that have no value to trust.
    Raises FileProblem where the file cannot be opened as a workbook.
    """
    try:
        workbook = load_workbook(path, read_only=True, data_only=True, keep_links=False)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, SyntaxError) as problem:
        raise FileProblem(f"{path} cannot be opened as a workbook: {problem}") from None
    try:
        return [Sheet(sheet.title, _filled(sheet, errors), workbook.epoch) for sheet in workbook.worksheets]
    finally:
        workbook.close()


def _filled(sheet: Any, errors: Mapping[tuple[str, str], CellError]) -> dict[int, dict[int, LogCell]]:
    # The size that a file declares for a sheet may be wrong, and then cells would be lost.
    sheet.reset_dimensions()
    rows: dict[int, dict[int, LogCell]] = {}
    for cells in sheet.iter_rows():
        filled = {cell.column: cell for cell in _log_cells(sheet.title, cells, errors)}
        if filled:
            rows[next(iter(filled.values())).row] = filled
    return rows


def _log_cells(sheet: str, cells: tuple[Any, ...], errors: Mapping[tuple[str, str], CellError]) -> Iterator[LogCell]:
    for cell in cells:
        if is_blank(cell.value):
            continue
        value = CellError(cell.value) if cell.data_type == "e" else cell.value
        found = LogCell(sheet, cell.row, cell.column, value, cell.number_format or "General")
        yield replace(found, value=errors[sheet, found.name]) if (sheet, found.name) in errors else found
