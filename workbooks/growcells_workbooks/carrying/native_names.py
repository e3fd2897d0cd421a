"""All that a log carries: the names of the functions, those that they call, and the tables on the hidden sheet."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass

from growcells import CellFunction, functions
from growcells.cells.kinds import Quantity
from growcells.families.help import EXPLAINING
from growcells.version import VERSION

from ..recalculation.cells import column_letters
from . import nutrient_formulas
from .argument_formulas import body_name, core_formulas, core_name
from .compiled_bodies import NotNative, constant
from .marks import SHEET, VERSION_NAME
from .plain_formulas import PlainFormula, plain_formula, plain_name
from .range_formulas import EACH, RANGE_NAMES, ROWS, each_formula, each_name, rows_formula, typed_formula
from .reading_formulas import NAMES
from .stored_form import LONGEST_NAME, stored
from .unit_rows import unit_tables

PREFIX = "GROWCELLS."
"""What the names begin with that functions call, and that nobody types."""

MOST_ARGUMENTS = 12
"""Arguments that a name takes for a function that is not carried and takes any number of them: our choice."""

FUNCTIONS_TABLE = "GROWCELLS.FUNCTIONS"


@dataclass(frozen=True)
class NativeName:
    """A defined name: its formula in stored form, and what Excel shows of it where a formula is typed."""

    name: str
    formula: str
    comment: str = ""

    @property
    def hidden(self) -> bool:
        """Whether nobody is meant to type it."""
        return self.name.startswith(PREFIX)


@dataclass(frozen=True)
class NativeFunction:
    """A cell function as names of a workbook."""

    function: CellFunction
    core: str
    """The formula for single cells."""
    body: str
    """The body, where it is so long that it is a name of its own."""
    plain: PlainFormula | None
    """The formula for plain numbers, where there is one."""
    typed: str
    """The formula under the name that is typed."""


def native_function(function: CellFunction) -> NativeFunction:
    """The formulas of a cell function. Raises NotNative."""
    if function.is_table or any(argument.repeated for argument in function.arguments):
        raise NotNative("it gives a table, or takes any number of arguments")
    core, body = core_formulas(function)
    plain = plain_formula(function)
    return NativeFunction(function, core, body, plain, typed_formula(function, plain))


@functools.cache
def carried() -> dict[str, NativeFunction]:
    """The functions that a log can carry."""
    found = {}
    for name, function in functions().items():
        try:
            found[name] = native_function(function)
        except NotNative:
            continue
    return found


@functools.cache
def not_carried() -> dict[str, str]:
    """The functions that it cannot, and what stands in the way of each."""
    found = {}
    for name, function in functions().items():
        if name not in carried() and name != EXPLAINING:
            try:
                native_function(function)
            except NotNative as why:
                found[name] = str(why)
    return found


@functools.cache
def tables() -> dict[str, tuple[tuple[object, ...], ...]]:
    """The tables of the hidden sheet by their names, each a block of rows."""
    kinds = [
        kind
        for native in carried().values()
        for kind in (*(argument.kind for argument in native.function.arguments), native.function.result.kind)
        if isinstance(kind, Quantity)
    ]
    return {
        **dict(unit_tables(kinds)),
        **nutrient_formulas.tables(),
        FUNCTIONS_TABLE: tuple((name, _sentence(name)) for name in functions()),
    }


def _sentence(name: str) -> str:
    if name in carried():
        return f"{name} computes in this workbook; for a sentence on what is wrong with a call install growcells"
    return f"{name} needs growcells, which is not installed where this cell computes"


@functools.cache
def table_cells() -> dict[str, str]:
    """Where each table stands on the hidden sheet. Formulas hold this itself: a name less is a file sooner open."""
    places = {}
    column = 1
    for table, rows in tables().items():
        width = max(map(len, rows))
        first, last = column_letters(column), column_letters(column + width - 1)
        places[table] = f"{SHEET}!${first}$1:${last}${len(rows)}"
        column += width + 1
    return places


def placed(formula: str) -> str:
    """A formula in stored form, with the cells of tables in place of their names."""
    return stored(_TABLE.sub(lambda name: table_cells().get(name[0], name[0]), formula))


_TABLE = re.compile(rf"{re.escape(PREFIX)}[A-Z_]+(?![\w.(])")


def names() -> Iterator[NativeName]:
    """Every name that a log carries."""
    for name, formula in {**NAMES, **nutrient_formulas.NAMES, **RANGE_NAMES}.items():
        yield NativeName(name, placed(formula))
    most = max(cells_handed())
    yield NativeName(ROWS, placed(rows_formula(most)))
    for count in cells_handed():
        yield NativeName(each_name(count), placed(each_formula(count, most)))
    for native in carried().values():
        yield NativeName(core_name(native.function), placed(native.core))
        if native.body:
            yield NativeName(body_name(native.function), placed(native.body))
        if native.plain and native.plain.named:
            yield NativeName(plain_name(native.function), placed(native.plain.named))
    yield NativeName(VERSION_NAME, constant(VERSION))
    for name, function in functions().items():
        if name in carried():
            yield NativeName(name, placed(carried()[name].typed), function.help[:LONGEST_NAME])
        elif name == EXPLAINING:
            yield NativeName(name, placed(_why()), function.help[:LONGEST_NAME])
        else:
            yield NativeName(
                name, placed(_needs_growcells(function)), f"Needs growcells installed. {function.help}"[:LONGEST_NAME]
            )


def cells_handed() -> list[int]:
    """How many cells the functions hand to their cores."""
    called = (re.search(rf"{EACH}(\d+)", native.typed) for native in carried().values())
    return sorted({int(call[1]) for call in called if call})


def _needs_growcells(function: CellFunction) -> str:
    """A name that takes what the function takes and gives #N/A."""
    given = [f"[{argument.name}]" for argument in function.arguments if not argument.repeated]
    if any(argument.repeated for argument in function.arguments):
        given += [f"[argument_{number}]" for number in range(1, MOST_ARGUMENTS + 1)]
    return f"LAMBDA({','.join([*given, '#N/A'])})"


def _why() -> str:
    others = ",".join(f"[argument_{number}]" for number in range(1, MOST_ARGUMENTS + 1))
    return f"""LAMBDA(function,{others},LET(
        name,UPPER(TRIM(function)),
        found,XMATCH(name,INDEX({FUNCTIONS_TABLE},0,1)),
        IF(ISERROR(found),#N/A,INDEX({FUNCTIONS_TABLE},found,2))))"""
