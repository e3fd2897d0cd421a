"""The filled cells of a workbook, sheet by sheet, with the values that its formulas have."""

from __future__ import annotations

import bisect
import datetime
import io
import re
import zipfile
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from growcells.cells.errors import CellError

from ..gate import FileProblem, Progress
from ..recalculation.cells import Area, read_area, read_place
from ..recalculation.package import Package
from .cells import LogCell
from .parts import PartReader

MOST_MERGED = 1_000_000
"""Places in merged areas that are kept; a log of 100,000 rows with merged dates has a tenth of it."""
PROGRESS_STEP = 5_000
"""Cells or records between two words on progress."""


_DAMAGE = (
    *(InvalidFileException, zipfile.BadZipFile, zlib.error, EOFError),
    *(LookupError, ValueError, TypeError, AttributeError, OSError, SyntaxError),
)
"""The errors in which openpyxl lets damage to a workbook show."""

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
    package: Package,
    parts: Mapping[str, bytes],
    errors: Mapping[tuple[str, str], CellError],
    progress: Progress | None = None,
) -> list[Sheet]:
    """The sheets of a workbook in their order.

    ``parts`` are the XML of the sheets by their names, with the values computed; strings and styles are those of the
    file. ``errors`` gives the error of cells, by sheet and name, that have no value to trust. Raises FileProblem
    where the file cannot be read as a workbook.
    """
    try:
        workbook = load_workbook(io.BytesIO(package.content), read_only=True, data_only=True, keep_links=False)
        try:
            reader = PartReader(workbook)
            sheets = []
            for title, data in parts.items():
                rows = _filled(title, reader.cells(title, data), data.count(b"<c "), progress)
                _put_errors(title, errors, rows)
                sheets.append(Sheet(title, rows, workbook.epoch, _merged_cells(_merged_areas(data), rows)))
            return sheets
        finally:
            workbook.close()
    except _DAMAGE as why:
        reason = " ".join(str(why).split())
        raise FileProblem(
            f"{package.path} cannot be opened as a workbook: take a whole copy of it ({reason})"
        ) from None


def _filled(title: str, cells: Iterable[LogCell], total: int, progress: Progress | None) -> Rows:
    rows: Rows = {}
    for count, cell in enumerate(cells, 1):
        rows.setdefault(cell.row, {})[cell.column] = cell
        if progress and count % PROGRESS_STEP == 0:
            progress(f"reading {title}", count, max(total, count))
    return {number: dict(sorted(rows[number].items())) for number in sorted(rows)}


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
