"""Something to do and how soon, and the reading beside its band that calls for it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from enum import IntEnum
from typing import NamedTuple

from ...reading.values.plausible import range_of
from ...reading.vocabulary.words import fields
from ..figures.common_practice import MEASURES, limit
from ..figures.in_words import band_text, day_of, number, pace
from ..figures.trends import Trend, trend
from ..figures.week_figures import Band, BedWeek, Figures


class Urgency(IntEnum):
    """How soon something should be done."""

    TODAY = 1
    THIS_WEEK = 2
    NEXT_MIX = 3

    @property
    def word(self) -> str:
        """The urgency as people read it."""
        return self.name.lower().replace("_", " ")


@dataclass(frozen=True)
class Action:
    """Something to do: where, what and why, with the figures in both; ``brief`` is why in a few words.

    ``by`` is the day by which it must be done, where one is known.
    """

    urgency: Urgency
    topic: str
    about: str
    what: str
    why: str
    brief: str
    by: datetime.date | None = None

    @property
    def when(self) -> str:
        """How soon, in words: ``today``, ``by 24 Nov``, ``this week``."""
        if self.by is None or self.urgency is Urgency.TODAY:
            return self.urgency.word
        return f"by {day_of(self.by)}"


class Latest(NamedTuple):
    """The latest reading of a measure beside its band; ``side`` is above 0 above it, below 0 below, else 0."""

    name: str
    unit: str
    band: Band
    day: datetime.date
    value: float
    side: int
    outside: int
    """How many of the week's readings are out of the band, and how many there are."""
    readings: int

    @property
    def urgency(self) -> Urgency:
        """Out of a band that the grower set is for today; in it, or out of a usual one, is for the week."""
        return Urgency.TODAY if self.side and self.band.own else Urgency.THIS_WEEK

    @property
    def beside(self) -> str:
        """The reading and the end of the band that it is beyond, without a full stop."""
        end = self.band.high if self.side > 0 else self.band.low
        usual = "" if self.band.own else "the usual "
        often = f", as were {self.outside} of {self.readings} readings in the week" if self.outside > 1 else ""
        return (
            f"{self.name} {number(self.value)}{self.unit} on {day_of(self.day)} is "
            f"{'above' if self.side > 0 else 'below'} {usual}{number(end)}{self.unit}{often}"
        )

    @property
    def brief(self) -> str:
        """The reading and the end of the band that it is beyond, in a few words."""
        end = self.band.high if self.side > 0 else self.band.low
        usual = "" if self.band.own else "the usual "
        where = "above" if self.side > 0 else "below"
        return f"{self.name} {number(self.value)}{self.unit}, {where} {usual}{number(end)}"

    def drifting(self, drift: Trend) -> str:
        """The reading and where it goes, in a few words."""
        way = "up" if drift.per_day > 0 else "down"
        return f"{self.name} {number(self.value)}{self.unit}, {way} {pace(drift)} a week"

    def leaving(self, drift: Trend) -> str:
        """The reading on its way out of the band, without a full stop."""
        return (
            f"{self.name} was {number(self.value)}{self.unit} on {day_of(self.day)} and "
            f"{'rises' if drift.per_day > 0 else 'falls'} by {pace(drift)}{self.unit} a week: "
            f"at that pace it leaves {band_text(self.band)} within a week"
        )


def latest_beside(figures: Figures, bed: BedWeek, measure: str) -> Latest | None:
    """The latest reading beside its band; None where either lacks, or where the reading is hardly possible."""
    band, points, span = bed.bands[measure], bed.points(measure), bed.spans[measure]
    if band is None or not points or not plausible(figures, measure, points[-1][1]):
        return None
    day, value = points[-1]
    name = "Water at" if measure == "temperature" else MEASURES[measure]
    return Latest(name, unit_after(figures, measure), band, day, value, band.side(value), span.outside, span.readings)


def unit_after(figures: Figures, measure: str) -> str:
    """The unit of a measure as it stands after a number."""
    return "" if measure == "ph" else f" {figures.unit_label(f'readings.{measure}')}"


def plausible(figures: Figures, measure: str, value: float) -> bool:
    """Whether a reading is in the range of ``data/plausible.csv``."""
    field = next(known for known in fields()["readings"] if known.name == measure)
    possible = range_of(field, "" if measure == "ph" else figures.unit(f"readings.{measure}"))
    return possible is None or possible.low <= value <= possible.high


def drift_out(figures: Figures, bed: BedWeek, measure: str, band: Band) -> Trend | None:
    """The trend of a measure that is in its band and will be out of it within a week, where it is no chance."""
    start = figures.as_of - datetime.timedelta(days=limit("trend_days"))
    line = trend([point for point in bed.points(measure) if point[0] > start])
    if line is None or not line.steady(limit("steady")) or band.side(line.value):
        return None
    return line if band.side(line.value_in(limit("ahead"))) else None
