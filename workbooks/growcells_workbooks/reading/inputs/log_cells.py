"""The filled cells of a log's sheets, whatever kind of file they come from, and what became of each."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from functools import cached_property

from ...recalculation.cells import Area, cell_name
from ...recalculation.days import EPOCH_1900
from ..model.found import Fate

FATE_RANKS = {Fate.READ: 3, Fate.UNREADABLE: 2, Fate.HEADING: 1, Fate.IGNORED: 0}
"""Of several fates the highest counts: a date that two readings share is read where one of them is."""


@dataclass(slots=True, eq=False)
class LogCell:
    """A filled cell: its place, its value (an error as a CellError), and what became of it so far."""

    sheet: str
    row: int
    column: int
    value: object
    number_format: str = "General"
    fate: Fate | None = None
    whole: LogCell | None = None
    """The cell of the log of which it is a piece, where that holds several things."""

    @property
    def name(self) -> str:
        """The cell's name in its sheet: ``D6``."""
        return cell_name(self.row, self.column)

    @property
    def text(self) -> str:
        """The value as a person would copy it."""
        return shown(self.value)

    def piece(self, value: object) -> LogCell:
        """A piece of the cell: what becomes of it becomes of the cell."""
        return LogCell(self.sheet, self.row, self.column, value, whole=self.whole or self)

    def settle(self, fate: Fate) -> None:
        """Note what became of the cell, and of the one that it is a piece of."""
        if self.whole is not None:
            self.whole.settle(fate)
        if self.fate is None or (self.fate is not fate and FATE_RANKS[fate] > FATE_RANKS[self.fate]):
            self.fate = fate


def shown(value: object) -> str:
    """A cell value as text: a date in ISO form, a whole number without a point."""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ", "minutes")
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value).strip()


def cut(text: str) -> str:
    """A text of a log as sentences quote it: on one line, and not longer than people read."""
    quoted = " ".join(text.split())
    return quoted if len(quoted) <= LONGEST_QUOTED else f"{quoted[: LONGEST_QUOTED - 1]}…"


LONGEST_QUOTED = 60
"""Characters of a cell's content that are shown; longer contents are cut."""
MOST_MERGED = 1_000_000
"""Places in merged areas that are kept; a log of 100,000 rows with merged dates has a tenth of it."""
PROGRESS_STEP = 5_000
"""Cells or records between two words on progress."""
Place = tuple[int, int]
"""Row and column of a cell, counted from 1."""
Rows = dict[int, dict[int, LogCell]]
"""Filled cells by row and column."""


@dataclass(frozen=True)
class Sheet:
    """The filled cells of a sheet by row and column, in the order of the rows."""

    title: str
    rows: Rows
    epoch: datetime.datetime
    """The day that number 0 is, where dates are numbers."""
    merged: dict[Place, LogCell] = field(default_factory=dict)
    """The cell that shows in each other cell of a merged area, for the filled rows."""
    computed: Set[Place] = frozenset()
    """The rows and columns of cells that formulas fill."""

    @cached_property
    def ends(self) -> tuple[int, int]:
        """The first and the last column in which it has anything; 0 where it has nothing."""
        of_rows = [ends(row) for row in self.rows.values() if row]
        return min((first for first, _ in of_rows), default=0), max((last for _, last in of_rows), default=0)


def ends(row: Mapping[int, LogCell]) -> tuple[int, int]:
    """The first and the last column of a filled row: its cells are in their order."""
    columns = list(row)
    return columns[0], columns[-1]


def sheet_of(
    title: str,
    cells: Iterable[LogCell],
    epoch: datetime.datetime = EPOCH_1900,
    merged: Iterable[Area] = (),
    computed: Set[Place] = frozenset(),
) -> Sheet:
    """A sheet of these cells, which may come in any order; of two for one place the later counts."""
    filled: Rows = {}
    number = 0
    row: dict[int, LogCell] = {}
    for cell in cells:
        if cell.row != number:  # nearly all files have their cells row by row
            number = cell.row
            row = filled.setdefault(number, {})
        row[cell.column] = cell
    rows = {number: _in_order(filled[number]) for number in sorted(filled)}
    return Sheet(title, rows, epoch, _merged_cells(merged, rows), computed)


def _in_order(row: dict[int, LogCell]) -> dict[int, LogCell]:
    """The cells of a row in the order of their columns, in which nearly all files have them."""
    columns = sorted(row)
    return row if columns == [*row] else {column: row[column] for column in columns}


def _merged_cells(areas: Iterable[Area], rows: Rows) -> dict[Place, LogCell]:
    last_filled = max(rows, default=0)
    most = max((max(cells) for cells in rows.values()), default=0)
    places: dict[Place, LogCell] = {}
    for area in areas:
        if len(places) > MOST_MERGED:
            break
        first = rows.get(area.first_row, {}).get(area.first_column)
        if first is None:
            continue
        # A merged area may be as large as the sheet: only its places among filled cells matter.
        for row in range(area.first_row, min(area.last_row, last_filled) + 1):
            if row in rows:
                for column in range(area.first_column, min(area.last_column, most) + 1):
                    if (row, column) != (area.first_row, area.first_column):
                        places[row, column] = first
    return places
