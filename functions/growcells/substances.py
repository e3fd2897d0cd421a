"""Substances by name or formula, and what a formula holds of each nutrient."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass

from .errors import GrowError, UnknownName
from .nutrients import NITROGEN_FORMS, TOTAL_NITROGEN, folded, nearest, nutrients, parsed_formula
from .tables import read_data

MOST_SIGNS = 60
"""Longest formula read; anything longer is no formula of a fertilizer."""
_TOKEN = re.compile(r"[A-Z][a-z]?|\d{1,3}|[().\[\]]")
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


@functools.cache
def _names() -> Mapping[str, str]:
    """Every name, alias and formula of the data, with the name of its substance."""
    return {
        name: row["name"]
        for row in read_data("substances.csv")
        for name in (row["name"], row["formula"], *row["aliases"].split("; "))
        if name
    }


@functools.cache
def _folded_names() -> Mapping[str, str]:
    return {folded(name): substance for name, substance in _names().items()}


def find_substance(text: str) -> Substance | None:
    """The substance of this name, alias or formula, or None."""
    name = _folded_names().get(folded(text))
    return substances()[name] if name else None


def unknown_substance(text: str) -> UnknownName:
    """The error for a text that is no substance, with the names nearest to it."""
    close = nearest(text, _names())
    hint = f"did you mean {close}?" if close else "give its formula, such as MgSO4.7H2O, or a grade such as 20-20-20"
    return UnknownName(f"no substance of this name is known here: {hint}")


def looks_like_formula(text: str) -> bool:
    """Whether a text is meant as a formula: it starts with an element's symbol or a bracket, and has no spaces."""
    return " " not in text and re.match(r"\d*[\[(]*[A-Z]", text) is not None and not re.search(r"[a-z]{2}", text)


def spelled_formula(text: str) -> str:
    """A formula in plain signs: figures on the line, a full stop before water of crystallization."""
    return re.sub(r"[·•∙⋅*×]", ".", text)


@functools.cache
def formula_percents(formula: str) -> Mapping[str, float]:
    """Percent by mass of each nutrient, by key, in a substance of this formula.

    Empty for one that holds none, such as citric acid. Raises GrowError where the formula does not parse, with the
    place.
    """
    _check_signs(formula)
    fractions = _parsed(formula)
    percents = {symbol: 100 * share for symbol, share in fractions.items() if symbol in nutrients()}
    if TOTAL_NITROGEN in fractions:
        percents.update(_nitrogen_forms(formula, percents[TOTAL_NITROGEN]))
    return percents


def _check_signs(formula: str) -> None:
    import molmass

    if len(formula) > MOST_SIGNS:
        raise GrowError(f"a formula longer than {MOST_SIGNS} signs: give one such as Ca(NO3)2.4H2O")
    position = 0
    while position < len(formula):
        token = _TOKEN.match(formula, position)
        if token is None or (token.group()[0].isalpha() and token.group() not in molmass.ELEMENTS):
            raise formula_error(formula, position, "no element or sign of a formula")
        position = token.end()


def formula_error(formula: str, position: int, what: str) -> GrowError:
    """The error for a formula that goes wrong at a place."""
    return GrowError(
        f'as a formula it goes wrong at character {position + 1}, "{formula[position:]}" ({what}): '
        "give one such as Ca(NO3)2.4H2O"
    )


def _parsed(formula: str) -> dict[str, float]:
    """Share by mass of each element. Raises GrowError where the parser stops."""
    import molmass

    try:
        return {item.symbol: float(item.fraction) for item in parsed_formula(formula).composition().values()}
    except molmass.FormulaError as problem:
        raise formula_error(formula, max(problem.position, 0), problem.message) from None


def _nitrogen_forms(formula: str, nitrogen_percent: float) -> dict[str, float]:
    """Percent of nitrogen in each form; empty where the nitrogen stands in some other group."""
    marked = formula
    for pattern, mark, _ in _GROUPS.values():
        marked = pattern.sub(mark, marked)
    moles = _atoms(marked)
    all_nitrogen = _atoms(formula)[TOTAL_NITROGEN]
    return {
        form: nitrogen_percent * atoms * moles[mark] / all_nitrogen
        for form, (_, mark, atoms) in _GROUPS.items()
        if mark in moles
    }


def _atoms(formula: str) -> dict[str, int]:
    return {item.symbol: int(item.count) for item in parsed_formula(formula).composition().values()}


assert tuple(_GROUPS) == NITROGEN_FORMS
