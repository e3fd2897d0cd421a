"""The nutrients by the names that people use for them, and the weights that relate their bases.

A nutrient is counted as its element, as an oxide (the basis of labels) or as an ion (the basis of water reports).
"""

from __future__ import annotations

import difflib
import functools
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .errors import GrowError, UnknownName
from .kinds import NUMBER, Kind, shown
from .registry import Argument, Example, Result, cell_function
from .tables import read_data

if TYPE_CHECKING:
    from molmass import Formula

FAMILY = "ppm and chemistry"
ATOMIC_WEIGHTS = "IUPAC standard atomic weights, carried by the molmass package"

TOTAL_NITROGEN = "N"
NITROGEN_FORMS = ("NO3-N", "NH4-N", "urea-N")
ALKALINITY = "alkalinity"
ALWAYS_LISTED = ("N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")
"""The nutrients that every table shows, also at zero, so that an absent one is seen."""


@functools.lru_cache(maxsize=4096)
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


@functools.cache
def parsed_formula(formula: str) -> Formula:
    """A chemical formula as molmass reads it: elements only, no abbreviations of groups. Raises FormulaError."""
    from molmass import Formula

    return Formula(formula, parse_groups=False, parse_oligos=False)


@functools.cache
def formula_mass(formula: str) -> float:
    """Mass [g/mol] of a chemical formula, which is one of growcells' own data."""
    return float(parsed_formula(formula).mass)


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


AMBIGUOUS = {"no3": "NO3-N", "nitrate": "NO3-N", "nh4": "NH4-N", "ammonium": "NH4-N", "ammonia": "NH4-N"}
"""Names that labels and water reports use for the ion as well as for the nitrogen in it."""


@functools.cache
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


@dataclass(frozen=True)
class NutrientName(Kind):
    """The symbol or name of a nutrient."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> Nutrient:
        if not isinstance(cell, str):
            raise GrowError(f"{argument.name} is {shown(cell)}: give a nutrient as text, such as N, Ca or P2O5")
        try:
            return find_nutrient(cell.strip())
        except GrowError as problem:
            raise type(problem)(f"{argument.name}: {problem}") from None


NUTRIENT = NutrientName("nutrient")
NUTRIENT_ASKED = Argument(
    "nutrient",
    NUTRIENT,
    "the nutrient, such as N for nitrogen, P, Ca, NO3-N (elemental), or P2O5, K2O, CaO (as the oxide)",
)
LABEL_OXIDES = {"P": "P2O5", "K": "K2O", "Ca": "CaO", "Mg": "MgO", "S": "SO3", "Si": "SiO2", "Na": "Na2O", "B": "B2O3"}
"""The oxide that labels count each element as: ISO and national fertilizer rules, common practice."""


@cell_function(
    "GROW_ELEMENTAL",
    family=FAMILY,
    help="A figure on the oxide basis of labels as the element: P2O5 as P, K2O as K.",
    arguments=(
        Argument("value", NUMBER, "the percent or ppm as the oxide"),
        Argument("oxide", NUTRIENT, "the oxide, such as P2O5, K2O, CaO, MgO or SO3"),
    ),
    result=Result(NUMBER, "the same amount as the element"),
    examples=(
        Example((20, "P2O5"), 20 * 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((20, "K2O"), 20 * 0.8302, "IUPAC atomic weights: K is 0.8302 of K2O", 2e-4),
        Example((10, "CaO"), 7.147, "IUPAC atomic weights: Ca is 0.7147 of CaO", 2e-4),
    ),
    formula="value × mass of the element in the oxide ÷ mass of the oxide",
    source=ATOMIC_WEIGHTS,
    advice="Nitrogen is elemental on every label. A recipe from the literature is elemental unless it says otherwise.",
)
def elemental(value: float, oxide: Nutrient) -> float:
    """The elemental figure for one on an oxide basis, in the same unit.

    Raises GrowError where the basis given is the element already.
    """
    if oxide.share == 1:
        raise GrowError(f"oxide is {oxide.symbol}, which is elemental already: give an oxide such as P2O5 or K2O")
    return value * oxide.share


@cell_function(
    "GROW_OXIDE",
    family=FAMILY,
    help="An elemental figure on the oxide basis of labels: P as P2O5, K as K2O.",
    arguments=(
        Argument("value", NUMBER, "the percent or ppm as the element"),
        Argument("element", NUTRIENT, "the element: P, K, Ca, Mg, S, Si, Na or B"),
    ),
    result=Result(NUMBER, "the same amount as the oxide"),
    examples=(
        Example((31, "P"), 31 / 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((235, "potassium"), 235 / 0.8302, "IUPAC atomic weights: K is 0.8302 of K2O", 2e-4),
    ),
    formula="value × mass of the oxide ÷ mass of the element in it",
    source=ATOMIC_WEIGHTS,
)
def oxide(value: float, element: Nutrient) -> float:
    """The figure on the label's oxide basis for an elemental one, in the same unit.

    Raises GrowError where labels count the nutrient as the element.
    """
    if element.symbol not in LABEL_OXIDES:
        raise GrowError(
            f"element is {element.symbol}, which has no oxide basis on labels: give one of {', '.join(LABEL_OXIDES)}"
        )
    return value / nutrients()[LABEL_OXIDES[element.symbol]].share
