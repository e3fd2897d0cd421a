"""A carried function: its declaration and its compiled body as two names, one for single cells and one for ranges."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

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

from .compiled_bodies import COLUMN, LIST, NotNative, body_formula, constant, record_formula

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


@dataclass(frozen=True)
class NativeFunction:
    """A cell function as names of a workbook: ``core`` for single cells, ``outer`` for what is typed."""

    function: CellFunction
    core: str
    outer: str
    body: str = ""
    """The body, where it is so long that it is a name of its own."""


LONGEST_BODY = 2000
"""Characters of a body beyond which it is a name of its own, so that no formula is longer than Excel takes."""


def core_name(function: CellFunction) -> str:
    """The name of the part for single cells."""
    return f"GROWCELLS.{function.name.removeprefix('GROW_')}"


def body_name(function: CellFunction) -> str:
    """The name of a long body."""
    return f"{core_name(function)}_COMPUTED"


def native_function(function: CellFunction) -> NativeFunction:
    """The formulas of a cell function. Raises NotNative."""
    if function.is_table or any(argument.repeated for argument in function.arguments):
        raise NotNative("it gives a table, or takes any number of arguments")
    values = [record_formula(f"{argument.name}_", _record(argument)) for argument in function.values]
    body = _body(function, dict(zip(_parameters(function), values, strict=True)))
    if len(body) <= LONGEST_BODY:
        return NativeFunction(function, _core(function, body), _outer(function))
    named = f"LAMBDA({','.join([*values, body])})"
    call = f"{body_name(function)}({','.join(values)})"
    return NativeFunction(function, _core(function, call), _outer(function), named)


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
    inner = f"LET({result},{body},IF(ISERROR({result}),{result},{given}))"
    columns = {f"{argument.name}_" for argument in function.values if _record(argument) == COLUMN}
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
    lets = ",".join(f"{local},{formula}" for local, formula in computed.items())
    return f"LAMBDA({cells},LET({lets},{inner}))"


def _body(function: CellFunction, values: dict[str, object]) -> str:
    """The compiled body; where an argument is one of a few words, the body for each of them."""
    for parameter, argument in zip(_parameters(function), function.values, strict=True):
        if isinstance(argument.kind, Choice):
            bodies = [
                part
                for word in argument.kind.words
                for part in (constant(word), body_formula(function.calculation, {**values, parameter: word}))
            ]
            return f"SWITCH({values[parameter]},{','.join(bodies)})"
    return body_formula(function.calculation, values)


def _record(argument: Argument) -> str:
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
                yield f"{unit}_{part.lower()}", f'GROWCELLS.{part}("{kind.inside}",{unit}_cell,{default})'


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


def _parameters(function: CellFunction) -> list[str]:
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
        read = f'GROWCELLS.QUANTITY({cell},"{kind.inside}",{slope},{offset})'
        plain = f"{cell}*{slope}" + (f"+{offset}" if offset != "0" else "")
    elif kind in PLAIN_READERS:
        read = f"{PLAIN_READERS[kind]}({cell})"
        plain = cell if kind in (NUMBER, MONEY, STRENGTH) else read
    elif isinstance(kind, Choice):
        is_one = ",".join(f"LOWER(TRIM({cell}))={constant(word)}" for word in kind.words)
        read = f"IF(ISERROR({cell}),{cell},IF(OR({is_one}),LOWER(TRIM({cell})),#N/A))"
        return f'IF(ISERROR({cell}),{cell},IF(OR(TRIM({cell})="",TRIM({cell})="0"),{missing},{read}))'
    elif kind is UNIT:
        return f"IF(ISTEXT({cell}),TRIM({cell}),IF(ISERROR({cell}),{cell},#VALUE!))"
    elif isinstance(kind, Column) and kind.element is MONEY and argument.zero:
        return f"GROWCELLS.MONEY_COLUMN({cell})"
    elif kind in RECORD_READERS:
        read = f"{RECORD_READERS[kind][0]}({cell})"
        return f'IF(ISBLANK({cell}),{missing},IF(IF(ISTEXT({cell}),TRIM({cell})="",FALSE),{missing},{read}))'
    else:
        raise NotNative(f"{argument.name} is a kind of value that no formula reads: {kind.name}")
    value = f"{argument.name}_read"
    checks = list(_limit_checks(argument, value))
    zero = "" if argument.zero else f"IF({cell}=0,#VALUE!,"
    number = f"IF(ISNUMBER({cell}),{zero}{plain}{')' if zero else ''},{read})"
    limited = f"LET({value},{number},{_nested(checks, value)})" if checks else number
    return f'IF(ISBLANK({cell}),{missing},IF(IF(ISTEXT({cell}),TRIM({cell})="",FALSE),{missing},{limited}))'


def has_offsets(kind: Quantity) -> bool:
    """Whether units of a kind differ in their zero."""
    return kind.name == "temperature"


def _limit_checks(argument: Argument, value: str) -> Iterator[str]:
    """Conditions under which a value cannot be."""
    if not argument.negative:
        zero_ok = argument.zero or argument.rare_zero
        yield f"{value}<0" if zero_ok else f"{value}<=0"
    if math.isfinite(argument.low):
        yield f"{value}<{constant(argument.low)}-1E-12"
    if math.isfinite(argument.high):
        yield f"{value}>{constant(argument.high)}+1E-12*MAX(1,{value})"


def _nested(checks: list[str], value: str) -> str:
    condition = checks[0] if len(checks) == 1 else f"OR({','.join(checks)})"
    return f"IF(ISERROR({value}),{value},IF({condition},#NUM!,{value}))"


def _outer(function: CellFunction) -> str:
    """The formula for what is typed: single cells go to the core, of ranges each row in turn."""
    names = [argument.name for argument in function.arguments]
    listed = ",".join(argument.name if argument.required else f"[{argument.name}]" for argument in function.arguments)
    if not names:
        return f"LAMBDA({core_name(function)}())"
    given = [
        f"GROWCELLS.ANALYSIS_TEXT({argument.name})"
        if argument.kind is ANALYSIS
        else argument.name
        if argument.required
        else f'IF(ISOMITTED({argument.name}),"",{argument.name})'
        for argument in function.arguments
    ]
    cells = [
        argument.name if said == argument.name else f"{argument.name}_given"
        for argument, said in zip(function.arguments, given, strict=True)
    ]
    lets = [
        part
        for cell, name, formula in zip(cells, names, given, strict=True)
        if cell != name
        for part in (cell, formula)
    ]
    spread = [
        cell for cell, argument in zip(cells, function.arguments, strict=True) if not isinstance(argument.kind, Column)
    ]
    heights = ",".join(f"IFERROR(ROWS({cell}),1)" for cell in spread)
    widths = ",".join(f"IFERROR(COLUMNS({cell}),1)" for cell in spread)
    fits = ",".join(f"GROWCELLS.FITS({cell},rows_given,columns_given)" for cell in spread)
    items = [f"GROWCELLS.ITEM({cell},row_given,column_given)" if cell in spread else cell for cell in cells]
    blank = ",".join(f"GROWCELLS.BLANK({cell},row_given,column_given)" for cell in spread)
    core = core_name(function)
    ranges = (
        f"IF(AND({fits}),MAKEARRAY(rows_given,columns_given,LAMBDA(row_given,column_given,"
        f'IF(AND({blank}),"",{core}({",".join(items)})))),#VALUE!)'
    )
    whole = (
        f"rows_given,MAX({heights}),columns_given,MAX({widths}),"
        f"IF(rows_given*columns_given=1,{core}({','.join(cells)}),{ranges})"
    )
    return f"LAMBDA({listed},LET({','.join([*lets, whole])}))"


RANGE_NAMES = {
    "GROWCELLS.FITS": """LAMBDA(cells,rows_given,columns_given,IF(IFERROR(ROWS(cells)*COLUMNS(cells),1)=1,TRUE,
        AND(ROWS(cells)=rows_given,COLUMNS(cells)=columns_given)))""",
    "GROWCELLS.ITEM": """LAMBDA(cells,row_given,column_given,IF(IFERROR(ROWS(cells)*COLUMNS(cells),1)=1,
        IF(TYPE(cells)=64,INDEX(cells,1,1),cells),INDEX(cells,row_given,column_given)))""",
    "GROWCELLS.BLANK": """LAMBDA(cells,row_given,column_given,IF(IFERROR(ROWS(cells)*COLUMNS(cells),1)=1,TRUE,
        LET(cell,INDEX(cells,row_given,column_given),IF(ISERROR(cell),FALSE,IF(ISBLANK(cell),TRUE,
            IF(ISTEXT(cell),TRIM(cell)="",FALSE))))))""",
}
"""The names by which ranges are taken cell by cell; single values repeat, and a wholly blank row stays blank."""
