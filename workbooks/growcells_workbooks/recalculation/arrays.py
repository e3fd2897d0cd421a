"""What the engine lacks of computing with ranges and arrays, as functions for it to call.

The engine computes operators, IF and IFERROR on each element of an array, but gives a function such as LEN or YEAR
only the first element. ``each`` computes such a function on every element, with an engine of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import formualizer

from .cells import cell_name
from .known_functions import argument_class

FIT = "GROWCELLS_FIT"
EACH = "GROWCELLS_EACH"
LAST_BELOW = "GROWCELLS_LOOKUP"
DIGITS = "GROWCELLS_DIGITS"
"""Names by which the engine's formulas call the functions of this module."""

SHOWN_DIGITS = 15
"""Significant digits of a number made into text: Excel specifications and limits, "number precision"."""

_ELEMENTS_AT_ONCE = 10_000  # the engine takes up larger blocks more slowly

Table = Sequence[Sequence[object]]
MISSING: dict[str, str] = {"type": "Error", "kind": "Na"}


def table_of(value: object) -> Table:
    """A value as rows of cells."""
    return value if isinstance(value, list) else [[value]]


def element(table: Table, row: int, column: int) -> object:
    """The element of an array that meets a larger one: a single row or column is repeated, beyond it is #N/A."""
    row = 0 if len(table) == 1 else row
    if row >= len(table):
        return MISSING
    column = 0 if len(table[row]) == 1 else column
    return table[row][column] if column < len(table[row]) else MISSING


def fit(result: object, rows: float, columns: float) -> list[list[object]]:
    """An array made to fill the cells of its array formula.

    One value, one row or one column is repeated, what is too much is left out, what is missing is #N/A, and a blank
    is 0: as LibreOffice does, which the tests compare.
    """
    table = table_of(result)
    filled = [[element(table, row, column) for column in range(int(columns))] for row in range(int(rows))]
    return [[0.0 if cell is None else cell for cell in row] for row in filled]


def each_in(date_system: str) -> Callable[..., list[list[object]]]:
    """The function that computes another one on every element of its arrays, days counted in that date system."""
    settings = formualizer.EvaluationConfig()
    settings.date_system = date_system

    def each(name: object, *arguments: object) -> list[list[object]]:
        tables = [table_of(argument) for argument in arguments]
        singles = [argument_class(str(name), index) == "e" for index in range(len(tables))]
        spread = [table for table, single in zip(tables, singles, strict=True) if single]
        rows, columns = max(len(table) for table in spread), max(len(table[0]) for table in spread)
        places = [(row, column) for row in range(rows) for column in range(columns)]
        values: list[object] = []
        for start in range(0, len(places), _ELEMENTS_AT_ONCE):
            book = formualizer.Workbook(config=formualizer.WorkbookConfig(eval_config=settings))
            values += computed(book, str(name), tables, singles, places[start : start + _ELEMENTS_AT_ONCE])
        return [values[row * columns : (row + 1) * columns] for row in range(rows)]

    return each


def computed(
    book: formualizer.Workbook,
    name: str,
    tables: Sequence[Table],
    singles: Sequence[bool],
    places: Sequence[tuple[int, int]],
) -> list[object]:
    """A function's values for the elements at these places of its arrays, computed in an empty workbook."""
    book.set_temporal_egress("serial")
    whole = {}
    for index, (table, single) in enumerate(zip(tables, singles, strict=True)):
        if not single:
            book.add_sheet(f"whole{index}_")
            book.set_values_batch(f"whole{index}_", 1, 1, [[literal(cell) for cell in row] for row in table])
            whole[index] = f"whole{index}_!A1:{cell_name(len(table), len(table[0]))}"
    book.add_sheet("each")
    book.set_values_batch("each", 1, 1, [[literal(element(table, *place)) for table in tables] for place in places])
    formulas = []
    for number in range(1, len(places) + 1):
        given = [whole.get(index) or cell_name(number, index + 1) for index in range(len(tables))]
        formulas.append([f"={name}({','.join(given)})"])
    book.set_formulas_batch("each", 1, len(tables) + 1, formulas)
    book.evaluate_all()
    return [book.get_value("each", number, len(tables) + 1) for number in range(1, len(places) + 1)]


def last_below(value: object, vector: object, results: object = None) -> object:
    """LOOKUP in a computed vector: the last element of the value's kind that is not above it, errors passed over.

    In a sorted vector that is what LOOKUP finds by halving; in one of errors and ones, the last one, which is how
    growers look up the latest reading.
    """
    cells = [cell for row in table_of(vector) for cell in row]
    found = [index for index, cell in enumerate(cells) if is_below(cell, value)]
    answers = cells if results is None else [cell for row in table_of(results) for cell in row]
    return answers[found[-1]] if found and found[-1] < len(answers) else MISSING


def is_below(cell: object, value: object) -> bool:
    """Whether a cell is of the value's kind and not above it; texts without regard to case."""
    if isinstance(cell, bool) or isinstance(value, bool):
        return isinstance(cell, bool) and isinstance(value, bool) and cell <= value
    if isinstance(cell, float) and isinstance(value, (float, type(None))):
        return cell <= (value or 0.0)
    return isinstance(cell, str) and isinstance(value, str) and cell.casefold() <= value.casefold()


def digits(value: object) -> object:
    """A number as it becomes text, rounded to the digits that are shown; anything else as it is."""
    if isinstance(value, list):
        return [[digits(cell) for cell in row] for row in value]
    if isinstance(value, float):
        return float(f"{value:.{SHOWN_DIGITS}g}")
    return "" if value is None else value


def literal(cell: object) -> object:
    """A cell value as the engine takes it."""
    if isinstance(cell, dict):
        return formualizer.LiteralValue.error(str(cell.get("kind")), None)
    return cell
