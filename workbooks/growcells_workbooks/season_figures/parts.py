"""The parts of a feed: what each is, how much of it goes into a litre, and in which order they are mixed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

from growcells.cells.errors import GrowError
from growcells.chemistry.products import Analysis
from growcells.terms.analyses import parse_analysis

from ..reading import Feed, GrowLog, Part
from ..reading.frames.fixed_units import Fixed

DIGITS = 10
"""Figures of an amount: what conversions and products add beyond is no measurement. Ours."""


@dataclass(frozen=True)
class PartRate:
    """A part of a feed at its rate: by mass [g/L] or, a liquid, by volume [mL/L]; None for both where not known."""

    part: Part
    name: str
    analysis: Analysis | None
    grams: float | None = None
    millilitres: float | None = None

    @property
    def density(self) -> float | None:
        """Of a liquid [kg/L], as its analysis says it."""
        return self.analysis.density if self.analysis else None

    @property
    def grams_in_litre(self) -> float | None:
        """Its mass in a litre [g/L], also of a liquid whose density is known."""
        if self.grams is not None:
            return self.grams
        return None if self.millilitres is None or self.density is None else self.millilitres * self.density

    def amount(self, litres: float) -> tuple[float | None, float | None]:
        """Mass [g] and volume [mL] in so many litres of solution; the one that it is not measured by may be None."""
        grams = None if self.grams_in_litre is None else self.grams_in_litre * litres
        millilitres = None if self.millilitres is None else self.millilitres * litres
        if millilitres is None and grams is not None and self.density is not None:
            millilitres = grams / self.density
        return _plain(grams), _plain(millilitres)


def _plain(value: float | None) -> float | None:
    """A figure without the last bits of its arithmetic."""
    return None if value is None else float(f"{value:.{DIGITS}g}")


def analysis_of(part: Part) -> Analysis | None:
    """What a part holds: its label or, where the log gives none, the substance that its product is named after."""
    for text in (part.analysis, part.product):
        if text:
            try:
                return parse_analysis(text)
            except GrowError:
                continue
    return None


def part_rates(log: GrowLog, feed: Feed) -> tuple[PartRate, ...]:
    """The parts of a feed at the rates that the table of feeds gives, in its order."""
    fixed = Fixed(log)
    return tuple(
        PartRate(part, part.product or feed.name, analysis_of(part), *fixed.of_part(part, "rate", "mL/L"))
        for part in feed.parts
    )


class Turn(IntEnum):
    """When a part is stirred in."""

    SILICATE = 0
    ALONE = 1
    PHOSPHATE = 2
    SULFATE = 3
    UNKNOWN = 4
    CALCIUM = 5


ORDER = (
    "What dissolves alone goes first, then what holds phosphate, then sulfate, and calcium last and apart: it falls "
    "out with sulfate and phosphate where both are strong. Stir each until the water is clear before the next."
)
"""Common practice, no source; that calcium sulfate and phosphates fall out: GROW_STOCK_CHECK."""

WHY = {
    Turn.SILICATE: "silicate first: it sets to a gel with all that is strong",
    Turn.ALONE: "dissolves with everything",
    Turn.PHOSPHATE: "holds phosphate: before the calcium",
    Turn.SULFATE: "holds sulfate: before the calcium",
    Turn.UNKNOWN: "the log does not say what it holds: before the calcium",
    Turn.CALCIUM: "holds calcium: last, in clear water, apart from sulfate and phosphate",
}


def turn_of(part: PartRate) -> Turn:
    """When a part is stirred in, by what it holds."""
    if part.analysis is None:
        return Turn.UNKNOWN
    held = part.analysis.percents
    if held.get("Si"):
        return Turn.SILICATE
    if held.get("Ca") and not held.get("P") and not held.get("S"):
        return Turn.CALCIUM
    if held.get("P"):
        return Turn.PHOSPHATE
    return Turn.SULFATE if held.get("S") else Turn.ALONE


def in_mixing_order(parts: Sequence[PartRate]) -> list[PartRate]:
    """Parts in the order in which they are stirred in; what is alike stays in the order of the log."""
    return sorted(parts, key=turn_of)
