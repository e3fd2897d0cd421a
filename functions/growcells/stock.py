"""What to weigh to reach a target, or for a concentrate."""

from __future__ import annotations

from .analysis import ANALYSIS_GIVEN, Analysis
from .dose import DOSE, RATE_GIVEN, VOLUME_GIVEN
from .dose import FAMILY as DOSE_FAMILY
from .errors import OutOfRange
from .kinds import CONCENTRATION, NUMBER, VOLUME
from .nutrients import NUTRIENT_ASKED, Nutrient
from .ppm import MILLIGRAMS_IN_GRAM, share_above_zero
from .registry import Argument, Example, cell_function


@cell_function(
    "GROW_DOSE_FOR",
    family=DOSE_FAMILY,
    help="Mass of a feed that brings one nutrient to a target ppm: equal-nitrogen comparisons of feeds start here.",
    arguments=(
        Argument("target_ppm", CONCENTRATION, "the ppm wanted in the tank"),
        NUTRIENT_ASKED,
        ANALYSIS_GIVEN,
        VOLUME_GIVEN,
        Argument("water_ppm", CONCENTRATION, "the ppm in the source water; 0 if left out", False, 0.0, zero=True),
    ),
    result=DOSE,
    examples=(
        Example((100, "N", "15.5-0-0", 1, 0, "L", "mg"), 100 / 0.155, "100 mg of N at 15.5 percent"),
        Example((150, "N", "20-20-20", 28), 150 * 28 * 3.785411784 / 1000 / 0.2, "NIST SP 811: 1 gal is 3.785411784 L"),
        Example((50, "Mg", "Epsom salt", "100 L", 10), 40.56, "4 g of Mg at 9.861 percent, IUPAC atomic weights", 3e-4),
    ),
    formula="(target − water) × volume ÷ (percent ÷ 100)",
    source="mass balance",
    advice="Two feeds dosed to the same N differ in all else: look at GROW_PPM_TABLE before comparing them.",
)
def dose_for(target_ppm: float, nutrient: Nutrient, analysis: Analysis, volume: float, water_ppm: float) -> float:
    """Mass [g] of a product that brings a volume [L] from water_ppm to target_ppm [mg/L] of a nutrient.

    Raises OutOfRange where the water holds more than the target already or the product holds none.
    """
    if water_ppm > target_ppm:
        raise OutOfRange(
            f"the water holds {water_ppm:g} ppm of {nutrient.symbol}, above the target of {target_ppm:g}: add none"
        )
    return (target_ppm - water_ppm) / MILLIGRAMS_IN_GRAM * volume / share_above_zero(analysis, nutrient)


@cell_function(
    "GROW_STOCK",
    family=DOSE_FAMILY,
    help="Mass of a feed to weigh for a stock concentrate that an injector dilutes 1:ratio.",
    arguments=(
        RATE_GIVEN,
        Argument("ratio", NUMBER, "the ratio of the injector: 100 is one part of concentrate in 100 of feed", low=1),
        Argument("stock_volume", VOLUME, "the volume of concentrate to make", unit="volume_unit"),
    ),
    result=DOSE,
    examples=(
        Example((2, 100, 5), 1000.0, "2 g/gal × 100 × 5 gal"),
        Example(("0.6 g/L", 128, "20 L", None, None, "kg"), 1.536, "0.6 × 128 × 20 g"),
    ),
    formula="rate × ratio × stock volume",
    source="mass balance",
    advice="Calcium goes into one tank, sulfates and phosphates into another: see GROW_STOCK_CHECK. "
    "Oxidizers such as nitrates keep fires burning: store them dry, away from fuel, and follow the label.",
)
def stock(rate: float, ratio: float, stock_volume: float) -> float:
    """Mass [g] for a volume [L] of concentrate that gives a rate [g/L] when diluted 1:ratio."""
    return rate * ratio * stock_volume
