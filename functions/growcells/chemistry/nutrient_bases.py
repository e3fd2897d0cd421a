"""The nutrients, and the weights that relate the bases they are counted on.

A nutrient is counted as its element, as an oxide (the basis of labels) or as an ion (the basis of water reports).
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from .chemical_formulas import formula_mass

TOTAL_NITROGEN = "N"

NITROGEN_FORMS = ("NO3-N", "NH4-N", "urea-N")

ALKALINITY = "alkalinity"

ALWAYS_LISTED = ("N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
"""The nutrients that every table shows, also at zero, so that an absent one is seen."""


@dataclass(frozen=True)
class Nutrient:
    """A nutrient on one basis. ``key`` names it on the elemental basis, the same for P and P2O5."""

    symbol: str
    name: str
    key: str
    key_formula: str
    count: float
    formula: str

    @functools.cached_property
    def share(self) -> float:
        """Mass of the key in one mass of this basis: 0.4364 for P2O5, 1 for P."""
        if self.formula == self.key_formula:
            return 1.0
        return self.count * formula_mass(self.key_formula) / formula_mass(self.formula)

    @property
    def key_mass(self) -> float:
        """Mass of a mole of the key [g/mol]."""
        return formula_mass(self.key_formula)


@functools.cache
def nutrients() -> Mapping[str, Nutrient]:
    """All nutrients by symbol, in the order in which tables list them."""
    return {
        row["symbol"]: Nutrient(
            symbol=row["symbol"],
            name=row["names"].partition("; ")[0],
            key=row["key"],
            key_formula=row["key_formula"],
            count=float(row["count"]),
            formula=row["formula"],
        )
        for row in read_data("nutrients.csv")
    }


LABEL_OXIDES = {"P": "P2O5", "K": "K2O", "Ca": "CaO", "Mg": "MgO", "S": "SO3", "Si": "SiO2", "Na": "Na2O", "B": "B2O3"}
"""The oxide that labels count each element as: ISO and national fertilizer rules, common practice."""
