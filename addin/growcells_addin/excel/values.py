"""Cell values on their way from Excel to a function and back, the same for every kind of Excel."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from growcells.cells.errors import ERROR_CODES, CellError
from growcells.cells.kinds import LONGEST_TEXT

ERROR_MARK = "#GROW! "
"""How a text begins that stands for an error where Excel cannot be given a real one."""

# #N/A has no mark at its end, #GETTING_DATA neither; all other errors of Excel end in ! or ?.
_ERROR_TEXT = re.compile(r"#(?:N/A|GETTING_DATA|[A-Z0-9_/]+[!?])")

# COM hands an error cell over as this number plus 2000 to 2099 (Microsoft, "XlCVError enumeration").
# xlwings turns the seven classic ones into texts; the newer ones arrive as the number itself.
_COM_ERROR_BASE = -2_146_828_288
_COM_ERRORS = range(_COM_ERROR_BASE + 2000, _COM_ERROR_BASE + 2100)
_SPILL = _COM_ERROR_BASE + 2045


def from_excel(value: object) -> object:
    """What xlwings hands over for one argument, as growcells takes it.

    A single cell, also as a range of one cell, is its value; a range is a tuple of row tuples. A flat list is
    one row, as xlwings delivers a range one row high.
    """
    if not isinstance(value, (list, tuple)):
        return _cell_from_excel(value)
    rows = value if value and isinstance(value[0], (list, tuple)) else [value]
    cells = tuple(tuple(_cell_from_excel(cell) for cell in row) for row in rows)
    if len(cells) == 1 and len(cells[0]) == 1:
        return cells[0][0]
    return cells


def to_excel(value: object, *, real_errors: bool, coded: bool = False) -> object:
    """The result of a function as xlwings takes it: a value, or a list of rows.

    An error becomes its code where Excel makes an error value of that, otherwise a text that begins with
    ``#GROW! `` and says what to type; with ``coded`` its code stands there, for a macro.
    """
    if isinstance(value, (list, tuple)):
        return [[_cell_to_excel(cell, real_errors, coded) for cell in _row(row)] for row in value]
    return _cell_to_excel(value, real_errors, coded)


def _row(row: object) -> Sequence[object]:
    return row if isinstance(row, (list, tuple)) else (row,)


def _cell_from_excel(cell: object) -> object:
    if isinstance(cell, Decimal):  # a cell formatted as currency
        return float(cell)
    if isinstance(cell, int) and cell in _COM_ERRORS:
        return CellError("#SPILL!" if cell == _SPILL else "#VALUE!")
    if not isinstance(cell, str):
        return cell
    if cell.startswith(ERROR_MARK):
        return CellError("#VALUE!", cell.removeprefix(ERROR_MARK))
    if _ERROR_TEXT.fullmatch(cell):
        return CellError(cell)
    return cell


def _cell_to_excel(cell: object, real_errors: bool, coded: bool) -> object:
    if isinstance(cell, CellError):
        if coded:
            return ERROR_MARK + cell.code
        if real_errors and cell.code in ERROR_CODES:
            return cell.code
        cell = ERROR_MARK + (cell.message or f"{cell.code} is in a cell of this formula: mend that cell first")
    return cell[:LONGEST_TEXT] if isinstance(cell, str) else cell
