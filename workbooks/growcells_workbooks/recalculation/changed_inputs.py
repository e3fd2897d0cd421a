"""What a program that does not calculate has changed, as formulas show that are stale for sure."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from .contents import MOST_LOOKED_AT
from .readers import CellPlace

if TYPE_CHECKING:
    from .computation import Computation


def beside_changed(computation: Computation, differing: Collection[CellPlace]) -> set[CellPlace]:
    """The formulas that read a typed cell which may have changed, since one whose value differs reads it too.

    One that reads another of those differs for that reason, and shows nothing of what is typed.
    """
    of = computation.readers.of
    rest = {reader for place in differing for cell in computation.places_of(place) for reader in of(cell)}
    roots = (place for place in differing if place not in rest and _shows_change(computation, place))
    return {reader for cell in {cell for root in roots for cell in _typed(computation, root)} for reader in of(cell)}


def _shows_change(computation: Computation, place: CellPlace) -> bool:
    """Whether a new value shows that what the formula reads was changed: not where there was none, as where growcells
    was not installed, nor where the clock or chance has changed it."""
    formula = computation.formulas[place]
    stored = computation.stored(formula.cell)
    return isinstance(stored, float) and stored != 0 and not formula.reading.clock and not formula.reading.random


def _typed(computation: Computation, place: CellPlace) -> Iterator[CellPlace]:
    """The typed cells that a formula reads, in ranges of which all cells are looked at."""
    for sheet, area in computation.formulas[place].cells_read():
        if area.rows * area.columns <= MOST_LOOKED_AT:
            for row, column in area.places():
                if not computation.is_of_formula((sheet, row, column)):
                    yield sheet, row, column
