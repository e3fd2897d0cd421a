"""Tables of nutrient and ppm: a mix, a water report, a published solution."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from ..cells.arguments import Argument
from ..cells.errors import CellError, GrowError, OutOfRange, PassedOn
from ..cells.kinds import Kind, Named, is_range
from ..cells.units import MOST_TEXTS
from ..chemistry.nutrient_bases import ALKALINITY, ALWAYS_LISTED, NITROGEN_FORMS, TOTAL_NITROGEN, nutrients
from ..chemistry.products import HIGHEST_PH, PH, PpmTable
from ..chemistry.published_solutions import recipes, unchecked
from .analyses import nutrient_rows
from .names import find_nutrient, folded, look_up, names_in


@dataclass(frozen=True)
class PpmTableKind(Kind):
    """A range of two columns: nutrient, ppm. Rows for alkalinity and pH are understood."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> PpmTable:
        if isinstance(cell, CellError):
            raise PassedOn(argument.name, cell)
        if not is_range(cell):
            raise GrowError(f"{argument.name} is a single cell: give a range of two columns, nutrient and ppm")
        table: dict[str, float] = {}
        for name, figure in nutrient_rows(cell, argument, "ppm"):
            try:
                key, ppm = table_row(name, figure)
            except GrowError as problem:
                raise type(problem)(f"{argument.name}: {problem}") from None
            if key in table and key != ALKALINITY:
                raise GrowError(f"{argument.name} lists {key} twice: give each nutrient once")
            table[key] = table.get(key, 0.0) + ppm
        if not table:
            raise GrowError(f"{argument.name} is blank: give rows of nutrient and ppm")
        return with_total_nitrogen(table, argument.name)


def table_row(name: str, figure: float) -> tuple[str, float]:
    """Key and elemental ppm of a row. Raises GrowError where the name or the figure cannot be."""
    if figure < 0:
        raise OutOfRange(f"{name} is {figure:g}, below zero: give 0 or more")
    if folded(name) == folded(PH):
        if figure > HIGHEST_PH:
            raise OutOfRange(f"pH is {figure:g}: give one from 0 to {HIGHEST_PH:g}")
        return PH, figure
    nutrient = find_nutrient(name)
    return nutrient.key, figure * nutrient.share


def with_total_nitrogen(table: dict[str, float], name: str) -> PpmTable:
    """The table with N as the sum of its forms where only these are listed.

    Raises OutOfRange where the forms are more than the total.
    """
    listed = [table[form] for form in NITROGEN_FORMS if form in table]
    if listed:
        total = table.setdefault(TOTAL_NITROGEN, sum(listed))
        if sum(listed) > total * ROUNDED_SUM + ROUNDED_PPM:
            forms = f"the forms of nitrogen in {name} add up to {sum(listed):g} ppm"
            raise OutOfRange(f"{forms}, more than N with {total:g}")
    return MappingProxyType(table)


@dataclass(frozen=True)
class Weights(Kind):
    """A range of two columns: nutrient, weight. A weight is of the nutrient, on whatever basis it is named."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> Mapping[str, float]:
        if isinstance(cell, CellError):
            raise PassedOn(argument.name, cell)
        if not is_range(cell):
            raise GrowError(f"{argument.name} is a single cell: give a range of two columns, nutrient and weight")
        weights: dict[str, float] = {}
        for name, figure in nutrient_rows(cell, argument, "weight"):
            try:
                key, _ = table_row(name, figure)
            except GrowError as problem:
                raise type(problem)(f"{argument.name}: {problem}") from None
            if key in weights:
                raise GrowError(f"{argument.name} lists {key} twice: give each nutrient once")
            weights[key] = figure
        if not weights:
            raise GrowError(f"{argument.name} is blank: give rows of nutrient and weight")
        return MappingProxyType(weights)


ROUNDED_SUM = 1.01

ROUNDED_PPM = 1.0
"""How far forms of nitrogen, each rounded, may add up to more than the total: 1 % and 1 ppm."""

PPM_TABLE = PpmTableKind("ppm table")

WEIGHTS = Weights("weights")

WATER = Argument(
    "water",
    PPM_TABLE,
    "what the source water holds, a range of nutrient, ppm; none if left out",
    False,
    default=MappingProxyType({}),
)


def rows_of(table: PpmTable) -> tuple[tuple[str, float], ...]:
    """A ppm table as rows: those that are always listed, then what else is there."""
    keys = [*ALWAYS_LISTED, *(key for key in nutrients() if key in table and key not in ALWAYS_LISTED)]
    return tuple((key, table.get(key, 0.0)) for key in keys)


@functools.lru_cache(MOST_TEXTS)
def find_recipe(name: str) -> PpmTable:
    """The solution of this name. Raises UnknownName with the nearest names."""
    otherwise = f"give one of {', '.join(recipes())}"
    return recipes()[look_up(name, names_in("recipes.csv", "recipe"), "recipe", otherwise)]


def how_sure(name: object) -> str:
    """What was not checked of the solution of this name, "" where its figures were held against a source."""
    recipe = look_up(str(name).strip(), names_in("recipes.csv", "recipe"), "recipe", "")
    return f"the figures of {recipe} are {unchecked()[recipe]}" if recipe in unchecked() else ""


@dataclass(frozen=True)
class Targets(Kind):
    """What is wanted: the name of a published solution, or a range of nutrient, ppm."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> PpmTable:
        if is_range(cell):
            table = PPM_TABLE.read(cell, argument)
            listed = {key: ppm for key, ppm in table.items() if key not in (PH, ALKALINITY)}
            if not listed:
                raise GrowError(f"{argument.name} lists no nutrient: give rows such as N, 150")
            return listed
        if isinstance(cell, CellError):
            raise PassedOn(argument.name, cell)
        return {key: ppm for key, ppm in find_recipe(str(cell).strip()).items() if key not in NITROGEN_FORMS}

    def remark(self, cell: object) -> str:
        return "" if is_range(cell) else how_sure(cell)


RECIPE_NAME = Named(
    "recipe", find_recipe, 'the name of a published solution as text, such as "Hoagland & Arnon 1"', how_sure
)
RECIPE = Argument(
    "recipe",
    RECIPE_NAME,
    'the name of a published solution, such as "Hoagland & Arnon 1"; GROW_WHY says which are from memory',
)
