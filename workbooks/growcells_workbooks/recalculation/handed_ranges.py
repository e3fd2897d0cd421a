"""The ranges that growcells functions are handed: read from the engine once, and no more than takes some seconds."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import chain

from growcells import functions
from growcells.cells.errors import CellError
from growcells.families.help import EXPLAINING

from .cells import MAX_COLUMNS, MAX_ROWS, Area, ErrorValue, Value
from .engine import Engine, Uncomputed
from .range_sizes import MAX_WHOLE
from .readers import CellPlace

MOST_CELLS = 2**20
"""Most cells handed to a call as one range: ours, a full column."""
MOST_WORK = 5_000_000
"""Cells of ranges that are read and handed over for a workbook: ours, some seconds."""
MOST_FILLED = 3 * 2**19
"""Cells that formulas of arguments fill in the engine: ours, since each takes some two hundred bytes."""
WORK_OF_ROW = 20
"""Cells that a row counts for which a function computes by itself: ours, as the two compare on the clock."""
WORK_OF_TEXT = 100
"""The same where it reads a text, in which it may have to look for the name that was meant: ours, likewise."""
WORK_PER_ROW = 200
"""By which MOST_WORK grows with each row of a log: ours, ten columns whose rows a function computes by itself."""
MOST_KEPT = 2**21
"""Most cells of ranges that are kept, to be handed over again: ours, two full columns."""

LEFT_OUT = "\ue000"
"""Stands for a blank that an argument's formula gives, which the engine would make 0; a private-use character."""

TOGETHER = "its range is too large, with those that other growcells functions read"

Rows = tuple[tuple[object, ...], ...]


class TooLarge(Exception):
    """A call asks for more than it is handed; the text says so."""


