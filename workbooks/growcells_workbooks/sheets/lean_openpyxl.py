"""openpyxl without what it imports wherever it is installed, and what a report does not need."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from typing import TypeVar

from ..gate import Progress

T = TypeVar("T")
NUMBERS, PICTURES = "numpy", "PIL"
"""What openpyxl takes cells' numbers and pictures from, if it can: to import them takes half as long as itself."""


def with_lean_openpyxl(work: Callable[[Progress], T], pictures: bool, progress: Progress) -> T:
    """Do work that gives openpyxl numbers of Python alone, and no pictures but where it is said.

    For a process that ends with the work: openpyxl stays without them in it, all else finds them as ever.
    """
    hidden = [name for name in (NUMBERS, *([] if pictures else [PICTURES])) if name not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]  # None says that there is no such module
    try:
        importlib.import_module("openpyxl")
    finally:
        for name in hidden:
            del sys.modules[name]
    return work(progress)
