"""What was cut of whole beds: heads, mass, income, by harvest and by round."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from growcells.cells.errors import GrowError
from growcells.cells.units import conversion

from ..model.entries import Harvest, Round, name_key
from ..model.log import GrowLog
from .fixed_units import Fixed, converted


@dataclass(frozen=True)
class Sale:
    """What a harvest was sold for; None where the log does not tell, and then ``why`` says what of it is not known.

    ``why`` is "" too where the log speaks of no sale.
    """

    income: float | None
    why: str = ""


WHAT_PRICE = "what its price is of is not said: head the column Price a head, Price a bunch or Price/lb"


def sale_of(cut: Harvest, mass: float | None, sold_mass: float | None = None) -> Sale:
    """What a harvest of a mass [g] was sold for: as the log says, else the price times what the log says was sold."""
    if cut.income is not None or cut.price is None:
        return Sale(cut.income)
    if cut.unread:
        return Sale(None, f'the column "{cut.unread}" is not understood, and what was sold may stand in it')
    per = cut.price_per
    if per == "each" and (cut.bunches is None) != (cut.heads is None and cut.sold is None):
        per = "head" if cut.bunches is None else "bunch"
    try:
        if per == "head":
            return Sale(cut.price * _heads_sold(cut))
        if per == "bunch":
            return Sale(cut.price * _bunches_sold(cut))
        if per in ("", "each"):
            return Sale(None, WHAT_PRICE)
        return Sale(cut.price * converted(_mass_sold(cut, mass, sold_mass), conversion("g", per)))
    except (NotTold, GrowError) as problem:
        return Sale(None, str(problem))


class NotTold(Exception):
    """What of a sale the log does not tell."""


def _heads_sold(cut: Harvest) -> float:
    """The heads that were sold. Raises NotTold."""
    if cut.sold is not None:
        return cut.sold
    if cut.heads is None:
        if cut.bunches is not None and cut.bunch_heads is not None and cut.bunches_sold:
            return cut.bunches * cut.bunch_heads
        raise NotTold("the price is of a head, and the log does not say how many heads were sold")
    if not cut.heads_cut and (cut.culls or cut.losses):
        lost = "culls" if cut.culls else "losses"
        raise NotTold(
            f"the log does not say whether its {lost} are among the heads: head the column Heads cut or Heads sold"
        )
    sold = cut.heads - (cut.culls or 0.0)
    if sold < 0:
        raise NotTold("more heads were culled than cut")
    return sold


def _bunches_sold(cut: Harvest) -> float:
    """The bunches that were sold. Raises NotTold."""
    if cut.bunches is not None:
        if cut.culls and not cut.bunches_sold:
            raise NotTold("the log does not say whether its culls are among the bunches: head the column Bunches sold")
        return cut.bunches
    if cut.bunch_heads:
        return _heads_sold(cut) / cut.bunch_heads
    raise NotTold("the price is of a bunch, and the log does not say how many bunches, or how many heads make one")


def _mass_sold(cut: Harvest, mass: float | None, sold_mass: float | None) -> float:
    """The mass [g] that was sold. Raises NotTold."""
    if sold_mass is not None:
        return sold_mass
    if mass is None:
        raise NotTold("the price is of a mass, and the log does not say what was sold weighed")
    if cut.culls or (cut.sold is not None and cut.sold != cut.heads):
        raise NotTold("the log does not say whether its mass is of what was sold alone: head the column Weight sold")
    return mass


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
    unsold: tuple[str, ...] = ()
    """What is not known of the income, by the day of its harvest."""

    @property
    def mass_a_head(self) -> float | None:
        """The mean mass of a head [g]."""
        return self.mass / self.heads if self.mass is not None and self.heads else None


def yield_of(log: GrowLog, harvests: Iterable[Harvest]) -> Yield:
    """The sums of harvests."""
    fixed = Fixed(log)
    cuts = list(harvests)
    masses = [fixed("harvests.mass", cut.mass) for cut in cuts]
    sales = [in_log(fixed, cut) for cut in cuts]
    return Yield(
        len(cuts),
        _sum([cut.heads for cut in cuts]),
        _sum(masses),
        _sum([sale.income for sale in sales]),
        _some([cut.culls for cut in cuts]),
        _some([cut.losses for cut in cuts]),
        max((cut.date for cut in cuts if cut.date), default=None),
        tuple(_unsold(cut, sale.why) for cut, sale in zip(cuts, sales, strict=True) if sale.why),
    )


def in_log(fixed: Fixed, cut: Harvest) -> Sale:
    """What a harvest of a log was sold for."""
    return sale_of(cut, fixed("harvests.mass", cut.mass), fixed("harvests.sold_mass", cut.sold_mass))


def _unsold(cut: Harvest, why: str) -> str:
    """``harvest of 22 Nov: the log does not say ...``."""
    return f"harvest of {cut.date.day} {cut.date:%b}: {why}" if cut.date else f"a harvest: {why}"


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
