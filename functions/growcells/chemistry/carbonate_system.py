"""The acid that brings water to a pH: carbonate, phosphate and citrate at equilibrium."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ..data import read_data
from ..no_answer import NoAnswer
from .formulas import formula_mass
from .ions import equilibrium
from .unit_factors import GRAMS_IN_KILOGRAM, MILLIEQUIVALENTS_IN_EQUIVALENT, MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE

MOST_CARBONATE = 0.5

MOST_ACID = 0.5
"""[mol/L] Far beyond any water: where no answer lies below, there is none."""


@dataclass(frozen=True)
class Acid:
    """A row of ``acids.csv``; ``key`` is the nutrient that it adds, empty where it adds none."""

    name: str
    formula: str
    component: str
    key: str
    default_percent: float

    @property
    def molar_mass(self) -> float:
        """[g/mol]"""
        return formula_mass(self.formula)


@functools.cache
def acids() -> Mapping[str, Acid]:
    """All acids by name."""
    return {
        row["acid"]: Acid(row["acid"], row["formula"], row["component"], row["key"], float(row["default_percent"]))
        for row in read_data("acids.csv")
    }


@functools.cache
def _densities(acid: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    rows = [row for row in read_data("acid_densities.csv") if row["acid"] == acid]
    return tuple(float(row["percent"]) for row in rows), tuple(float(row["density"]) for row in rows)


def density(acid: Acid, percent: float) -> float:
    """Density [kg/L] of an acid of a strength [percent by mass] at 20 °C, between the rows of the table.

    Raises NoAnswer beyond the strongest row.
    """
    import numpy

    percents, densities = _densities(acid.name)
    if percent > percents[-1]:
        raise NoAnswer(f"{acid.name} acid of {percent:g} % is not in the tables: give up to {percents[-1]:g} %")
    return float(numpy.interp(percent, (0.0, *percents), (0.9982, *densities)))


@dataclass(frozen=True)
class AcidStrength:
    """How strong an acid is: percent by mass, or mol/L."""

    number: float
    molar: bool

    def moles_in_litre(self, acid: Acid) -> float:
        """[mol/L]"""
        if self.molar:
            return self.number
        return self.number / PERCENT_IN_WHOLE * density(acid, self.number) * GRAMS_IN_KILOGRAM / acid.molar_mass


@functools.cache
def equivalents() -> Mapping[str, float]:
    """How much of each unit of alkalinity is an equivalent in a litre.

    A German degree of carbonate hardness is 10 mg/L of CaO.
    """
    carbonate = formula_mass("CaCO3") / 2 * MILLIGRAMS_IN_GRAM
    lime = formula_mass("CaO") / 2 * MILLIGRAMS_IN_GRAM
    bicarbonate = formula_mass("HCO3") * MILLIGRAMS_IN_GRAM
    as_carbonate = dict.fromkeys(("mg/l", "ppm", "mg/l as caco3", "mg/l caco3", "ppm as caco3", "ppm caco3"), carbonate)
    as_bicarbonate = dict.fromkeys(("mg/l hco3", "mg/l as hco3", "ppm hco3", "ppm as hco3"), bicarbonate)
    return {
        **as_carbonate,
        **as_bicarbonate,
        "meq/l": MILLIEQUIVALENTS_IN_EQUIVALENT,
        "dkh": lime / 10,
        "dh": lime / 10,
    }


def acid_needed(alkalinity: float, ph: float, target_ph: float, acid: Acid) -> float:
    """Moles of acid for a litre of water of an alkalinity [eq/L] and pH to reach a target pH in a closed vessel.

    The water's cations are taken as calcium. First the carbonate that makes such a water neutral in charge is found,
    then the acid that makes it neutral at the target. Raises NoAnswer where there is none.
    """
    if target_ph >= ph:
        raise NoAnswer(f"target_ph is {target_ph:g}, not below the pH of {ph:g}: acid only lowers pH")
    calcium = {"Ca": alkalinity / 2}

    def water_charge(carbonate: float) -> float:
        return equilibrium({**calcium, "CO3": carbonate}, ph).charge

    if water_charge(0.0) < 0 or water_charge(MOST_CARBONATE) > 0:
        raise NoAnswer(
            f"no water has a pH of {ph:g} and an alkalinity of {alkalinity * equivalents()['mg/l']:.4g} mg/L: "
            "measure both again; natural water lies between pH 5 and 9.5"
        )
    water = {**calcium, "CO3": root(water_charge, MOST_CARBONATE)}

    def charge(amount: float) -> float:
        return equilibrium({**water, acid.component: amount}, target_ph).charge

    if charge(MOST_ACID) > 0:
        raise NoAnswer(f"{acid.name} acid cannot bring this water to pH {target_ph:g}: give a higher target_ph")
    return root(charge, MOST_ACID)


def root(falling: Callable[[float], float], most: float) -> float:
    """Where a falling function is 0 between 0 and a largest value."""
    from scipy.optimize import brentq

    return float(brentq(falling, 0.0, most, xtol=1e-12, rtol=1e-9))
