"""What to weigh for a tank, a top-up or a concentrate, and what a scale can show of it."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import OutOfRange
from ..cells.kinds import CONCENTRATION, FRACTION, MASS, NUMBER, RATE, STRENGTH, VOLUME
from ..cells.liquids import PRODUCT, PRODUCT_RATE, alike, of_density
from ..cells.registry import Family, cell_function
from ..chemistry.nutrient_bases import Nutrient
from ..chemistry.products import Analysis
from ..chemistry.unit_factors import MILLIGRAMS_IN_GRAM
from ..terms.analyses import ANALYSIS_GIVEN
from ..terms.given import DOSE, MASS_GIVEN, RATE_GIVEN, VOLUME_GIVEN
from ..terms.mixes import share_above_zero
from ..terms.names import NUTRIENT_ASKED

WEIGHED = Argument("mass", MASS, "the mass of the feed", unit="mass_unit")

SCALE_STEP = Argument("scale_step", MASS, "the smallest step that the scale shows", unit="scale_unit")


WATER_STRENGTH = Argument(
    "water_strength",
    STRENGTH,
    "the strength of the water added; 0 if left out",
    False,
    default=0.0,
    zero=True,
)


@cell_function(
    "GROW_DOSE",
    family=Family.DOSE,
    help="Mass of feed for a volume of water at a rate such as 2 grams a gallon; mL of a liquid at 5 mL a gallon.",
    arguments=(VOLUME_GIVEN, RATE_GIVEN),
    result=DOSE,
    examples=(
        Example((34, 1.8), 34 * 1.8, "arithmetic: 1.8 g/gal in 34 gal"),
        Example(("106 L", "0.5 g/L"), 53.0, "106 × 0.5"),
        Example((100, 1, "L", "g/L", "kg"), 0.1, "100 g"),
        Example((30, "5 mL/gal"), 150.0, "30 × 5 mL of a liquid"),
        Example(
            (10, "1 tsp/gal"),
            49.28921593750002,
            "NIST Handbook 44, appendix C: a teaspoon is a sixth of a fl oz",
            1e-12,
        ),
    ),
    formula="volume × rate",
    source="arithmetic",
    advice="Follow the rate and the precautions on the label of the feed.",
    elementwise=True,
)
def dose(volume: float, rate: float) -> float:
    """Mass [g] for a volume [L] at a rate [g/L]; volume [L] of a liquid at a rate [L/L].

    >>> dose(120.0, 0.5)
    60.0
    """
    return alike(rate, volume * rate)


@cell_function(
    "GROW_RATE",
    family=Family.DOSE,
    help="The rate at which a mass of feed is dosed into a volume of water, such as grams a gallon.",
    arguments=(MASS_GIVEN, VOLUME_GIVEN),
    result=Result(PRODUCT_RATE, "mL/gal of a liquid given by volume, else the rate", unit_name="rate_unit"),
    examples=(
        Example((10, 5), 2.0, "common practice, no source: 10 g in 5 gal are 2 g/gal"),
        Example((1, 100, "lb", "gal", "oz/gal"), 0.16, "16 oz ÷ 100 gal"),
        Example(("10 mL", 5), 2.0, "10 mL in 5 gal are 2 mL/gal"),
    ),
    formula="mass ÷ volume",
    source="arithmetic",
    elementwise=True,
)
def rate(mass: float, volume: float) -> float:
    """Rate [g/L] of a mass [g] in a volume [L]; [L/L] of a liquid [L].

    >>> rate(60.0, 120.0)
    0.5
    """
    return alike(mass, mass / volume)


@cell_function(
    "GROW_WEIGH",
    family=Family.DOSE,
    help="The mass that the scale can show nearest to the one wanted.",
    arguments=(WEIGHED, SCALE_STEP),
    result=Result(MASS, "a whole number of scale steps", unit_name="weighed_unit", follows="mass_unit"),
    examples=(
        Example((60.87, 0.1), 60.9, "nearest step"),
        Example((0.25, 0.5), 0.5, "half a step rounds up, so that a small dose is not lost"),
        Example((3.2, 1), 3.0, "nearest step"),
    ),
    formula="the nearest whole number of steps",
    source="arithmetic; the only function that rounds",
)
def weigh(mass: float, scale_step: float) -> float:
    """The multiple of scale_step [g] nearest to a mass [g]; a half is rounded up.

    Raises OutOfRange where the mass is less than half a step, which the scale shows as nothing.

    >>> weigh(61.23, 0.1)
    61.2
    """
    shown = nearest_multiple(mass, scale_step)
    if not shown:
        raise OutOfRange("mass is less than half a scale step: weigh a larger batch, dissolve it and use a part of it")
    return shown


def nearest_multiple(number: float, step: float) -> float:
    """The multiple of a step nearest to a number, half a step rounded up; both are read to twelve figures."""
    # Decimal text is exact where binary steps are not: 61.05 ÷ 0.1 is half way, and 641 × 0.1 is 64.1.
    from decimal import ROUND_HALF_UP, Context, Decimal

    # Half of the last figure goes up too, as spreadsheets round: formatting would take it to the even one.
    figures = Context(prec=12, rounding=ROUND_HALF_UP)
    exact = figures.create_decimal(repr(float(step)))
    return float((figures.create_decimal(repr(float(number))) / exact).quantize(Decimal(1), ROUND_HALF_UP) * exact)


@cell_function(
    "GROW_WEIGH_ERROR",
    family=Family.DOSE,
    help="The worst relative error in weighing a mass on a scale, from the scale's step alone.",
    arguments=(WEIGHED, SCALE_STEP),
    result=Result(NUMBER, "the largest share by which the true mass may differ, as a fraction"),
    examples=(Example((5, 1), 0.1, "half a gram in 5 g"), Example((61.2, 0.1), 0.05 / 61.2, "0.05 g in 61.2 g")),
    formula="half a scale step ÷ mass",
    source="a display rounds to the nearest step",
    elementwise=True,
)
def weigh_error(mass: float, scale_step: float) -> float:
    """Largest relative error [1] of a mass [g] shown in steps [g].

    >>> weigh_error(50.0, 1.0)
    0.01
    """
    return scale_step / 2 / mass


@cell_function(
    "GROW_BATCH_MIN",
    family=Family.DOSE,
    help="The smallest volume whose dose can be weighed within a tolerance.",
    arguments=(
        Argument("rate", RATE, "the rate of the feed, such as grams a gallon", unit="rate_unit"),
        SCALE_STEP,
        Argument("tolerance", FRACTION, "the largest relative error allowed, as a fraction such as 0.02"),
    ),
    result=Result(VOLUME, "the smallest volume", unit_name="volume_unit"),
    examples=(
        Example((2, 1, 0.02), 12.5, "0.5 g is 2 % of 25 g, the dose of 12.5 gal"),
        Example((2, 1, "2 %"), 12.5, "0.5 g is 2 % of 25 g, the dose of 12.5 gal"),
        Example(("0.5 g/L", "0.1 g", 0.01, None, None, "L"), 10.0, "0.05 g is 1 % of 5 g, the dose of 10 L"),
    ),
    formula="half a scale step ÷ (tolerance × rate)",
    source="GROW_WEIGH_ERROR solved for the volume",
    elementwise=True,
)
def smallest_batch(rate: float, scale_step: float, tolerance: float) -> float:
    """Smallest volume [L] of which half a scale step [g] is at most the tolerance [1] of the dose at a rate [g/L].

    >>> smallest_batch(0.5, 0.1, 0.01)
    10.0
    """
    return scale_step / 2 / (tolerance * rate)


def strength(name: str, help: str) -> Argument:
    """A strength: mS/cm or ppm, one of them throughout."""
    return Argument(name, STRENGTH, help)


STRENGTH_NOW = Argument("strength_now", STRENGTH, "the strength measured now", rare_zero="0 mS/cm")

STRENGTH_TARGET = strength("strength_target", "the strength wanted")


@cell_function(
    "GROW_TOPUP",
    family=Family.DOSE,
    help="Mass of feed to add with the refill water, so that a full tank has the strength wanted.",
    arguments=(
        Argument("full_volume", VOLUME, "the volume when full", unit="volume_unit"),
        Argument("volume_now", VOLUME, "the volume left", unit="volume_unit", rare_zero="0 gal"),
        STRENGTH_NOW,
        STRENGTH_TARGET,
        Argument(
            "rate_per_strength",
            PRODUCT_RATE,
            "the rate that raises the strength by 1: 1.25 where 2 g/gal read 1.6 mS/cm more than the water",
            unit="rate_unit",
        ),
        WATER_STRENGTH,
    ),
    result=DOSE,
    examples=(
        Example((34, 20, 1.2, 1.6, 1.25), (34 * 1.6 - 20 * 1.2) * 1.25, "balance of what is dissolved"),
        Example((34, 34, 1.6, 1.6, 1.25), 0.0, "a full tank at its target needs nothing"),
        Example(("100 L", "50 L", "1.2 mS/cm", "1.6 mS/cm", "1 g/L", 0.4), 80.0, "160 − 60 − 20"),
        Example(("100 L", "50 L", 1.2, 1.6, "2 mL/L", 0.4), 160.0, "(160 − 60 − 20) × 2 mL of a liquid"),
    ),
    formula="rate per strength × (full volume × target − volume now × strength now − refill × water strength)",
    source="mass balance with strength proportional to concentration",
    advice="Strength is proportional to concentration only within a few percent: measure after mixing.",
)
def top_up(
    full_volume: float,
    volume_now: float,
    strength_now: float,
    strength_target: float,
    rate_per_strength: float,
    water_strength: float,
) -> float:
    """Mass [g] that brings a tank refilled from volume_now to full_volume [L] to its target.

    Strengths are in one unit, mS/cm or mg/L, and rate_per_strength in [g/L] for one of that unit. Raises OutOfRange
    where volume_now is more than full_volume, or where the refilled tank would be too strong with no feed at all.

    >>> round(top_up(100.0, 60.0, 1.2, 1.6, 0.7, 0.2), 3)
    56.0
    """
    if volume_now > full_volume:
        raise OutOfRange("volume_now is more than full_volume: give the volume of the full tank first")
    wanted = full_volume * strength_target
    there = volume_now * strength_now + (full_volume - volume_now) * water_strength
    if there > wanted * (1 + 1e-12):
        raise OutOfRange(
            f"even with no feed added the full tank would stand at {there / full_volume:.4g}, above the target of "
            f"{strength_target:.4g}: add none, and see with GROW_SWAP how much solution to replace"
        )
    return alike(rate_per_strength, max(wanted - there, 0.0) * rate_per_strength)


WEAKER = (
    Argument("volume", VOLUME, "the volume in the tank", unit="volume_unit"),
    strength("strength_now", "the strength measured now"),
    STRENGTH_TARGET,
    WATER_STRENGTH,
)


def _check_weaker(strength_now: float, strength_target: float, water_strength: float) -> None:
    if strength_target > strength_now:
        raise OutOfRange("strength_target is above strength_now: water only weakens; use GROW_TOPUP to add feed")
    if strength_target <= water_strength:
        raise OutOfRange("strength_target is not above water_strength: this water cannot bring the tank so low")


@cell_function(
    "GROW_DILUTE",
    family=Family.DOSE,
    help="Water to add to a tank that is too strong.",
    arguments=WEAKER,
    result=Result(VOLUME, "the water to add", unit_name="water_unit", follows="volume_unit"),
    examples=(
        Example((20, 2.0, 1.6), 5.0, "20 × 0.4 ÷ 1.6"),
        Example(("80 L", "2 mS/cm", "1.6 mS/cm", "0.4 mS/cm", None, "L"), 80 * 0.4 / 1.2, "80 × 0.4 ÷ 1.2"),
    ),
    formula="volume × (now − target) ÷ (target − water)",
    source="mass balance with strength proportional to concentration",
    advice="Check that the tank holds the added water. Fill through an air gap: a hose that hangs in the tank can draw "
    "solution back into drinking water; the local plumbing code rules.",
)
def dilute(volume: float, strength_now: float, strength_target: float, water_strength: float) -> float:
    """Water [L] that brings a volume [L] from one strength down to another, all in mS/cm or all in mg/L.

    Raises OutOfRange where the target is above the strength now or not above that of the water.

    >>> round(dilute(80.0, 2.0, 1.6, 0.4), 3)
    26.667
    """
    _check_weaker(strength_now, strength_target, water_strength)
    return volume * (strength_now - strength_target) / (strength_target - water_strength)


@cell_function(
    "GROW_SWAP",
    family=Family.DOSE,
    help="Solution to take out of a full tank and replace with water, where the tank is too strong.",
    arguments=WEAKER,
    result=Result(VOLUME, "the solution to replace", unit_name="water_unit", follows="volume_unit"),
    examples=(
        Example((20, 2.0, 1.6), 4.0, "20 × 0.4 ÷ 2"),
        Example(("80 L", 2, 1.6, 0.4, None, "L"), 20.0, "80 × 0.4 ÷ 1.6"),
    ),
    formula="volume × (now − target) ÷ (now − water)",
    source="mass balance with strength proportional to concentration",
    advice="Keep spent solution out of drains and streams where local rules forbid it.",
)
def swap(volume: float, strength_now: float, strength_target: float, water_strength: float) -> float:
    """Solution [L] to replace with water so that a volume [L] comes down in strength, all in mS/cm or all in mg/L.

    Raises OutOfRange where the target is above the strength now or not above that of the water.

    >>> round(swap(80.0, 2.0, 1.6, 0.4), 3)
    20.0
    """
    _check_weaker(strength_now, strength_target, water_strength)
    return volume * (strength_now - strength_target) / (strength_now - water_strength)


@cell_function(
    "GROW_DOSE_FOR",
    family=Family.DOSE,
    help="Mass of a feed that brings one nutrient to a target ppm: equal-nitrogen comparisons of feeds start here.",
    arguments=(
        Argument("target_ppm", CONCENTRATION, "the ppm wanted in the tank"),
        NUTRIENT_ASKED,
        ANALYSIS_GIVEN,
        VOLUME_GIVEN,
        Argument("water_ppm", CONCENTRATION, "the ppm in the source water; 0 if left out", False, 0.0, zero=True),
    ),
    result=Result(PRODUCT, "the mass to weigh", unit_name="mass_unit"),
    examples=(
        Example((100, "N", "13.3-0-0", 1, 0, "L", "mg"), 100 / 0.133, "100 mg of N at 13.3 percent"),
        Example((150, "N", "17-7-21", 34), 150 * 34 * 3.785411784 / 1000 / 0.17, "NIST SP 811: 1 gal is 3.785411784 L"),
        Example((50, "Mg", "Epsom salt", "100 L", 10), 40.56, "4 g of Mg at 9.861 percent, IUPAC atomic weights", 3e-4),
        Example(
            (100, "N", "3-1.2-4.4 density 1.15", "100 L", 0, None, "mL"),
            10 / 0.03 / 1.15,
            "10 g of N at 3 percent, 1.15 g a mL",
        ),
    ),
    formula="(target − water) × volume ÷ (percent ÷ 100)",
    source="mass balance",
    advice="Two feeds dosed to the same N still differ in everything else: compare their GROW_PPM_TABLE as well.",
)
def dose_for(target_ppm: float, nutrient: Nutrient, analysis: Analysis, volume: float, water_ppm: float) -> float:
    """Mass [g] of a product that brings a volume [L] from water_ppm to target_ppm [mg/L] of a nutrient.

    Raises OutOfRange where the water holds more than the target already or the product holds none, GrowError for a
    form of nitrogen that the analysis does not tell.

    >>> from growcells.terms.analyses import parse_analysis
    >>> from growcells.terms.names import find_nutrient
    >>> round(dose_for(150.0, find_nutrient("N"), parse_analysis("17-7-21"), 120.0, 10.0), 3)
    98.824
    """
    if water_ppm > target_ppm:
        raise OutOfRange(
            f"the water alone holds {water_ppm:g} ppm of {nutrient.symbol}, above the target of {target_ppm:g}: "
            "add none of it"
        )
    mass = (target_ppm - water_ppm) / MILLIGRAMS_IN_GRAM * volume / share_above_zero(analysis, nutrient)
    return of_density(mass, analysis.density)
