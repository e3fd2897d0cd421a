"""What to weigh to reach a target, or for a concentrate."""

from __future__ import annotations

from collections.abc import Sequence

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import NUMBER, TEXT, VOLUME
from ..cells.registry import Family, cell_function
from ..chemistry.products import Analysis, PpmTable, solution
from ..chemistry.saturation import SPACE_OF_SALT, dry_share, minerals, settled, solubilities
from ..chemistry.unit_factors import GRAMS_IN_KILOGRAM
from ..no_answer import NoAnswer
from ..terms.analyses import ANALYSES_GIVEN
from ..terms.given import DOSE, RATE_GIVEN, water_temperature
from ..terms.mixes import MASSES, parts_of


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
    return rate * ratio * stock_volume


ALL_WELL = "all dissolves"

NEAR = 0.3
"""log10 of the saturation below which a mineral is called near: what differs between good databases."""


def too_much(parts: Sequence[tuple[float, Analysis]], volume: float, temperature: float) -> list[str]:
    """A sentence for each substance of which more is weighed [g] than dissolves in a volume [L] of concentrate."""
    import numpy

    masses: dict[str, float] = {}
    shares: dict[str, float] = {}
    dry_total = 0.0
    for mass, analysis in parts:
        if analysis.substance in solubilities():
            shares[analysis.substance] = dry_share(analysis)
            masses[analysis.substance] = masses.get(analysis.substance, 0.0) + mass
            dry_total += mass * shares[analysis.substance]
        else:
            dry_total += mass
    water = volume - SPACE_OF_SALT * dry_total / GRAMS_IN_KILOGRAM
    if water <= 0:
        return ["there is more salt than water: give less mass or more stock_volume"]
    sentences = []
    for substance, mass in masses.items():
        _, temperatures, grams = solubilities()[substance]
        most = float(numpy.interp(temperature, temperatures, grams)) * 10 * water / shares[substance]
        if mass > most:
            sentences.append(
                f"{substance}: {mass / volume:.4g} g/L is more than the {most / volume:.3g} g/L that dissolves at "
                f"{temperature:g} °C"
            )
    return sentences


def falls_out(table: PpmTable, parts: Sequence[tuple[float, Analysis]], temperature: float) -> list[str]:
    """A sentence for each mineral that a concentrate is saturated with, or nearly so."""
    held = {"Ca": "Ca", "SO4": "S", "PO4": "P"}
    dissolved = settled(table, parts, temperature)
    sentences = []
    for mineral in minerals():
        if not all(name in dissolved.log_activities for name in mineral.components):
            continue
        saturation = mineral.saturation(dissolved, temperature)
        if saturation < -NEAR:
            continue
        sources = [source(held[name], parts) for name in mineral.components if name in held]
        pair = f"{mineral.name}, {mineral.pair} (from {' and '.join(sources)})"
        if saturation > 0:
            over = f"{10**saturation:.2g} times over its solubility product"
            sentences.append(f"{pair} falls out, {over}: keep them in two tanks")
        else:
            sentences.append(f"{pair} is near saturation and may fall out: keep them in two tanks")
    return sentences


def source(key: str, parts: Sequence[tuple[float, Analysis]]) -> str:
    """The part that brings most of a nutrient, as it was given."""
    return max(parts, key=lambda part: part[0] * part[1].percents.get(key, 0.0))[1].text


@cell_function(
    "GROW_STOCK_CHECK",
    family=Family.DOSE,
    help="What will not dissolve in a stock concentrate and what will fall out of it, in words. Keep calcium apart "
    "from sulfates and phosphates.",
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
            "Seidell & Linke: 9.3 g in 100 g of water",
        ),
        Example(
            (((1180,), (490,)), (("Ca(NO3)2.4H2O",), ("Epsom salt",)), "10 L"),
            "gypsum, calcium with sulfate (from Ca(NO3)2.4H2O and Epsom salt) falls out, "
            "27 times over its solubility product: keep them in two tanks",
            "PHREEQC with phreeqc.dat: saturation index of gypsum 1.45, 28 times",
        ),
    ),
    formula="mass ÷ volume against the solubility in water; activity product against the solubility product",
    source="solubilities of data/solubilities.csv; solubility products, ion pairs and activity coefficients of the "
    "USGS PHREEQC and MINTEQ databases",
    needs=("numpy", "scipy"),
    advice="A salt dissolves less where another brings the same ion (potassium sulfate beside potassium nitrate): stay "
    "a fifth below these figures. Feeds given by their grade are checked for precipitates only. Oxidizers such as "
    "nitrates keep fires burning: store them dry and away from fuel.",
)
def stock_check(
    masses: list[float | None], analyses: list[Analysis | None], stock_volume: float, temperature: float
) -> str:
    """Sentences on masses [g] of products in a volume [L] of concentrate at a temperature [°C].

    Raises GrowError where a row has a mass without an analysis or the other way round.

    >>> from growcells.terms.analyses import parse_analysis
    >>> stock_check([400.0], [parse_analysis("KNO3")], 1.0, 10.0)
    'potassium nitrate: 400 g/L is more than the 182 g/L that dissolves at 10 °C'
    """
    parts = parts_of(masses, analyses)
    table = solution(parts, stock_volume, {})
    try:
        fallen = falls_out(table, parts, temperature)
    except NoAnswer:
        fallen = ["this is too strong to tell what falls out: give less mass or more stock_volume"]
    return "; ".join([*too_much(parts, stock_volume, temperature), *fallen]) or ALL_WELL
