"""What is typed, as a formula: plain numbers at once, other cells by the core, and of ranges each row in turn."""

from __future__ import annotations

from growcells import CellFunction
from growcells.cells.arguments import Argument
from growcells.cells.ranges import Column
from growcells.terms.analyses import ANALYSIS

from .argument_formulas import core_name
from .plain_formulas import PlainFormula


def typed_formula(function: CellFunction, plain: PlainFormula | None) -> str:
    """The formula under the name that is typed. An engine copies the whole of it for each call: it is short."""
    if not function.arguments:
        return f"LAMBDA({core_name(function)}())"
    listed = (argument.name if argument.required else f"[{argument.name}]" for argument in function.arguments)
    call = any_cells(function)
    chosen = f"IF({plain.condition},{plain.formula},{call})" if plain else call
    return f"LAMBDA({','.join([*listed, chosen])})"


def any_cells(function: CellFunction) -> str:
    """The core for whatever is given: single cells at once, of ranges each row in turn, a column as a whole."""
    spread = [argument for argument in function.arguments if not isinstance(argument.kind, Column)]
    core = core_name(function)
    if len(spread) < len(function.arguments):
        names = (f"{argument.name}_cell" if argument in spread else argument.name for argument in function.arguments)
        parameters = ",".join(f"{argument.name}_cell" for argument in spread)
        core = f"LAMBDA({parameters},{core}({','.join(names)}))"
    return f"{each_name(len(spread))}({','.join([core, *map(_given, spread)])})"


def _given(argument: Argument) -> str:
    """An argument as the core takes it: an empty text where it is left out."""
    if argument.kind is ANALYSIS:
        return f"GROWCELLS.ANALYSIS_TEXT({argument.name})"
    return argument.name if argument.required else f'IF(ISOMITTED({argument.name}),"",{argument.name})'


def each_name(cells: int) -> str:
    """The name that hands so many cells, or ranges of them, to a core."""
    return f"{EACH}{cells}"


def each_formula(count: int, most: int) -> str:
    """The formula that hands so many cells to a core at once, and ranges row by row to one of ``most`` cells."""
    cells = [f"cell_{number}" for number in range(1, count + 1)]
    items = ",".join(f"item_{number}" for number in range(1, most + 1))
    taken = ",".join(f"item_{number}" for number in range(1, count + 1))
    types = ",".join(f"TYPE({cell})" for cell in cells)
    given = ",".join([*cells, *['""'] * (most - count)])
    return f"""LAMBDA(core,{",".join(cells)},IF(MAX({types})<{RANGE_TYPE},core({",".join(cells)}),
        {ROWS}(LAMBDA({items},core({taken})),{given})))"""


def rows_formula(most: int) -> str:
    """The formula that hands each row of ranges to a core of so many cells."""
    cells = [f"cell_{number}" for number in range(1, most + 1)]
    heights = ",".join(f"IFERROR(ROWS({cell}),1)" for cell in cells)
    widths = ",".join(f"IFERROR(COLUMNS({cell}),1)" for cell in cells)
    fits = ",".join(f"GROWCELLS.FITS({cell},rows_given,columns_given)" for cell in cells)
    items = ",".join(f"GROWCELLS.ITEM({cell},row_given,column_given)" for cell in cells)
    blank = ",".join(f"GROWCELLS.BLANK({cell},row_given,column_given)" for cell in cells)
    return f"""LAMBDA(core,{",".join(cells)},LET(rows_given,MAX({heights}),columns_given,MAX({widths}),
        IF(AND({fits}),MAKEARRAY(rows_given,columns_given,LAMBDA(row_given,column_given,
            IF(AND({blank}),"",core({items})))),#VALUE!)))"""


RANGE_TYPE = 64
"""What TYPE gives of more than one cell."""
ROWS = "GROWCELLS.ROWS"
"""The name that hands each row of ranges to a core."""
EACH = "GROWCELLS.EACH_"

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
