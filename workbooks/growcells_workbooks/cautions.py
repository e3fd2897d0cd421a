"""What can hurt people around nutrient solutions, from ``data/cautions.csv``, for the report and the starter log."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class Caution:
    """A danger and what to do about it."""

    about: str
    text: str
    source: str


@cache
def cautions() -> tuple[Caution, ...]:
    """All cautions, in the order in which they are to be read."""
    text = resources.files("growcells_workbooks").joinpath("data/cautions.csv").read_text("utf-8")
    return tuple(Caution(row["about"], row["text"], row["source"]) for row in csv.DictReader(text.splitlines()))
