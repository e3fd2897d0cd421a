"""What a bed's readings show over time: how fast the water falls, how often somebody comes, where a measure goes."""

from __future__ import annotations

import datetime
import itertools
import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ...reading import Reading

FEWEST_FOR_TREND = 4
"""Our choice: a line through three points leaves one to tell a trend from chance by, which is too few."""


@dataclass(frozen=True)
class Trend:
    """A straight line through readings: the value that it has at its end, its change a day, and that one's error."""

    end: datetime.date
    value: float
    per_day: float
    error: float

    def steady(self, times: float) -> bool:
        """Whether the change is more than so many times its standard error."""
        return abs(self.per_day) > times * self.error

    def value_in(self, days: float) -> float:
        """The value so many days after the end, if it goes on as it did."""
        return self.value + self.per_day * days


def measured(readings: Iterable[Reading], name: str) -> list[tuple[datetime.date, float]]:
    """The dates and values of a measure."""
    return [(reading.date, value) for reading in readings if (value := getattr(reading, name)) is not None]


def trend(points: Sequence[tuple[datetime.date, float]]) -> Trend | None:
    """The line of least squares through points in order of date, or None where they are too few or of one day."""
    if len(points) < FEWEST_FOR_TREND or points[0][0] == points[-1][0]:
        return None
    end = points[-1][0]
    days = [float((day - end).days) for day, _ in points]
    values = [value for _, value in points]
    slope, intercept = statistics.linear_regression(days, values)
    middle = statistics.fmean(days)
    spread = sum((day - middle) ** 2 for day in days)
    left = sum((value - intercept - slope * day) ** 2 for day, value in zip(days, values, strict=True))
    return Trend(end, intercept, slope, math.sqrt(left / (len(points) - 2) / spread))


def days_between_visits(days: Iterable[datetime.date]) -> float | None:
    """The middle number of days from one day with readings to the next, or None where there is but one."""
    known = sorted(set(days))
    gaps = [(later - earlier).days for earlier, later in itertools.pairwise(known)]
    return float(statistics.median(gaps)) if gaps else None


def drop_per_day(readings: Sequence[Reading]) -> float | None:
    """How far the water falls in a day [unit of the depths], from readings between which none was added.

    Whether a depth was read before or after the water of its row was added is not known, so rows with added water
    start nothing and end nothing. None where that leaves no day, or where the water did not fall.
    """
    with_depth = [reading for reading in readings if reading.depth is not None or reading.water_added]
    fall, days = 0.0, 0
    for earlier, later in itertools.pairwise(with_depth):
        if earlier.water_added or later.water_added or earlier.depth is None or later.depth is None:
            continue
        fall += earlier.depth - later.depth
        days += (later.date - earlier.date).days
    return fall / days if days and fall > 0 else None
