"""The figures of a weekly report, each from the log or worked out with the cell functions."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field

import pandas as pd

from growcells.errors import GrowError
from growcells.kinds import CONDUCTIVITY, Quantity
from growcells.nutrients import ALWAYS_LISTED
from growcells.registry import functions
from growcells.units import parse_unit

from ..reading import Bed, Fate, Feed, GrowLog, Reading
from ..reading.model import frame_of, name_key
from ..reading.words import fields
from .week import Week

MAIN_NUTRIENTS = ("N", "P", "K", "Ca", "Mg", "S")
"""The six elements that plants take up in grams; common practice, no source."""
MEASURED = ("ph", "ec", "temperature")
HISTORY_WEEKS = 4
"""Weeks of readings in the charts, the week of the report among them."""


@dataclass(frozen=True)
class Span:
    """The readings of one kind in a week: the latest, the lowest and the highest."""

    latest: float | None = None
    lowest: float | None = None
    highest: float | None = None


@dataclass
class BedWeek:
    """A bed in the week."""

    bed: Bed
    volume: float | None
    dose: float | None
    n_ppm: float | None
    cost: float | None
    readings: int
    last: datetime.date | None
    spans: dict[str, Span]
    water_added: float
    feed_added: float


@dataclass
class FeedWeek:
    """A feed in the week; ``ppm`` is None where the label cannot be read, and ``problem`` says why."""

    feed: Feed
    beds: list[str]
    ppm: dict[str, float] | None
    problem: str
    fill: float | None
    fills_left: float | None
    used: float
    used_cost: float | None

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
    beds: list[BedWeek] = field(default_factory=list)
    feeds: list[FeedWeek] = field(default_factory=list)
    in_week: list[Reading] = field(default_factory=list)
    history: list[Reading] = field(default_factory=list)
    later: int = 0
    worked_out: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    """Figures that should be there and could not be worked out, and why."""

    def unit(self, key: str) -> str:
        """The log's unit of a field, as functions take it."""
        return self.log.units.get(key) or usual_unit(key)

    def unit_label(self, key: str) -> str:
        """The log's unit of a field, as headings show it."""
        return shown_unit(self.unit(key))

    def calculate(self, what: str, function: str, *cells: object) -> float | None:
        """A number from a cell function, or None where it gives an error, which is noted."""
        try:
            result = functions()[function](*cells)
        except GrowError as problem:
            self.problems.append(f"{what}: {problem}")
            return None
        return result if isinstance(result, float) else None


def usual_unit(key: str) -> str:
    """The unit that a field has where the log does not say."""
    table, name = key.split(".")
    kind = next(known.kind for known in fields()[table] if known.name == name)
    assert isinstance(kind, Quantity)
    return kind.unit


_SHOWN = {"degF": "°F", "degC": "°C", "gal_uk": "gal (UK)", "fl_oz": "fl oz"}


def shown_unit(unit: str) -> str:
    """A unit in its short form: ``gal`` for ``gallons``, ``mS/cm`` for ``mS``."""
    short = f"{parse_unit(CONDUCTIVITY.shorthand.get(unit, unit)):~C}"
    return _SHOWN.get(short, short)


def figures_of(log: GrowLog, week: Week, as_of: datetime.date) -> Figures:
    """Work out the figures of a week of a log, from readings up to ``as_of``."""
    figures = Figures(log, week, as_of)
    known = [reading for reading in log.readings if reading.date <= as_of]
    figures.later = len(log.readings) - len(known)
    order = {bed.name: place for place, bed in enumerate(log.beds)}
    known.sort(key=lambda reading: (order[reading.bed], reading.date))
    figures.in_week = [reading for reading in known if reading.date in week]
    start = week.first - datetime.timedelta(weeks=HISTORY_WEEKS - 1)
    figures.history = [reading for reading in known if start <= reading.date <= week.last]
    frame = frame_of(figures.in_week)
    figures.beds = [_bed_week(figures, bed, frame[frame["bed"] == bed.name]) for bed in log.beds]
    figures.feeds = [_feed_week(figures, feed) for feed in log.feeds]
    return figures


def _bed_week(figures: Figures, bed: Bed, readings: pd.DataFrame) -> BedWeek:
    feed = figures.log.feed(bed.feed)
    volume = _volume(figures, bed)
    dose = _dose(figures, bed, feed, volume)
    return BedWeek(
        bed=bed,
        volume=volume,
        dose=dose,
        n_ppm=_n_ppm(figures, bed, feed, volume, dose),
        cost=_cost(figures, f"the cost of a fill of {bed.name}", feed, dose, "beds.dose"),
        readings=len(readings),
        last=readings["date"].max().date() if len(readings) else None,
        spans={name: _span(readings[name].dropna()) for name in MEASURED},
        water_added=float(readings["water_added"].sum()),
        feed_added=float(readings["feed_added"].sum()),
    )


def _span(values: pd.Series[float]) -> Span:
    return Span(float(values.iloc[-1]), float(values.min()), float(values.max())) if len(values) else Span()


