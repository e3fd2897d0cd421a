"""How most cells go: plain numbers in default units, nothing optional given. Then a call is its arithmetic alone."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from growcells import CellFunction
from growcells.cells.arguments import ROUNDING, Argument
from growcells.cells.kinds import FRACTION, MONEY, NUMBER, STRENGTH, Quantity
from growcells.cells.liquids import ProductQuantity
from growcells.families.climate import HUMIDITY

from .argument_formulas import chosen_body, core_name, parameters
from .compiled_bodies import Formula, constant, record_formula

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
    values = {argument.name: Formula(number_in(argument, argument.name)) for argument in required}
    formula = arithmetic(function, values, *map(constant, result_factors(function)))
    omitted = [f"ISOMITTED({argument.name})" for argument in function.arguments if not argument.required]
    # The type of a number, and of a blank, is 1, and the least there is.
    types = "+".join(f"TYPE({argument.name})" for argument in required)
    single = [*omitted, f"{types}={len(required)}"]
    limits = [limit for argument in required for limit in limits_of(argument, argument.name)]
    condition = f"IF({all_of(single)},{all_of(limits)},FALSE)"
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


def arithmetic(function: CellFunction, values: Mapping[str, object], slope: str, offset: str) -> str:
    """The calculation on values in the units of calculations, by the names of arguments; the others have their default.

    A value is a formula, or what is known beforehand. ``slope`` and ``offset`` turn the result into its unit.
    """
    scope: dict[str, object] = {}
    for parameter, argument in zip(parameters(function), function.values, strict=True):
        value = values.get(argument.name, argument.default)
        local = record_formula(f"{argument.name}_", value.record) if isinstance(value, Formula) else value
        scope[parameter] = local
    body = chosen_body(function, scope)
    lets: list[str] = []
    for name, value in values.items():
        place = re.compile(rf"(?<![\w.]){name}_(?!\w)")
        if isinstance(value, Formula):
            if len(place.findall(body)) > 1 and not value.isidentifier():
                lets += (f"{name}_", value)
            else:
                body = place.sub(value, body)
    surely = _NEVER_NEGATIVE.fullmatch(body) and not any(argument.negative for argument in function.values)
    given = body if function.result.negative or surely else "result_value"
    turned = given if offset == "0" else f"({given}-{offset})"
    turned = turned if slope == "1" else f"{turned}/{slope}"
    if given is not body:
        turned = f"IF({given}<0,#NUM!,{turned})"
        lets += (given, body)
    return f"LET({','.join([*lets, turned])})" if lets else turned


def result_factors(function: CellFunction) -> tuple[float, float]:
    """Slope and offset of the unit that a result has where none is asked for."""
    kind = function.result.kind
    return kind.factors(None) if isinstance(kind, Quantity) else (1.0, 0.0)


def factors_of(argument: Argument) -> tuple[float, float]:
    """Slope and offset of the unit that an argument has where none is given."""
    return argument.kind.factors(None) if isinstance(argument.kind, Quantity) else (1.0, 0.0)


def number_in(argument: Argument, cell: str, slope: str = "", offset: str = "") -> str:
    """A plain number of a cell in the unit of calculations."""
    if argument.kind is HUMIDITY.kind:
        return f"IF({cell}>1,{cell}/100,{cell})"
    usual = factors_of(argument)
    slope, offset = slope or constant(usual[0]), offset or constant(usual[1])
    times = cell if slope == "1" else f"{cell}*{slope}"
    shifted = times if offset == "0" else f"{times}+{offset}"
    return shifted if shifted == cell else f"({shifted})"


def limits_of(argument: Argument, cell: str, value: str = "") -> Iterator[str]:
    """When a plain number, which is ``value`` in the unit of calculations, is one that the argument takes."""
    if argument.zero:
        yield f"ISNUMBER({cell})"
    if not argument.negative:
        yield f"{cell}>=0" if argument.zero else f"{cell}>0"
    elif not argument.zero:
        yield f"{cell}<>0"
    if argument.kind in GREATEST:
        yield f"{cell}<={GREATEST[argument.kind]}"
    value = value or number_in(argument, cell)
    if math.isfinite(argument.low):
        yield f"{value}>={constant(argument.low - ROUNDING)}"
    if math.isfinite(argument.high):
        yield f"{value}<={constant(argument.high + ROUNDING * max(1.0, argument.high))}"


def all_of(conditions: Sequence[str]) -> str:
    """That all conditions hold."""
    return conditions[0] if len(conditions) == 1 else f"AND({','.join(conditions)})"
