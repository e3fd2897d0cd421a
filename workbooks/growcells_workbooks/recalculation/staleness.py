"""Whether the value that a formula gives proves the stored one to be old."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from .contents import doubtful_operands, trust_in_contents
from .native import CANCELS_NOTHING, LESS_EXACT, OF_LANGUAGE
from .readers import CellPlace
from .trust import Trust

if TYPE_CHECKING:
    from .computation import Computation

_LEFT_OVER = 1e-12  # of a number, what its last digits may leave where one nearly as large is taken from it: ours
_POINTS = str.maketrans({",": ".", "\u00a0": None, "\u202f": None, "'": None, " ": None, "\r": None, "\n": None})
"""What languages put between the figures of a number, and systems between lines, made one."""
_EARLIER = 1e-6
"""Of a number, what earlier versions of Excel are off by in functions that later ones compute more exactly: ours."""


def is_stale(computation: Computation, place: CellPlace) -> bool:
    """Whether a formula's own value, for which nothing else accounts, proves the stored one to be old."""
    formula = computation.formulas[place]
    in_contents = trust_in_contents(formula, computation.engine, doubtful_operands(formula.reading))
    firm = formula.trust is Trust.FIRM and in_contents is Trust.FIRM
    plain = formula.cell.area is None and not formula.reading.anywhere
    return firm and plain and not computation.package.book.computes_by_hand


def is_accounted_for(computation: Computation, place: CellPlace) -> bool:
    """Whether a formula's value may differ from the stored one though nothing that it reads was changed."""
    return (
        _is_left_over(computation, place)
        or _is_of_language(computation, place)
        or _is_of_earlier_version(computation, place)
    )


def _is_of_earlier_version(computation: Computation, place: CellPlace) -> bool:
    """Whether a value differs from the stored one by no more than an earlier version of Excel may be off by."""
    if all(function not in LESS_EXACT for function, _, _ in computation.formulas[place].reading.uses):
        return False
    value, stored = computation.engine.value(*place), computation.stored(computation.formulas[place].cell)
    return isinstance(value, float) and isinstance(stored, float) and math.isclose(value, stored, rel_tol=_EARLIER)


def _is_of_language(computation: Computation, place: CellPlace) -> bool:
    """Whether a value may differ from the stored one by the language of the program that stored it: a number in a
    text has a comma in some, and a point in others."""
    formula = computation.formulas[place]
    if any(function in OF_LANGUAGE for function, _, _ in formula.reading.uses):
        return True
    value, stored = computation.engine.value(*place), computation.stored(formula.cell)
    return isinstance(value, str) and isinstance(stored, str) and value.translate(_POINTS) == stored.translate(_POINTS)


def _is_left_over(computation: Computation, place: CellPlace) -> bool:
    """Whether a value differs from the stored one by no more than what is left of large numbers that cancel."""
    formula = computation.formulas[place]
    value, stored = computation.engine.value(*place), computation.stored(formula.cell)
    if not isinstance(value, float) or not isinstance(stored, float):
        return False
    functions = {function for function, _, _ in formula.reading.uses}
    if functions <= CANCELS_NOTHING:
        return False
    cells = (
        computation.engine.value(sheet, area.first_row, area.first_column)
        for sheet, area in formula.cells_read()
        if area.rows == area.columns == 1
    )
    sizes = [abs(cell) for cell in cells if isinstance(cell, float) and cell]
    divisor = max(1.0, min(sizes, default=1.0)) if "/" in functions else 1.0  # or a smaller one, a number in it
    return abs(value - stored) <= _LEFT_OVER * max(sizes, default=0.0) / divisor