_SHAPES = {
    "": ("GROW_VOLUME_BOX", ("length", "width", "depth")),
    "box": ("GROW_VOLUME_BOX", ("length", "width", "depth")),
    "round": ("GROW_VOLUME_ROUND", ("length", "depth")),
    "oval": ("GROW_VOLUME_OVAL", ("length", "width", "depth")),
}


def _volume(figures: Figures, bed: Bed) -> float | None:
    """The volume that the log has, or else the one that the sizes give."""
    if bed.volume is not None:
        return bed.volume
    function, names = _SHAPES.get(bed.shape.casefold(), ("", ()))
    sizes = [getattr(bed, name) for name in names]
    if not sizes or None in sizes or "volume" in bed.failed:
        return None
    figures.worked_out.append(f"volume of {bed.name}, with {function}")
    units = [(size, figures.unit(f"beds.{name}")) for size, name in zip(sizes, names, strict=True)]
    cells = [f"{size!r} {unit}" for size, unit in units]
    return figures.calculate(f"the volume of {bed.name}", function, *cells, None, figures.unit("beds.volume"))


def _dose(figures: Figures, bed: Bed, feed: Feed | None, volume: float | None) -> float | None:
    if bed.dose is not None or volume is None or "dose" in bed.failed:
        return bed.dose
    rate, unit = (bed.rate, "beds.rate") if bed.rate is not None else (feed.rate if feed else None, "feeds.rate")
    if rate is None:
        return None
    figures.worked_out.append(f"dose of {bed.name}, with GROW_DOSE")
    units = (figures.unit("beds.volume"), figures.unit(unit), figures.unit("beds.dose"))
    return figures.calculate(f"the dose of {bed.name}", "GROW_DOSE", volume, rate, *units)


def _n_ppm(figures: Figures, bed: Bed, feed: Feed | None, volume: float | None, dose: float | None) -> float | None:
    if bed.n_ppm is not None or "n_ppm" in bed.failed:
        return bed.n_ppm
    if feed is None or not feed.analysis or volume is None or dose is None:
        return None
    figures.worked_out.append(f"N of {bed.name}, with GROW_PPM")
    units = (figures.unit("beds.dose"), figures.unit("beds.volume"), figures.unit("beds.n_ppm"))
    return figures.calculate(f"N of {bed.name}", "GROW_PPM", dose, volume, feed.analysis, "N", *units)


def _cost(figures: Figures, what: str, feed: Feed | None, mass: float | None, unit: str) -> float | None:
    if feed is None or mass is None or feed.price is None or feed.package is None:
        return None
    units = (figures.unit(unit), figures.unit("feeds.package"))
    return figures.calculate(what, "GROW_COST", mass, feed.price, feed.package, *units)


def _feed_week(figures: Figures, feed: Feed) -> FeedWeek:
    on_it = [bed for bed in figures.beds if name_key(bed.bed.feed) == name_key(feed.name)]
    doses = [bed.dose for bed in on_it if bed.dose is not None]
    fill = sum(doses) if doses and len(doses) == len(on_it) else None
    ppm, problem = _ppm(figures, feed)
    left = None
    if fill and feed.on_hand is not None:
        units = (figures.unit("feeds.on_hand"), figures.unit("beds.dose"))
        left = figures.calculate(f"the fills left of {feed.name}", "GROW_FILLS_LEFT", feed.on_hand, fill, *units)
    used = sum(bed.feed_added for bed in on_it)
    used_cost = _cost(figures, f"the cost of {feed.name} in the week", feed, used, "readings.feed_added")
    return FeedWeek(feed, [bed.bed.name for bed in on_it], ppm, problem, fill, left, used, used_cost)


def _ppm(figures: Figures, feed: Feed) -> tuple[dict[str, float] | None, str]:
    """The elements in a litre of water with a feed at its rate, or None and why."""
    if not feed.analysis:
        return None, "the log gives no analysis"
    if not feed.rate:
        return None, "the log gives no rate"
    ppm = {}
    try:
        mass = functions()["GROW_DOSE"](1, feed.rate, "L", figures.unit("feeds.rate"), "g")
        for name in ALWAYS_LISTED:
            value = functions()["GROW_PPM"](mass, 1, feed.analysis, name, "g", "L")
            assert isinstance(value, float)
            ppm[name] = value
    except GrowError as problem:
        return None, str(problem)
    return ppm, ""


def columns_with_values(feeds: Sequence[FeedWeek]) -> list[str]:
    """The main nutrients, and of the trace elements those that any feed lists."""
    listed = [feed.ppm for feed in feeds if feed.ppm is not None]
    return [name for name in ALWAYS_LISTED if name in MAIN_NUTRIENTS or any(ppm[name] for ppm in listed)]


def count_cells(log: GrowLog, fate: Fate) -> int:
    """How many cells were left out with this fate."""
    return sum(left.fate is fate for left in log.left_out)
