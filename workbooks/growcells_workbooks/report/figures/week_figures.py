"""The figures of a weekly report, each from the log or worked out with the cell functions."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from growcells import functions
from growcells.cells.errors import GrowError

from ...reading import Bed, Fate, Feed, GrowLog, Reading
from ...season_figures.doses import FullFill
from ...season_figures.due import Due
from ...season_figures.part_stock import PartStock
from ...season_figures.round_standings import RoundTrial
from ...season_figures.top_ups import TopUp
from .iso_week import Week
from .log_money import currency, money_format
from .log_units import in_unit, log_unit, shown_unit
from .trends import measured

MAIN_NUTRIENTS = ("N", "P", "K", "Ca", "Mg", "S")
"""The six elements that plants take up in grams; common practice, no source."""
HISTORY_WEEKS = 4
"""Weeks of readings in the charts, the week of the report among them."""


@dataclass(frozen=True)
class Band:
    """What a measure should be, in the unit of the readings; an open end is None. ``own``: the log gives it."""

    low: float | None
    high: float | None
    own: bool
    source: str

    def side(self, value: float) -> int:
        """-1 below the band, 1 above it, 0 in it."""
        if self.low is not None and value < self.low:
            return -1
        return int(self.high is not None and value > self.high)

    @property
    def middle(self) -> float | None:
        """The middle of a band with two ends."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2


@dataclass(frozen=True)
class Span:
    """The readings of one kind in a week: the latest, the lowest and the highest, and how many lie out of the band."""

    latest: float | None = None
    lowest: float | None = None
    highest: float | None = None
    readings: int = 0
    outside: int = 0


@dataclass(frozen=True)
class Level:
    """The water in a bed when its depth was last read."""

    date: datetime.date
    depth: float
    volume: float | None


@dataclass
class BedWeek:
    """A bed in the week, with all its readings up to the day of the report.

    Volumes are in the log's unit for beds, depths and what was added in that for readings, money in the log's.
    """

    bed: Bed
    feed: Feed | None
    day: int | None
    volume: float | None
    rate: float | None
    dose: float | None
    n_ppm: float | None
    cost: float | None
    course: list[Reading]
    in_week: list[Reading]
    bands: dict[str, Band | None]
    spans: dict[str, Span]
    full_depth: float | None
    lowest: float | None
    level: Level | None
    drop: float | None
    """How far the water falls in a day."""
    drop_from: str
    water_added: float
    feed_added: float
    water_to_date: float
    feed_to_date: float
    added_cost: float | None
    """The cost of the feed added to date."""
    fill: FullFill
    """A full fill, part by part."""
    top_up: TopUp
    """The next top-up, part by part."""
    known: dict[str, list[tuple[datetime.date, float]]] = field(default_factory=dict, repr=False)
    """The points of the measures that were asked for."""

    @property
    def last(self) -> datetime.date | None:
        """The day of the latest reading."""
        return self.course[-1].date if self.course else None

    @property
    def name(self) -> str:
        """The bed's name."""
        return self.bed.name

    def points(self, measure: str) -> list[tuple[datetime.date, float]]:
        """The dates and values of a measure in all its readings."""
        if measure not in self.known:
            self.known[measure] = measured(self.course, measure)
        return self.known[measure]


class Gap(NamedTuple):
    """A nutrient of a feed beside the recipe, as GROW_GAPS gives it; ``percent`` is None where the recipe has none."""

    nutrient: str
    ppm: float
    target: float
    percent: float | None
    verdict: str


@dataclass
class FeedWeek:
    """A feed in the week; ``ppm`` is None where the label cannot be read, and ``problem`` says why."""

    feed: Feed
    beds: list[BedWeek]
    ppm: dict[str, float] | None
    problem: str
    gaps: list[Gap]
    used_cost: float | None
    """What was added in the week cost."""
    stocks: list[PartStock]
    """The stock of each part."""

    @property
    def absent(self) -> list[str]:
        """The main nutrients that the label does not list."""
        return [name for name in MAIN_NUTRIENTS if self.ppm is not None and not self.ppm[name]]


@dataclass
class Figures:
    """All figures of a report."""

    log: GrowLog
    week: Week
    as_of: datetime.date
    recipe: str
    beds: list[BedWeek] = field(default_factory=list)
    feeds: list[FeedWeek] = field(default_factory=list)
    due: list[Due] = field(default_factory=list)
    trials: list[RoundTrial] = field(default_factory=list)
    in_week: list[Reading] = field(default_factory=list)
    history: list[Reading] = field(default_factory=list)
    visit_days: float = 0.0
    """Days from one visit to the next."""
    later: int = 0
    worked_out: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    """What the log does not have, by what it is and the cell function that gave it: the names of the beds."""
    problems: list[str] = field(default_factory=list)
    """Figures that should be there and could not be worked out, and why."""
    called: set[str] = field(default_factory=set)
    """The cell functions that the report itself has called."""

    @property
    def history_days(self) -> tuple[datetime.date, datetime.date]:
        """The first day of the weeks shown, and the day after the last."""
        end = self.week.last + datetime.timedelta(days=1)
        return end - datetime.timedelta(weeks=HISTORY_WEEKS), end

    @cached_property
    def money(self) -> str:
        """The number format of money."""
        return money_format(self.log)

    @property
    def currency(self) -> str:
        """The currency of the log, or "" where it names none."""
        return currency(self.money)

    def unit(self, key: str) -> str:
        """The log's unit of a field, as functions take it."""
        return log_unit(self.log.units, key)

    def unit_label(self, key: str) -> str:
        """The log's unit of a field, as headings show it."""
        return shown_unit(self.unit(key))

    def converted(self, value: float, from_key: str, to_key: str) -> float:
        """A value in the log's unit of another field of the same kind."""
        return in_unit(value, self.unit(from_key), self.unit(to_key))

    def note_worked_out(self, what: str, function: str, bed: str) -> None:
        """Note a figure of a bed that is not in the log."""
        self.worked_out.setdefault((what, function), []).append(bed)

    def call(self, function: str, *cells: object) -> object:
        """The result of a cell function, which is then one of ``called``. Raises GrowError."""
        self.called.add(function)
        return functions()[function](*cells)

    def asked(self, function: str, *cells: object) -> float | None:
        """A number from a cell function, or None where it has none to give."""
        try:
            result = self.call(function, *cells)
        except GrowError:
            return None
        return result if isinstance(result, float) else None

    def calculate(self, what: str, function: str, *cells: object) -> float | None:
        """A number that should be there, from a cell function; None where it gives an error, which is noted."""
        try:
            result = self.call(function, *cells)
        except GrowError as problem:
            self.problems.append(f"{what}: {problem}")
            return None
        return result if isinstance(result, float) else None


def count_cells(log: GrowLog, fate: Fate) -> int:
    """How many cells were left out with this fate."""
    return sum(left.fate is fate for left in log.left_out)
