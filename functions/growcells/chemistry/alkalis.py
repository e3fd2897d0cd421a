"""The base that brings water up to a pH: what raises pH beside carbonate, phosphate and what a feed brought."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from ..no_answer import NoAnswer
from .carbonate_system import Tank, moles_to
from .chemical_formulas import formula_mass
from .equilibria import NoneEnough, NoneNeeded

MOST_BASE = 0.1
"""[mol/L] Far beyond any water: where no answer lies below, there is none. Ours."""


COLUMNS = {"K": "potassium", "CO3": "carbonate"}
"""The columns of ``bases.csv`` by the component that they count."""


@dataclass(frozen=True)
class Base:
    """A row of ``bases.csv``: how many of each component its formula brings, and its usual percent by mass."""

    name: str
    formula: str
    components: Mapping[str, int]
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
            name=row["base"],
            formula=row["formula"],
            components={name: int(row[column]) for name, column in COLUMNS.items() if int(row[column])},
            percent=float(row["default_percent"]),
        )
        for row in read_data("bases.csv")
    }


def base_needed(tank: Tank, target_ph: float, base: Base, in_air: bool = False) -> float:
    """Moles of base for a litre of a tank to reach a target pH: in a closed vessel, or in balance with air.

    Raises NoAnswer where there is none: bicarbonate does not lift pH above some 8.
    """
    if target_ph <= tank.ph:
        raise NoAnswer(f"target_ph is {target_ph:g}, not above the pH of {tank.ph:g}: a base only raises pH")
    try:
        return moles_to(tank, target_ph, base.components, in_air, rises=True, most=MOST_BASE)
    except NoneNeeded:
        raise NoAnswer(
            f"air alone brings this water above pH {target_ph:g}: it needs no base in an open tank"
        ) from None
    except NoneEnough:
        raise NoAnswer(f"{base.name} cannot bring this water to pH {target_ph:g}: give a lower target_ph") from None
