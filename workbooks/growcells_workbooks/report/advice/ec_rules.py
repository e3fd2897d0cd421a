"""The rules of advice on the EC of a bed: weaken it with water, or top up with feed."""

from __future__ import annotations

from collections.abc import Iterator

from ..figures.in_words import amount, number
from ..figures.topping_up import parts_in_words, refill_volume, wanted_ec, water_ec
from ..figures.trends import Trend
from ..figures.week_figures import Band, BedWeek, Figures
from .action import Action, Latest, drift_out, latest_beside


def ec_high(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """EC above its band or rising towards its end: water is lost faster than feed."""
    found = _beyond(figures, bed, 1)
    if found is None:
        return
    latest, why, brief = found
    refill = refill_volume(bed)
    if refill:
        depths = figures.unit_label("readings.depth")
        depth = bed.level.depth if bed.level else None
        why += f"; the water stands at {number(depth)} of {number(bed.full_depth)} {depths}"
    what, result = _weaken(figures, bed, latest.band, latest.value)
    yield Action(latest.urgency, "ec", bed.name, what, f"{why}{result if refill else '.'}", brief)


def ec_low(figures: Figures, bed: BedWeek) -> Iterator[Action]:
    """EC below its band or falling towards its end: top up with feed, as much as GROW_TOPUP gives."""
    found = _beyond(figures, bed, -1)
    if found is not None:
        latest, why, brief = found
        what, reckoned = _strengthen(figures, bed, latest.value)
        yield Action(latest.urgency, "ec", bed.name, what, f"{why}.{reckoned}", brief)


def _beyond(figures: Figures, bed: BedWeek, side: int) -> tuple[Latest, str, str] | None:
    """The latest EC where it is out of its band on this side or on the way there, and that in words and in few."""
    latest = latest_beside(figures, bed, "ec")
    if latest is None or (latest.band.high if side > 0 else latest.band.low) is None:
        return None
    if latest.side:
        return (latest, latest.beside, latest.brief) if latest.side == side else None
    drift: Trend | None = drift_out(figures, bed, "ec", latest.band)
    if drift is None or drift.per_day * side < 0:
        return None
    return latest, latest.leaving(drift), latest.drifting(drift)


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
    wanted = wanted_ec(figures, bed)
    if wanted is not None and filled < wanted <= band.high and _top_up_in_words(figures, bed):
        what, reckoned = _strengthen(figures, bed, value)
        return what, f"{reaches}{reckoned}"
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


def _strengthen(figures: Figures, bed: BedWeek, value: float) -> tuple[str, str]:
    """What brings a weak bed up, and a sentence on what that is worked out from."""
    feed = bed.fill.feed or "feed"
    target, parts = wanted_ec(figures, bed), _top_up_in_words(figures, bed)
    if target is None or not parts:
        why = f" How much is not known: {bed.top_up.why}." if not bed.top_up.known else ""
        return f"Top up with {feed} in small steps: stir, and measure after each.", why
    refill = refill_volume(bed)
    water = f"{amount(refill, figures.unit_label('beds.volume'))} of water and " if refill else ""
    error = f", within {bed.top_up.error * 100:.0f} %" if bed.top_up.error else ""
    figures.called.add("GROW_TOPUP")
    return (
        f"Top up with {water}{parts}, for {number(target)} {figures.unit_label('readings.ec')}.",
        f" The feed is worked out from {bed.top_up.why}{error}. Measure after mixing.",
    )


def _top_up_in_words(figures: Figures, bed: BedWeek) -> str:
    """The feed of the next top-up, or "" where it is none or not known."""
    return parts_in_words(figures, bed.top_up.doses) if bed.top_up.known else ""
