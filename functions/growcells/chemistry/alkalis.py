"""The base that brings water up to a pH: what raises pH beside carbonate, phosphate and what a feed brought."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from ..no_answer import NoAnswer
from .carbonate_system import Tank, held_by_air
from .chemical_formulas import formula_mass
from .equilibria import Condition, NoneEnough, NoneNeeded, charge_of, settled
from .ions import HYDROGEN

MOST_BASE = 0.1
"""[mol/L] Far beyond any water: where no answer lies below, there is none."""


@dataclass(frozen=True)
class Base:
    """A row of ``bases.csv``: the potassium and the carbonate in its formula, and its usual percent by mass."""

    name: str
    formula: str
    potassium: int
    carbonate: int
    percent: float

    @property
    def molar_mass(self) -> float:
        """[g/mol]"""
        return formula_mass(self.formula)


@functools.cache
def bases() -> Mapping[str, Base]:
    """All bases by name."""
    return {
        row["base"]: Base(
            row["base"], row["formula"], int(row["potassium"]), int(row["carbonate"]), float(row["default_percent"])
        )
        for row in read_data("bases.csv")
    }


def base_needed(tank: Tank, target_ph: float, base: Base, in_air: bool = False) -> float:
    """Moles of base for a litre of a tank to reach a target pH: in a closed vessel, or in balance with air.

    Raises NoAnswer where there is none: bicarbonate does not lift pH above some 8.
    """
    if target_ph <= tank.ph:
        raise NoAnswer(f"target_ph is {target_ph:g}, not above the pH of {tank.ph:g}: a base only raises pH")
    held, totals = held_by_air(target_ph) if in_air else {}, dict(tank.ions)
    formula = {"K": base.potassium}
    if not in_air:
        totals["CO3"] = tank.carbonate
        formula |= {"CO3": base.carbonate} if base.carbonate else {}
    try:
        return settled(
            totals, {**held, HYDROGEN: -target_ph}, Condition(charge_of, tank.charge, formula, most=MOST_BASE)
        ).sought
    except NoneNeeded:
        raise NoAnswer(
            f"air alone brings this water above pH {target_ph:g}: it needs no base in an open tank"
        ) from None
    except NoneEnough:
        raise NoAnswer(f"{base.name} cannot bring this water to pH {target_ph:g}: give a lower target_ph") from None
