"""The fertilizer salts, chelates and acids, and what a formula holds of each nutrient."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass

from ..data import read_data
from .chemical_formulas import atoms_of, check_signs, mass_fractions
from .nutrient_bases import TOTAL_NITROGEN, nutrients
from .unit_factors import PERCENT_IN_WHOLE

# A nitrogen form is told from the group that holds it: the group is put as a noble gas, which no fertilizer
# contains, and the parser then counts the groups with all their multipliers.
_GROUPS = {
    "NO3-N": (re.compile(r"NO3(?!\d)"), "Xe", 1),
    "NH4-N": (re.compile(r"NH4(?!\d)"), "Kr", 1),
    "urea-N": (re.compile(r"CO\(NH2\)2(?!\d)|CH4N2O(?!\d)"), "Rn", 2),
}


@dataclass(frozen=True)
class Substance:
    """A row of ``substances.csv``. ``formula`` is empty for a chelate, ``grade`` for everything else.

    ``limit`` says what bounds its solubility where it has no figures of its own: the minerals and salts that its ions
    form, or nothing, since it mixes with water; empty where that is not known.
    """

    name: str
    formula: str
    grade: str
    limit: str


@functools.cache
def substances() -> Mapping[str, Substance]:
    """All substances by name."""
    return {
        row["name"]: Substance(row["name"], row["formula"], row["grade"], row["limit"])
        for row in read_data("substances.csv")
    }


@functools.lru_cache(maxsize=4096)
def formula_percents(formula: str) -> Mapping[str, float]:
    """Percent by mass of each nutrient, by key, in a substance of this formula.

    Empty for one that holds none, such as citric acid. Raises BadFormula where the formula does not parse, with the
    place.
    """
    check_signs(formula)
    fractions = mass_fractions(formula)
    percents = {symbol: PERCENT_IN_WHOLE * share for symbol, share in fractions.items() if symbol in nutrients()}
    if TOTAL_NITROGEN in fractions:
        percents.update(_nitrogen_forms(formula, percents[TOTAL_NITROGEN]))
    return percents


def _nitrogen_forms(formula: str, nitrogen_percent: float) -> dict[str, float]:
    """Percent of nitrogen in each form; empty where the nitrogen stands in some other group."""
    marked = formula
    for pattern, mark, _ in _GROUPS.values():
        marked = pattern.sub(mark, marked)
    moles = atoms_of(marked)
    all_nitrogen = atoms_of(formula)[TOTAL_NITROGEN]
    return {
        form: nitrogen_percent * atoms * moles[mark] / all_nitrogen
        for form, (_, mark, atoms) in _GROUPS.items()
        if mark in moles
    }
