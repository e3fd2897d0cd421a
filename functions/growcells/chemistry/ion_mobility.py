"""Electrical conductivity of a solution from the mobility of the ions in it."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping

from .charges import charged_nitrogen
from .chemical_formulas import formula_mass
from .equilibria import Equilibrium, equilibrium
from .ions import (
    ABSOLUTE_ZERO,
    ROOM,
    Species,
    TooStrong,
    all_species,
    debye_hueckel,
    dielectric_constant,
    log_activity_coefficient,
)
from .nutrient_bases import ALKALINITY
from .products import PH, PpmTable
from .unit_factors import MILLIGRAMS_IN_GRAM, MILLIMOLES_IN_MOLE

USUAL_PH = 6.0
"""pH of a nutrient solution whose table gives none; common practice is 5.5 to 6.5, no source."""

STRONGEST = 0.3
"""Ionic strength [mol/kg], some 20 mS/cm, beyond which the law of Onsager is no longer near the truth."""

ION_DISTANCE = 3.8
"""Nearest approach of two ions [Å]: fits KCl up to 0.1 mol/L; Robinson & Stokes, Electrolyte Solutions, 1959."""

COMPONENTS = {
    "K": "K",
    "Ca": "Ca",
    "Mg": "Mg",
    "Na": "Na",
    "Cl": "Cl",
    "F": "F",
    "Fe": "Fe",
    "Mn": "Mn",
    "Zn": "Zn",
    "Cu": "Cu",
    "S": "SO4",
    "P": "PO4",
    "Mo": "MoO4",
    "B": "H3BO3",
    "Si": "H4SiO4",
}
"""The ion or molecule that carries each nutrient."""


@functools.lru_cache(maxsize=64)
def viscosity(temperature: float) -> float:
    """Of water [mPa s] at a temperature [°C]: Kestin, Sokolov & Wakeham 1978, J. Phys. Chem. Ref. Data 7:941."""
    below = 20 - temperature
    log = below / (temperature + 96) * (1.2364 - 1.37e-3 * below + 5.7e-6 * below**2)
    return float(1.0020 * 10**log)


def limiting_conductivity(species: Species, temperature: float) -> float:
    """Molar conductivity at infinite dilution [S cm²/mol] of an ion at a temperature [°C].

    Warmed by the polynomial of McCleskey et al. 2012, or by the viscosity of water where there is none (Walden).
    """
    if species.warming is None:
        return species.conductivity * viscosity(ROOM) / viscosity(temperature)
    square, slope, start = species.warming
    return species.conductivity * (
        (square * temperature**2 + slope * temperature + start) / (square * ROOM**2 + slope * ROOM + start)
    )


def component_moles(table: PpmTable) -> dict[str, float]:
    """Moles in a litre of each component that a table [mg/L] holds, carbonate left out."""
    moles = {
        component: table.get(key, 0.0) / MILLIGRAMS_IN_GRAM / formula_mass(key) for key, component in COMPONENTS.items()
    }
    nitrate, ammonium = charged_nitrogen(table)
    return moles | {"NO3": nitrate / MILLIMOLES_IN_MOLE, "NH4": ammonium / MILLIMOLES_IN_MOLE}


def carbonate(alkalinity: float, ph: float, strength: float, temperature: float) -> float:
    """Moles of carbonate in all its forms that carry an alkalinity [eq/L] at a pH."""
    forms = {s.name: s for s in all_species() if s.name in ("CO3-2", "HCO3-", "CO2")}
    relative = {
        name: 10 ** (s.log_k_at(temperature) - s.components.get("H", 0) * ph)
        / 10 ** log_activity_coefficient(s, strength, temperature)
        for name, s in forms.items()
    }
    charged = relative["HCO3-"] + 2 * relative["CO3-2"]
    return alkalinity * sum(relative.values()) / charged


def dissolved(table: PpmTable, temperature: float) -> Equilibrium:
    """The species in a solution of a table [mg/L] at its pH and a temperature [°C]."""
    ph = table.get(PH, USUAL_PH)
    moles = component_moles(table)
    alkalinity = 2 * table.get(ALKALINITY, 0.0) / MILLIGRAMS_IN_GRAM / formula_mass("CaCO3")
    if alkalinity:
        moles["CO3"] = carbonate(alkalinity, ph, equilibrium(moles, ph, temperature).strength, temperature)
    return equilibrium(moles, ph, temperature)


def conductivity(solution: Equilibrium, temperature: float) -> float:
    """Conductivity [mS/cm] of a solution at a temperature [°C].

    The law of Onsager with the ions' size (Robinson & Stokes 1959, chapter 7): each ion is slowed by the water that
    its neighbours drag along (electrophoretic term) and by their pull (relaxation term). In a mixture the neighbours
    are taken as one ion with the mean charge and mobility of all ions of opposite sign.
    Raises TooStrong beyond an ionic strength of 0.3 mol/kg.
    """
    if solution.strength > STRONGEST:
        raise TooStrong(
            f"the solution has an ionic strength of {solution.strength:.2g} mol/L, too strong for this formula"
        )
    mobile = {s: limiting_conductivity(s, temperature) for s, amount in solution.moles.items() if s.charge and amount}
    neighbours = {sign: _mean_ion(solution, mobile, sign) for sign in (1, -1)}
    thermal = dielectric_constant(temperature) * (temperature - ABSOLUTE_ZERO)
    relaxation = 8.204e5 / thermal**1.5
    electrophoretic = 82.5 / (viscosity(temperature) / 100 * thermal**0.5)
    root = math.sqrt(solution.strength)
    shielding = root / (1 + debye_hueckel(temperature)[1] * ION_DISTANCE * root)
    total = 0.0
    for species, limit in mobile.items():
        charge = abs(species.charge)
        other_charge, other_mobility = neighbours[-1 if species.charge > 0 else 1]
        mobility = limit / charge
        ratio = (
            charge
            * other_charge
            / (charge + other_charge)
            * (mobility + other_mobility)
            / (other_charge * mobility + charge * other_mobility)
        )
        pull = ONSAGER_1_1 * relaxation * charge * other_charge * ratio / (1 + math.sqrt(ratio)) * mobility
        drag = electrophoretic / 2 * charge
        total += solution.moles[species] * charge * (mobility - (pull + drag) * shielding)
    return total


ONSAGER_1_1 = (1 + math.sqrt(0.5)) / 0.5
"""Makes the general relaxation term that of an electrolyte of single charges, for which its constant is given."""


def _mean_ion(solution: Equilibrium, mobile: Mapping[Species, float], sign: int) -> tuple[float, float]:
    """Mean charge and mean equivalent conductivity of the ions of one sign, weighted by their charge."""
    side = [species for species in mobile if species.charge * sign > 0]
    equivalents = sum(solution.moles[species] * abs(species.charge) for species in side)
    charge = sum(solution.moles[species] * species.charge**2 for species in side) / equivalents
    return charge, sum(solution.moles[species] * mobile[species] for species in side) / equivalents
