"""The rules of advice on a bed: its readings, its water, its pH, EC and temperature."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from typing import NamedTuple

from ...reading.plausible import range_of
from ...reading.words import fields
from ..figures.common_practice import MEASURES, limit
from ..figures.in_words import amount, band_text, day_of, days, number, pace
from ..figures.topping_up import refill_volume, top_up, wanted_ec, water_ec
from ..figures.trends import Trend, trend
from ..figures.week_figures import MEASURED, Band, BedWeek, Figures
from .action import Action, Urgency


def readings_stopped(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """No reading for longer than twice the usual time between visits."""
    patience = 2 * figures.visit_days
    if bed.last is None:
        yield Action(
            Urgency.TODAY, "readings", bed.name, "Measure pH, EC and depth.", "The log has no reading of this bed."
        )
        return
    since = (figures.as_of - bed.last).days
    if since > patience:
        yield Action(
            Urgency.TODAY,
            "readings",
            bed.name,
            "Measure pH, EC and depth.",
            f"No reading since {day_of(bed.last)}, {days(since)} ago; until then one came every "
            f"{days(figures.visit_days)}.",
        )


def hardly_possible(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """A latest reading out of the plausible range: a slip or a wrong unit, which no dose should rest on."""
    for measure in MEASURED:
        points = bed.points(measure)
        if points and not plausible(figures, measure, points[-1][1]):
            day, value = points[-1]
            unit = "" if measure == "ph" else f" {figures.unit_label(f'readings.{measure}')}"
            yield Action(
                Urgency.TODAY,
                measure,
                bed.name,
                f"Measure the {MEASURES[measure]} again before you do anything.",
                f"{number(value)}{unit} on {day_of(day)} is hardly possible: a slip, or another unit.",
            )


def ph_off(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The latest pH out of its band, or on the way out of it."""
    latest = latest_beside(figures, bed, "ph")
    if latest is None:
        return
    band, day, value, side = latest
    if side:
        again = "Measure again with a calibrated meter; if it stays, "
        to = f" to {number(band.middle)}" if band.middle is not None else ""
        yield Action(
            _urgency(band),
            "ph",
            bed.name,
            again
            + (
                f"lower the pH{to} with acid: a part of what GROW_ACID gives, stir, wait, measure."
                if side > 0
                else f"raise the pH{to} in small steps, stir, wait, measure."
            ),
            f"pH {number(value)} on {day_of(day)} is {_beside(band, side, '')}"
            + _how_often(bed, "ph")
            + ("; acid: goggles and gloves, acid into water." if side > 0 else "."),
        )
        return
    drift = leaving(figures, bed, "ph", band)
    if drift:
        yield Action(
            Urgency.THIS_WEEK,
            "ph",
            bed.name,
            "Check the pH at every visit.",
            f"pH {'rises' if drift.per_day > 0 else 'falls'} by {pace(drift)} a week, "
            f"{number(value)} on {day_of(day)}: at that pace it leaves {band_text(band)} within a week.",
        )


