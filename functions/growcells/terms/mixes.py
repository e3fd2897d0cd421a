"""The parts of a mix: columns of masses and analyses, and what a product holds of the nutrient asked for."""

from __future__ import annotations

from ..cells.arguments import Argument
from ..cells.errors import GrowError, OutOfRange
from ..cells.liquids import PRODUCT, mass_of
from ..cells.ranges import Column, check_lengths
from ..chemistry.nutrient_bases import Nutrient
from ..chemistry.products import Analysis, UntoldNitrogen
from ..chemistry.unit_factors import PERCENT_IN_WHOLE

MASSES = Argument(
    "masses",
    Column("masses", PRODUCT),
    'the mass of each part, a column or one value; of a liquid the volume, such as "50 mL"',
    unit="mass_unit",
    zero=True,
)


def parts_of(masses: list[float | None], analyses: list[Analysis | None]) -> list[tuple[float, Analysis]]:
    """Mass and analysis of each filled row.

    Raises GrowError where the columns differ in length, or where a row has one without the other.
    """
    check_lengths({"masses": masses, "analyses": analyses})
    parts = []
    for row, (mass, analysis) in enumerate(zip(masses, analyses, strict=True), 1):
        if mass is not None and analysis is not None:
            parts.append((mass_of(mass, analysis.density, f"row {row} of masses"), analysis))
        elif mass is not None or analysis is not None:
            given, lacking = ("an analysis", "mass") if mass is None else ("a mass", "analysis")
            raise GrowError(f"row {row} has {given} but no {lacking}: fill in the {lacking} or clear the row")
    if not parts:
        raise GrowError("masses and analyses are blank: give at least one part")
    return parts


def percent_of(analysis: Analysis, nutrient: Nutrient) -> float:
    """Percent of a nutrient in a product. Raises GrowError for a form of nitrogen that the analysis does not tell."""
    try:
        return analysis.percent(nutrient)
    except UntoldNitrogen as problem:
        raise untold(problem) from None


def untold(problem: UntoldNitrogen) -> GrowError:
    """The sentence for an analysis that does not tell the form of its nitrogen."""
    return GrowError(f'{problem}: copy it from the label, such as "17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5"')


def share_above_zero(analysis: Analysis, nutrient: Nutrient) -> float:
    """The mass fraction of a nutrient. Raises OutOfRange where the product holds none of it."""
    share = percent_of(analysis, nutrient) / PERCENT_IN_WHOLE
    if not share:
        raise OutOfRange(f'"{analysis.text}" lists no {nutrient.symbol}: give a product that holds it')
    return share
