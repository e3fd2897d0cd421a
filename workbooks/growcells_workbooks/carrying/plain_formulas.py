"""How most cells go: plain numbers in default units, nothing optional given. Then a call is its arithmetic alone."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from growcells import CellFunction
from growcells.cells.arguments import Argument
from growcells.cells.kinds import FRACTION, MONEY, NUMBER, STRENGTH, Quantity
from growcells.cells.liquids import ProductQuantity
from growcells.families.climate import HUMIDITY

from .argument_formulas import core_name, parameters
from .compiled_bodies import Formula, body_formula, constant

LONGEST = 400
"""Characters of arithmetic beyond which it is a name of its own: an engine copies what is typed for each call."""

GREATEST = {FRACTION: "1", HUMIDITY.kind: "100"}
"""The greatest number of kinds that have one; a humidity above 1 is in percent."""

_NEVER_NEGATIVE = re.compile(r"(?:[a-z_]\w*|[\d.]+|[*/+^()])*")


@dataclass(frozen=True)
class PlainFormula:
    """Arithmetic of a function, and when it holds, in terms of its arguments."""

    condition: str
    formula: str
    named: str = ""
    """The formula of the name that ``formula`` calls, where the arithmetic is long."""


def plain_name(function: CellFunction) -> str:
    """The name of long arithmetic."""
    return f"{core_name(function)}_PLAIN"


def plain_formula(function: CellFunction) -> PlainFormula | None:
    """The arithmetic for plain numbers, or None where some argument is a text or a range."""
    required = [argument for argument in function.values if argument.required]
    if not required or any(not is_plain(argument) for argument in required):
        return None
    formula = arithmetic(function, {argument.name: argument.name for argument in required})
    omitted = [f"ISOMITTED({argument.name})" for argument in function.arguments if not argument.required]
    # The type of a number, and of a blank, is 1, and the least there is.
    types = "+".join(f"TYPE({argument.name})" for argument in required)
    single = [*omitted, f"{types}={len(required)}"]
    limits = [limit for argument in required for limit in limits_of(argument, argument.name)]
    condition = f"IF({_all(single)},{_all(limits)},FALSE)"
    if len(formula) <= LONGEST:
        return PlainFormula(condition, formula)
    given = ",".join(argument.name for argument in required)
    return PlainFormula(condition, f"{plain_name(function)}({given})", f"LAMBDA({given},{formula})")


def is_plain(argument: Argument) -> bool:
    """Whether a number in the cell of an argument is its value, but for a factor."""
    return argument.kind in (NUMBER, MONEY, STRENGTH, FRACTION, HUMIDITY.kind) or type(argument.kind) in (
        Quantity,
        ProductQuantity,
    )


def arithmetic(
    function: CellFunction, cells: dict[str, str], factors: dict[str, tuple[float, float]] | None = None
) -> str:
    """The calculation on numbers that stand where ``cells`` tells; what has no cell has its default.

    ``factors`` are slope and offset of units other than the usual, by the unit's argument.
    """
    values: dict[str, str] = {}
    lets: list[str] = []
    asked = factors or {}
    scope: dict[str, object] = {
        parameter: Formula(f"{argument.name}_") if argument.name in cells else argument.default
        for parameter, argument in zip(parameters(function), function.values, strict=True)
    }
    body = body_formula(function.calculation, scope)
    for argument in function.values:
        if argument.name in cells:
            slope, offset = asked.get(argument.unit) or factors_of(argument)
            number = scaled(cells[argument.name], slope, offset)
            values[argument.name] = (
                f"IF({number}>1,{number}/100,{number})" if argument.kind is HUMIDITY.kind else number
            )
    for name, value in values.items():
        local = f"{name}_"
        places = re.findall(rf"(?<![\w.]){local}(?!\w)", body)
        if len(places) == 1 or value == cells[name]:
            body = re.sub(rf"(?<![\w.]){local}(?!\w)", value, body)
        else:
            lets += (local, value)
    slope, offset = _result_factors(function, asked)
    surely = _NEVER_NEGATIVE.fullmatch(body) and not any(argument.negative for argument in function.values)
    given = body if function.result.negative or surely else "result_value"
    turned = given if offset == 0 else f"({given}-{constant(offset)})"
    turned = turned if slope == 1 else f"{turned}/{constant(slope)}"
    if given is not body:
        turned = f"IF({given}<0,#NUM!,{turned})"
        lets += (given, body)
    return f"LET({','.join([*lets, turned])})" if lets else turned


def _result_factors(function: CellFunction, asked: dict[str, tuple[float, float]]) -> tuple[float, float]:
    kind = function.result.kind
    for unit in (function.result.unit_name, function.result.follows):
        if unit in asked:
            return asked[unit]
    return kind.factors(None) if isinstance(kind, Quantity) else (1.0, 0.0)


def factors_of(argument: Argument) -> tuple[float, float]:
    """Slope and offset of the unit that an argument has where none is given."""
    return argument.kind.factors(None) if isinstance(argument.kind, Quantity) else (1.0, 0.0)


def scaled(number: str, slope: float, offset: float) -> str:
    """A number times a slope, and an offset, in brackets where it is not the number alone."""
    times = number if slope == 1 else f"{number}*{constant(slope)}"
    shifted = times if offset == 0 else f"{times}+{constant(offset)}"
    return shifted if shifted == number else f"({shifted})"


def limits_of(argument: Argument, cell: str, factors: tuple[float, float] | None = None) -> Iterator[str]:
    """When a plain number is surely one that the argument takes; a blank is none."""
    if argument.zero:
        yield f"ISNUMBER({cell})"
    if not argument.negative:
        yield f"{cell}>=0" if argument.zero else f"{cell}>0"
    elif not argument.zero:
        yield f"{cell}<>0"
    if argument.kind in GREATEST:
        yield f"{cell}<={GREATEST[argument.kind]}"
    value = scaled(cell, *(factors or factors_of(argument)))
    if math.isfinite(argument.low):
        yield f"{value}>={constant(argument.low)}"
    if math.isfinite(argument.high):
        yield f"{value}<={constant(argument.high)}"


def _all(conditions: list[str]) -> str:
    return conditions[0] if len(conditions) == 1 else f"AND({','.join(conditions)})"
