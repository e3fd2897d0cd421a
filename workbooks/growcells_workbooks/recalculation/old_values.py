"""Which formulas keep a value that may be old, and which others rest on them."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from .readers import CellPlace

if TYPE_CHECKING:
    from .computation import Computation

OLD = "it is old, since a cell that it depends on has changed"


def kept_and_why(
    computation: Computation, new: Collection[CellPlace], asked: Collection[CellPlace]
) -> dict[CellPlace, str]:
    """The formulas that would have to be computed and are not, and why.

    ``new`` is the cells with a new value, ``asked`` the formulas that are computed whatever their stored value.
    """
    refused, formulas = computation.refused, computation.formulas
    idle = {place: None for place in (*refused, *computation.pinned)}
    if not idle:
        return {}
    old = computation.readers.reached(new, idle) if new else {}
    kept: dict[CellPlace, str] = {}
    for place in formulas:
        if place in idle:
            why = refused.get(place, "its stored value is not what the engine gives")
            if place in refused and place in asked:
                kept[place] = why
            elif place in old or (new and formulas[place].reading.anywhere):
                kept[place] = f"{OLD}; {why}"
    return kept


def resting_on(computation: Computation, kept: Collection[CellPlace]) -> dict[CellPlace, CellPlace]:
    """The formulas that depend on kept ones, and the one that each depends on."""
    if not kept:
        return {}
    among = {place: None for place in computation.formulas if place not in kept}
    origins = (cell for place in kept for cell in computation.places_of(place))
    return {place: computation.owner(origin) for place, origin in computation.readers.reached(origins, among).items()}
