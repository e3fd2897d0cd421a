"""Ions in water: the species that dissolved substances form, and how active each of them is.

Constants are those of the USGS PHREEQC and MINTEQ databases (public domain), in ``data/species.csv``; amounts are in
moles in a kilogram of water, which for the solutions that plants grow in is a litre.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from ..no_answer import NoAnswer

ROOM = 25.0
"""Temperature [°C] for which the constants are tabulated."""
ABSOLUTE_ZERO = -273.15
GAS_CONSTANT = 8.314462618e-3
"""[kJ/(mol K)] CODATA 2018."""
WARMED = math.log(10) * GAS_CONSTANT
"""Turns an enthalpy [kJ/mol] into the change of log10 K with 1/T (van 't Hoff)."""
HYDROGEN = "H"
STRONGEST = 4.0
"""Ionic strength [mol/kg] above which activity coefficients stay as they are there: the formulas hold no further."""


class TooStrong(NoAnswer):
    """A solution with more ions in it than the formulas reach."""


@dataclass(frozen=True, eq=False)
class Species:
    """An ion, ion pair or molecule in water, made of components: Ca+2 and SO4-2 make CaSO4."""

    name: str
    charge: int
    components: Mapping[str, int]
    log_k: float
    enthalpy: float
    ion_size: float | None
    salting: float
    conductivity: float
    warming: tuple[float, float, float] | None

    def log_k_at(self, temperature: float) -> float:
        """log10 of the formation constant at a temperature [°C]."""
        return warmed(self.log_k, self.enthalpy, temperature)


def warmed(log_k: float, enthalpy: float, temperature: float) -> float:
    """log10 of a constant of 25 °C and an enthalpy [kJ/mol] at a temperature [°C]: van 't Hoff."""
    return log_k + enthalpy * (warmth(temperature) / WARMED)


def warmth(temperature: float) -> float:
    """Difference of the reciprocals [1/K] of 25 °C and a temperature [°C]."""
    return 1 / (ROOM - ABSOLUTE_ZERO) - 1 / (temperature - ABSOLUTE_ZERO)


@functools.cache
def all_species() -> tuple[Species, ...]:
    """Every species of ``species.csv``."""
    return tuple(_species(row) for row in read_data("species.csv"))


def _species(row: Mapping[str, str]) -> Species:
    components = {}
    for part in row["components"].split("; "):
        name, count = part.split()
        components[name] = int(count)
    warming = (row["warming2"], row["warming1"], row["warming0"])
    return Species(
        name=row["species"],
        charge=int(row["charge"]),
        components=components,
        log_k=float(row["log_k"]),
        enthalpy=float(row["enthalpy"]),
        ion_size=float(row["ion_size"]) if row["ion_size"] else None,
        salting=float(row["salting"] or 0),
        conductivity=float(row["conductivity"] or 0),
        warming=(float(warming[0]), float(warming[1]), float(warming[2])) if warming[0] else None,
    )


@functools.cache
def component_charges() -> Mapping[str, int]:
    """The charge of each component's own ion."""
    return {
        next(iter(species.components)): species.charge
        for species in all_species()
        if not species.log_k and sum(species.components.values()) == 1 and len(species.components) == 1
    }


def dielectric_constant(temperature: float) -> float:
    """Of water at a temperature [°C]: Malmberg & Maryott 1956, J. Res. Natl. Bur. Stand. 56:1, from memory."""
    return 87.740 - 0.40008 * temperature + 9.398e-4 * temperature**2 - 1.410e-6 * temperature**3


@functools.lru_cache(maxsize=64)
def debye_hueckel(temperature: float) -> tuple[float, float]:
    """A [(kg/mol)^½] and B [(kg/mol)^½/Å] of the Debye-Hückel law at a temperature [°C], water of density 1 kg/L.

    Source: Robinson & Stokes, Electrolyte Solutions, 2nd ed. 1959.
    """
    product = dielectric_constant(temperature) * (temperature - ABSOLUTE_ZERO)
    return 1.8246e6 / product**1.5, 50.29 / product**0.5


def log_activity_coefficient(species: Species, strength: float, temperature: float) -> float:
    """log10 of the activity coefficient at an ionic strength [mol/kg].

    The extended Debye-Hückel law with the sizes of Truesdell & Jones 1974 where they are known, else the law of
    Davies 1962; 0.1 × strength for molecules, as PHREEQC has it.
    """
    if not species.charge:
        return 0.1 * strength
    a, b = debye_hueckel(temperature)
    root = math.sqrt(strength)
    square = species.charge**2
    if species.ion_size is None:
        return -a * square * (root / (1 + root) - 0.3 * strength)
    return -a * square * root / (1 + b * species.ion_size * root) + species.salting * strength
