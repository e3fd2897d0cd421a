"""How much of an acid or a base in the log brings a bed to a pH, by GROW_ACID and GROW_BASE."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from growcells.cells.errors import GrowError
from growcells.chemistry.products import solution
from growcells.terms.acids import find_acid
from growcells.terms.bases import find_base

from ..figures.in_words import amount, number
from ..figures.log_units import in_unit
from ..figures.week_figures import BedWeek, Figures

CAUTION = (
    "Wear goggles and gloves, follow the label and the local code. Give half, stir, wait and measure, then the rest."
)


def acid_dose(figures: Figures, bed: BedWeek, ph: float, target: float) -> str:
    """The acid that lowers a bed to a pH, in words; "" where the log has no alkalinity or no acid."""
    return _dose(figures, bed, ph, target, find_acid, "GROW_ACID", "mL")


def base_dose(figures: Figures, bed: BedWeek, ph: float, target: float) -> str:
    """The base that raises a bed to a pH, in words; "" where the log has no alkalinity or no base."""
    return _dose(figures, bed, ph, target, find_base, "GROW_BASE", "g")


def _dose(
    figures: Figures,
    bed: BedWeek,
    ph: float,
    target: float,
    find: Callable[[str], Any],
    function: str,
    unit: str,
) -> str:
    product = _product(figures, find)
    volume = bed.level.volume if bed.level and bed.level.volume else bed.volume
    if not product or not volume or not bed.bed.alkalinity:
        return ""
    alkalinity = in_unit(bed.bed.alkalinity, figures.unit("beds.alkalinity"), "mg/L")
    given: list[object] = [f"{volume!r} {figures.unit('beds.volume')}", alkalinity, ph, target, product]
    given += [None] if function == "GROW_ACID" else []
    dose = figures.asked(function, *given, "closed", _feed_in(bed), None, unit)
    if dose is None:
        return ""
    return (
        f"{amount(dose, unit)} of {product} bring the {amount(volume, figures.unit_label('beds.volume'))} to pH "
        f"{number(target)}, by {function} from the alkalinity of {number(alkalinity)} mg/L in the log, where none was "
        f"given since the fill; less where some was. {CAUTION}"
    )


def _product(figures: Figures, find: Callable[[str], Any]) -> str:
    """The first product of the log that is an acid or a base of a known strength."""
    for feed in figures.log.feeds:
        for part in feed.parts:
            for text in (part.product, part.analysis, feed.name):
                try:
                    known = find(text)
                except GrowError:
                    continue
                if getattr(known, "default_percent", 0.0) is not None:
                    return text
    return ""


def _feed_in(bed: BedWeek) -> object:
    """What the feed of a bed has brought into it, as a table of ppm; None where it is not known."""
    rule = bed.fill.in_force
    given = [(part.grams_in_litre, part.analysis) for part in (rule.parts if rule else ())]
    if not given or any(grams is None or analysis is None for grams, analysis in given):
        return None
    table = solution([(grams, analysis) for grams, analysis in given if grams and analysis], 1.0, {})
    return tuple(table.items()) or None
