"""The rules of advice on a bed: its readings, its water, its pH and temperature."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from ..figures.common_practice import MEASURES
from ..figures.in_words import amount, day_of, days, number
from ..figures.topping_up import refill_volume
from ..figures.week_figures import BedWeek, Figures
from .action import Action, Urgency, drift_out, latest_beside, plausible, unit_after
from .odd_readings import jumps_of
from .ph_doses import acid_dose, base_dose


def readings_stopped(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """No reading for longer than twice the usual time between visits."""
    measure = "Measure pH, EC and depth."
    if bed.last is None:
        yield Action(Urgency.TODAY, "readings", bed.name, measure, "The log has no reading of this bed.", "never read")
        return
    since = (figures.as_of - bed.last).days
    if since > 2 * figures.visit_days:
        yield Action(
            Urgency.TODAY,
            "readings",
            bed.name,
            measure,
            f"The last reading was on {day_of(bed.last)}, {days(since)} ago; until then one came every "
            f"{days(figures.visit_days)}.",
            f"last read {days(since)} ago",
        )


def hardly_possible(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """A latest reading out of the plausible range: a slip or a wrong unit, which no dose should rest on."""
    for measure in MEASURES:
        points = bed.points(measure)
        if points and not plausible(figures, measure, points[-1][1]):
            day, value = points[-1]
            yield Action(
                Urgency.TODAY,
                measure,
                bed.name,
                f"Measure the {MEASURES[measure]} again before you do anything.",
                f"{number(value)}{unit_after(figures, measure)} on {day_of(day)} is hardly possible: it may be a slip, "
                "or in another unit.",
                f"{number(value)}{unit_after(figures, measure)} is hardly possible",
            )


def jumped(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """A jump to the latest reading from the one shortly before it, whatever the crop."""
    latest = {measure: bed.points(measure)[-1] for measure in MEASURES if bed.points(measure)}
    for odd in jumps_of(figures, bed):
        day, value = latest[odd.measure]
        if odd.date == day and plausible(figures, odd.measure, value):
            yield Action(
                Urgency.TODAY,
                odd.measure,
                bed.name,
                f"Measure the {MEASURES[odd.measure]} again before you do anything.",
                f"{odd.why} by {day_of(odd.date)}, with nothing noted that explains it.",
                odd.why,
            )


def ph_off(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The latest pH out of its band, or on the way out of it."""
    latest = latest_beside(figures, bed, "ph")
    if latest is None:
        return
    band = latest.band
    if not latest.side:
        drift = drift_out(figures, bed, "ph", band)
        if drift:
            what, why = "Check the pH at every visit.", f"{latest.leaving(drift)}."
            yield Action(latest.urgency, "ph", bed.name, what, why, latest.drifting(drift))
        return
    to = f" to {number(band.middle)}" if band.middle is not None else ""
    again = "Measure again with a calibrated meter. If the reading stands, "
    wanted = band.middle if band.middle is not None else (band.high if latest.side > 0 else band.low)
    dose_of = acid_dose if latest.side > 0 else base_dose
    dose = dose_of(figures, bed, latest.value, wanted) if wanted is not None else ""
    if dose:
        what = f"{again}{dose[0].lower()}{dose[1:]}"
        yield Action(latest.urgency, "ph", bed.name, what, f"{latest.beside}.", latest.brief)
        return
    if latest.side > 0:
        what = f"lower the pH{to} with acid: add a part of what GROW_ACID gives, stir, wait, and measure."
        caution = ". Wear goggles and gloves, and pour acid into water."
    else:
        what, caution = f"raise the pH{to} in small steps: stir, wait, and measure after each.", "."
    yield Action(latest.urgency, "ph", bed.name, again + what, latest.beside + caution, latest.brief)


def water_low(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The water below the pots now, or before the next visit."""
    if bed.level is None or bed.lowest is None:
        return
    unit = figures.unit_label("readings.depth")
    refill = refill_volume(bed)
    water = f" with {amount(refill, figures.unit_label('beds.volume'))} of water" if refill else ""
    what = f"Top up{water}, through an air gap."
    stands = f"The water stood at {amount(bed.level.depth, unit)} on {day_of(bed.level.date)}"
    spare = bed.level.depth - bed.lowest
    if spare <= 0:
        yield Action(
            Urgency.TODAY,
            "water",
            bed.name,
            what,
            f"{stands}, not above the {amount(bed.lowest, unit)} at which pots hang dry.",
            f"water at {amount(bed.level.depth, unit)}, pots hang dry",
        )
        return
    if not bed.drop:
        return
    lasts = figures.asked("GROW_REFILL_DAYS", spare, bed.drop, figures.unit("readings.depth"))
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
        what,
        f"{stands} and falls by {amount(bed.drop, unit)} a day (by {bed.drop_from}): it reaches "
        f"{amount(bed.lowest, unit)} in {days(max(left, 0))}, and visits come every {days(figures.visit_days)}.",
        f"water at {amount(bed.level.depth, unit)}, down {amount(bed.drop, unit)} a day",
        dry,
    )


def temperature_off(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """The latest water temperature out of its band."""
    latest = latest_beside(figures, bed, "temperature")
    if latest is not None and latest.side:
        yield Action(
            Urgency.THIS_WEEK,
            "temperature",
            bed.name,
            "Shade and cool the tank, and bring in more air."
            if latest.side > 0
            else "Keep the tank warmer. Use only a heater that is made for immersion, behind ground-fault protection.",
            f"{latest.beside}.",
            latest.brief,
        )
