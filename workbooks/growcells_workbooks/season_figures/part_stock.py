"""The stock of each part of each feed: what is left, what a week takes, what a fill costs, and when to order."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ..data import read_data
from ..reading import Feed, GrowLog, Reading
from ..reading.model import name_key
from ..reading.model.fixed_units import Fixed
from .doses import Dose, FullFill, full_fills
from .parts import PartRate, part_rates

FAR_DAYS = 36_525
"""A hundred years: a day beyond is worth no name."""
HISTORY_WEEKS = 4
"""Weeks of what was added from which the use of a week is taken. Ours."""


@dataclass(frozen=True)
class PartStock:
    """A part of a feed on a day; amounts are in g or, where ``liquid``, in mL. None where the log does not tell."""

    feed: Feed
    part: PartRate
    liquid: bool
    package: float | None
    on_hand: float | None
    fill: float | None
    """What one fill of all beds on the feed takes."""
    use_a_week: float | None
    use_from: str
    lead_weeks: float
    order_by: datetime.date | None
    """By the use of a week and the time that an order takes; within the week where not one fill is left."""

    @property
    def unit(self) -> str:
        """``g`` or ``mL``."""
        return "mL" if self.liquid else "g"

    @property
    def fills_left(self) -> float | None:
        """How many such fills the stock is enough for."""
        return self.on_hand / self.fill if self.on_hand is not None and self.fill else None

    @property
    def short_of_fill(self) -> bool:
        """Whether the stock is less than one such fill."""
        return self.fills_left is not None and self.fills_left < 1

    def cost(self, amount: float | None) -> float | None:
        """What an amount costs."""
        price = self.part.part.price
        if amount is None or price is None or not self.package:
            return None
        return amount / self.package * price


def stocks(log: GrowLog, day: datetime.date, fills: Sequence[FullFill] | None = None) -> list[PartStock]:
    """The stock of every part on a day."""
    filled = full_fills(log, day) if fills is None else fills
    found = []
    for feed in log.feeds:
        on_it = [fill for fill in filled if name_key(fill.feed) == name_key(feed.name)]
        for part in part_rates(log, feed):
            found.append(_stock(log, feed, part, on_it, day))
    return found


def amount_in(dose: Dose, liquid: bool) -> float | None:
    """A dose in mL where it is of a liquid, else in g."""
    return dose.millilitres if liquid else dose.grams


def _stock(log: GrowLog, feed: Feed, part: PartRate, beds: Sequence[FullFill], day: datetime.date) -> PartStock:
    fixed = Fixed(log)
    liquid = part.millilitres is not None or "package" in part.part.units
    doses = [next((d for d in fill.doses if name_key(d.part.name) == name_key(part.name)), None) for fill in beds]
    amounts = [None if dose is None else amount_in(dose, liquid) for dose in doses]
    known = [amount for amount in amounts if amount is not None]
    fill = sum(known) if known and len(known) == len(amounts) else None
    since = _added_share(log, feed, part, beds, liquid)
    on_hand = _either(fixed, part, "on_hand", liquid)
    if on_hand is not None and part.part.counted is not None:
        after = [r for r in _readings_of(log, beds, day) if r.date > part.part.counted]
        if any(reading.feed_added for reading in after):
            on_hand = None if since is None else max(on_hand - since * _added(fixed, after), 0.0)
    use, use_from = _use(log, fixed, part, beds, liquid, day, since)
    lead = fixed("feeds.lead", part.part.lead)
    lead = usual_lead() if lead is None else lead
    order = None
    if on_hand is not None and use:
        ahead = (on_hand / use - lead) * DAYS_IN_WEEK  # of a use next to nothing beyond all numbers
        order = day + datetime.timedelta(days=math.floor(ahead)) if abs(ahead) < FAR_DAYS else None
    if on_hand is not None and fill and on_hand < fill:
        within = day + datetime.timedelta(days=DAYS_IN_WEEK - 1)
        order = within if order is None else min(order, within)
    return PartStock(
        feed, part, liquid, _either(fixed, part, "package", liquid), on_hand, fill, use, use_from, lead, order
    )


def cost_of_parts(log: GrowLog, amounts: Sequence[tuple[PartRate, float | None, float | None]]) -> float | None:
    """What amounts [g, mL] of parts cost together; None where the amount or the price of one is not known."""
    fixed, total = Fixed(log), 0.0
    for part, grams, millilitres in amounts:
        liquid = part.millilitres is not None or "package" in part.part.units
        amount, package = millilitres if liquid else grams, _either(fixed, part, "package", liquid)
        if amount is None or part.part.price is None or not package:
            return None
        total += amount / package * part.part.price
    return total if amounts else None


def usual_lead() -> float:
    """Weeks from order to delivery where the log does not say."""
    return next(float(row["value"]) for row in read_data("report_limits.csv") if row["name"] == "lead")


def _either(fixed: Fixed, part: PartRate, name: str, liquid: bool) -> float | None:
    grams, millilitres = fixed.of_part(part.part, name, "mL")
    if liquid:
        return millilitres if grams is None or part.density is None else grams / part.density
    return grams if millilitres is None or part.density is None else millilitres * part.density


def _readings_of(log: GrowLog, beds: Sequence[FullFill], day: datetime.date) -> list[Reading]:
    keys = dict.fromkeys(name_key(fill.bed.name) for fill in beds)
    return [r for key in keys for r in log.readings_of.get(key, ()) if r.date <= day]


def _added(fixed: Fixed, readings: Sequence[Reading]) -> float:
    return sum(fixed.known("readings.feed_added", r.feed_added) for r in readings if r.feed_added)


def _added_share(log: GrowLog, feed: Feed, part: PartRate, beds: Sequence[FullFill], liquid: bool) -> float | None:
    """How much of a part is in a gram of what was added of its feed; None where its rates do not tell."""
    if len(feed.parts) == 1:
        if not liquid:
            return 1.0
        return None if part.density is None else 1.0 / part.density
    rates = [other.grams_in_litre for other in part_rates(log, feed)]
    total = sum(rate for rate in rates if rate is not None)
    if None in rates or not total or part.grams_in_litre is None:
        return None
    share = part.grams_in_litre / total
    return share if not liquid else None if part.density is None else share / part.density


def _use(
    log: GrowLog,
    fixed: Fixed,
    part: PartRate,
    beds: Sequence[FullFill],
    liquid: bool,
    day: datetime.date,
    share: float | None,
) -> tuple[float | None, str]:
    """What a week takes: as the log says, or else as was added in the last weeks."""
    told = _either(fixed, part, "use", liquid)
    if told:
        return told, "the log"
    start = day - datetime.timedelta(weeks=HISTORY_WEEKS)
    lately = [reading for reading in _readings_of(log, beds, day) if reading.date > start]
    added = _added(fixed, lately)
    if not added or share is None:
        return None, ""
    weeks = max((day - min(reading.date for reading in lately)).days / DAYS_IN_WEEK, 1.0)
    return added * share / weeks, "the feed added"
