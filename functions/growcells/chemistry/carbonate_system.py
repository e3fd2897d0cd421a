"""The acid that brings water to a pH: carbonate, phosphate and citrate at equilibrium."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..data import read_data
from ..no_answer import NoAnswer
from .chemical_formulas import formula_mass
from .equilibria import Condition, Equilibrium, NoneEnough, NoneNeeded, alkalinity_of, charge_of, settled
from .ions import HYDROGEN, Species, all_species
from .unit_factors import GRAMS_IN_KILOGRAM, MILLIEQUIVALENTS_IN_EQUIVALENT, MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

MOST_CARBONATE = 0.5
"""[mol/L] More than any water holds; ours."""

MOST_ACID = 0.5
"""[mol/L] Far beyond any water: where no answer lies below, there is none. Ours."""

DENSITY_OF_WATER = 0.9982
"""[kg/L] at 20 °C: IAPWS-95, rounded."""

LOG_CO2_IN_AIR = -3.4
"""log10 of the pressure [atm] of carbon dioxide in air, some 400 ppm."""

LOG_CO2_SOLUBILITY = -1.468
"""log10 of Henry's constant [mol/(kg atm)] of carbon dioxide at 25 °C: USGS PHREEQC database phreeqc.dat."""


@dataclass(frozen=True)
class Acid:
    """A row of ``acids.csv``; ``key`` is the nutrient that it adds, empty where it adds none.

    ``densities`` names the acid whose densities it has. ``varies`` tells between which percents an acid sold under
    this name lies; then there is no usual strength.
    """

    name: str
    formula: str
    densities: str
    component: str
    key: str
    default_percent: float | None
    varies: str = ""

    @property
    def molar_mass(self) -> float:
        """[g/mol]"""
        return formula_mass(self.formula)


@functools.cache
def acids() -> Mapping[str, Acid]:
    """All acids by name."""
    return {
        row["acid"]: Acid(
            name=row["acid"],
            formula=row["formula"],
            densities=row["densities"],
            component=row["component"],
            key=row["key"],
            default_percent=float(row["default_percent"]) if row["default_percent"] else None,
            varies=row["varies"],
        )
        for row in read_data("acids.csv")
    }


@functools.cache
def _densities(acid: str) -> tuple[Numbers, Numbers]:
    """Percents and densities of the table, that of water before them."""
    import numpy

    rows = [row for row in read_data("acid_densities.csv") if row["acid"] == acid]
    percents = numpy.array([0.0, *(float(row["percent"]) for row in rows)])
    return percents, numpy.array([DENSITY_OF_WATER, *(float(row["density"]) for row in rows)])


def density(acid: Acid, percent: float) -> float:
    """Density [kg/L] of an acid of a strength [percent by mass] at 20 °C, between the rows of the table.

    Raises NoAnswer beyond the strongest row.
    """
    import numpy

    percents, densities = _densities(acid.densities)
    itself = percent * formula_mass(acids()[acid.densities].formula) / acid.molar_mass
    if itself > percents[-1]:
        most = float(percents[-1]) * percent / itself
        raise NoAnswer(
            f"{acid.name} acid of {percent:g} % is stronger than the tables reach: give at most {most:.4g} %"
        )
    return float(numpy.interp(itself, percents, densities))


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


@dataclass(frozen=True)
class Tank:
    """Water of an alkalinity [eq/L] and a pH, with moles in a litre of what a feed has brought into it.

    The alkalinity is what acid takes up down to the pH at which phosphate is H2PO4 and carbonate carbon dioxide, as
    PHREEQC counts it and a test kit finds it. Without a feed the cations are taken as calcium.
    """

    alkalinity: float
    ph: float
    feed: Mapping[str, float]

    @functools.cached_property
    def ions(self) -> Mapping[str, float]:
        """Moles in a litre of what was counted, but carbonate."""
        return self.feed or {"Ca": self.alkalinity / 2}

    @functools.cached_property
    def settled(self) -> Equilibrium:
        """The ions of the water with the carbonate that makes up its alkalinity. Raises NoAnswer where none does."""
        seeks = Condition(alkalinity_of, self.alkalinity, {"CO3": 1}, most=MOST_CARBONATE)
        try:
            return settled(self.ions, {HYDROGEN: -self.ph}, seeks)
        except (NoneNeeded, NoneEnough):
            told = f"a pH of {self.ph:g} and an alkalinity of {self.alkalinity * equivalents()['mg/l']:.4g} mg/L"
            raise NoAnswer(
                f"no water has {told}{' with this feed' if self.feed else ''}: "
                "measure both again; natural water lies between pH 5 and 9.5"
            ) from None

    @property
    def carbonate(self) -> float:
        """Moles of carbonate in a litre that make up the alkalinity."""
        return self.settled.sought

    @functools.cached_property
    def charge(self) -> float:
        """Charges [eq/L] of what was counted; ions that were not make up for it, whatever the pH is."""
        return self.settled.charge


def acid_needed(tank: Tank, target_ph: float, acid: Acid, in_air: bool = False) -> float:
    """Moles of acid for a litre of a tank to reach a target pH: in a closed vessel, or in balance with air.

    Raises NoAnswer where there is none.
    """
    if target_ph >= tank.ph:
        raise NoAnswer(f"target_ph is {target_ph:g}, not below the pH of {tank.ph:g}: acid only lowers pH")
    try:
        return moles_to(tank, target_ph, {acid.component: 1}, in_air, rises=False, most=MOST_ACID)
    except NoneNeeded:
        raise NoAnswer(
            f"air alone brings this water below pH {target_ph:g}: it needs no acid in an open tank"
        ) from None
    except NoneEnough:
        raise NoAnswer(
            f"{acid.name} acid cannot bring this water to pH {target_ph:g}: give a higher target_ph"
        ) from None


def moles_to(tank: Tank, ph: float, formula: Mapping[str, int], in_air: bool, *, rises: bool, most: float) -> float:
    """Moles of an acid or a base for a litre of a tank to be at a pH: those with which its charges are as they were.

    ``formula`` is how many of each component a mole brings, ``rises`` whether more of it raises the sum of charges,
    ``most`` [mol/L] where the search ends. In air carbonate is what the air holds it at, whatever is brought.

    Raises NoneNeeded and NoneEnough.
    """
    if in_air:
        totals, held = tank.ions, held_by_air(ph)
    else:
        totals, held = {**tank.ions, "CO3": tank.carbonate}, {}
    brought = {name: count for name, count in formula.items() if name not in held}
    seeks = Condition(charge_of, tank.charge, brought, rises, most)
    return settled(totals, {**held, HYDROGEN: -ph}, seeks).sought


def held_by_air(ph: float) -> Mapping[str, float]:
    """log10 of the activity of carbonate at a pH in balance with the carbon dioxide of air."""
    return {"CO3": LOG_CO2_IN_AIR + LOG_CO2_SOLUBILITY - carbon_dioxide().log_k + 2 * ph}


@functools.cache
def carbon_dioxide() -> Species:
    """The molecule in water."""
    (molecule,) = (species for species in all_species() if species.name == "CO2")
    return molecule
