"""What a formula is made of, and how the engine is given it.

The engine knows native functions, cells and ranges. Here go the rest: defined names and table references become cells,
TODAY and NOW become numbers, and each GROW_ call is lifted out: the formula refers to a cell of a helper sheet in its
place, and the call's arguments are told apart, so that they can be evaluated and handed to growcells.
How formulas are stored: ISO/IEC 29500-1, 18.17, and [MS-XLSX] 2.2.2 for prefixes and table references.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from .copies import taken_apart
from .days import DAYS_BETWEEN
from .formula_walk import Walk
from .operands import MAX_FORMULA
from .package import Book
from .readings import Reading, sheet_numbers
from .references import unquoted
from .tokens import FIRST_MARK, Marked, NotComputed

_MAX_MOVING = 8_192  # references in a formula that move with it: as many as it may have characters


@dataclass
class Reader:
    """Reads the formulas of one workbook.

    ``grow`` is the names of the growcells functions, ``tables`` those of them that give tables.
    """

    book: Book
    grow: frozenset[str]
    tables: frozenset[str]
    last_row: int
    """The last row that is filled on any sheet."""
    spreads: Callable[[str, int], bool]
    """Whether a growcells function computes each row of a range that is its argument of that index."""
    _known: dict[tuple[str, bool, str], Reading] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._sheets = {name.casefold(): name for name in self.book.sheets}
        self.numbers = sheet_numbers(self.book)
        self.days_before = DAYS_BETWEEN if self.book.starts_1904 else 0

    def read(self, formula: str, sheet: str, row: int, column: int, *, arrays: bool) -> tuple[Reading, list[str]]:
        """A formula's reading and its moving references.

        Most formulas of a log are copies that differ in their moving references alone, and are read once.
        """
        marked, moving = taken_apart(formula)
        key = (sheet, arrays, marked)
        reading = self._known.get(key)
        if reading is not None and (reading.rows is None or reading.rows[0] <= row <= reading.rows[1]):
            return reading, moving
        if len(formula) > MAX_FORMULA or len(moving) > _MAX_MOVING:
            return Reading(formula, refusal="the formula is too long"), []
        single = Walk(self, sheet, row, column, arrays)
        try:
            try:
                reading = single.whole(marked)
            except Marked:
                single, moving = Walk(self, sheet, row, column, arrays, movable=False), []
                reading = single.whole(formula)
        except NotComputed as problem:
            reading = Reading(marked, refusal=str(problem), areas=tuple(single.areas), movable=single.movable)
        if reading.movable:
            self._known[key] = reading
        return reading, moving

    def sheet_of(self, scope: str, own: str) -> str:
        """The sheet that a reference's scope names; raises NotComputed."""
        if not scope:
            return own
        if any(ord(sign) >= FIRST_MARK for sign in scope):
            raise Marked
        title = unquoted(scope[:-1])
        if "[" in title or ".xla" in title.lower():
            raise NotComputed("it reads another workbook")
        known = self._sheets.get(title.casefold())
        if known is not None:
            return known
        if ":" in title:
            raise NotComputed("it reads the same cells of several sheets")
        raise NotComputed(f"it reads {title[:40]}, which is no sheet of cells here")
