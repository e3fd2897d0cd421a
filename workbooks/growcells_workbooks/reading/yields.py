"""What was cut of whole beds: heads, mass, income, by harvest and by round."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from growcells.cells.errors import GrowError
from growcells.cells.units import conversion

from .fixed_units import Fixed, converted
from .model import GrowLog, Harvest, Round, name_key


def income(cut: Harvest, mass: float | None) -> float | None:
    """What a harvest of a mass [g] was sold for: as the log says, else the price times what was cut.

    None where culls or losses leave open what was sold, or where the price is of a bunch of unknown heads.
    """
    if cut.income is not None or cut.price is None or cut.culls or cut.losses:
        return cut.income
    if cut.price_per == "head":
        return None if cut.heads is None else cut.price * cut.heads
    if mass is None:
        return None
    try:
        in_unit = converted(mass, conversion("g", cut.price_per))
    except GrowError:  # a bunch, of which nobody knows how many heads it has
        return None
    return cut.price * in_unit


@dataclass(frozen=True)
class Yield:
    """What several harvests add up to; a sum is None where any of them does not tell it."""

    harvests: int
    heads: float | None
    mass: float | None
    """[g]"""
    income: float | None
    culls: float | None
    losses: float | None
    last: datetime.date | None

    @property
    def mass_a_head(self) -> float | None:
        """The mean mass of a head [g]."""
        return self.mass / self.heads if self.mass is not None and self.heads else None


def yield_of(log: GrowLog, harvests: Iterable[Harvest]) -> Yield:
    """The sums of harvests."""
    fixed = Fixed(log)
    cuts = list(harvests)
    masses = [fixed("harvests.mass", cut.mass) for cut in cuts]
    return Yield(
        len(cuts),
        _sum([cut.heads for cut in cuts]),
        _sum(masses),
        _sum([income(cut, mass) for cut, mass in zip(cuts, masses, strict=True)]),
        _some([cut.culls for cut in cuts]),
        _some([cut.losses for cut in cuts]),
        max((cut.date for cut in cuts if cut.date), default=None),
    )


def _sum(values: list[float | None]) -> float | None:
    return None if None in values or not values else float(sum(value for value in values if value is not None))


def _some(values: list[float | None]) -> float | None:
    """The sum of what is told: a blank cell of culls or losses means none."""
    told = [value for value in values if value is not None]
    return float(sum(told)) if told else None


def of_round(log: GrowLog, known: Round, day: datetime.date) -> list[Harvest]:
    """The harvests of a round up to a day."""
    key = name_key(known.bed)
    return [
        cut
        for cut in log.harvests
        if name_key(cut.bed) == key and cut.round == known.number and (cut.date is None or cut.date <= day)
    ]


def ended(log: GrowLog, known: Round, day: datetime.date) -> datetime.date | None:
    """The day on which a round had ended by a day: as the log says, else its last harvest where another has begun."""
    if known.ended is not None:
        return known.ended if known.ended <= day else None
    key = name_key(known.bed)
    follows = any(
        name_key(other.bed) == key and other.number > known.number and other.began and other.began <= day
        for other in log.rounds
    )
    return yield_of(log, of_round(log, known, day)).last if follows else None
