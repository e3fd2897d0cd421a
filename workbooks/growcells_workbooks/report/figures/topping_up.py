"""What a bed needs to be full and strong again, in the units of the log."""

from __future__ import annotations

from collections.abc import Sequence

from ...season_figures.doses import Dose
from .in_words import amount, listed
from .log_units import in_unit
from .week_figures import BedWeek, Figures


def refill_volume(bed: BedWeek) -> float | None:
    """The water that fills a bed up, or None where it is full or its level is not known."""
    if bed.volume is None or bed.level is None or bed.level.volume is None:
        return None
    return bed.volume - bed.level.volume or None


def water_ec(figures: Figures, bed: BedWeek) -> float:
    """The EC of the source water in the unit of the readings; 0 where the log does not say."""
    return figures.converted(bed.bed.water_ec, "beds.water_ec", "readings.ec") if bed.bed.water_ec else 0.0


def wanted_ec(figures: Figures, bed: BedWeek) -> float | None:
    """The EC that a top-up is to reach: the middle or low end of the log's own band, else that of a fresh fill."""
    band = bed.bands["ec"]
    if band and band.own and band.low is not None:
        return band.low if band.middle is None else band.middle
    target = bed.top_up.target
    return None if target is None else in_unit(target, "mS/cm", figures.unit("readings.ec"))


def in_dose_unit(figures: Figures, dose: Dose) -> tuple[float | None, str]:
    """How much of a part, with its unit: the log's unit for doses, or mL of what is measured by volume."""
    if dose.part.millilitres is not None:
        return dose.millilitres, "mL"
    unit = figures.unit("beds.dose")
    return None if dose.grams is None else in_unit(dose.grams, "g", unit), figures.unit_label("beds.dose")


def parts_in_words(figures: Figures, doses: Sequence[Dose]) -> str:
    """The parts of a feed in words: ``12 g of base and 8 g of calcium nitrate``; "" for none."""
    said = []
    for dose in doses:
        mass, unit = in_dose_unit(figures, dose)
        if mass:
            said.append(f"{amount(mass, unit)} of {dose.part.name or 'feed'}")
    return listed(said) if said else ""
