"""What is typed, as a formula: plain numbers at once, other cells by the core, and of ranges each row in turn."""

from __future__ import annotations

from growcells import CellFunction
from growcells.cells.ranges import Column
from growcells.terms.analyses import ANALYSIS

from .argument_formulas import core_name
from .plain_formulas import PlainFormula


def given_name(function: CellFunction) -> str:
    """The name of the part for whatever is given, arguments left out being empty texts."""
    return f"{core_name(function)}_GIVEN"


def typed_formula(function: CellFunction, plain: PlainFormula | None) -> str:
    """The formula under the name that is typed. An engine copies the whole of it for each call: it is short."""
    if not function.arguments:
        return f"LAMBDA({core_name(function)}())"
    listed = (argument.name if argument.required else f"[{argument.name}]" for argument in function.arguments)
    given = (
        argument.name if argument.required else f'IF(ISOMITTED({argument.name}),"",{argument.name})'
        for argument in function.arguments
    )
    call = f"{given_name(function)}({','.join(given)})"
    chosen = f"IF({plain.condition},{plain.formula},{call})" if plain else call
    return f"LAMBDA({','.join([*listed, chosen])})"


def given_formula(function: CellFunction) -> str:
    """The formula for whatever is given: single cells go to the core, of ranges each row in turn."""
    names = [argument.name for argument in function.arguments]
    texts = [
        f"{argument.name}_text,GROWCELLS.ANALYSIS_TEXT({argument.name})"
        for argument in function.arguments
        if argument.kind is ANALYSIS
    ]
    cells = [f"{argument.name}_text" if argument.kind is ANALYSIS else argument.name for argument in function.arguments]
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
    sizes = [f"rows_given,MAX({heights})", f"columns_given,MAX({widths})"]
    whole = f"IF(rows_given*columns_given=1,{core}({','.join(cells)}),{ranges})"
    return f"LAMBDA({','.join(names)},LET({','.join([*texts, *sizes, whole])}))"


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
