"""The core of a carried function: single cells read as its declaration says, and its compiled body."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from growcells import CellFunction
from growcells.cells.arguments import Argument
from growcells.cells.kinds import COUNT, DATE, FRACTION, MONEY, NUMBER, STRENGTH, UNIT, Choice, Quantity
from growcells.cells.liquids import ProductQuantity
from growcells.cells.ranges import Column
from growcells.families.climate import HUMIDITY
from growcells.families.cost import PricePerMass
from growcells.terms.analyses import ANALYSIS
from growcells.terms.names import ION, NUTRIENT
from growcells.terms.ppm_tables import RECIPE_NAME

from .compiled_bodies import COLUMN, LIST, Formula, NotNative, body_formula, constant, record_formula
from .shorter_formulas import let
from .unit_rows import units_table

PLAIN_READERS = {
    NUMBER: "GROWCELLS.PLAIN",
    FRACTION: "GROWCELLS.FRACTION",
    COUNT: "GROWCELLS.COUNT",
    MONEY: "GROWCELLS.MONEY",
    DATE: "GROWCELLS.DATE",
    STRENGTH: "GROWCELLS.STRENGTH",
    HUMIDITY.kind: "GROWCELLS.HUMIDITY",
}
"""What reads the kinds that have no unit of their own."""

RECORD_READERS = {
    NUTRIENT: ("GROWCELLS.NUTRIENT", "NUTRIENTS"),
    ION: ("GROWCELLS.ION", "IONS"),
    RECIPE_NAME: ("GROWCELLS.RECIPE", LIST),
    ANALYSIS: ("GROWCELLS.ANALYSIS", LIST),
}
"""What reads the kinds that stand for an object, and what the formula then has of it."""


LONGEST_BODY = 2000
"""Characters of a body beyond which it is a name of its own, so that no formula is longer than Excel takes."""


def core_name(function: CellFunction) -> str:
    """The name of the part for single cells."""
    return f"GROWCELLS.{function.name.removeprefix('GROW_')}"


def body_name(function: CellFunction) -> str:
    """The name of a long body."""
    return f"{core_name(function)}_COMPUTED"


def core_formulas(function: CellFunction) -> tuple[str, str]:
    """The formula for single cells, and that of a long body or nothing. Raises NotNative."""
    values = [record_formula(f"{argument.name}_", record_of(argument)) for argument in function.values]
    body = chosen_body(function, dict(zip(parameters(function), values, strict=True)))
    if len(body) <= LONGEST_BODY:
        return _core(function, body), ""
    call = f"{body_name(function)}({','.join(values)})"
    return _core(function, call), f"LAMBDA({','.join([*values, body])})"


def _cell(argument: Argument) -> str:
    """What the formula calls the cell of an argument."""
    return f"{argument.name}_cell"


def _core(function: CellFunction, body: str) -> str:
    """The formula for single cells: read, checked, computed, given in the unit asked for."""
    computed = {**dict(_units(function)), **{f"{argument.name}_": _read(argument) for argument in function.values}}
    result = "result_value"
    given = _given(function, result)
    if not function.result.negative:
        given = f"IF({result}<0,#NUM!,{given})"
    inner = let(result, body, given)
    columns = {f"{argument.name}_" for argument in function.values if record_of(argument) == COLUMN}
    for local in reversed(computed):
        one = f"SUM({local})" if local in columns else local
        inner = f"IF(ISERROR({one}),{one},{inner})"
    strengths = [f"{_cell(argument)}" for argument in function.values if argument.kind is STRENGTH]
    if len(strengths) > 1:
        measured = [f"GROWCELLS.MEASURES({cell})" for cell in strengths]
        mixed = f"AND(OR({','.join(f'{one}=1' for one in measured)}),OR({','.join(f'{one}=2' for one in measured)}))"
        texts = f"OR({','.join(f'ISTEXT({cell})' for cell in strengths)})"
        inner = f"IF(IF({texts},{mixed},FALSE),#VALUE!,{inner})"
    if not computed:
        return f"LAMBDA({inner})"
    cells = ",".join(_cell(argument) for argument in function.arguments)
    for local, formula in reversed(computed.items()):
        inner = let(local, formula, inner)
    return f"LAMBDA({cells},{inner})"


def chosen_body(function: CellFunction, values: Mapping[str, object]) -> str:
    """The compiled body; where an argument is one of a few words, the body for each of them."""
    for parameter, argument in zip(parameters(function), function.values, strict=True):
        if isinstance(argument.kind, Choice) and isinstance(values[parameter], Formula):
            bodies = [
                part
                for word in argument.kind.words
                for part in (constant(word), body_formula(function.calculation, {**values, parameter: word}))
            ]
            return f"SWITCH({values[parameter]},{','.join(bodies)})"
    return body_formula(function.calculation, values)


def record_of(argument: Argument) -> str:
    """What the value of an argument is to a formula, where it is no number or text."""
    if isinstance(argument.kind, Column):
        return COLUMN
    return RECORD_READERS.get(argument.kind, ("", ""))[1]


def _units(function: CellFunction) -> Iterator[tuple[str, str]]:
    """The slope, and for temperatures the offset, of each unit argument."""
    asked = {argument.unit: argument.kind for argument in function.arguments if argument.unit}
    for unit, kind in {**asked, function.result.unit_name: function.result.kind}.items():
        if unit:
            if not isinstance(kind, Quantity):
                raise NotNative(f"{unit} is the unit of a column")
            for part, default in _defaults(function, unit, kind):
                yield f"{unit}_{part.lower()}", f"GROWCELLS.{part}({units_table(kind)},{unit}_cell,{default})"


def _defaults(function: CellFunction, unit: str, kind: Quantity) -> Iterator[tuple[str, str]]:
    """What is read of a unit, and what it is where the unit is left out."""
    parts = ("SLOPE", "OFFSET") if has_offsets(kind) else ("SLOPE",)
    if isinstance(kind, PricePerMass):
        kind = Quantity(kind.name, kind.unit, kind.inside, kind.example, kind.plain)
    followed = function.result.follows if unit == function.result.unit_name else ""
    for part, factor in zip(parts, kind.factors(None), strict=False):
        yield part, f"{followed}_{part.lower()}" if followed else constant(factor)


def _given(function: CellFunction, result: str) -> str:
    """The result in the unit asked for."""
    kind, unit = function.result.kind, function.result.unit_name
    if not isinstance(kind, Quantity):
        return result
    if isinstance(kind, PricePerMass):  # a larger unit makes a larger number
        return f"{result}*{unit}_slope"
    if not unit:
        slope, offset = kind.factors(None)
        return f"({result}-{constant(offset)})/{constant(slope)}"
    return f"({result}-{unit}_offset)/{unit}_slope" if has_offsets(kind) else f"{result}/{unit}_slope"


def parameters(function: CellFunction) -> list[str]:
    """What a calculation calls the values that it is handed."""
    code = function.calculation.__code__
    return list(code.co_varnames[: code.co_argcount])


def _read(argument: Argument) -> str:
    """The formula that reads an argument's cell: blank, errors, texts, limits."""
    cell, kind = _cell(argument), argument.kind
    missing = "#VALUE!" if argument.required else constant(argument.default)
    if isinstance(kind, Quantity):
        if type(kind) not in (Quantity, ProductQuantity):
            raise NotNative(f"{argument.name} is {kind.name} of a kind of its own")
        slope, offset = map(constant, kind.factors(None))
        if argument.unit:
            slope, offset = f"{argument.unit}_slope", f"{argument.unit}_offset" if has_offsets(kind) else "0"
        asked = f"{cell},{units_table(kind)},{slope},{offset}"
        if not is_limited(argument):
            return f"GROWCELLS.TAKEN({asked},{missing},{constant(argument.zero)},{sign(argument)})"
        return _accepted(argument, f"GROWCELLS.QUANTITY({asked})")
    if kind in PLAIN_READERS:
        read = f"{PLAIN_READERS[kind]}({cell})"
        return _accepted(argument, read)
    if isinstance(kind, Choice):
        is_one = ",".join(f"LOWER(TRIM({cell}))={constant(word)}" for word in kind.words)
        read = f"IF(ISERROR({cell}),{cell},IF(OR({is_one}),LOWER(TRIM({cell})),#N/A))"
        return f'IF(ISERROR({cell}),{cell},IF(OR(TRIM({cell})="",TRIM({cell})="0"),{missing},{read}))'
    if kind is UNIT:
        return f"IF(ISTEXT({cell}),TRIM({cell}),IF(ISERROR({cell}),{cell},#VALUE!))"
    if isinstance(kind, Column) and kind.element is MONEY and argument.zero:
        return f"GROWCELLS.MONEY_COLUMN({cell})"
    if kind in RECORD_READERS:
        read = f"{RECORD_READERS[kind][0]}({cell})"
        return f'IF(ISBLANK({cell}),{missing},IF(IF(ISTEXT({cell}),TRIM({cell})="",FALSE),{missing},{read}))'
    raise NotNative(f"{argument.name} is a kind of value that no formula reads: {kind.name}")


def is_limited(argument: Argument) -> bool:
    """Whether the values of an argument have a limit of their own."""
    return math.isfinite(argument.low) or math.isfinite(argument.high)


def _accepted(argument: Argument, read: str) -> str:
    """What is read of a cell, where the argument takes it."""
    cell = _cell(argument)
    missing = "#VALUE!" if argument.required else constant(argument.default)
    if is_limited(argument):
        low, high = (constant(max(-MOST, min(limit, MOST))) for limit in (argument.low, argument.high))
        read = f"GROWCELLS.WITHIN({read},{low},{high})"
    return f"GROWCELLS.ACCEPTED({cell},{read},{missing},{constant(argument.zero)},{sign(argument)})"


MOST = 1e307
"""A limit where there is none: near the largest number that a cell of Excel holds."""


def sign(argument: Argument) -> str:
    """1 where values are above zero, 0 where they are not below, -1 where they may be."""
    return "0-1" if argument.negative else "0" if argument.zero or argument.rare_zero else "1"


def has_offsets(kind: Quantity) -> bool:
    """Whether units of a kind differ in their zero."""
    return kind.name == "temperature"
