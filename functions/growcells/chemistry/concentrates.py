"""A stock concentrate: what its parts bring in moles, the water that they leave, the ions that it settles to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from .chemical_formulas import formula_mass, parsed_formula
from .equilibria import Equilibrium, equilibrium
from .ion_mobility import component_moles
from .ions import component_charges
from .nutrient_bases import TOTAL_NITROGEN
from .products import Analysis, solution
from .saturation import Salt, salt_volumes, salts
from .substances import substances
from .unit_factors import GRAMS_IN_KILOGRAM, PERCENT_IN_WHOLE

FEED_PH = 5.5
"""pH of a concentrate whose salts are not told; common practice, no source."""
CHELATED = frozenset(["Fe", "Mn", "Zn", "Cu"])
"""Metals that stand in a chelate, or in a feed by its grade are taken to, so that they do not fall out."""
CARRIERS = {"P": "PO4", "S": "SO4", "B": "H3BO3", "Mo": "MoO4", "Si": "H4SiO4", "C": "CO3"}
"""The component in which each element stands that is no metal, nitrogen, hydrogen or oxygen."""
FORMS = {"NO3-N": "NO3", "NH4-N": "NH4"}
CITRIC_ACID = "C6H8O7"


@dataclass(frozen=True)
class Part:
    """A part of a concentrate: its mass [g], and what it is."""

    mass: float
    analysis: Analysis

    @property
    def name(self) -> str:
        """Its name, or the text that it was given as."""
        return self.analysis.substance or self.analysis.text

    @cached_property
    def dry_formula(self) -> str:
        """Its formula without water of crystallization; empty where it has none."""
        return re.sub(r"\.[\d.]*H2O$", "", self.analysis.formula)

    @property
    def salt(self) -> Salt | None:
        """The salt whose solubility it has."""
        return salts().get(self.dry_formula)

    @property
    def is_checked(self) -> bool:
        """Whether what limits its solubility is known: the figures of a salt, minerals, or nothing at all."""
        name = self.analysis.substance
        return self.is_told and (self.salt is not None or bool(name and substances()[name].limit))

    @cached_property
    def dry_mass(self) -> float:
        """Its mass [g] without water of crystallization."""
        if not self.analysis.formula:
            return self.mass
        share = formula_mass(self.dry_formula) / formula_mass(self.analysis.formula)
        return self.mass * share * self.analysis.purity / PERCENT_IN_WHOLE

    @cached_property
    def is_told(self) -> bool:
        """Whether all its ions are known."""
        return bool(self.analysis.formula) and set(self._counts) <= set(component_charges())

    @cached_property
    def _counts(self) -> Mapping[str, float]:
        """How many of each component a formula holds; hydrogen follows from the charges."""
        if self.dry_formula == CITRIC_ACID:
            return {"citrate": 1.0}
        items = parsed_formula(self.analysis.formula).composition().values()
        counts = {item.symbol: float(item.count) for item in items}
        nitrogen, total = counts.pop("N", 0.0), self.analysis.percents.get(TOTAL_NITROGEN, 0.0)
        if "urea-N" in self.analysis.percents:
            counts.pop("C", None)
        found = {CARRIERS.get(symbol, symbol): count for symbol, count in counts.items() if symbol not in "HO"}
        shares = {name: self.analysis.percents.get(form, 0.0) for form, name in FORMS.items()}
        return found | {name: nitrogen * share / total for name, share in shares.items() if share}

    @cached_property
    def moles(self) -> Mapping[str, float]:
        """Moles of each component that it brings."""
        if not self.is_told:
            table = solution([(self.mass, self.analysis)], 1.0, {})
            return component_moles({key: ppm for key, ppm in table.items() if key not in CHELATED})
        amount = self.mass * self.analysis.purity / PERCENT_IN_WHOLE / formula_mass(self.analysis.formula)
        return {name: count * amount for name, count in self._counts.items()}


@dataclass(frozen=True)
class Concentrate:
    """A concentrate at a temperature [°C]: its parts, the water [kg] in it, and its ions."""

    parts: Sequence[Part]
    water: float
    temperature: float
    dissolved: Equilibrium


def space(dry_formula: str) -> float:
    """Volume [L] that a kilogram of a salt takes up in a strong solution; where that is not known, the most of all."""
    volumes = salt_volumes()
    return volumes.get(dry_formula, max(volumes.values()))


def water_left(parts: Iterable[Part], volume: float) -> float:
    """Water [kg] in a volume [L] beside the salts, taken as scarce rather than plenty."""
    return volume - sum(part.dry_mass * space(part.dry_formula) for part in parts) / GRAMS_IN_KILOGRAM


def settled(parts: Sequence[Part], water: float, temperature: float) -> Concentrate:
    """The concentrate that parts make of so much water [kg], at the pH that follows where all ions are told."""
    moles: dict[str, float] = {}
    for part in parts:
        for name, amount in part.moles.items():
            moles[name] = moles.get(name, 0.0) + amount / water
    told = all(part.is_told for part in parts if part.mass)
    return Concentrate(parts, water, temperature, equilibrium(moles, None if told else FEED_PH, temperature))
