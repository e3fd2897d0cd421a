"""Powers that are too large for any number: Excel gives #NUM! for them, the engine #DIV/0! as for a power of zero."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .cells import ErrorValue
from .contents import MOST_LOOKED_AT
from .readers import CellPlace

if TYPE_CHECKING:
    from .computation import Computation

DIVISION_ERROR = ErrorValue("#DIV/0!")
_NUMBER_ERROR = ErrorValue("#NUM!")
_POWERS = frozenset(("^", "POWER"))
_NEVER_DIVIDE = _POWERS | {"", "+", "-", "*", "%", "&", "=", "<>", "<", ">", "<=", ">=", "IF", "SUM", "ROUND", "ABS"}
"""Functions and operators that give #DIV/0! for no values but errors."""


def may_be_too_large(computation: Computation, place: CellPlace) -> bool:
    """Whether #DIV/0! may stand for a power that is too large: where a formula has no other reason for it, and where
    Excel stored #NUM! for the formula."""
    formula = computation.formulas[place]
    functions = {function for function, _, _ in formula.reading.uses}
    if functions.isdisjoint(_POWERS):
        return False
    for sheet, area in formula.cells_read():
        if area.rows * area.columns <= MOST_LOOKED_AT and any(
            computation.engine.value(sheet, *cell) == DIVISION_ERROR for cell in area.places()
        ):
            return False
    return functions <= _NEVER_DIVIDE or computation.stored(formula.cell) == _NUMBER_ERROR
