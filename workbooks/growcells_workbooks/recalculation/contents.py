"""What the cells hold that a formula hands to a function: numbers, texts, errors. Some functions are proven for a kind.

A form of an argument, such as a cell, stands for all kinds in the table of what is proven; where a kind differs more
from Excel than the others, it has a row of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..gate import FileProblem
from .cells import ErrorValue, cell_name
from .engine import Engine, Uncomputed
from .readers import CellPlace
from .readings import Reading, Use, filled_in
from .references import read_area_of
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


def kinds_used(reading: Reading, moving: list[str], owner: CellPlace, engine: Engine) -> Iterator[tuple[Use, str]]:
    """The uses of a formula whose argument is a reference, and the kind of what it holds."""
    return _kinds(reading.operands, reading, moving, owner, engine)


def hangs_on_contents(reading: Reading) -> bool:
    """Whether the trust in a formula hangs on what its cells hold."""
    return any(trust_of_kinds(use) for use, _ in reading.operands)


def trust_in_contents(reading: Reading, moving: list[str], owner: CellPlace, engine: Engine) -> Trust:
    """How far a formula is trusted with what its cells hold now."""
    doubtful = [operand for operand in reading.operands if trust_of_kinds(operand[0])]
    found = _kinds(doubtful, reading, moving, owner, engine)
    return min((trust_of_kinds(use).get(kind, Trust.FIRM) for use, kind in found), default=Trust.FIRM)


def _kinds(
    operands: Iterable[tuple[Use, int]], reading: Reading, moving: list[str], owner: CellPlace, engine: Engine
) -> Iterator[tuple[Use, str]]:
    _, row, column = owner
    for use, number in operands:
        sheet, text = reading.areas[number]
        try:
            area = read_area_of(filled_in(text, moving, row, cell_name(row, column), ("", "")))
        except FileProblem:  # a cell that no sheet has
            continue
        if area.rows * area.columns <= MOST_LOOKED_AT:
            yield use, kind_in(engine.value(sheet, *place) for place in area.places())
