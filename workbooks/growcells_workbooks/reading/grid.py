"""The filled cells of a workbook, sheet by sheet, with the values that its formulas have."""

from __future__ import annotations

import bisect
import datetime
import re
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from openpyxl.utils.exceptions import InvalidFileException

from growcells.errors import CellError

from ..recalculation import FileProblem, Progress
from ..recalculation.package import Package
from ..recalculation.sheet_xml import Area, read_area, read_place
from .model import Fate

FATE_RANKS = {Fate.READ: 3, Fate.UNREADABLE: 2, Fate.HEADING: 1, Fate.IGNORED: 0}
"""Of several fates the highest counts: a date that two readings share is read where one of them is."""
MOST_MERGED = 1_000_000
"""Places in merged areas that are kept; a log of 100,000 rows with merged dates has a tenth of it."""
PROGRESS_STEP = 5_000
"""Rows between two words on progress."""


@dataclass(slots=True, eq=False)
class LogCell:
    """A filled cell: its place, its value (an error as a CellError), and what became of it so far."""

    sheet: str
    row: int
    column: int
    value: object
    number_format: str = "General"
    fate: Fate | None = None

    @property
    def name(self) -> str:
        """The cell's name in its sheet: ``D6``."""
        return f"{get_column_letter(self.column)}{self.row}"

    @property
    def text(self) -> str:
        """The value as a person would copy it."""
        return shown(self.value)

    def settle(self, fate: Fate) -> None:
        """Note what became of the cell."""
        if self.fate is None or FATE_RANKS[fate] > FATE_RANKS[self.fate]:
            self.fate = fate


def shown(value: object) -> str:
    """A cell value as text: a date in ISO form, a whole number without a point."""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ", "minutes")
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value).strip()


Rows = dict[int, dict[int, LogCell]]
"""Filled cells by row and column."""


@dataclass(frozen=True)
class Sheet:
    """The filled cells of a sheet by row and column, in the order of the rows."""

    title: str
    rows: Rows
    epoch: datetime.datetime
    merged: dict[tuple[int, int], LogCell] = field(default_factory=dict)
    """The cell that shows in each other cell of a merged area, for the filled rows."""

    def numbers_between(self, after: int, end: int) -> list[int]:
        """The numbers of the filled rows after one row and before another."""
        numbers = self._numbers
        return numbers[bisect.bisect_right(numbers, after) : bisect.bisect_left(numbers, end)]

    @cached_property
    def _numbers(self) -> list[int]:
        return sorted(self.rows)

    def shown_at(self, row: int, column: int) -> LogCell | None:
        """The cell whose value shows in a place."""
        return self.rows.get(row, {}).get(column) or self.merged.get((row, column))


def read_sheets(
    path: Path, errors: Mapping[tuple[str, str], CellError], progress: Progress | None = None
) -> list[Sheet]:
    """The sheets of a workbook in their order.

    ``errors`` gives the error of cells, by sheet and name, that have no value to trust.
    Raises FileProblem where the file cannot be opened as a workbook.
    """
    package = Package(path)
    try:
        workbook = load_workbook(path, read_only=True, data_only=True, keep_links=False)
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError, SyntaxError) as problem:
        raise FileProblem(f"{path} cannot be opened as a workbook: {problem}") from None
    try:
        sheets = []
        for sheet in workbook.worksheets:
            rows = _filled(sheet, errors, progress)
            part = package.book.sheets.get(sheet.title)
            areas = _merged_areas(package.read(part)) if part else []
            sheets.append(Sheet(sheet.title, rows, workbook.epoch, _merged_cells(areas, rows)))
        return sheets
    finally:
        workbook.close()


def _filled(sheet: Any, errors: Mapping[tuple[str, str], CellError], progress: Progress | None) -> Rows:
    total = sheet.max_row or 0
    # The size that a file declares for a sheet may be wrong, and then cells would be lost.
    sheet.reset_dimensions()
    rows: Rows = {}
    for count, cells in enumerate(sheet.iter_rows(), 1):
        filled = {cell.column: cell for cell in _log_cells(sheet.title, cells)}
        if filled:
            rows[next(iter(filled.values())).row] = filled
        if progress and count % PROGRESS_STEP == 0:
            progress(f"reading {sheet.title}", count, max(total, count))
    _put_errors(sheet.title, errors, rows)
    return rows


def _put_errors(title: str, errors: Mapping[tuple[str, str], CellError], rows: Rows) -> None:
    """Put errors into cells, also into those of formulas for which the file stores no value."""
    added = False
    for (sheet, name), error in errors.items():
        if sheet != title:
            continue
        number, column = read_place(name)
        row = rows.setdefault(number, {})
        if column in row:
            row[column].value = error
        else:
            row[column] = LogCell(title, number, column, error)
            added = True
    if added:
        for number in sorted(rows):
            rows[number] = dict(sorted(rows.pop(number).items()))


def _log_cells(sheet: str, cells: tuple[Any, ...]) -> Iterator[LogCell]:
    for cell in cells:
        value = cell.value
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        if isinstance(value, str):
            yield LogCell(sheet, cell.row, cell.column, CellError(value) if cell.data_type == "e" else value)
        else:
            yield LogCell(sheet, cell.row, cell.column, value, cell.number_format or "General")


_MERGED = re.compile(rb"""mergeCell\s[^>]*?\bref\s*=\s*["']([A-Z0-9:]+)["']""")


def _merged_areas(data: bytes) -> list[Area]:
    """The merged areas of a worksheet part: they stand behind its cells (ISO/IEC 29500-1, 18.3.1.55)."""
    return [read_area(match[1].decode()) for match in _MERGED.finditer(data, data.rfind(b"sheetData"))]


def _merged_cells(areas: list[Area], rows: Rows) -> dict[tuple[int, int], LogCell]:
    most = max((max(cells) for cells in rows.values()), default=0)
    places: dict[tuple[int, int], LogCell] = {}
    for area in areas:
        if len(places) > MOST_MERGED:
            break
        first = rows.get(area.first_row, {}).get(area.first_column)
        if first is None:
            continue
        # A merged area may be as large as the sheet: only its places among filled cells matter.
        last_row = min(area.last_row, max(rows))
        for row in range(area.first_row, last_row + 1):
            if row in rows:
                for column in range(area.first_column, min(area.last_column, most) + 1):
                    if (row, column) != (area.first_row, area.first_column):
                        places[row, column] = first
    return places
