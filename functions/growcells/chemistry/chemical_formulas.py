"""Chemical formulas: their mass, and the share and number of each element in them."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from ..no_answer import NoAnswer

if TYPE_CHECKING:
    from molmass import Formula

ATOMIC_WEIGHTS = "IUPAC standard atomic weights, carried by the molmass package"

CONVENTIONAL = {"S": 32.06}
"""Conventional weights where the IUPAC gives a range: molmass carries the middle of the range of sulfur, 32.065."""


def atomic_weight(symbol: str) -> float:
    """Standard atomic weight [g/mol] of an element."""
    import molmass

    return CONVENTIONAL.get(symbol) or float(molmass.ELEMENTS[symbol].mass)


@functools.lru_cache(maxsize=4096)
def parsed_formula(formula: str) -> Formula:
    """A chemical formula as molmass reads it: elements only, no abbreviations of groups. Raises FormulaError."""
    from molmass import Formula

    return Formula(formula, parse_groups=False, parse_oligos=False)


@functools.lru_cache(maxsize=4096)
def formula_mass(formula: str) -> float:
    """Mass [g/mol] of a chemical formula, which is one of growcells' own data."""
    return sum(count * atomic_weight(symbol) for symbol, count in atoms_of(formula).items())


MOST_SIGNS = 60
"""Longest formula read; anything longer is no formula of a fertilizer."""

_TOKEN = re.compile(r"[A-Z][a-z]?|\d{1,3}|[().\[\]]")


class BadFormula(NoAnswer):
    """A text that is no chemical formula; the text of the error says at which place and why."""

    def __init__(self, formula: str, position: int, why: str) -> None:
        super().__init__(f'as a formula it goes wrong at character {position + 1}, "{formula[position:]}" ({why})')


def check_signs(formula: str) -> None:
    """Raise BadFormula where a text holds anything but symbols of elements, figures, brackets and full stops."""
    import molmass

    if len(formula) > MOST_SIGNS:
        raise BadFormula(formula, MOST_SIGNS, f"a formula longer than {MOST_SIGNS} signs")
    position = 0
    while position < len(formula):
        token = _TOKEN.match(formula, position)
        if token is None or (token.group()[0].isalpha() and token.group() not in molmass.ELEMENTS):
            raise BadFormula(formula, position, "no element or sign of a formula")
        position = token.end()


def mass_fractions(formula: str) -> Mapping[str, float]:
    """Share by mass of each element. Raises BadFormula where the parser stops, and at an isotope such as 15N."""
    import molmass

    try:
        atoms = atoms_of(formula)
    except molmass.FormulaError as problem:
        raise BadFormula(formula, max(problem.position, 0), problem.message) from None
    for symbol in atoms:
        if symbol[0].isdigit():
            raise BadFormula(formula, formula.index(symbol), "a number before a symbol is read as an isotope")
    return {symbol: count * atomic_weight(symbol) / formula_mass(formula) for symbol, count in atoms.items()}


def atoms_of(formula: str) -> Mapping[str, int]:
    """Number of atoms of each element."""
    return {item.symbol: int(item.count) for item in parsed_formula(formula).composition().values()}
