"""What a log says of a plant: what it measured, or the word under which it was lost."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from ..cells.arguments import Argument
from ..cells.errors import GrowError
from ..cells.kinds import Kind, read_number, shown
from ..cells.ranges import Column
from ..cells.units import parse_number, split_number
from ..data import read_data

LARGEST = 1e12
"""Beyond it the squares of measured values leave no room for their differences."""


class Lost(str):
    """The word under which a plant was noted as lost."""


@cache
def loss_words() -> frozenset[str]:
    """The words that say that a plant was lost."""
    return frozenset(row["word"] for row in read_data("loss_words.csv"))


def is_loss(text: str) -> bool:
    """Whether a text says that a plant was lost."""
    return " ".join(text.lower().split()).rstrip(" .!") in loss_words()


@cache
def control_words() -> frozenset[str]:
    """The words by which a treatment is called the control."""
    return frozenset(row["word"] for row in read_data("control_words.csv"))


def is_control(name: str) -> bool:
    """Whether a treatment is called the control."""
    return bool(control_words() & set(name.casefold().split()))


@dataclass(frozen=True)
class Outcome(Kind):
    """A measured number, or a word that says that the plant was lost."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float | Lost:
        if isinstance(cell, str):
            if is_loss(cell):
                return Lost(cell.strip())
            if parse_number(cell) is None:
                raise GrowError(
                    f'{argument.name} is {shown(cell)}: give a plain number, "dead" for a plant that was lost, '
                    "or leave the cell blank where nothing was measured"
                )
        return read_number(cell, argument, "52")


@dataclass(frozen=True)
class Outcomes(Column):
    """A column of outcomes. Its first row is a heading where it is a text that neither begins with a number nor is a
    word for a lost plant."""

    def is_heading(self, cell: object, argument: Argument) -> bool | None:
        if not isinstance(cell, str) or is_loss(cell):
            return False
        try:
            return split_number(cell) is None
        except GrowError:
            return False


OUTCOMES = Outcomes("measured values", Outcome("measured value"))


def labels(cells: list[str | None]) -> list[str | None]:
    """Names in one spelling each, the first met: people type ``Feed A`` and ``feed a`` for the same."""
    first: dict[str, str] = {}
    return [
        None if cell is None else first.setdefault(" ".join(cell.casefold().split()), " ".join(cell.split()))
        for cell in cells
    ]
