"""The figures of a weekly report, each from the log or worked out with the cell functions."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from growcells.errors import GrowError
from growcells.kinds import CONDUCTIVITY, SPREADSHEET_EPOCH, Quantity
from growcells.nutrients import ALWAYS_LISTED
from growcells.registry import functions
from growcells.units import conversion, parse_unit

from ..reading import Bed, Fate, Feed, GrowLog, Reading
from ..reading.model import name_key
from ..reading.words import fields
from .common_practice import limit, usual_band
from .course import days_between_visits, drop_per_day, measured
from .week import Week

MAIN_NUTRIENTS = ("N", "P", "K", "Ca", "Mg", "S")
"""The six elements that plants take up in grams; common practice, no source."""
MEASURED = ("ph", "ec", "temperature")
HISTORY_WEEKS = 4
"""Weeks of readings in the charts, the week of the report among them."""
DAYS_IN_WEEK = 7
BAND_FIELDS = {"ph": ("ph_low", "ph_high"), "ec": ("ec_low", "ec_high"), "temperature": ("temp_low", "temp_high")}


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

    @property
    def first_ec(self) -> tuple[datetime.date, float] | None:
        """The first EC that was read since planting, taken for that of a fresh fill."""
        start = self.bed.planted or datetime.date.min
        return next((point for point in self.points("ec") if point[0] >= start), None)

    def points(self, measure: str) -> list[tuple[datetime.date, float]]:
        """The dates and values of a measure in all its readings."""
        if measure not in self.known:
            self.known[measure] = measured(self.course, measure)
        return self.known[measure]


@dataclass
class FeedWeek:
    """A feed in the week; ``ppm`` is None where the label cannot be read, and ``problem`` says why."""

    feed: Feed
    beds: list[BedWeek]
    ppm: dict[str, float] | None
    problem: str
    gaps: list[tuple[str, float, float, float | None, str]]
    """Nutrient, ppm, target, percent of target, verdict."""
    fill: float | None
    fills_left: float | None
    used: float
    used_to_date: float
    used_cost: float | None
    cost_to_date: float | None
    on_hand: float | None
    """What is left on the day of the report."""
    use_per_week: float | None
    use_from: str
    lead: float
    """Weeks from order to delivery."""
    order_by: datetime.date | None

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
    in_week: list[Reading] = field(default_factory=list)
    history: list[Reading] = field(default_factory=list)
    visit_days: float = 0.0
    """Days from one visit to the next."""
    later: int = 0
    worked_out: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    """Figures that should be there and could not be worked out, and why."""
    called: set[str] = field(default_factory=set)
    """The cell functions that the report itself has called."""

    @property
    def history_days(self) -> tuple[datetime.date, datetime.date]:
        """The first day of the weeks shown, and the day after the last."""
        end = self.week.last + datetime.timedelta(days=1)
        return end - datetime.timedelta(weeks=HISTORY_WEEKS), end

    def unit(self, key: str) -> str:
        """The log's unit of a field, as functions take it."""
        return self.log.units.get(key) or usual_unit(key)

    def unit_label(self, key: str) -> str:
        """The log's unit of a field, as headings show it."""
        return shown_unit(self.unit(key))

    def converted(self, value: float, from_key: str, to_key: str) -> float:
        """A value in the log's unit of another field of the same kind."""
        return in_unit(value, self.unit(from_key), self.unit(to_key))

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


def usual_unit(key: str) -> str:
    """The unit that a field has where the log does not say."""
    table, name = key.split(".")
    kind = next(known.kind for known in fields()[table] if known.name == name)
    assert isinstance(kind, Quantity)
    return kind.unit


def in_unit(value: float, from_unit: str, to_unit: str) -> float:
    """A value in another unit of its kind."""
    if from_unit == to_unit:
        return value
    shorthand = CONDUCTIVITY.shorthand
    slope, offset = conversion(shorthand.get(from_unit, from_unit), shorthand.get(to_unit, to_unit))
    return float(f"{value * slope + offset:.12g}")


_SHOWN = {"degF": "°F", "degC": "°C", "gal_uk": "gal (UK)", "fl_oz": "fl oz"}


def shown_unit(unit: str) -> str:
    """A unit in its short form: ``gal`` for ``gallons``, ``mS/cm`` for ``mS``."""
    short = f"{parse_unit(CONDUCTIVITY.shorthand.get(unit, unit)):~C}"
    return _SHOWN.get(short, short)


