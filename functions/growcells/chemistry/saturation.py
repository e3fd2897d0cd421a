"""What is saturated in a concentrate: salts that do not dissolve, minerals that fall out."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..data import read_data
from .formulas import formula_mass, parsed_formula
from .ion_mobility import component_moles
from .ions import Equilibrium, equilibrium, warmed
from .products import HIGHEST_PH, Analysis, PpmTable
from .unit_factors import PERCENT_IN_WHOLE

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
        product = sum(count * dissolved.log_activities[name] for name, count in self.components.items())
        return product + self.water * dissolved.log_water_activity - warmed(self.log_k, self.enthalpy, temperature)


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
    return formula_mass(basis) / formula_mass(analysis.formula) * analysis.purity / PERCENT_IN_WHOLE


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
