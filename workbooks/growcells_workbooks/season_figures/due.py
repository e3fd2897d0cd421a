"""What falls due in this week and the next: sow, transplant, check, harvest, change the solution, order."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ..data import read_data
from ..reading import GrowLog, Round
from ..reading.model import name_key
from ..reading.model.yields import of_round
from ..reading.vocabulary.words import label_key
from .doses import FullFill
from .part_stock import stocks
from .tanks import said

FIRST_CHECK_DAYS = 3
"""Days from transplanting to the first look at roots, pH and EC: common practice, no source."""
SOLUTION_DAYS = 21
"""Days after which a solution is changed where the log notes fills: common practice, no source."""
NEW_SOLUTION = "change the solution"
WEEKS_SHOWN = 2


@dataclass(frozen=True)
class Due:
    """Something that falls due: the day, the bed ("" where it is of none), what and why."""

    when: datetime.date
    bed: str
    what: str
    why: str


@dataclass(frozen=True)
class CropDays:
    """The usual days of some crops: in the nursery from sowing on, and in the bed from transplanting on."""

    crops: frozenset[str]
    nursery: int
    bed: int
    source: str


@cache
def crop_days() -> tuple[CropDays, ...]:
    """The usual days of all crops known."""
    return tuple(
        CropDays(frozenset(row["crops"].split("|")), int(row["nursery"]), int(row["bed"]), row["source"])
        for row in read_data("crop_days.csv")
    )


def days_of(crop: str) -> CropDays | None:
    """The usual days of a crop, or None where none are known."""
    words = label_key(crop).split()
    names = {*words, *(" ".join(pair) for pair in itertools.pairwise(words))}
    return next((known for known in crop_days() if known.crops & names), None)


def window(day: datetime.date) -> tuple[datetime.date, datetime.date]:
    """The first day of the week of a day, and the last of the next."""
    monday = day - datetime.timedelta(days=day.weekday())
    return monday, monday + datetime.timedelta(days=7 * WEEKS_SHOWN - 1)


def expected_harvest(known: Round) -> tuple[datetime.date, str] | None:
    """The day of the harvest of a round: as the log says, else by its crop's usual days; and how that is known."""
    if known.expected:
        return known.expected, "the log expects the harvest on this day"
    usual = days_of(known.crop)
    if usual is None:
        return None
    if known.transplanted:
        return known.transplanted + datetime.timedelta(days=usual.bed), _usual(usual.bed, "transplanting", usual)
    if known.sown:
        both = usual.nursery + usual.bed
        return known.sown + datetime.timedelta(days=both), _usual(both, "sowing", usual)
    if known.planted:
        return known.planted + datetime.timedelta(days=usual.bed), _usual(usual.bed, "planting", usual)
    return None


def _usual(days: int, since: str, usual: CropDays) -> str:
    return f"{days} days after {since} ({usual.source})"


def due(log: GrowLog, day: datetime.date, fills: list[FullFill] | None = None) -> list[Due]:
    """What falls due from a day on to the end of the next week, and what is overdue; the earliest first."""
    found = [entry for known in log.rounds for entry in _of_round(log, known, day)]
    found += _solutions(log, day)
    found += _orders(log, day, fills)
    _, last = window(day)
    return sorted((entry for entry in found if entry.when <= last), key=lambda entry: (entry.when, entry.bed))


def _of_round(log: GrowLog, known: Round, day: datetime.date) -> Iterator[Due]:
    if known.ended and known.ended <= day:
        return
    crop = known.crop or "the crop"
    if known.sown and known.sown >= day:
        yield Due(known.sown, known.bed, "sow", f"{crop}, as planned in the log")
    if known.transplanted and known.transplanted >= day:
        yield Due(known.transplanted, known.bed, "transplant", f"{crop}, as planned in the log")
    elif known.sown and not known.transplanted and known.sown <= day and not _was_read(log, known, known.sown, day):
        usual = days_of(known.crop)
        if usual and (planned := known.sown + datetime.timedelta(days=usual.nursery)) >= day:
            yield Due(planned, known.bed, "transplant", f"{crop}, {_usual(usual.nursery, 'sowing', usual)}")
    if _is_newest(log, known, day):
        yield from _check(log, known, day)
        yield from _harvest(log, known, day)


def _is_newest(log: GrowLog, known: Round, day: datetime.date) -> bool:
    """Whether no later round of its bed has begun."""
    key = name_key(known.bed)
    return not any(
        name_key(other.bed) == key and other.number > known.number and other.began and other.began <= day
        for other in log.rounds
    )


def _was_read(log: GrowLog, known: Round, since: datetime.date, day: datetime.date) -> bool:
    return any(since < reading.date <= day for reading in log.readings_of.get(name_key(known.bed), ()))


def _check(log: GrowLog, known: Round, day: datetime.date) -> Iterator[Due]:
    planted = known.transplanted or known.planted
    if planted is None:
        return
    when = planted + datetime.timedelta(days=FIRST_CHECK_DAYS)
    if when >= day - datetime.timedelta(days=FIRST_CHECK_DAYS) and not _was_read(log, known, planted, day):
        yield Due(
            when,
            known.bed,
            "first check",
            f"roots, pH and EC, {FIRST_CHECK_DAYS} days after planting on {said(planted)} (common practice, no source)",
        )


def _harvest(log: GrowLog, known: Round, day: datetime.date) -> Iterator[Due]:
    expected = expected_harvest(known)
    if expected is None:
        return
    when, why = expected
    weighed = any(
        name_key(weight.bed) == name_key(known.bed) and weight.round == known.number and not weight.dead
        for weight in log.weights
    )
    if (weighed or of_round(log, known, day)) and when <= day:
        return
    late = f"; {(day - when).days} days ago, and no harvest is noted" if when < day else ""
    yield Due(when, known.bed, "harvest", f"{known.crop or 'the crop'}: {why}{late}")


def _solutions(log: GrowLog, day: datetime.date) -> Iterator[Due]:
    """The beds whose last fill is long ago, where the log notes fills of the round that is in them."""
    on_day = log.on(day)
    for bed in on_day.beds:
        known = log.round_on(bed.name, day)
        fills = [
            fill
            for fill in log.fills
            if name_key(fill.bed) == name_key(bed.name)
            and fill.date <= day
            and (known is None or known.began is None or fill.date >= known.began)
        ]
        if not fills or (known is None and log.rounds):
            continue
        filled = max(fill.date for fill in fills)
        when = filled + datetime.timedelta(days=SOLUTION_DAYS)
        expected = expected_harvest(known) if known else None
        if expected is not None and expected[0] <= when + datetime.timedelta(days=DAYS_IN_WEEK):
            continue  # it is cut before new solution is worth its feed
        yield Due(
            when,
            bed.name,
            NEW_SOLUTION,
            f"filled on {said(filled)}; every {SOLUTION_DAYS} days is usual (common practice, no source)",
        )


def _orders(log: GrowLog, day: datetime.date, fills: list[FullFill] | None) -> Iterator[Due]:
    for stock in stocks(log, day, fills):
        if stock.order_by is not None and stock.use_a_week:
            yield Due(
                max(stock.order_by, day),
                "",
                f"order {stock.part.name}",
                f"{stock.on_hand:,.0f} {stock.unit} on hand, {stock.use_a_week:,.0f} {stock.unit} a week by "
                f"{stock.use_from}, {stock.lead_weeks:g} weeks to delivery",
            )
