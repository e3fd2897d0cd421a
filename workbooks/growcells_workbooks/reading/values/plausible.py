"""Readings that are hardly possible, by the ranges of ``data/plausible.csv``: a slip of the pen, or a wrong unit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from growcells.cells.kinds import Quantity
from growcells.cells.units import conversion

from ...data import read_data
from ..vocabulary.words import Field


@dataclass(frozen=True)
class Range:
    """What a field may plausibly be, in ``unit`` ("" where it has none), and beyond what it cannot be."""

    low: float
    high: float
    unit: str
    lowest: float
    highest: float

    @property
    def shown(self) -> str:
        """Its unit behind a number."""
        return f" {self.unit}" if self.unit else ""

    def between(self, low: float, high: float) -> str:
        """Two limits in a sentence."""
        return f"{low:.3g} to {high:.3g}{self.shown}"


@cache
def ranges() -> dict[tuple[str, str], Range]:
    """The plausible range of each field that has one, by table and field."""
    return {
        (row["table"], row["field"]): Range(
            float(row["low"]),
            float(row["high"]),
            row["unit"],
            float(row["lowest"] or "-inf"),
            float(row["highest"] or "inf"),
        )
        for row in read_data("plausible.csv")
    }


@lru_cache
def range_of(field: Field, unit: str) -> Range | None:
    """The plausible range of a field in a unit of the log, or None where it has none."""
    known = ranges().get((field.table, field.name))
    if known is None or not isinstance(field.kind, Quantity):
        return known
    shorthand = field.kind.shorthand
    given, wanted = shorthand.get(known.unit, known.unit), shorthand.get(unit, unit)
    # To load pint takes longer than to read a small log, and most logs are in the units of the table.
    slope, offset = (1.0, 0.0) if given == wanted else conversion(given, wanted)
    limits = (known.low, known.high, known.lowest, known.highest)
    low, high, lowest, highest = (limit * slope + offset for limit in limits)
    return Range(low, high, unit, lowest, highest)


def doubt_of(number: float, plausible: Range | None) -> str:
    """One sentence where a number is out of a plausible range, else ""."""
    if plausible is None or plausible.low <= number <= plausible.high:
        return ""
    said = f"is out of the plausible range, {plausible.between(plausible.low, plausible.high)}"
    return f"{number:g}{plausible.shown} {said}: check the value and the unit"


def impossible(number: float, plausible: Range | None) -> str:
    """One sentence where a number cannot be what it is taken for, else ""."""
    if plausible is None or plausible.lowest <= number <= plausible.highest:
        return ""
    said = f"cannot be, {plausible.between(plausible.lowest, plausible.highest)} can"
    return f"{number:g}{plausible.shown} {said}: check the value and the unit of its column"
