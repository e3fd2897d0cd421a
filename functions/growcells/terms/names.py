"""The names that people use for nutrients, ions and substances, and what each of them stands for."""

from __future__ import annotations

import difflib
import functools
import re
import unicodedata
from collections.abc import Iterable, Mapping

from ..cells.arguments import Argument
from ..cells.errors import GrowError, OutOfRange, UnknownName
from ..cells.kinds import Named
from ..cells.units import MOST_TEXTS, parse_number
from ..chemistry.charges import UNCHARGED, Ion, ions
from ..chemistry.chemical_formulas import formula_mass
from ..chemistry.nutrient_bases import Nutrient, nutrients
from ..chemistry.substances import Substance, substances
from ..chemistry.unit_factors import PERCENT_IN_WHOLE
from ..data import read_data

_PERCENT = r"(?P<percent>[\d.]+)\s*%"
_WITH_PERCENT = (re.compile(rf"(?P<name>.*\S)\s+{_PERCENT}"), re.compile(rf"{_PERCENT}\s*(?P<name>.+)"))


def name_and_percent(text: str) -> tuple[str, float | None]:
    """The name in a text such as ``phosphoric acid 75%``, and its percent by mass, or None where it tells none.

    Raises OutOfRange for a percent that cannot be.

    >>> name_and_percent("45% potassium hydroxide")
    ('potassium hydroxide', 45.0)
    """
    told = next((match for pattern in _WITH_PERCENT if (match := pattern.fullmatch(text))), None)
    if told is None:
        return text, None
    percent = parse_number(told["percent"]) or 0.0
    if not 0 < percent <= PERCENT_IN_WHOLE:
        raise OutOfRange(f'"{text}" cannot be: give percent by mass up to 100')
    return told["name"], percent


@functools.lru_cache(MOST_TEXTS)
def folded(name: str) -> str:
    """A name as it is looked up: without regard to case, spaces, hyphens, dots and raised or lowered figures."""
    return "".join(sign for sign in unicodedata.normalize("NFKC", name).casefold() if sign.isalnum())


def nearest(name: str, names: Iterable[str]) -> str:
    """The names that look most like this one, as an error sentence lists them; empty where none does."""
    by_folded = {folded(known): known for known in names}
    close = difflib.get_close_matches(folded(name), by_folded, n=3, cutoff=0.6)
    return ", ".join(by_folded[known] for known in close)


@functools.cache
def names_in(table: str, column: str) -> Mapping[str, str]:
    """Every name in a table of ``growcells/data``, and what its row is called in a column."""
    return {name: row[column] for row in read_data(table) for name in (row[column], *row["names"].split("; ")) if name}


def look_up(name: str, names: Mapping[str, str], what: str, otherwise: str) -> str:
    """What a name stands for, however it is spelled.

    Raises UnknownName with the nearest names, or with what to do otherwise.
    """
    by_folded = {folded(known): meant for known, meant in names.items()}
    if folded(name) in by_folded:
        return by_folded[folded(name)]
    close = nearest(name, names)
    hint = f"did you mean {close}?" if close else otherwise
    raise UnknownName(f'"{name}" is no {what} known here: {hint}')


AMBIGUOUS = {"no3": "NO3-N", "nitrate": "NO3-N", "nh4": "NH4-N", "ammonium": "NH4-N", "ammonia": "NH4-N"}
"""Names that labels and water reports use for the ion as well as for the nitrogen in it."""


@functools.lru_cache(MOST_TEXTS)
def find_nutrient(name: str) -> Nutrient:
    """The nutrient of this name.

    Raises UnknownName with the nearest names, GrowError for a name that means an ion or the nitrogen in it.
    """
    key = folded(name)
    if key in AMBIGUOUS:
        form = AMBIGUOUS[key]
        weights = {"NO3-N": ("nitrate", formula_mass("NO3")), "NH4-N": ("ammonium", formula_mass("NH4"))}
        ion, mass = weights[form]
        raise GrowError(
            f'"{name}" may mean {ion} or the nitrogen in it: give {form}; '
            f"1 ppm of {ion} is {formula_mass('N') / mass:.4g} ppm of {form}"
        )
    otherwise = "give a symbol such as N, P, K, Ca, Mg, NO3-N or P2O5"
    return nutrients()[look_up(name, names_in("nutrients.csv", "symbol"), "nutrient", otherwise)]


NUTRIENT = Named("nutrient", find_nutrient, "a nutrient as text, such as N, Ca or P2O5")

NUTRIENT_ASKED = Argument(
    "nutrient",
    NUTRIENT,
    "the nutrient, such as N for nitrogen, P, Ca, NO3-N (elemental), or P2O5, K2O, CaO (as the oxide)",
)


@functools.lru_cache(MOST_TEXTS)
def find_ion(name: str) -> Ion:
    """The ion of this name.

    Raises UnknownName with the nearest names, GrowError for a nutrient that carries no charge or any charge.
    """
    if folded(name) in ("n", "nitrogen"):
        raise GrowError(f'"{name}" has no charge of its own: give NO3-N for nitrate or NH4-N for ammonium')
    for symbol, molecule in UNCHARGED.items():
        if folded(name) == folded(symbol):
            raise GrowError(f"{symbol} is {molecule} in water culture, which carries no charge: give an ion such as Ca")
    return ions()[look_up(name, names_in("ions.csv", "ion"), "ion", "give one such as Ca, K, NO3-N, SO4 or HCO3")]


ION = Named("ion", find_ion, "an ion as text, such as Ca or NO3-N")


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
def folded_substances() -> Mapping[str, str]:
    """Every name of a substance as it is looked up, with what the substance is called."""
    return {folded(name): substance for name, substance in _names().items()}


def find_substance(text: str) -> Substance | None:
    """The substance of this name, alias or formula, or None."""
    name = folded_substances().get(folded(text))
    return substances()[name] if name else None


@functools.lru_cache(MOST_TEXTS)
def _nearest_substances(text: str) -> str:
    """Kept, since a column may hold the same unknown text in each row."""
    return nearest(text, _names())


def unknown_substance(text: str) -> UnknownName:
    """The error for a text that is no substance, with the names nearest to it."""
    close = _nearest_substances(text)
    hint = f"did you mean {close}?" if close else "give its formula, such as MgSO4.7H2O, or a grade such as 17-7-21"
    return UnknownName(f"no substance of this name is known here: {hint}")
