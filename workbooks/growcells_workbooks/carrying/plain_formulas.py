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
from .shorter_formulas import bounds, folded, parts_of, tree

LONGEST = 400
"""Characters of arithmetic beyond which it is a name of its own: an engine copies what is typed for each call."""

GREATEST = {FRACTION: "1", HUMIDITY.kind: "100"}
"""The greatest number of kinds that have one; a humidity above 1 is in percent."""


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
    condition = certainty(required, [argument for argument in function.arguments if not argument.required])
    if len(formula) <= LONGEST:
        return PlainFormula(condition, formula)
    given = ",".join(argument.name for argument in required)
    return PlainFormula(condition, f"{plain_name(function)}({given})", f"LAMBDA({given},{formula})")


def certainty(required: Sequence[Argument], optional: Sequence[Argument]) -> str:
    """That all required arguments are single numbers above zero within their limits, and that no other is given.

    The core reads all else, a zero or a number below it too where an argument takes them. Written for the engine that
    is slowest at comparing: of what TYPE gives only that of a number is odd, and a number is true where it is not zero.
    """
    names = [argument.name for argument in required]
    single = [
        *(f"ISOMITTED({argument.name})" for argument in optional),
        *(f"ISNUMBER({name})" for name in names),
        f"ISODD(MAX({','.join(f'TYPE({name})' for name in names)}))",
    ]
    limits = [f"MAX(MIN({','.join(names)}),0)"]
    for argument in required:
        value = number_in(argument, argument.name)
        if argument.kind in GREATEST:
            limits.append(f"{argument.name}<={GREATEST[argument.kind]}")
        limits += [f"{value}>={constant(argument.low)}"] if argument.low > 0 else []
        limits += [f"{value}<={constant(argument.high)}"] if math.isfinite(argument.high) else []
    return f"IF(AND({','.join(single)}),{all_of(limits)},FALSE)"


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
    sure = function.result.negative or _never_negative(function, body)
    lets: list[str] = []
    for name, value in values.items():
        place = re.compile(rf"(?<![\w.]){name}_(?!\w)")
        if isinstance(value, Formula):
            if len(place.findall(body)) > 1 and not value.isidentifier():
                lets += (f"{name}_", value)
            else:
                body = place.sub(value, body)
    inner = parts_of(body, "LET")
    if inner:
        *named, body = inner
        lets += named
    given = body if sure else "result_value"
    turned = given if offset == "0" else f"({given}-{offset})"
    turned = folded(turned if slope == "1" else f"{turned}/{slope}")
    if given is not body:
        turned = f"IF({given}<0,#NUM!,{turned})"
        lets += (given, body)
    return f"LET({','.join([*lets, turned])})" if lets else turned


def _never_negative(function: CellFunction, body: str) -> bool:
    """Whether a body gives nothing below zero, whatever its arguments are."""
    known = {}
    for argument in function.values:
        low, high = (0.0, 1.0) if argument.kind in GREATEST else (argument.low, argument.high)
        known[f"{argument.name}_"] = (low if argument.negative else max(0.0, low), high)
    parsed = tree(body)
    return parsed is not None and bounds(parsed, known)[0] >= 0


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