def figures_of(log: GrowLog, week: Week, as_of: datetime.date, recipe: str) -> Figures:
    """Work out the figures of a week of a log, from readings up to ``as_of``, beside a published recipe."""
    figures = Figures(log, week, as_of, recipe)
    known = [reading for reading in log.readings if reading.date <= as_of]
    figures.later = len(log.readings) - len(known)
    order = {bed.name: place for place, bed in enumerate(log.beds)}
    known.sort(key=lambda reading: (order[reading.bed], reading.moment))
    figures.in_week = [reading for reading in known if reading.date in week]
    start, _ = figures.history_days
    figures.history = [reading for reading in known if start <= reading.date <= week.last]
    days = (reading.date for reading in figures.history)
    figures.visit_days = days_between_visits(days) or limit("visit")
    courses: dict[str, list[Reading]] = {bed.name: [] for bed in log.beds}
    for reading in known:
        courses[reading.bed].append(reading)
    figures.beds = [_bed_week(figures, bed, courses[bed.name]) for bed in log.beds]
    figures.feeds = [_feed_week(figures, feed) for feed in log.feeds]
    return figures


def _bed_week(figures: Figures, bed: Bed, course: list[Reading]) -> BedWeek:
    feed = figures.log.feed(bed.feed)
    volume = _volume(figures, bed)
    rate = _rate(figures, bed, feed)
    dose = _dose(figures, bed, rate, volume)
    in_week = [reading for reading in course if reading.date in figures.week]
    bands = {name: band_of(figures, bed, name) for name in MEASURED}
    full, lowest = (
        None if depth is None else figures.converted(depth, f"beds.{name}", "readings.depth")
        for name, depth in (("depth", bed.depth), ("lowest", bed.lowest))
    )
    drop, drop_from = _drop(figures, course, volume, full)
    feed_to_date = _added(course, "feed_added")
    return BedWeek(
        bed=bed,
        feed=feed,
        day=(figures.as_of - bed.planted).days if bed.planted and bed.planted <= figures.as_of else None,
        volume=volume,
        rate=rate,
        dose=dose,
        n_ppm=_n_ppm(figures, bed, feed, volume, dose),
        cost=_cost(figures, f"the cost of a fill of {bed.name}", feed, dose, "beds.dose"),
        course=course,
        in_week=in_week,
        bands=bands,
        spans={name: _span(in_week, name, bands[name]) for name in MEASURED},
        full_depth=full,
        lowest=lowest,
        level=_level(course, volume, full),
        drop=drop,
        drop_from=drop_from,
        water_added=_added(in_week, "water_added"),
        feed_added=_added(in_week, "feed_added"),
        water_to_date=_added(course, "water_added"),
        feed_to_date=feed_to_date,
        added_cost=_cost(
            figures, f"the cost of what was added to {bed.name}", feed, feed_to_date, "readings.feed_added"
        ),
    )


def _added(readings: Iterable[Reading], name: str) -> float:
    return float(sum(value for _, value in measured(readings, name)))


def band_of(figures: Figures, bed: Bed, measure: str) -> Band | None:
    """The band that the log gives a bed, or else the usual one of its crop, in the unit of the readings."""
    names = BAND_FIELDS[measure]
    ends = [getattr(bed, name) for name in names]
    unit = "" if measure == "ph" else figures.unit(f"readings.{measure}")
    if ends != [None, None]:
        if unit:
            ends = [
                None if end is None else in_unit(end, figures.unit(f"beds.{name}"), unit)
                for end, name in zip(ends, names, strict=True)
            ]
        return Band(ends[0], ends[1], True, "the log")
    usual = usual_band(measure, bed.crop)
    if usual is None:
        return None
    low, high = (in_unit(end, usual.unit, unit) if unit else end for end in (usual.low, usual.high))
    return Band(low, high, False, usual.source)


def _span(readings: Sequence[Reading], name: str, band: Band | None) -> Span:
    values = [value for _, value in measured(readings, name)]
    if not values:
        return Span()
    outside = sum(bool(band.side(value)) for value in values) if band else 0
    return Span(values[-1], min(values), max(values), len(values), outside)


def _level(course: Sequence[Reading], volume: float | None, full: float | None) -> Level | None:
    """The water when its depth was last read; sides are taken as straight, and the bed as holding no more than full."""
    depths = measured(course, "depth")
    if not depths:
        return None
    day, depth = depths[-1]
    share = min(depth / full, 1.0) if full else None
    return Level(day, depth, volume * share if volume is not None and share is not None else None)


def _drop(
    figures: Figures, course: Sequence[Reading], volume: float | None, full: float | None
) -> tuple[float | None, str]:
    """How far the water falls in a day, by the depths of the last two weeks, or else by the water that was added."""
    start = figures.as_of - datetime.timedelta(days=limit("trend_days"))
    lately = [reading for reading in course if reading.date > start]
    drop = drop_per_day(lately)
    if drop is not None:
        return drop, "the depths read"
    added = measured(lately, "water_added")
    if not added or not volume or not full:
        return None, ""
    days = max((figures.as_of - lately[0].date).days, DAYS_IN_WEEK)
    water = figures.converted(sum(value for _, value in added), "readings.water_added", "beds.volume")
    return (water / days / volume * full, "the water added") if water else (None, "")


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


def _rate(figures: Figures, bed: Bed, feed: Feed | None) -> float | None:
    """The rate at which a bed is mixed, in the log's unit for the rates of feeds."""
    if bed.rate is not None:
        return figures.converted(bed.rate, "beds.rate", "feeds.rate")
    return feed.rate if feed else None


