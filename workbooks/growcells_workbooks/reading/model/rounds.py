"""The rounds of each bed, and which of them a reading, a weight or a harvest is of."""

from __future__ import annotations

import bisect
import datetime
from collections.abc import Sequence

from .entries import Bed, Fill, Harvest, Reading, Round, Weight, name_key

EARLIEST = datetime.date.min


def numbered(rounds: Sequence[Round], beds: Sequence[Bed]) -> list[Round]:
    """The rounds by bed and by the day on which they began, counted from 1 in each bed."""
    order = {name_key(bed.name): place for place, bed in enumerate(beds)}
    found = sorted(rounds, key=lambda known: (order.get(name_key(known.bed), len(order)), known.began or EARLIEST))
    counts: dict[str, int] = {}
    for known in found:
        key = name_key(known.bed)
        known.number = counts[key] = counts.get(key, 0) + 1
    return found


class Calendar:
    """The rounds of each bed by their days."""

    def __init__(self, rounds: Sequence[Round]) -> None:
        self.by_bed: dict[str, list[Round]] = {}
        for known in rounds:
            if known.began is not None:
                self.by_bed.setdefault(known.bed, []).append(known)
        self.days = {bed: [known.began or EARLIEST for known in of] for bed, of in self.by_bed.items()}

    def on(self, bed: str, day: datetime.date | None, before: bool = False) -> Round | None:
        """The round in a bed on a day, the newest where no day is known.

        ``before``: what was cut on a day is of a round that began earlier.
        """
        rounds = self.by_bed.get(bed)
        if not rounds:
            return None
        if day is None:
            return rounds[-1]
        find = bisect.bisect_left if before else bisect.bisect_right
        place = find(self.days[bed], day)
        return rounds[place - 1] if place else None


def assign(rounds: Sequence[Round], readings: Sequence[Reading], fills: Sequence[Fill]) -> None:
    """Give readings and fills the number of their round, and its crop and feed where they name none."""
    calendar = Calendar(rounds)
    for reading in readings:
        if known := calendar.on(reading.bed, reading.date):
            reading.round = known.number
            reading.crop, reading.feed = reading.crop or known.crop, reading.feed or known.feed
    for fill in fills:
        if known := calendar.on(fill.bed, fill.date):
            fill.round, fill.feed = known.number, fill.feed or known.feed


def assign_cut(rounds: Sequence[Round], weights: Sequence[Weight], harvests: Sequence[Harvest]) -> None:
    """Give what was cut the number of its round, and its crop and feed where it names none."""
    calendar = Calendar(rounds)
    for weight in weights:
        if known := calendar.on(weight.bed, weight.date, before=True):
            weight.round, weight.crop = known.number, weight.crop or known.crop
    for harvest in harvests:
        if known := calendar.on(harvest.bed, harvest.date, before=True):
            harvest.round = known.number
            harvest.crop, harvest.feed = harvest.crop or known.crop, harvest.feed or known.feed
