"""Electrical conductivity of a solution from the mobility of the ions in it."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .charges import charged_nitrogen
from .chemical_formulas import formula_mass
from .equilibria import KEPT_SYSTEMS, Equilibrium, equilibrium
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

if TYPE_CHECKING:
    from numpy import float64, intp
    from numpy.typing import NDArray

    Numbers = NDArray[float64]
    Places = NDArray[intp]

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


@dataclass(frozen=True, eq=False)
class Ions:
    """The ions among some species, as arrays, and what they tell of their mobility."""

    places: Places
    """Where each stands among the species: molecules without charge carry no current."""
    charges: Numbers
    """Signs aside."""
    sides: Numbers
    """A row for negative ions and one for positive ones: 1 for each of the side, else 0."""
    opposite: Places
    """The row of the side that each is drawn to."""
    conductivities: Numbers
    """Molar, at infinite dilution and 25 °C [S cm²/mol]."""
    warming: tuple[Numbers, Numbers, Numbers]
    """Coefficients of the polynomial of McCleskey et al. 2012; 0, 0 and 1 where there is none."""
    walden: Numbers
    """1 where there is none, so that the viscosity of water tells it."""

    def limiting(self, temperature: float) -> Numbers:
        """Molar conductivities at infinite dilution [S cm²/mol] at a temperature [°C].

        Warmed by the polynomial of McCleskey et al. 2012, or by the viscosity of water where there is none (Walden).
        """
        square, slope, start = self.warming
        warmed = square * temperature**2 + slope * temperature + start
        by_polynomial = warmed / (square * ROOM**2 + slope * ROOM + start)
        by_viscosity = 1 + self.walden * (viscosity(ROOM) / viscosity(temperature) - 1)
        limiting: Numbers = self.conductivities * by_polynomial * by_viscosity
        return limiting


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def ions_of(species: tuple[Species, ...]) -> Ions:
    """The ions among species."""
    import numpy

    ions = [s for s in species if s.charge]
    square, slope, start = numpy.array([s.warming or (0.0, 0.0, 1.0) for s in ions]).T
    charges = numpy.array([float(s.charge) for s in ions])
    return Ions(
        numpy.array([place for place, s in enumerate(species) if s.charge]),
        abs(charges),
        numpy.array([charges < 0, charges > 0], dtype=float),
        numpy.where(charges > 0, 0, 1),
        numpy.array([s.conductivity for s in ions]),
        (square, slope, start),
        numpy.array([float(s.warming is None) for s in ions]),
    )


def component_moles(table: PpmTable) -> dict[str, float]:
    """Moles in a litre of each component that a table [mg/L] holds, carbonate left out."""
    moles = {
        component: table.get(key, 0.0) / MILLIGRAMS_IN_GRAM / formula_mass(key) for key, component in COMPONENTS.items()
    }
    nitrate, ammonium = charged_nitrogen(table)
    return moles | {"NO3": nitrate / MILLIMOLES_IN_MOLE, "NH4": ammonium / MILLIMOLES_IN_MOLE}


@functools.cache
def carbonate_forms() -> Mapping[str, Species]:
    """The forms of carbonate in water, by name."""
    return {s.name: s for s in all_species() if s.name in ("CO3-2", "HCO3-", "CO2")}


def carbonate(alkalinity: float, ph: float, strength: float, temperature: float) -> float:
    """Moles of carbonate in all its forms that carry an alkalinity [eq/L] at a pH."""
    relative = {
        name: 10 ** (s.log_k_at(temperature) - s.components.get("H", 0) * ph)
        / 10 ** log_activity_coefficient(s, strength, temperature)
        for name, s in carbonate_forms().items()
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
    import numpy

    ions = ions_of(tuple(solution.moles))
    charges = ions.charges
    equivalents = numpy.array([*solution.moles.values()])[ions.places] * charges
    mobilities = ions.limiting(temperature) / charges
    totals = ions.sides @ equivalents
    # Means of each side, weighted by the charge that its ions carry.
    other_charges = (ions.sides @ (equivalents * charges) / totals)[ions.opposite]
    other_mobilities = (ions.sides @ (equivalents * mobilities) / totals)[ions.opposite]
    thermal = dielectric_constant(temperature) * (temperature - ABSOLUTE_ZERO)
    relaxation = 8.204e5 / thermal**1.5
    electrophoretic = 82.5 / (viscosity(temperature) / 100 * thermal**0.5)
    root = math.sqrt(solution.strength)
    shielding = root / (1 + debye_hueckel(temperature)[1] * ION_DISTANCE * root)
    products = charges * other_charges
    ratios = (
        products
        / (charges + other_charges)
        * (mobilities + other_mobilities)
        / (other_charges * mobilities + charges * other_mobilities)
    )
    pulls = ONSAGER_1_1 * relaxation * products * ratios / (1 + numpy.sqrt(ratios)) * mobilities
    drags = electrophoretic / 2 * charges
    return float(equivalents @ (mobilities - (pulls + drags) * shielding))


ONSAGER_1_1 = (1 + math.sqrt(0.5)) / 0.5
"""Makes the general relaxation term that of an electrolyte of single charges, for which its constant is given."""
