"""What can hurt people around nutrient solutions, from ``data/cautions.csv``, for the report and the starter log."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from .data import read_data


@dataclass(frozen=True)
class Caution:
    """A danger and what to do about it."""

    about: str
    text: str


@cache
def cautions() -> tuple[Caution, ...]:
    """All cautions, in the order in which they are to be read."""
    return tuple(Caution(row["about"], row["text"]) for row in read_data("cautions.csv"))


def caution(about: str) -> Caution:
    """The caution on a danger."""
    return next(known for known in cautions() if known.about == about)
