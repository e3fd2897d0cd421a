"""Whether the value that a formula gives proves the stored one to be old."""

from __future__ import annotations

import calendar
import math
import re
from typing import TYPE_CHECKING

from .contents import doubtful_operands, trust_in_contents
from .engine import Uncomputed
from .native import CANCELS_NOTHING, LESS_EXACT, OF_LANGUAGE
from .readers import CellPlace
from .sheet_edits import agrees
from .trust import Trust

if TYPE_CHECKING:
    from collections.abc import Set

    from .computation import Computation
    from .sheet_formulas import FormulaCell

_LEFT_OVER, _OF_MOD = 1e-12, 1e-9
"""Of a number, what its last digits may leave where one nearly as large is taken from it, and up to how much they
decide in MOD whether a small one goes into it once more: ours."""
_POINTS = str.maketrans({",": ".", "\u00a0": None, "\u202f": None, "'": None, " ": None, "\r": None, "\n": None})
"""What languages put between the figures of a number, and systems between lines, made one."""
_WORD = re.compile(r"[^\W\d_]+")
_ENGLISH = frozenset(
    name.casefold()
    for names in (calendar.day_name, calendar.day_abbr, calendar.month_name, calendar.month_abbr)
    for name in names
)
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
    """Whether a formula's values may differ from the stored ones though nothing that it reads was changed."""
    formula = computation.formulas[place]
    functions = {function for function, _, _ in formula.reading.uses}
    room = _left_over(computation, formula, functions)
    earlier = 0.0 if functions.isdisjoint(LESS_EXACT) else _EARLIER
    for cell in computation.cells_of(place):
        value, stored = computation.engine.value(place[0], *cell.place), computation.stored(cell)
        if isinstance(value, Uncomputed):
            return False
        if agrees(stored, value):
            continue
        if isinstance(value, str) and isinstance(stored, str):
            of_language = _is_of_language(functions, value, stored)
        else:
            of_language = computation.package.book.of_other_language and not functions.isdisjoint(OF_LANGUAGE)
        if of_language:
            continue
        if not (isinstance(value, float) and isinstance(stored, float)):
            return False
        if not math.isclose(value, stored, rel_tol=earlier, abs_tol=room):
            return False
    return True


def _is_of_language(functions: Set[str], value: str, stored: str) -> bool:
    """Whether a text may differ from the stored one by the language or the system of the program that stored it: a
    number in a text has a comma in some, and a point in others; its figures are the same in all, and a name of a day
    or a month that is English is none of another language."""
    if value.translate(_POINTS) == stored.translate(_POINTS):
        return True
    if not functions.isdisjoint(OF_LANGUAGE):
        same_figures = sorted(filter(str.isdigit, value)) == sorted(filter(str.isdigit, stored))
        words, before = ({*_WORD.findall(text.casefold())} for text in (value, stored))
        return same_figures and (words == before or not before <= words | _ENGLISH)
    return "CHAR" in functions and not (value.isascii() and stored.isascii())


def _left_over(computation: Computation, formula: FormulaCell, functions: Set[str]) -> float:
    """How much may be left of large numbers that cancel."""
    if functions <= CANCELS_NOTHING:
        return 0.0
    cells = (
        computation.engine.value(sheet, area.first_row, area.first_column)
        for sheet, area in formula.cells_read()
        if area.rows == area.columns == 1
    )
    sizes = [abs(cell) for cell in cells if isinstance(cell, float) and cell]
    divisor = max(1.0, min(sizes, default=1.0)) if "/" in functions else 1.0  # or a smaller one, a number in it
    return (_OF_MOD if "MOD" in functions else _LEFT_OVER) * max(sizes, default=0.0) / divisor
