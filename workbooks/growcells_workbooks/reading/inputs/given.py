"""What a file gives to be read: its sheets, and what is to be said of its formulas."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from growcells import functions
from growcells.cells.number_texts import count

from ...recalculation import FailedCell, KeptCell, RestingCell
from ..model.log_cells import Sheet


@dataclass(frozen=True)
class Outdated:
    """A formula whose stored value is not the one that its growcells function gives now."""

    sheet: str
    cell: str
    formula: str
    stored: str
    now: str


@dataclass(frozen=True)
class Input:
    """The sheets of a file in their order, and what is known of its formulas."""

    sheets: list[Sheet]
    formulas: int = 0
    """How many it has."""
    functions: tuple[str, ...] = ()
    """The cell functions that its formulas use, in the order of the reference."""
    failed: tuple[FailedCell, ...] = ()
    kept: tuple[KeptCell, ...] = ()
    resting: tuple[RestingCell, ...] = ()
    outdated: tuple[Outdated, ...] = ()
    notes: tuple[str, ...] = ()
    """What is to be said of the file as a whole, in sentences."""
    category: str = ""
    """What kind of document its properties say it is."""


def in_order(used: Iterable[str]) -> tuple[str, ...]:
    """Names of cell functions in the order of the reference."""
    known = set(used)
    return tuple(name for name in functions() if name in known)


def hidden_note(sheet: str, rows: int, columns: int) -> str:
    """What to say of a sheet of which a part does not show, "" where all of it does."""
    parts = [count(number, what) for number, what in ((rows, "row"), (columns, "column")) if number]
    if not parts:
        return ""
    verb, pronoun = ("is", "it is") if rows + columns == 1 else ("are", "they are")
    return f"{' and '.join(parts)} of {sheet} {verb} hidden; {pronoun} read like the others"