@dataclass
class HandedRanges:
    """The ranges of one workbook's calls; ``rows`` is how many its fullest sheet has."""

    rows: int
    work: int = 0
    """Cells read and handed over so far."""
    filled: int = 0
    """Cells that formulas of arguments may fill."""
    _kept: dict[tuple[str, Area], tuple[int, Rows]] = field(default_factory=dict)
    """Ranges, and when they were read, in computations and cells put."""
    _kept_cells: int = 0
    _moment: int = 0
    _computed: int = 0
    """The moment of the last computation."""
    _put: dict[str, dict[int, int]] = field(default_factory=lambda: defaultdict(dict))
    """The moment at which something was put into a column last, by sheet and column."""
    _ends: dict[str, tuple[int, int]] = field(default_factory=dict)
    """The last row and column of each sheet that anything fills, as of the last computation."""
    _formulas: dict[str, dict[int, tuple[int, int]]] = field(default_factory=lambda: defaultdict(dict))
    """The first and the last row that formulas fill, by sheet and column."""
    _unbounded: set[str] = field(default_factory=set)
    """The sheets on which formulas may fill other cells too."""

    def note_formulas(self, filled: Iterable[CellPlace], unbounded: Iterable[str]) -> None:
        """Tell what formulas fill, by which what is typed is known; ``unbounded`` is where they may fill more."""
        self._unbounded.update(unbounded)
        rows: dict[tuple[str, int], list[int]] = {}
        for sheet, row, column in filled:
            rows.setdefault((sheet, column), []).append(row)
        for (sheet, column), found in rows.items():
            self._formulas[sheet][column] = min(found), max(found)

    def note_computed(self) -> None:
        """Tell that the engine has computed."""
        self._moment += 1
        self._computed = self._moment
        self._ends.clear()

    def note_put(self, sheet: str, column: int) -> None:
        """Tell that a value was put into a cell of the engine."""
        self._moment += 1
        self._put[sheet][column] = self._moment

    def is_typed(self, sheet: str, area: Area) -> bool:
        """Whether no formula fills a cell of an area."""
        return sheet not in self._unbounded and not any(
            area.first_column <= column <= area.last_column and first <= area.last_row and area.first_row <= last
            for column, (first, last) in self._formulas.get(sheet, {}).items()
        )

    def read(self, engine: Engine, sheet: str, area: Area) -> Rows:
        """The cells of an area as the registry takes them; of whole columns and rows what is filled.

        The same object as before where nothing in it has changed. Raises TooLarge.
        """
        kept = self._kept.get((sheet, area))
        if kept is not None and not self._may_have_changed(sheet, area, kept[0]):
            return kept[1]
        rows = self._read(engine, sheet, area)
        if kept is not None:
            self._kept_cells -= size(kept[1])
            rows = kept[1] if same((rows,), (kept[1],)) else rows
        self._kept_cells += size(rows)
        if self._kept_cells > MOST_KEPT:
            self._kept.clear()
            self._kept_cells = size(rows)
        self._kept[sheet, area] = self._moment, rows
        return rows

    def _may_have_changed(self, sheet: str, area: Area, since: int) -> bool:
        if self.is_typed(sheet, area):
            return False
        return since < self._computed or any(
            since < moment and area.first_column <= column <= area.last_column
            for column, moment in self._put[sheet].items()
        )

    def _read(self, engine: Engine, sheet: str, area: Area) -> Rows:
        last_row, last_column = self._end(engine, sheet)
        bottom, right = area.last_row, area.last_column
        whole_columns, whole_rows = area.rows == MAX_ROWS, area.columns == MAX_COLUMNS
        if whole_columns or whole_rows:
            bottom = max(area.first_row, min(bottom, last_row))
            right = max(area.first_column, min(right, last_column))
        height, width = bottom - area.first_row + 1, right - area.first_column + 1
        is_wide = (whole_columns and area.columns > MAX_WHOLE) or (whole_rows and area.rows > MAX_WHOLE)
        if is_wide or height * width > MOST_CELLS:
            raise TooLarge("its range is too large")
        filled = range(area.first_row, min(bottom, last_row) + 1)
        self.spend(len(filled) * width + height // WORK_OF_ROW)
        values = engine.block(sheet, Area(area.first_row, area.first_column, filled.stop - 1, right))
        rows = [tuple([value if value.__class__ is float else handed_in(value) for value in row]) for row in values]
        return tuple(rows + [(None,) * width] * (height - len(filled)))

    def _end(self, engine: Engine, sheet: str) -> tuple[int, int]:
        """The last row and column of a sheet that anything fills, or will fill once it is put there."""
        if sheet not in self._ends:
            filled, formulas = engine.filled(sheet), self._formulas.get(sheet, {})
            last_row = max([filled.last_row, *(last for _, last in formulas.values())])
            self._ends[sheet] = last_row, max([filled.last_column, *formulas])
        return self._ends[sheet]

    def fill(self, cells: int) -> None:
        """Count what the formula of an argument may fill; raises TooLarge where it is too much."""
        if self.filled + cells > MOST_FILLED:
            raise TooLarge(TOGETHER)
        self.filled += cells

    def spend(self, work: int) -> None:
        """Count what is read or handed over; raises TooLarge where it is too much."""
        if self.work + work > MOST_WORK + WORK_PER_ROW * self.rows:
            raise TooLarge(TOGETHER)
        self.work += work


def work_of(name: str, given: Sequence[object]) -> int:
    """How many cells a function's ranges are, those whose cells it computes one by one counted as what they take."""
    if name == EXPLAINING and given:  # the arguments of the function that it names
        return work_of(str(given[0]), given[1:]) if given[0] in functions() else 0
    ranges = {index: rows for index, rows in enumerate(given) if isinstance(rows, tuple)}
    spread = functions()[name].spread(given)
    one_by_one = max((_work_of_cells(ranges[index]) for index in spread), default=0)
    return sum(map(size, ranges.values())) + one_by_one


def _work_of_cells(rows: Rows) -> int:
    kinds = Counter(map(type, chain.from_iterable(rows)))
    return WORK_OF_TEXT * kinds[str] + WORK_OF_ROW * (size(rows) - kinds[str] - kinds[type(None)])


def size(rows: Rows) -> int:
    """How many cells a range has."""
    return len(rows) * len(rows[0]) if rows else 0


def handed_in(value: Value | ErrorValue | Uncomputed) -> object:
    """A cell as the registry takes it."""
    if value.__class__ is float:
        return value
    if isinstance(value, ErrorValue):
        return _error(value.code)
    return None if value == LEFT_OUT else value


@cache
def _error(code: str) -> CellError:
    """An error as the registry takes it, the same object for each code: a range may hold a million."""
    return CellError(code)


def same(left: Sequence[object], right: Sequence[object]) -> bool:
    """Whether arguments are the same, 1 and TRUE told apart."""
    if left != right:
        return False
    for one, other in zip(left, right, strict=True):
        if one.__class__ is not other.__class__:
            return False
        if isinstance(one, tuple) and isinstance(other, tuple) and _kinds(one) != _kinds(other):
            return False
    return True


def _kinds(rows: Rows) -> list[type]:
    """The types of the cells of a range."""
    return list(map(type, chain.from_iterable(rows)))
