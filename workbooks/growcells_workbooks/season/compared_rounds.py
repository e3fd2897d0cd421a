"""The rounds of a season side by side, and the feeds' differences in each round and over all of them."""

from __future__ import annotations

import datetime
import itertools
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from growcells.no_answer import NoAnswer
from growcells.statistics.paired_rounds import Interval, between_beds, over_rounds, rounds_needed

from ..reading import GrowLog
from ..reading.model import name_key
from ..reading.model.fixed_units import Fixed
from ..report.figures.log_money import money_format
from ..season_figures.round_standings import treatment_of
from ..season_figures.round_sums import RoundSum, round_sums


@dataclass(frozen=True)
class SeasonRound:
    """A round of a log: what it came to, and the mean mass of a head [g] in it."""

    log: str
    sum: RoundSum
    mass_a_head: float | None


@dataclass(frozen=True)
class Unit:
    """A bed of a round under one feed: the mean mass of a head [g], from single plants or else from the harvest."""

    log: str
    round: int
    crop: str
    feed: str
    bed: str
    began: datetime.date
    mass: float


@dataclass(frozen=True)
class RoundDifference:
    """The difference [g a head] of two feeds in a round, and how many beds of each."""

    log: str
    round: int
    crop: str
    began: datetime.date
    beds: tuple[int, int]
    interval: Interval


@dataclass(frozen=True)
class FeedDifference:
    """Two feeds over all rounds that hold both."""

    feeds: tuple[str, str]
    crop: str
    rounds: tuple[RoundDifference, ...]
    together: Interval
    needed: int | None
    """Rounds in all that would show a true difference of this size in 8 cases of 10."""


@dataclass(frozen=True)
class Season:
    """All rounds of the logs, and the differences of their feeds."""

    rounds: tuple[SeasonRound, ...]
    differences: tuple[FeedDifference, ...]
    money: str


def season_of(logs: Sequence[GrowLog], day: datetime.date) -> Season:
    """The season that logs tell of, up to a day."""
    rounds: list[SeasonRound] = []
    units: list[Unit] = []
    for log in logs:
        sums = round_sums(log, day)
        of_log = _units(log, sums, day)
        masses: dict[tuple[str, int], list[float]] = {}
        for unit in of_log:
            masses.setdefault((unit.bed, unit.round), []).append(unit.mass)
        for one in sums:
            own = masses.get((one.round.bed, one.round.number))
            mean = statistics.fmean(own) if own else one.cut.mass_a_head
            rounds.append(SeasonRound(log.path.stem, one, mean))
        units += of_log
    return Season(tuple(rounds), tuple(_differences(units)), money_format(logs[0]))


def _units(log: GrowLog, sums: Sequence[RoundSum], day: datetime.date) -> list[Unit]:
    """The beds of each round with their mean mass of a head."""
    fixed = Fixed(log)
    plants: dict[tuple[str, int, str], list[float]] = {}
    for weight in log.weights:
        if weight.mass is not None and weight.round and weight.bed and (weight.date is None or weight.date <= day):
            key = weight.bed, weight.round, treatment_of(log, weight)
            plants.setdefault(key, []).append(fixed.known("weights.mass", weight.mass))
    found = []
    for one in sums:
        known = one.round
        assert known.began is not None
        of_bed = {key[2]: masses for key, masses in plants.items() if key[:2] == (known.bed, known.number)}
        for feed, masses in of_bed.items():
            found.append(_unit(log, one, feed or one.feed, statistics.fmean(masses)))
        if not of_bed and one.cut.mass_a_head is not None and one.feed:
            found.append(_unit(log, one, one.feed, one.cut.mass_a_head))
    return found


def _unit(log: GrowLog, one: RoundSum, feed: str, mass: float) -> Unit:
    known = one.round
    assert known.began is not None
    return Unit(log.path.stem, known.number, known.crop, feed, known.bed, known.began, mass)


def _differences(units: Sequence[Unit]) -> Iterator[FeedDifference]:
    for crop in dict.fromkeys(name_key(unit.crop) for unit in units):
        of_crop = [unit for unit in units if name_key(unit.crop) == crop]
        feeds = list(dict.fromkeys(unit.feed for unit in of_crop))
        for one, other in itertools.combinations(feeds, 2):
            found = tuple(_in_rounds(of_crop, one, other))
            if found:
                yield _together(one, other, of_crop[0].crop, found)


def _in_rounds(units: Sequence[Unit], one: str, other: str) -> Iterator[RoundDifference]:
    for log, number in dict.fromkeys((unit.log, unit.round) for unit in units):
        both = [unit for unit in units if (unit.log, unit.round) == (log, number)]
        ones, others = ([unit.mass for unit in both if unit.feed == feed] for feed in (one, other))
        if ones and others:
            began = min(unit.began for unit in both)
            beds = len(ones), len(others)
            yield RoundDifference(log, number, both[0].crop, began, beds, between_beds(ones, others))


def _together(one: str, other: str, crop: str, found: tuple[RoundDifference, ...]) -> FeedDifference:
    values = [difference.interval.difference for difference in found]
    together = over_rounds(values) if len(values) > 1 else found[0].interval
    needed = None
    if len(values) > 1 and (spread := statistics.stdev(values)) and together.difference:
        try:
            needed = rounds_needed(together.difference, spread)
        except NoAnswer:
            needed = None
    return FeedDifference((one, other), crop, found, together, needed)
