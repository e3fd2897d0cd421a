"""A formula as it was read: what the engine is given, what is lifted out of it, and what it reads."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto

from .package import Book
from .references import quoted
from .tokens import FIRST_MARK, OWN_ROW

OWN_CELL = "\ue011"
"""Stands for the name of the cell that the formula stands in."""


NOW_MARK, TODAY_MARK = "\ue012", "\ue013"
"""Stand for the numbers that NOW and TODAY give."""


OWN_MARKS = OWN_ROW + OWN_CELL + NOW_MARK + TODAY_MARK


HELPER = "growcells {} {}"
"""Name of the helper sheets, by the number of a sheet and of a call in its cell, on which lifted calls and arguments
stand, each in the place of its formula."""


TABLE_HELPER = "growcells table {}"
"""Name of the helper sheets on which a call that may give several cells stands alone."""


Use = tuple[str, int, str]
"""A function or operator, the position of an argument (0 for all of them), and that argument's form."""


class ArgumentKind(Enum):
    """How an argument of a GROW_ call is come by."""

    LEFT_OUT = auto()
    LITERAL = auto()
    CELL = auto()
    AREA = auto()
    CALL = auto()
    EXPRESSION = auto()


@dataclass(frozen=True, slots=True)
class Argument:
    """An argument of a lifted call. ``number`` is that of its helper cell, where it has one."""

    kind: ArgumentKind
    text: str = ""
    number: int = 0
    many: bool = False


@dataclass(frozen=True, slots=True)
class Call:
    """A GROW_ call lifted out of a formula; ``number`` is that of its helper cell."""

    name: str
    arguments: tuple[Argument, ...]
    number: int
    many: bool
    """Whether it may give several cells."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A formula read. The texts have marks for what moves with the cell: see ``Instance``."""

    text: str
    """For the engine; the same as the formula where nothing had to be changed."""
    written: str = ""
    """The formula itself, with the marks in it."""
    calls: tuple[Call, ...] = ()
    is_call: bool = False
    """Whether the formula is one GROW_ call and nothing else."""
    many: bool = False
    """Whether it may give several cells."""
    uses: frozenset[Use] = frozenset()
    areas: tuple[tuple[str, str], ...] = ()
    """The sheet and the text of each reference."""
    operands: tuple[tuple[Use, int], ...] = ()
    """The uses whose argument is a reference and nothing else, each with the number of that."""
    numbers: tuple[int, ...] = ()
    """The references whose cells are taken for numbers one by one."""
    located: frozenset[int] = frozenset()
    """The references that it asks for their place or size alone: what their cells hold is not read."""
    asked: tuple[tuple[int, int | None], ...] = ()
    """The references that are asked for a criterion that may be a number, and that of the criterion, if it is one."""
    clock: bool = False
    random: bool = False
    anywhere: bool = False
    """Whether it may read cells that it does not name."""
    searches: tuple[str, ...] = ()
    """The ranges in which it looks for the nearest smaller value, cell by cell."""
    undefined: str = ""
    """A name in it that the workbook does not define."""
    refusal: str = ""
    """Why it cannot be computed, if so."""
    as_array: bool = False
    """Whether the engine has to be given it as an array formula, though it shows one value."""
    rows: tuple[int, int] | None = None
    """The rows in which a reference to the own row of a table means something."""
    movable: bool = True
    """Whether it means the same, moved, in another cell."""

    @property
    def is_total(self) -> bool:
        """Whether totals leave its cell out."""
        return any(function == "SUBTOTAL" for function, _, _ in self.uses)

    @property
    def asks_by_text(self) -> bool:
        """Whether a text in it names what it reads."""
        return any(function == "INDIRECT" for function, _, _ in self.uses)


def sheet_numbers(book: Book) -> dict[str, int]:
    """A number for each sheet, which names its helper sheets."""
    return {name: number for number, name in enumerate(book.sheets, 1)}


def call_mark(sheet: int, number: int) -> str:
    """The reference to the helper cell of a lifted call, in the place of the formula."""
    return f"{quoted(HELPER.format(sheet, number))}!{OWN_CELL}"


def filled_in(text: str, moving: list[str], row: int, cell: str, clock: tuple[str, str]) -> str:
    """A text of a reading for the cell in this row of this name; ``clock`` is what NOW and TODAY give."""
    return text if text.isascii() else text.translate(marks(moving, row, cell, clock))


def marks(moving: list[str], row: int, cell: str, clock: tuple[str, str]) -> dict[int, str]:
    """What the marks in the texts of a reading stand for in a cell, for ``str.translate``."""
    table: dict[int, str] = dict(enumerate(moving, FIRST_MARK))
    table[_OWN_ROW] = str(row)
    table[_OWN_CELL] = cell
    table[_NOW], table[_TODAY] = clock
    return table


_OWN_ROW, _OWN_CELL, _NOW, _TODAY = (ord(mark) for mark in (OWN_ROW, OWN_CELL, NOW_MARK, TODAY_MARK))
