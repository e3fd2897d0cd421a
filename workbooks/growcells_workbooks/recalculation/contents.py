"""What the cells hold that a formula hands to a function: numbers, texts, errors. Some functions are proven for a kind.

A form of an argument, such as a cell, stands for all kinds in the table of what is proven; where a kind differs more
from Excel than the others, it has a row of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from .cells import ErrorValue
from .engine import Engine, Uncomputed
from .readings import Reading, Use
from .sheet_formulas import FormulaCell
from .trust import Trust, trust_of_kinds

MOST_LOOKED_AT = 1_000
"""Cells of a range that are looked at: ours. A larger one has no kind."""


def kind_in(values: Iterable[object]) -> str:
    """The kind of what cells hold: e an error among them, t texts, l truths, n numbers, b nothing."""
    kinds = {_kind(value) for value in values}
    return next((kind for kind in "etln" if kind in kinds), "b")


def _kind(value: object) -> str:
    if isinstance(value, (ErrorValue, Uncomputed)):
        return "e"
    if isinstance(value, bool):
        return "l"
    if isinstance(value, str):
        return "t"
    return "b" if value is None else "n"


def kinds_used(formula: FormulaCell, engine: Engine) -> Iterator[tuple[Use, str]]:
    """The uses of a formula whose argument is a reference, and the kind of what it holds."""
    return _kinds(formula.reading.operands, formula, engine)


Operands = Sequence[tuple[Use, int]]
"""Uses of a formula whose argument is a reference, each with the number of that."""


def doubtful_operands(reading: Reading) -> Operands:
    """Those on which the trust in a formula hangs with what their cells hold."""
    return [operand for operand in reading.operands if trust_of_kinds(operand[0])]


def trust_in_contents(formula: FormulaCell, engine: Engine, doubtful: Operands) -> Trust:
    """How far a formula is trusted with what its doubtful operands hold now."""
    found = _kinds(doubtful, formula, engine)
    return min((trust_of_kinds(use).get(kind, Trust.FIRM) for use, kind in found), default=Trust.FIRM)


def _kinds(operands: Operands, formula: FormulaCell, engine: Engine) -> Iterator[tuple[Use, str]]:
    areas = formula.copies.areas(formula.reading)
    for use, number in operands:
        corners = areas[number]
        if corners is None:
            continue
        area = corners.at(formula.cell.place[0])
        if area.rows * area.columns <= MOST_LOOKED_AT:
            yield use, kind_in([engine.value(corners.sheet, *place) for place in area.places()])
