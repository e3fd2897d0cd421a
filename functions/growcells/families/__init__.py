"""The cell functions, a module a subject."""

from __future__ import annotations

import functools
import importlib
from collections.abc import Mapping
from types import MappingProxyType

from ..cells.cell_function import CellFunction
from ..cells.registry import FAMILIES, declared

MODULES = (
    "volume",
    "water",
    "dose",
    "stock",
    "nutrients",
    "ppm",
    "balance",
    "recipes",
    "conductivity",
    "acid",
    "cost",
    "seed",
    "growth",
    "trial",
    "rates",
    "shares",
    "factors",
    "sizes",
    "climate",
    "help",
)
"""The modules of this folder, in the order in which people read about them."""


@functools.cache
def functions() -> Mapping[str, CellFunction]:
    """All cell functions by name, in the order in which people read about them."""
    for module in MODULES:
        importlib.import_module(f"{__name__}.{module}")

    def place(function: CellFunction) -> tuple[int, int]:
        # A module may have been imported before its turn.
        module = function.calculation.__module__.rpartition(".")[2]
        return FAMILIES.index(function.family), MODULES.index(module)

    return MappingProxyType({function.name: function for function in sorted(declared().values(), key=place)})