def ec_high(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """EC above its band or rising towards its end: water is lost faster than feed."""
    latest = latest_beside(figures, bed, "ec")
    if latest is None or latest.band.high is None:
        return
    unit = figures.unit_label("readings.ec")
    band, day, value, side = latest
    above = side > 0
    rising = None if above else leaving(figures, bed, "ec", band)
    if not above and (rising is None or rising.per_day < 0):
        return
    if above:
        why = f"EC {number(value)} {unit} on {day_of(day)} is {_beside(band, 1, unit)}{_how_often(bed, 'ec')}"
    else:
        assert rising is not None
        why = (
            f"EC rises by {pace(rising)} {unit} a week, {number(value)} on {day_of(day)}: "
            f"at that pace it leaves {band_text(band)} within a week"
        )
    if refill := refill_volume(bed):
        depth = bed.level.depth if bed.level else None
        why += f"; the water stands at {number(depth)} of {_depth(figures, bed.full_depth)}"
    what, result = _weaken(figures, bed, band, value)
    yield Action(
        _urgency(band) if above else Urgency.THIS_WEEK, "ec", bed.name, what, f"{why}{result if refill else '.'}"
    )


def _weaken(figures: Figures, bed: BedWeek, band: Band, value: float) -> tuple[str, str]:
    """What brings a strong bed down: water where there is room for enough of it, or else new solution.

    Where plain water alone would make it weaker than a top-up is to, feed goes with it, as on the page of doses.
    """
    unit, volumes = figures.unit_label("readings.ec"), figures.unit_label("beds.volume")
    assert band.high is not None
    if not bed.volume:
        return "Top up with plain water, no feed.", "."
    refill = refill_volume(bed) or 0.0
    filled = (value * (bed.volume - refill) + water_ec(figures, bed) * refill) / bed.volume
    reaches = f": filled up with plain water it comes to about {number(filled)} {unit}."
    wanted = wanted_ec(bed)
    if wanted is not None and filled < wanted <= band.high and top_up(figures, bed, value, wanted):
        what, reckoned = _strengthen(figures, bed, value)
        return what, f"{reaches.rstrip('.')}{reckoned}."
    if filled <= band.high:
        return f"Top up with {amount(refill, volumes)} of plain water, no feed.", reaches
    target = band.middle if band.middle is not None else band.high
    swap = figures.asked(
        "GROW_SWAP", bed.volume, filled, target, water_ec(figures, bed), figures.unit("beds.volume"), None
    )
    first = f"Top up with {amount(refill, volumes)} of plain water, then replace" if refill else "Replace"
    if swap is None:
        return "Replace the solution: the water itself is too strong to weaken it.", reaches
    return f"{first} {amount(swap, volumes)} of solution by plain water, for {number(target)} {unit}.", reaches


def ec_low(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """EC below its band or falling towards its end: top up with feed, as much as GROW_TOPUP gives."""
    latest = latest_beside(figures, bed, "ec")
    if latest is None or latest.band.low is None:
        return
    unit = figures.unit_label("readings.ec")
    band, day, value, side = latest
    below = side < 0
    falling = None if below else leaving(figures, bed, "ec", band)
    if not below and (falling is None or falling.per_day > 0):
        return
    if below:
        why = f"EC {number(value)} {unit} on {day_of(day)} is {_beside(band, -1, unit)}{_how_often(bed, 'ec')}"
    else:
        assert falling is not None
        why = (
            f"EC falls by {pace(falling)} {unit} a week, {number(value)} on {day_of(day)}: "
            f"at that pace it leaves {band_text(band)} within a week"
        )
    what, reckoned = _strengthen(figures, bed, value)
    yield Action(_urgency(band) if below else Urgency.THIS_WEEK, "ec", bed.name, what, f"{why}{reckoned}.")


def _strengthen(figures: Figures, bed: BedWeek, value: float) -> tuple[str, str]:
    feed = bed.feed.name if bed.feed else "feed"
    target = wanted_ec(bed)
    mass = None if target is None else top_up(figures, bed, value, target)
    if mass is None:
        return f"Top up with {feed} in small steps, stir, measure.", ""
    unit, first = figures.unit_label("readings.ec"), bed.first_ec
    assert first is not None
    refill = refill_volume(bed)
    water = f"{amount(refill, figures.unit_label('beds.volume'))} of water and " if refill else ""
    return (
        f"Top up with {water}{amount(mass, figures.unit_label('beds.dose'))} of {feed}, for {number(target)} {unit}.",
        f"; reckoned from {number(first[1])} {unit} on {day_of(first[0])}, taken for a fresh fill at "
        f"{number(bed.rate)} {figures.unit_label('feeds.rate')}: measure after mixing",
    )


def water_low(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The water below the pots now, or before the next visit."""
    if bed.level is None or bed.lowest is None:
        return
    unit = figures.unit("readings.depth")
    refill = refill_volume(bed)
    fill = f"Fill up with {amount(refill, figures.unit_label('beds.volume'))} of water" if refill else "Fill up"
    stands = f"The water stood at {_depth(figures, bed.level.depth)} on {day_of(bed.level.date)}"
    spare = bed.level.depth - bed.lowest
    if spare <= 0:
        yield Action(
            Urgency.TODAY,
            "water",
            bed.name,
            f"{fill}, through an air gap.",
            f"{stands}, not above the {_depth(figures, bed.lowest)} at which pots hang dry.",
        )
        return
    if not bed.drop:
        return
    lasts = figures.asked("GROW_REFILL_DAYS", spare, bed.drop, unit)
    if lasts is None:
        return
    left = lasts - (figures.as_of - bed.level.date).days
    if left >= figures.visit_days:
        return
    dry = bed.level.date + datetime.timedelta(days=int(lasts))
    yield Action(
        Urgency.TODAY if left < 1 else Urgency.THIS_WEEK,
        "water",
        bed.name,
        f"{fill} by {day_of(dry)}, through an air gap.",
        f"{stands} and falls by {number(bed.drop)} {figures.unit_label('readings.depth')} a day "
        f"({bed.drop_from}): it reaches {_depth(figures, bed.lowest)} in {days(max(left, 0))}, "
        f"and visits come every {days(figures.visit_days)}.",
    )


def temperature_off(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The latest water temperature out of its band."""
    latest = latest_beside(figures, bed, "temperature")
    if latest is None:
        return
    band, day, value, side = latest
    if side:
        unit = figures.unit_label("readings.temperature")
        yield Action(
            Urgency.THIS_WEEK,
            "temperature",
            bed.name,
            "Shade and cool the tank, and bring in more air."
            if side > 0
            else "Keep the tank warmer; a heater must be made for immersion, behind ground-fault protection.",
            f"Water at {number(value)} {unit} on {day_of(day)} is {_beside(band, side, unit)}"
            f"{_how_often(bed, 'temperature')}.",
        )


def plausible(figures: Figures, measure: str, value: float) -> bool:
    """Whether a reading is in the range of ``data/plausible.csv``."""
    field = next(known for known in fields()["readings"] if known.name == measure)
    possible = range_of(field, "" if measure == "ph" else figures.unit(f"readings.{measure}"))
    return possible is None or possible.low <= value <= possible.high


class Latest(NamedTuple):
    """The latest reading of a measure beside its band; ``side`` is above 0 above it, below 0 below, else 0."""

    band: Band
    day: datetime.date
    value: float
    side: int


def latest_beside(figures: Figures, bed: BedWeek, measure: str) -> Latest | None:
    """The latest reading beside its band; None where either lacks, or where the reading is hardly possible."""
    band, points = bed.bands[measure], bed.points(measure)
    if band is None or not points or not plausible(figures, measure, points[-1][1]):
        return None
    day, value = points[-1]
    return Latest(band, day, value, band.side(value))


def leaving(figures: Figures, bed: BedWeek, measure: str, band: Band) -> Trend | None:
    """The trend of a measure that is in its band and will be out of it within a week, where it is no chance."""
    start = figures.as_of - datetime.timedelta(days=limit("trend_days"))
    line = trend([point for point in bed.points(measure) if point[0] > start])
    if line is None or not line.steady(limit("steady")) or band.side(line.value):
        return None
    return line if band.side(line.value_in(limit("ahead"))) else None


def _urgency(band: Band) -> Urgency:
    """Out of a band that the grower set is for today; out of a usual one is for the week."""
    return Urgency.TODAY if band.own else Urgency.THIS_WEEK


def _beside(band: Band, side: int, unit: str) -> str:
    end = band.high if side > 0 else band.low
    usual = "" if band.own else "the usual "
    return f"{'above' if side > 0 else 'below'} {usual}{number(end)}{f' {unit}' if unit else ''}"


def _how_often(bed: BedWeek, measure: str) -> str:
    span = bed.spans[measure]
    return f", as {span.outside} of {span.readings} in the week" if span.outside > 1 else ""


def _depth(figures: Figures, depth: float | None) -> str:
    return f"{number(depth)} {figures.unit_label('readings.depth')}"


BED_RULES: tuple[Callable[[Figures, BedWeek], Iterator[Action]], ...] = (
    readings_stopped,
    water_low,
    hardly_possible,
    ph_off,
    ec_high,
    ec_low,
    temperature_off,
)
