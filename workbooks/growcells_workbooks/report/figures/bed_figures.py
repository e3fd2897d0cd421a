"""The figures of a bed in a week: its volume and dose, its readings beside their bands, its water."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...reading import Bed, Reading
from ...season_figures.doses import FullFill, full_fill
from ...season_figures.part_stock import cost_of_parts
from ...season_figures.top_ups import top_up
from ...shapes import BOX, SHAPES
from .common_practice import MEASURES, limit, usual_band
from .log_units import in_unit
from .trends import drop_per_day, measured
from .week_figures import Band, BedWeek, Figures, Level, Span

PPM_IN_PERCENT = 10.0
"""mg in a litre of a gram that holds a percent."""
BAND_FIELDS = {"ph": ("ph_low", "ph_high"), "ec": ("ec_low", "ec_high"), "temperature": ("temp_low", "temp_high")}


def bed_week(figures: Figures, bed: Bed, course: list[Reading]) -> BedWeek:
    feed = figures.log.feed(bed.feed)
    fill = full_fill(figures.log, bed, figures.as_of)
    feed = figures.log.feed(fill.feed) or feed
    volume = _volume(figures, bed, fill)
    dose = _dose(figures, bed, fill)
    rate = fill.in_force.total if fill.in_force else None
    rate = None if rate is None else in_unit(rate, "g/L", figures.unit("feeds.rate"))
    if fill.why and (feed is not None or bed.rate is not None):
        figures.problems.append(f"the full fill of {bed.name}: {fill.why}")
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
        n_ppm=_n_ppm(figures, bed, fill),
        cost=_fill_cost(figures, fill),
        fill=fill,
        top_up=top_up(figures.log, bed, figures.as_of),
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
        added_cost=_added_cost(figures, fill, feed_to_date),
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


def is_torn(bed: Bed, measure: str) -> bool:
    """Whether an end of the band that the log gives a bed could not be read."""
    return not bed.failed.isdisjoint(BAND_FIELDS[measure])


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


def _volume(figures: Figures, bed: Bed, fill: FullFill) -> float | None:
    """The volume that the log has, or else the one that the sizes give."""
    if bed.volume is not None or fill.volume is None:
        return bed.volume
    function, _ = SHAPES[bed.shape.casefold() or BOX]
    figures.note_worked_out("volume", function, bed.name)
    figures.called.add(function)
    return in_unit(fill.volume, "L", figures.unit("beds.volume"))


def _dose(figures: Figures, bed: Bed, fill: FullFill) -> float | None:
    """All parts of a full fill together; None where one is measured by volume or not known."""
    masses = [dose.grams for dose in fill.doses if dose.part.millilitres is None]
    if not masses or None in masses or len(masses) < len(fill.doses):
        return None
    if bed.dose is None:
        figures.note_worked_out("dose", "GROW_DOSE", bed.name)
    return in_unit(sum(mass for mass in masses if mass is not None), "g", figures.unit("beds.dose"))


def _n_ppm(figures: Figures, bed: Bed, fill: FullFill) -> float | None:
    """The nitrogen of the whole mix, or None where a part does not tell it."""
    if bed.n_ppm is not None or "n_ppm" in bed.failed:
        return bed.n_ppm
    given = [(part.grams_in_litre, part.analysis) for part in (fill.in_force.parts if fill.in_force else ())]
    if not given or any(grams is None or analysis is None for grams, analysis in given):
        return None
    figures.note_worked_out("N", "GROW_PPM", bed.name)
    figures.called.add("GROW_PPM")
    ppm = sum(
        (grams or 0.0) * analysis.percents.get("N", 0.0) * PPM_IN_PERCENT for grams, analysis in given if analysis
    )
    return in_unit(ppm, "mg/L", figures.unit("beds.n_ppm"))


def _fill_cost(figures: Figures, fill: FullFill) -> float | None:
    """What a full fill costs, or None where the price of a part is not known."""
    figures.called.add("GROW_COST")
    return cost_of_parts(figures.log, [(dose.part, dose.grams, dose.millilitres) for dose in fill.doses])


def _added_cost(figures: Figures, fill: FullFill, added: float) -> float | None:
    """What the feed added costs, shared among the parts of its mix as their rates are."""
    rule = fill.in_force
    if rule is None:
        return None
    grams = in_unit(added, figures.unit("readings.feed_added"), "g")
    if not added:
        return 0.0 if cost_of_parts(figures.log, [(part, 0.0, 0.0) for part in rule.parts]) is not None else None
    if not rule.total:
        return None
    return cost_of_parts(figures.log, [(p, *p.amount(grams / rule.total)) for p in rule.parts])
