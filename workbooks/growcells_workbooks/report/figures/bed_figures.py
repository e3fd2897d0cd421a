"""The figures of a bed in a week: its volume and dose, its readings beside their bands, its water."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from ...reading import Bed, Feed, Reading
from ...shapes import BOX, SHAPES
from .common_practice import MEASURES, limit, usual_band
from .log_units import in_unit
from .trends import drop_per_day, measured
from .week_figures import DAYS_IN_WEEK, Band, BedWeek, Figures, Level, Span, cost_of

BAND_FIELDS = {"ph": ("ph_low", "ph_high"), "ec": ("ec_low", "ec_high"), "temperature": ("temp_low", "temp_high")}


def bed_week(figures: Figures, bed: Bed, course: list[Reading]) -> BedWeek:
    feed = figures.log.feed(bed.feed)
    volume = _volume(figures, bed)
    rate = _rate(figures, bed, feed)
    dose = _dose(figures, bed, rate, volume)
    in_week = [reading for reading in course if reading.date in figures.week]
    bands = {name: band_of(figures, bed, name) for name in MEASURES}
    full, lowest = (
        None if depth is None else figures.converted(depth, f"beds.{name}", "readings.depth")
        for name, depth in (("depth", bed.depth), ("lowest", bed.lowest))
    )
    drop, drop_from = _drop(figures, course, volume, full)
    feed_to_date = added_in(course, "feed_added")
    return BedWeek(
        bed=bed,
        feed=feed,
        day=(figures.as_of - bed.planted).days if bed.planted and bed.planted <= figures.as_of else None,
        volume=volume,
        rate=rate,
        dose=dose,
        n_ppm=_n_ppm(figures, bed, feed, volume, dose),
        cost=cost_of(figures, f"the cost of a fill of {bed.name}", feed, dose, "beds.dose"),
        course=course,
        in_week=in_week,
        bands=bands,
        spans={name: _span(in_week, name, bands[name]) for name in MEASURES},
        full_depth=full,
        lowest=lowest,
        level=_level(course, volume, full),
        drop=drop,
        drop_from=drop_from,
        water_added=added_in(in_week, "water_added"),
        feed_added=added_in(in_week, "feed_added"),
        water_to_date=added_in(course, "water_added"),
        feed_to_date=feed_to_date,
        added_cost=cost_of(
            figures, f"the cost of what was added to {bed.name}", feed, feed_to_date, "readings.feed_added"
        ),
    )


def added_in(readings: Iterable[Reading], name: str) -> float:
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


def _volume(figures: Figures, bed: Bed) -> float | None:
    """The volume that the log has, or else the one that the sizes give."""
    if bed.volume is not None:
        return bed.volume
    if "volume" in bed.failed:
        return None
    function, names = SHAPES.get(bed.shape.casefold() or BOX, ("", ("length", "depth")))
    sizes = [getattr(bed, name) for name in names]
    if None in sizes:
        return None
    if not function:
        figures.problems.append(
            f'the volume of {bed.name}: its shape is "{bed.shape}", which is not one of {", ".join(SHAPES)}'
        )
        return None
    figures.note_worked_out("volume", function, bed.name)
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
    figures.note_worked_out("dose", "GROW_DOSE", bed.name)
    units = (figures.unit("beds.volume"), figures.unit("feeds.rate"), figures.unit("beds.dose"))
    return figures.calculate(f"the dose of {bed.name}", "GROW_DOSE", volume, rate, *units)


def _n_ppm(figures: Figures, bed: Bed, feed: Feed | None, volume: float | None, dose: float | None) -> float | None:
    if bed.n_ppm is not None or "n_ppm" in bed.failed:
        return bed.n_ppm
    if feed is None or not feed.analysis or volume is None or dose is None:
        return None
    figures.note_worked_out("N", "GROW_PPM", bed.name)
    units = (figures.unit("beds.dose"), figures.unit("beds.volume"), figures.unit("beds.n_ppm"))
    return figures.calculate(f"N of {bed.name}", "GROW_PPM", dose, volume, feed.analysis, "N", *units)
