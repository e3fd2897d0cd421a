"""What a bed needs to be full and strong again: water, and feed."""

from __future__ import annotations

from .week_figures import BedWeek, Figures


def refill_volume(bed: BedWeek) -> float | None:
    """The water that fills a bed up, or None where it is full or its level is not known."""
    if bed.volume is None or bed.level is None or bed.level.volume is None:
        return None
    return bed.volume - bed.level.volume or None


def water_ec(figures: Figures, bed: BedWeek) -> float:
    """The EC of the source water in the unit of the readings; 0 where the log does not say."""
    return figures.converted(bed.bed.water_ec, "beds.water_ec", "readings.ec") if bed.bed.water_ec else 0.0


def wanted_ec(bed: BedWeek) -> float | None:
    """The EC that a top-up is to reach: the middle or low end of the log's own band, else that of the fresh fill."""
    band, first = bed.bands["ec"], bed.first_ec
    if band and band.own and band.low is not None:
        return band.low if band.middle is None else band.middle
    return first[1] if first else None


def top_up(figures: Figures, bed: BedWeek, value: float, target: float) -> float | None:
    """The feed that brings a bed, filled up, to a target EC, in the log's unit for doses; None where that is not known.

    What a rate does to the EC is taken from the bed's own first reading, since what a label leaves out (sulfur,
    chloride, the form of nitrogen) makes an EC worked out from it too low.
    """
    first, source = bed.first_ec, water_ec(figures, bed)
    if not bed.volume or not bed.rate or first is None or first[1] <= source:
        return None
    volumes = figures.unit("beds.volume")
    now = bed.level.volume if bed.level and bed.level.volume is not None else bed.volume
    return figures.asked(
        "GROW_TOPUP",
        f"{bed.volume!r} {volumes}",
        f"{now!r} {volumes}",
        value,
        target,
        bed.rate / (first[1] - source),
        source,
        None,
        figures.unit("feeds.rate"),
        figures.unit("beds.dose"),
    )
