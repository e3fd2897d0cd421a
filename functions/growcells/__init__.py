"""Grow calculations as cell functions: volumes, doses, what the water contains, costs.

Every cell function is an attribute of this package: ``growcells.GROW_VOLUME_BOX(45, 29, 5)``.
"""

from __future__ import annotations

from .errors import CellError, GrowError
from .registry import CellFunction, functions

__all__ = ["CellError", "CellFunction", "GrowError", "functions"]


def __getattr__(name: str) -> CellFunction:
    """The cell function of this name."""
    try:
        return functions()[name]
    except KeyError:
        raise AttributeError(f"growcells has no {name}") from None


def __dir__() -> list[str]:
    return [*__all__, *functions()]
