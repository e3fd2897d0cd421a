"""What each round came to: its days, what it was fed, what that cost, what was cut of it and sold for."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from ..reading import Bed, GrowLog, Round
from ..reading.model import bed_with, name_key
from ..reading.model.fixed_units import Fixed
from ..reading.model.yields import Yield, ended, of_round, yield_of
from .not_known import NotKnown
from .part_stock import cost_of_parts
from .parts import PartRate
from .rates_in_force import InForce, fill_rates, in_force
from .tanks import floor_area, full_volume

NO_PRICE = "the price or the package of a part is not in the log"


@dataclass(frozen=True)
class PartFed:
    """How much of a part a round was given [g, mL]; None where that is not known."""

    part: PartRate
    grams: float | None
    millilitres: float | None


@dataclass(frozen=True)
class RoundSum:
    """A round up to a day; None where the log does not tell. ``why`` says what of its feed is not known
    or taken for granted.
    """

    round: Round
    feed: str
    ended: datetime.date | None
    days: int | None
    cut: Yield
    fed: tuple[PartFed, ...]
    cost: float | None
    area: float | None
    """The surface of its bed [m²]."""
    why: str = ""

    @property
    def left(self) -> float | None:
        """The income less the cost of the feed."""
        return None if self.cut.income is None or self.cost is None else self.cut.income - self.cost

    @property
    def cost_a_head(self) -> float | None:
        """The cost of the feed for a head that was cut."""
        return self.cost / self.cut.heads if self.cost is not None and self.cut.heads else None

    @property
    def not_known(self) -> str:
        """What is not known of its feed and its income."""
        return "; ".join(filter(None, (self.why, *self.cut.unsold)))

    @property
    def mass_a_square_metre(self) -> float | None:
        """The mass cut [g] from a square metre."""
        return self.cut.mass / self.area if self.cut.mass is not None and self.area else None


def round_sums(log: GrowLog, day: datetime.date) -> list[RoundSum]:
    """The sums of every round that has begun by a day."""
    return [round_sum(log, known, day) for known in log.rounds if known.began and known.began <= day]


def round_sum(log: GrowLog, known: Round, day: datetime.date) -> RoundSum:
    """The sums of a round up to a day."""
    assert known.began is not None
    over = ended(log, known, day)
    cut = yield_of(log, of_round(log, known, day))
    last = min(over or _before_next(log, known) or day, day)
    days = ((over or cut.last or day) - known.began).days
    row = log.bed(known.bed)
    if row is None:
        return RoundSum(known, known.feed, over, days, cut, (), None, None, f"{known.bed} is in no list of beds")
    rounds = [other for other in log.rounds if name_key(other.bed) == name_key(known.bed)]
    bed = bed_with(row, known, rounds)
    area = floor_area(log, bed)
    try:
        rule = in_force(log, bed, last)
        fed = _fed(log, bed, known, rule, last)
    except NotKnown as problem:
        return RoundSum(known, bed.feed, over, days, cut, (), None, area, str(problem))
    cost = cost_of_parts(log, [(part.part, part.grams, part.millilitres) for part in fed])
    why = "; ".join(filter(None, (rule.word, "" if cost is not None else NO_PRICE)))
    return RoundSum(known, rule.feed.name, over, days, cut, tuple(fed), cost, area, why)


def _before_next(log: GrowLog, known: Round) -> datetime.date | None:
    """The day before the next round of its bed began."""
    begun = [
        other.began
        for other in log.rounds
        if name_key(other.bed) == name_key(known.bed) and other.number > known.number and other.began
    ]
    return min(begun) - datetime.timedelta(days=1) if begun else None


def _fed(log: GrowLog, bed: Bed, known: Round, rule: InForce, last: datetime.date) -> list[PartFed]:
    """A round's feed: its fills, each at its own rate, or one full fill where none is noted; and what was added."""
    fixed = Fixed(log)
    full = full_volume(log, bed)
    litres = 0.0
    """Litres of solution at the rate in force that hold what it was given."""
    fills = [fill for fill in fill_rates(log, bed, last) if fill.is_known]
    for fill in fills:
        volume = fixed("fills.volume", fill.fill.volume) or full
        at_rate = fill.is_of(rule.parts)
        if not at_rate and (rule.total is None or fill.grams is None):
            raise NotKnown(f"a fill of {bed.name} was at another rate, and its parts are not told")
        litres += volume if at_rate else volume * (fill.grams or 0.0) / (rule.total or 1.0)
    litres = litres if fills else full
    added = sum(
        fixed.known("readings.feed_added", reading.feed_added)
        for reading in log.readings_of.get(name_key(bed.name), ())
        if reading.feed_added and reading.round == known.number and reading.date <= last
    )
    if added and not rule.total:
        raise NotKnown(f"what was added to {bed.name} is by mass, and its feed by volume")
    litres += added / rule.total if added and rule.total else 0.0
    return [PartFed(replace(part), *part.amount(litres)) for part in rule.parts]
