"""What will not dissolve in a stock concentrate, and what will fall out of it."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .analysis import ANALYSES_GIVEN, Analysis
from .conductivity import component_moles, water_temperature
from .dose import FAMILY
from .errors import OutOfRange
from .ions import ABSOLUTE_ZERO, ROOM, WARMED, Equilibrium, equilibrium
from .kinds import TEXT, VOLUME
from .nutrients import formula_mass, parsed_formula
from .ppm import HIGHEST_PH, MASSES, MILLIGRAMS_IN_GRAM, PERCENT, PpmTable, parts_of, solution
from .registry import Argument, Example, Result, cell_function
from .tables import read_data

ALL_WELL = "all dissolves"
NEAR = 0.3
"""log10 of the saturation below which a mineral is called near: what differs between good databases."""
STOCK_PH = 5.5
"""pH of a concentrate whose ions are not all known; common practice, no source."""
SPACE_OF_SALT = 0.35
"""Volume [L] that a kilogram of salt without its water of crystallization takes up in a strong solution; fits KNO3,
KCl and KH2PO4 to within a tenth, less for sulfates: so the water is taken as scarce rather than plenty."""
IONIC = frozenset(["H", "O", "N", "P", "K", "Ca", "Mg", "S", "Cl", "Na", "Fe", "Mn", "Zn", "Cu"])
"""Elements of substances whose ions are all counted, so that the pH follows from them."""


@dataclass(frozen=True)
class Mineral:
    """A solid that may fall out; ``pair`` says of what."""

    name: str
    components: Mapping[str, int]
    log_k: float
    enthalpy: float
    water: int
    pair: str

    def saturation(self, dissolved: Equilibrium, temperature: float) -> float:
        """log10 of how many times a solution is saturated with it at a temperature [°C]."""
        warmth = 1 / (ROOM - ABSOLUTE_ZERO) - 1 / (temperature - ABSOLUTE_ZERO)
        product = sum(count * dissolved.log_activities[name] for name, count in self.components.items())
        return product + self.water * dissolved.log_water_activity - (self.log_k + self.enthalpy / WARMED * warmth)


@functools.cache
def minerals() -> tuple[Mineral, ...]:
    """Every mineral of ``minerals.csv``."""
    return tuple(
        Mineral(
            row["mineral"],
            {part.split()[0]: int(part.split()[1]) for part in row["components"].split("; ")},
            float(row["log_k"]),
            float(row["enthalpy"]),
            int(row["water"]),
            row["is"],
        )
        for row in read_data("minerals.csv")
    )


@functools.cache
def solubilities() -> Mapping[str, tuple[str, tuple[float, ...], tuple[float, ...]]]:
    """By substance: the formula that the figures are of, temperatures [°C], grams in 100 g of water."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in read_data("solubilities.csv"):
        rows.setdefault(row["substance"], []).append(row)
    return {
        name: (
            found[0]["basis"],
            tuple(float(row["temperature"]) for row in found),
            tuple(float(row["grams_in_100g_water"]) for row in found),
        )
        for name, found in rows.items()
    }


def dry_share(analysis: Analysis) -> float:
    """Mass of the substance without its water of crystallization in one mass of it."""
    basis = solubilities()[analysis.substance][0]
    return formula_mass(basis) / formula_mass(analysis.formula) * analysis.purity / PERCENT


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
    water = volume - SPACE_OF_SALT * dry_total / MILLIGRAMS_IN_GRAM
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


def settled(table: PpmTable, parts: Sequence[tuple[float, Analysis]], temperature: float) -> Equilibrium:
    """The ions of a concentrate, at the pH that follows from them where all are known."""
    moles = {name: total for name, total in component_moles(table).items() if total > 0}
    if not all(ions_known(analysis) for mass, analysis in parts if mass):
        return equilibrium(moles, STOCK_PH, temperature)
    return equilibrium(moles, neutral_ph(moles, temperature), temperature)


def neutral_ph(moles: Mapping[str, float], temperature: float) -> float:
    """The pH at which the charges of a solution [mol/kg] balance; 0 or 14 for acids and alkalis beyond these."""
    from scipy.optimize import brentq

    def charge(ph: float) -> float:
        return equilibrium(moles, ph, temperature).charge

    if charge(0.0) <= 0:
        return 0.0
    if charge(HIGHEST_PH) >= 0:
        return HIGHEST_PH
    return float(brentq(charge, 0.0, HIGHEST_PH, xtol=1e-6))


def ions_known(analysis: Analysis) -> bool:
    """Whether all ions of a product are among those counted: it is a salt or strong acid given by name or formula."""
    if not analysis.formula or analysis.nitrogen_untold:
        return False
    return set(parsed_formula(analysis.formula).composition()) <= IONIC or analysis.substance in ("urea", "boric acid")


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
    family=FAMILY,
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
    """Sentences on masses [g] of products in a volume [L] of concentrate at a temperature [°C]."""
    parts = parts_of(masses, analyses)
    table = solution(parts, stock_volume, {})
    try:
        fallen = falls_out(table, parts, temperature)
    except OutOfRange:
        fallen = ["this is too strong to tell what falls out: give less mass or more stock_volume"]
    return "; ".join([*too_much(parts, stock_volume, temperature), *fallen]) or ALL_WELL
