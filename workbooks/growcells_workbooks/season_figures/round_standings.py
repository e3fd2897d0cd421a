"""The standings of each round of a trial, never pooled, as GROW_TRIAL_TABLE gives them with beds as units."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from growcells import functions
from growcells.cells.errors import GrowError

from ..reading import GrowLog, Weight
from ..reading.frames.fixed_units import Fixed

APART_DAYS = 14
"""Days between weighings after which plants of an untold round are of another one. Ours: no crop is cut again sooner
from seed."""


@dataclass(frozen=True)
class Standing:
    """A treatment in a round: ``n`` counts beds where the beds of all plants are told, else plants; masses in g."""

    treatment: str
    n: int
    mean: float | None
    low: float | None
    high: float | None
    letters: str


@dataclass(frozen=True)
class RoundTrial:
    """The weights of a round (0: not told) and of a crop, and its standings; ``problem`` says why there are none."""

    round: int
    crop: str
    weights: tuple[Weight, ...]
    standings: tuple[Standing, ...]
    sentences: tuple[str, ...]
    problem: str = ""

    @property
    def days(self) -> tuple[datetime.date, datetime.date] | None:
        """The first and the last day of weighing."""
        days = [weight.date for weight in self.weights if weight.date]
        return (min(days), max(days)) if days else None


def treatment_of(log: GrowLog, weight: Weight) -> str:
    """The treatment that the log names, or else the feed of the plant's bed in that round."""
    if weight.treatment:
        return weight.treatment
    known = next((r for r in log.rounds if r.bed == weight.bed and r.number == weight.round), None)
    if known and known.feed:
        return known.feed
    bed = log.bed(weight.bed)
    return bed.feed if bed else ""


def _crop(log: GrowLog, weight: Weight) -> str:
    if weight.crop:
        return weight.crop
    bed = log.bed(weight.bed)
    return bed.crop if bed else ""


def trials(log: GrowLog, day: datetime.date) -> list[RoundTrial]:
    """The trials of all rounds with weights up to a day, the newest last."""
    groups: dict[tuple[int, str, int], list[Weight]] = {}
    weights = [
        weight for weight in log.weights if (weight.date is None or weight.date <= day) and treatment_of(log, weight)
    ]
    apart = _apart(weights)
    for weight in weights:
        sitting = apart.get(weight.date, 0) if weight.date and not weight.round else 0
        groups.setdefault((weight.round, _crop(log, weight), sitting), []).append(weight)
    order = sorted(groups, key=lambda key: (key[0], key[2]))
    return [_trial(log, key[0], key[1], groups[key]) for key in order]


def _apart(weights: Sequence[Weight]) -> dict[datetime.date, int]:
    """The days of weights of no round, numbered by the harvest that they are of."""
    days = sorted({weight.date for weight in weights if weight.date and not weight.round})
    found, sitting = {day: 0 for day in days[:1]}, 0
    for before, after in itertools.pairwise(days):
        sitting += (after - before).days > APART_DAYS
        found[after] = sitting
    return found


def _trial(log: GrowLog, number: int, crop: str, weights: list[Weight]) -> RoundTrial:
    fixed = Fixed(log)
    values = tuple(("dead" if weight.mass is None else fixed.known("weights.mass", weight.mass),) for weight in weights)
    treatments = tuple((treatment_of(log, weight),) for weight in weights)
    cells: list[object] = [values, treatments]
    if all(weight.bed for weight in weights):
        cells.append(tuple((weight.bed,) for weight in weights))
    try:
        table = functions()["GROW_TRIAL_TABLE"](*cells)
    except GrowError as problem:
        return RoundTrial(number, crop, tuple(weights), (), (), str(problem))
    assert isinstance(table, (list, tuple))
    standings, sentences = [], []
    for row in table[1:]:
        if isinstance(row[1], float):
            mean, low, high = (cell if isinstance(cell, float) else None for cell in (row[3], row[5], row[6]))
            standings.append(Standing(str(row[0]), int(row[1]), mean, low, high, str(row[11])))
        elif row[0]:
            sentences.append(str(row[0]))
    return RoundTrial(number, crop, tuple(weights), tuple(standings), tuple(sentences))
