"""Which formulas keep a value that may be old, and which others rest on them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from growcells.cells.number_texts import count

from .cells import cell_name
from .changed_inputs import beside_changed
from .readers import CellPlace

if TYPE_CHECKING:
    from .computation import Computation
    from .deciding import Deciding

MOST_NAMED = 5
"""Formulas that a sentence names: ours."""
OLD = "it is old, since a cell that it depends on has changed"
PERHAPS = "it may be old, since a cell that it reads seems to have changed"
DIFFERS = "its stored value is not what the engine gives"
UNDECIDED = (
    "another value is computed for it here, and nothing tells whether the stored one is old: growcells recalc --all "
    "writes the other"
)


def kept_and_why(computation: Computation, new: Collection[CellPlace], decided: Deciding) -> dict[CellPlace, str]:
    """The formulas that would have to be computed and are not, or of which nothing tells, and why.

    ``new`` is the cells with a new value.
    """
    refused, formulas = computation.refused, computation.formulas
    idle = {place: None for place in (*refused, *computation.pinned)}
    if not idle:
        return {}
    old = computation.readers.reached(new, idle) if new else {}
    beside = beside_changed(computation, {computation.owner(place) for place in new}) if new else set()
    kept: dict[CellPlace, str] = {}
    for place in formulas:
        if place in idle:
            why = refused.get(place, DIFFERS)
            if place in refused and decided.has_reason(place):
                kept[place] = why
            elif place in old or (new and formulas[place].reading.anywhere):
                kept[place] = f"{OLD}; {why}"
            elif place in refused and place in beside:
                kept[place] = f"{PERHAPS}; {why}"
            elif place in decided.undecided:
                kept[place] = UNDECIDED
    return kept


def left_alone(computation: Computation) -> Iterator[str]:
    """Say which formulas nobody has looked at: they are not computed, and nothing shows that they are old."""
    if not computation.refused:
        return
    left = [place for place in computation.formulas if place in computation.refused and place not in computation.kept]
    if not left:
        return
    named = [f"{sheet}!{cell_name(row, column)}" for sheet, row, column in left[:MOST_NAMED]]
    if len(left) > MOST_NAMED:
        named.append(f"{len(left) - MOST_NAMED:,} more")
    yield (
        f"{count(len(left), 'formula')} not computed here; that and all that depends on it is left as stored, and "
        f"nothing shows whether it is old: {', '.join(named)}"
    )


def resting_on(computation: Computation, kept: Collection[CellPlace]) -> dict[CellPlace, CellPlace]:
    """The formulas that depend on kept ones, and the one that each depends on."""
    if not kept:
        return {}
    among = {place: None for place in computation.formulas if place not in kept}
    origins = (cell for place in kept for cell in computation.places_of(place))
    return {place: computation.owner(origin) for place, origin in computation.readers.reached(origins, among).items()}
