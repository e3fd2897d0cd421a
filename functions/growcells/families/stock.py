"""What to weigh to reach a target, or for a concentrate."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import NUMBER, TEXT, VOLUME
from ..cells.liquids import alike
from ..cells.registry import Family, cell_function
from ..chemistry.concentrates import Part
from ..chemistry.products import Analysis
from ..terms.analyses import ANALYSES_GIVEN
from ..terms.given import DOSE, RATE_GIVEN, water_temperature
from ..terms.mixes import MASSES, parts_of
from ..terms.stock_sentences import ALL_WELL, verdict


@cell_function(
    "GROW_STOCK",
    family=Family.DOSE,
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
        Example(("5 mL/gal", 100, 5), 2500.0, "5 mL/gal × 100 × 5 gal"),
    ),
    formula="rate × ratio × stock volume",
    source="mass balance",
    advice="Calcium goes into one tank, sulfates and phosphates into another: see GROW_STOCK_CHECK. "
    "Oxidizers such as nitrates keep fires burning: store them dry, away from fuel, and follow the label.",
)
def stock(rate: float, ratio: float, stock_volume: float) -> float:
    """Mass [g] for a volume [L] of concentrate that gives a rate [g/L] when diluted 1:ratio [1].

    >>> stock(0.6, 100.0, 20.0)
    1200.0
    """
    return alike(rate, rate * ratio * stock_volume)


@cell_function(
    "GROW_STOCK_CHECK",
    family=Family.DOSE,
    help="What will not dissolve in a stock concentrate, what will fall out of it, and what was not checked, in words. "
    "Keep calcium apart from sulfates, phosphates and carbonates.",
    arguments=(
        MASSES,
        ANALYSES_GIVEN,
        Argument("stock_volume", VOLUME, "the volume of concentrate to make", unit="volume_unit"),
        water_temperature(False, "the lowest temperature of the concentrate; 25 °C if left out"),
    ),
    result=Result(TEXT, f'sentences, or "{ALL_WELL}"'),
    examples=(
        Example(
            (((505,), (1180,)), (("KNO3",), ("Ca(NO3)2.4H2O",)), "10 L"),
            ALL_WELL,
            "both far below their solubility, and nitrates of potassium and calcium dissolve",
        ),
        Example(
            (100, "potassium sulfate", "1 L", 10),
            "potassium sulfate: 100 g/L is more than the 89.7 g/L that dissolves at 10 °C",
            "CRC Handbook of Chemistry and Physics, 98th ed.: 8.46 % by mass",
        ),
        Example(
            (((1180,), (490,)), (("Ca(NO3)2.4H2O",), ("Epsom salt",)), "10 L"),
            "gypsum, calcium with sulfate (from Ca(NO3)2.4H2O and Epsom salt) falls out, "
            "30 times over its solubility product: keep them in two tanks",
            "PHREEQC with phreeqc.dat: saturation index 1.45, 28 times, in a kilogram of water; here there is less",
        ),
    ),
    formula="mass ÷ volume against the solubility in water; activity product against the solubility product",
    source="CRC Handbook of Chemistry and Physics, 98th ed.; solubility products, ion pairs and activity coefficients "
    "of the USGS PHREEQC and MINTEQ databases; volumes of salts of Laliberté 2007",
    needs=("numpy",),
    advice="Feeds by their grade are checked for precipitates of their calcium, magnesium, sulfate and phosphate "
    "only. What falls out slowly may stay dissolved for weeks in a cold and acid tank: look at the bottom of it. "
    "Oxidizers such as nitrates keep fires burning: store them dry and away from fuel.",
)
def stock_check(
    masses: list[float | None], analyses: list[Analysis | None], stock_volume: float, temperature: float
) -> str:
    """Sentences on masses [g] of products in a volume [L] of concentrate at a temperature [°C].

    Raises GrowError where a row has a mass without an analysis or the other way round.

    >>> from growcells.terms.analyses import parse_analysis
    >>> stock_check([400.0], [parse_analysis("KNO3")], 1.0, 10.0)
    'potassium nitrate: 400 g/L is more than the 194 g/L that dissolves at 10 °C'
    """
    parts = [Part(mass, analysis) for mass, analysis in parts_of(masses, analyses) if mass]
    return verdict(parts, stock_volume, temperature)
