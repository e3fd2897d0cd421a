"""Charges of the nutrients in water, and the form that nitrogen must have for them to balance."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from .chemical_formulas import formula_mass
from .nutrient_bases import NITROGEN_FORMS, TOTAL_NITROGEN
from .products import PpmTable

UNCHARGED = {"B": "boric acid", "Si": "silicic acid", "urea-N": "urea"}
"""What carries these nutrients at the pH of water culture: molecules without charge."""


@dataclass(frozen=True)
class Ion:
    """An ion; ``formula`` is what its ppm are ppm of."""

    formula: str
    charge: int

    @functools.cached_property
    def milliequivalent(self) -> float:
        """Mass [mg] of a milliequivalent."""
        return formula_mass(self.formula) / abs(self.charge)


@functools.cache
def ions() -> Mapping[str, Ion]:
    """All ions by the name on a label or report."""
    return {row["ion"]: Ion(row["formula"], int(row["charge"])) for row in read_data("ions.csv")}


def untold_nitrogen(table: PpmTable) -> float:
    """Nitrogen [mg/L] whose form a table does not tell."""
    told = sum(table.get(form, 0.0) for form in NITROGEN_FORMS)
    return max(table.get(TOTAL_NITROGEN, 0.0) - told, 0.0)


def charge_without_nitrogen(table: PpmTable) -> float:
    """Cations less anions [meq/L] of everything but nitrogen."""
    total = 0.0
    known = ions()
    for key, ppm in table.items():
        if key in known and key not in NITROGEN_FORMS:
            ion = known[key]
            total += ppm / ion.milliequivalent * (1 if ion.charge > 0 else -1)
    return total


def charged_nitrogen(table: PpmTable) -> tuple[float, float]:
    """Nitrate and ammonium [mmol/L] of a table.

    Nitrogen of a form not told counts as nitrate as far as the other ions call for it, the rest as urea.
    """
    atom = formula_mass("N")
    nitrate = table.get("NO3-N", 0.0) / atom
    ammonium = table.get("NH4-N", 0.0) / atom
    gap = charge_without_nitrogen(table) + ammonium - nitrate
    return nitrate + min(max(gap, 0.0), untold_nitrogen(table) / atom), ammonium