def _dose(figures: Figures, bed: Bed, rate: float | None, volume: float | None) -> float | None:
    if bed.dose is not None or volume is None or rate is None or "dose" in bed.failed:
        return bed.dose
    figures.worked_out.append(f"dose of {bed.name}, with GROW_DOSE")
    units = (figures.unit("beds.volume"), figures.unit("feeds.rate"), figures.unit("beds.dose"))
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
    on_hand = _on_hand(figures, feed, on_it)
    left = None
    if fill and on_hand is not None:
        units = (figures.unit("feeds.on_hand"), figures.unit("beds.dose"))
        left = figures.calculate(f"the fills left of {feed.name}", "GROW_FILLS_LEFT", on_hand, fill, *units)
    used, to_date = sum(bed.feed_added for bed in on_it), sum(bed.feed_to_date for bed in on_it)
    use, use_from = _use_per_week(figures, feed, on_it)
    lead = limit("lead") if feed.lead is None else in_unit(feed.lead, figures.unit("feeds.lead"), "week")
    return FeedWeek(
        feed=feed,
        beds=on_it,
        ppm=ppm,
        problem=problem,
        gaps=_gaps(figures, ppm),
        fill=fill,
        fills_left=left,
        used=used,
        used_to_date=to_date,
        used_cost=_cost(figures, f"the cost of {feed.name} in the week", feed, used, "readings.feed_added"),
        cost_to_date=_cost(figures, f"the cost of {feed.name} to date", feed, to_date, "readings.feed_added"),
        on_hand=on_hand,
        use_per_week=use,
        use_from=use_from,
        lead=lead,
        order_by=_order_by(figures, feed, on_hand, use, lead),
    )


def _on_hand(figures: Figures, feed: Feed, beds: Sequence[BedWeek]) -> float | None:
    """What is left: the count less what was added to beds since the day of the count, where the log gives that day."""
    if feed.on_hand is None or feed.counted is None:
        return feed.on_hand
    since = [reading for bed in beds for reading in bed.course if reading.date > feed.counted]
    used = figures.converted(_added(since, "feed_added"), "readings.feed_added", "feeds.on_hand")
    return max(feed.on_hand - used, 0.0)


def _use_per_week(figures: Figures, feed: Feed, beds: Sequence[BedWeek]) -> tuple[float | None, str]:
    """What is used in a week, in the unit of the stock: as the log says, or else as was added in the last weeks."""
    if feed.use:
        return figures.converted(feed.use, "feeds.use", "feeds.on_hand"), "the log"
    start = figures.as_of - datetime.timedelta(weeks=HISTORY_WEEKS)
    lately = [reading for bed in beds for reading in bed.course if reading.date > start]
    added = _added(lately, "feed_added")
    if not added:
        return None, ""
    weeks = max((figures.as_of - min(reading.date for reading in lately)).days / DAYS_IN_WEEK, 1.0)
    return figures.converted(added / weeks, "readings.feed_added", "feeds.on_hand"), "the feed added"


def _order_by(
    figures: Figures, feed: Feed, on_hand: float | None, use: float | None, lead: float
) -> datetime.date | None:
    if on_hand is None or not use:
        return None
    day = float((figures.as_of - SPREADSHEET_EPOCH).days)
    unit = figures.unit("feeds.on_hand")
    serial = figures.calculate(f"the day to order {feed.name}", "GROW_REORDER", on_hand, use, lead, day, unit, unit)
    return None if serial is None else SPREADSHEET_EPOCH + datetime.timedelta(days=int(serial // 1))


def _ppm(figures: Figures, feed: Feed) -> tuple[dict[str, float] | None, str]:
    """The elements in a litre of water with a feed at its rate, or None and why."""
    if not feed.analysis:
        return None, "the log gives no analysis"
    if not feed.rate:
        return None, "the log gives no rate"
    ppm = {}
    try:
        mass = figures.call("GROW_DOSE", 1, feed.rate, "L", figures.unit("feeds.rate"), "g")
        for name in ALWAYS_LISTED:
            value = figures.call("GROW_PPM", mass, 1, feed.analysis, name, "g", "L")
            assert isinstance(value, float)
            ppm[name] = value
    except GrowError as problem:
        return None, str(problem)
    return ppm, ""


def _gaps(figures: Figures, ppm: dict[str, float] | None) -> list[tuple[str, float, float, float | None, str]]:
    """A feed beside the recipe: nutrient, ppm, target, percent, verdict."""
    if ppm is None:
        return []
    table = figures.call("GROW_GAPS", tuple(ppm.items()), figures.recipe)
    assert isinstance(table, tuple)
    return [
        (name, got, wanted, None if isinstance(percent, str) else percent, verdict)
        for name, got, wanted, percent, verdict in table[1:]
    ]


def count_cells(log: GrowLog, fate: Fate) -> int:
    """How many cells were left out with this fate."""
    return sum(left.fate is fate for left in log.left_out)
