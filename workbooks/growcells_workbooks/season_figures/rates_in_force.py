"""Which feed a bed is given now, and at which rate: by its round, its fills, the tables of beds and feeds."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..reading import Bed, Feed, Fill, GrowLog, Part, Reading, Round
from ..reading.model import name_key
from ..reading.model.fixed_units import Fixed
from .not_known import NotKnown
from .parts import PartRate, part_rates
from .tanks import full_volume, said

SAME_RATE = 0.01
"""Part by which two rates that somebody wrote may differ and be one. Ours: a rate has two or three figures."""
SAME_WEIGHED = 0.05
"""Part by which a rate worked out from a mass and a volume may differ from the one meant. Ours: filled by eye."""


@dataclass(frozen=True)
class InForce:
    """What a bed is filled with from now on: the feed, its parts at their rates, and how that is known."""

    feed: Feed
    parts: tuple[PartRate, ...]
    why: str
    word: str = ""
    """What was taken for granted of its parts."""

    @property
    def total(self) -> float | None:
        """The rate of all parts together [g/L]; None where one is not known by mass."""
        return totals(self.parts)[0]


def round_in(log: GrowLog, bed: Bed) -> Round | None:
    """The round that is in a bed of ``log.on(day)``."""
    key = name_key(bed.name)
    return next(
        (known for known in log.rounds if name_key(known.bed) == key and known.number == bed.round and bed.round), None
    )


def began(log: GrowLog, bed: Bed) -> datetime.date:
    """The day on which the round in a bed began, the first of all days where none is known."""
    known = round_in(log, bed)
    return (known.began if known else None) or bed.planted or datetime.date.min


def readings_of(log: GrowLog, bed: Bed, first: datetime.date, last: datetime.date) -> list[Reading]:
    """The readings of a bed from one day to another, in the order of their days and times."""
    return [reading for reading in log.readings_of.get(name_key(bed.name), ()) if first <= reading.date <= last]


def fills_of(log: GrowLog, bed: Bed, first: datetime.date, last: datetime.date) -> list[Fill]:
    """The fills of a bed from one day to another, in the order of their days."""
    key = name_key(bed.name)
    found = [fill for fill in log.fills if name_key(fill.bed) == key and first <= fill.date <= last]
    return sorted(found, key=lambda fill: fill.date)


@dataclass(frozen=True)
class FillRate:
    """A fill and the rate that it was at: by mass [g/L] or by volume [mL/L]; ``weighed`` where worked out."""

    fill: Fill
    grams: float | None
    millilitres: float | None
    weighed: bool = False

    @property
    def is_known(self) -> bool:
        """Whether the log tells its rate."""
        return self.grams is not None or self.millilitres is not None

    def is_at(self, grams: float | None, millilitres: float | None) -> bool:
        """Whether it was at a rate."""
        ours, other = (self.grams, grams) if self.grams is not None else (self.millilitres, millilitres)
        most = SAME_WEIGHED if self.weighed else SAME_RATE
        return ours is not None and other is not None and abs(ours - other) <= most * other

    def is_of(self, parts: Sequence[PartRate]) -> bool:
        """Whether it was at the rate of these parts together or, where that is not known, of one of them by name."""
        mass, volume = totals(parts)
        together = mass if self.grams is not None else volume
        return self.is_at(mass, volume) if together is not None else self.part_of(parts) is not None

    def part_of(self, parts: Sequence[PartRate]) -> PartRate | None:
        """The part that its rate is that of."""
        return next((part for part in parts if self.is_at(part.grams, part.millilitres)), None)


def totals(parts: Sequence[PartRate]) -> tuple[float | None, float | None]:
    """The rates of all parts together by mass [g/L] and by volume [mL/L]; None where one is not known so."""
    masses, volumes = [part.grams_in_litre for part in parts], [part.millilitres for part in parts]
    return (
        None if None in masses or not masses else sum(mass for mass in masses if mass is not None),
        None if None in volumes or not volumes else sum(volume for volume in volumes if volume is not None),
    )


def _scaled(bed: Bed, feed: Feed, parts: Sequence[PartRate], at: FillRate, where: str) -> tuple[PartRate, ...]:
    """The parts of a mix in their proportions, at another rate of all together. Raises NotKnown."""
    mass, volume = totals(parts)
    ours, whole = (at.grams, mass) if at.grams is not None else (at.millilitres, volume)
    if not ours or not whole:
        raise NotKnown(
            f"{where} is another rate of {bed.name} than the parts of {feed.name} add up to, and how much of each part "
            "that is is not said"
        )
    if alone := at.part_of(parts):
        raise NotKnown(
            f"{where} is that of {alone.name} alone and not what the parts of {feed.name} add up to: whether the other "
            "parts were in it is not said"
        )
    times = ours / whole

    def more(rate: float | None) -> float | None:
        return None if rate is None else rate * times

    return tuple(replace(part, grams=more(part.grams), millilitres=more(part.millilitres)) for part in parts)


def _word(feed: Feed, parts: Sequence[PartRate], at: FillRate, where: str) -> str:
    """What is taken for granted where a rate is not that of all parts of a mix together."""
    if len(parts) < 2 or at.is_of(parts):
        return ""
    mass, volume = totals(parts)
    times = (at.grams or 0.0) / (mass or 1.0) if at.grams is not None else (at.millilitres or 0.0) / (volume or 1.0)
    return (
        f"{where} is not what the parts of {feed.name} add up to: each part is taken {times:.3g} times, in the same "
        "proportions"
    )


def fill_rates(log: GrowLog, bed: Bed, day: datetime.date) -> list[FillRate]:
    """The fills of the round in a bed up to a day, with their rates."""
    return [_fill_rate(log, bed, fill) for fill in fills_of(log, bed, began(log, bed), day)]


def _fill_rate(log: GrowLog, bed: Bed, fill: Fill) -> FillRate:
    fixed = Fixed(log)
    if fill.rate is not None:
        return FillRate(fill, *fixed.either("fills.rate", fill.rate, fill.rate_unit, "mL/L"))
    if fill.mass is None:
        return FillRate(fill, None, None)
    volume = fixed("fills.volume", fill.volume)
    try:
        volume = full_volume(log, bed) if volume is None else volume
    except NotKnown:
        return FillRate(fill, None, None)
    return FillRate(fill, fixed.known("fills.mass", fill.mass) / volume if volume else None, None, weighed=True)


def in_force(log: GrowLog, bed: Bed, day: datetime.date) -> InForce:
    """What a bed of ``log.on(day)`` is filled with on a day: by its newest round, and by the fills since.

    Raises NotKnown where the log does not tell, or says two things of which neither is plainly the newer.
    """
    fills = fill_rates(log, bed, day)
    feed = _feed(log, bed, fills, day)
    own = name_key(feed.name) == name_key(bed.feed)
    planned = _planned(log, bed, feed, own)
    last = next((fill for fill in reversed(fills) if fill.is_known), None)
    where = f"the rate of the fill of {said(last.fill.date)}" if last else ""
    if last is None or last.is_of(planned.parts):
        word = planned.word or (_word(feed, planned.parts, last, where) if last else "")
        return replace(_checked(log, bed, planned) if own else planned, word=word)
    if not _is_newer(log, bed, last, planned, fills):
        raise NotKnown(
            f"the log gives {bed.name} two rates of {feed.name}, one in its tables and another for the fill of "
            f"{said(last.fill.date)}: which of them holds from now on is not said"
        )
    why = f"the fill of {said(last.fill.date)}"
    if len(planned.parts) == 1:
        changed = replace(planned.parts[0], grams=last.grams, millilitres=last.millilitres)
        return InForce(feed, (changed,), why)
    parts = part_rates(log, feed)
    return InForce(feed, _scaled(bed, feed, parts, last, where), why, _word(feed, parts, last, where))


def _is_newer(log: GrowLog, bed: Bed, last: FillRate, planned: InForce, fills: Sequence[FillRate]) -> bool:
    """Whether the last fill changed the rate: it follows a dated rate, or fills at the rate of the tables."""
    if all(part.grams is None and part.millilitres is None for part in planned.parts):
        return True
    known = round_in(log, bed)
    if known and known.rate is not None and known.began and known.began < last.fill.date:
        return True
    return any(fill.fill.date < last.fill.date and fill.is_of(planned.parts) for fill in fills)


def _feed(log: GrowLog, bed: Bed, fills: Sequence[FillRate], day: datetime.date) -> Feed:
    """The feed that a bed is given. Raises NotKnown."""
    named: list[tuple[datetime.date, str]] = [(known.fill.date, known.fill.feed) for known in fills if known.fill.feed]
    readings = readings_of(log, bed, began(log, bed), day)
    named += [(reading.date, reading.feed) for reading in readings if reading.feed and log.feed(reading.feed)]
    name = bed.feed
    last = max(named, key=lambda entry: entry[0], default=None)
    if last and name_key(last[1]) != name_key(name):
        known = round_in(log, bed)
        dated = known is not None and bool(known.feed) and known.began is not None and known.began < last[0]
        before = any(key < last[0] and name_key(other) == name_key(name) for key, other in named)
        if name and not dated and not before:
            raise NotKnown(
                f"the log gives {bed.name} two feeds, {name} in its tables and {last[1]} on {said(last[0])}: which of "
                "them holds from now on is not said"
            )
        name = last[1]
    feed = log.feed(name)
    if feed is None or not feed.parts:
        if not name and bed.rate is None and bed.dose is None:
            raise NotKnown(f"the log names no feed of {bed.name}")
        feed = Feed(name, [Part(product=name)])
    return feed


def _planned(log: GrowLog, bed: Bed, feed: Feed, own: bool) -> InForce:
    """The feed at the rate of the bed or, where that is not given, of the table of feeds."""
    parts = part_rates(log, feed)
    known = round_in(log, bed)
    why, word = "the table of feeds", ""
    if own and bed.rate is not None:
        why = "its round" if known and known.rate is not None else "the table of beds"
        grams, millilitres = Fixed(log).either("beds.rate", bed.rate, bed.rate_unit, "mL/L")
        given = FillRate(Fill(bed.name, datetime.date.min), grams, millilitres)
        if len(parts) == 1:
            parts = (replace(parts[0], grams=grams, millilitres=millilitres),)
        else:
            where = f"the rate of {bed.name} in {why}"
            word = _word(feed, parts, given, where)
            parts = parts if given.is_of(parts) else _scaled(bed, feed, parts, given, where)
    return InForce(feed, parts, why, word)


def _checked(log: GrowLog, bed: Bed, planned: InForce) -> InForce:
    """The plan beside the dose that the log gives the bed. Raises NotKnown where they are not one."""
    if bed.dose is None:
        return planned
    try:
        volume = full_volume(log, bed)
    except NotKnown:
        return planned
    if volume <= 0:
        return planned
    dose = Fixed(log).known("beds.dose", bed.dose)
    only = planned.parts[0]
    if len(planned.parts) == 1 and only.grams is None and only.millilitres is None:
        return InForce(planned.feed, (replace(only, grams=dose / volume),), "the dose in the table of beds")
    if FillRate(Fill(bed.name, datetime.date.min), dose / volume, None).is_of(planned.parts):
        return planned
    if all(part.grams_in_litre is None for part in planned.parts):
        return planned
    raise NotKnown(
        f"the dose that the log gives {bed.name} is not its volume times the rate of {planned.feed.name}: one of the "
        "three is not up to date"
    )
