"""Solids that may fall out of a solution: minerals by their solubility product, salts by their solubility in water."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from .chemical_formulas import formula_mass
from .equilibria import Equilibrium, equilibrium
from .ions import HYDROGEN, warmed
from .unit_factors import GRAMS_IN_KILOGRAM, PERCENT_IN_WHOLE

NEARBY = 5.0
"""[°C] Distance of the temperatures whose figures of each salt are kept."""
NEARBY_DOUBT = 0.6
"""More than log10 of any salt's product of activities changes by within half of that: it is 0.39 for Na2HPO4."""


@dataclass(frozen=True)
class Mineral:
    """A solid that hardly dissolves; ``pair`` says of what it forms, ``slow`` whether it takes days or weeks to."""

    name: str
    components: Mapping[str, int]
    log_k: float
    enthalpy: float
    water: float
    pair: str
    slow: bool

    def saturation(self, dissolved: Equilibrium, temperature: float) -> float:
        """log10 of how many times a solution is saturated with it at a temperature [°C]."""
        log_k = warmed(self.log_k, self.enthalpy, temperature)
        return log_product(self.components, dissolved) + self.water * dissolved.log_water_activity - log_k


@dataclass(frozen=True)
class Salt:
    """A salt that dissolves well: the ions of its formula without water, and percent by mass at temperatures [°C]."""

    formula: str
    components: Mapping[str, int]
    temperatures: tuple[float, ...]
    percents: tuple[float, ...]

    def most(self, temperature: float) -> float:
        """Mass [g] that dissolves in a gram of pure water at a temperature [°C]."""
        import numpy

        share = float(numpy.interp(temperature, self.temperatures, self.percents)) / PERCENT_IN_WHOLE
        return share / (1 - share)

    def saturation(self, dissolved: Equilibrium, temperature: float) -> float:
        """log10 of how many times a solution is saturated with it: its product of activities beside that which the
        same formulas give for its saturated solution in pure water, so that what these lack counts on both sides."""
        return log_product(self.components, dissolved) - _log_product_saturated(self.formula, temperature)

    def is_near(self, dissolved: Equilibrium, temperature: float, margin: float) -> bool:
        """Whether a solution may be within a margin [log10] of saturated with it: told by the figures of a temperature
        nearby, which are kept, so that those of this one are computed for the few salts that matter."""
        nearby = NEARBY * round(temperature / NEARBY)
        return self.saturation(dissolved, nearby) > -margin - NEARBY_DOUBT


def log_product(components: Mapping[str, int], dissolved: Equilibrium) -> float:
    """log10 of the product of the activities of so many of each component."""
    return sum(count * dissolved.log_activities[name] for name, count in components.items())


@functools.lru_cache(maxsize=1024)
def _log_product_saturated(formula: str, temperature: float) -> float:
    salt = salts()[formula]
    moles = GRAMS_IN_KILOGRAM * salt.most(temperature) / formula_mass(formula)
    totals = {name: count * moles for name, count in salt.components.items() if name != HYDROGEN}
    return log_product(salt.components, equilibrium(totals, None, temperature))


def counted(text: str) -> dict[str, int]:
    """Components and how many of each, from a cell such as ``Ca 1; SO4 1``."""
    return {name: int(count) for name, count in (part.split() for part in text.split("; "))}


@functools.cache
def minerals() -> tuple[Mineral, ...]:
    """Every mineral of ``minerals.csv``."""
    return tuple(
        Mineral(
            row["mineral"],
            counted(row["components"]),
            float(row["log_k"]),
            float(row["enthalpy"]),
            float(row["water"]),
            row["is"],
            row["slow"] == "yes",
        )
        for row in read_data("minerals.csv")
    )


@functools.cache
def salts() -> Mapping[str, Salt]:
    """Every salt of ``solubilities.csv`` by its formula without water."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in read_data("solubilities.csv"):
        rows.setdefault(row["salt"], []).append(row)
    return {
        formula: Salt(
            formula,
            counted(found[0]["ions"]),
            tuple(float(row["temperature"]) for row in found),
            tuple(float(row["percent"]) for row in found),
        )
        for formula, found in rows.items()
    }


@functools.cache
def salt_volumes() -> Mapping[str, float]:
    """Volume [L] that a kilogram of each salt without water takes up in a strong solution."""
    return {row["salt"]: float(row["litres_in_kilogram"]) for row in read_data("salt_volumes.csv")}


def possible(components: Mapping[str, int], present: Mapping[str, float]) -> bool:
    """Whether a solution holds all ions of a solid."""
    return all(name in present for name in components)
