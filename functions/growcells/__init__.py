"""Grow calculations as cell functions: volumes, doses, what the water contains, costs.

``growcells.call("GROW_DOSE", "34 gal", "1.8 g/gal")`` computes as a cell does, units and all; the functions below
``growcells.families`` are the formulas alone, in the units that each of them names.
"""

from __future__ import annotations

from .cells.cell_function import CellFunction
from .cells.errors import CellError, GrowError
from .families import functions

__all__ = ["CellError", "CellFunction", "GrowError", "call", "functions"]


def call(name: str, *cells: object, **named: object) -> object:
    """What a cell function gives for cells: numbers, texts with units, ranges; the last of them by their names too.

    >>> call("GROW_DOSE", "34 gal", rate="1.8 g/gal", mass_unit="oz")
    2.158...

    Raises KeyError for no such function, TypeError for no such argument, GrowError where the cells are wrong.
    """
    function = functions()[name]
    return function(*function.in_order(cells, named))
