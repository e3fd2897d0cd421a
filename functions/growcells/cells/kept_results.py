"""Results of slow functions, kept by the cells that they were asked for: a sheet computed again asks the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

MOST_RESULTS = 2048
"""Results kept of a function, those asked for last; more than a log has cells of a slow one, and a few MB of memory."""


@dataclass(frozen=True)
class Asked:
    """The cells of a call; equal where all are equal and of the same types: TRUE is not 1."""

    key: tuple[object, ...]
    cells: Sequence[object] = field(compare=False)


class KeptResults:
    """A function of cells that keeps what it gave. What it raises is not kept."""

    def __init__(self, compute: Callable[[Sequence[object]], object]) -> None:
        self._compute = compute
        self._kept = lru_cache(maxsize=MOST_RESULTS)(lambda asked: compute(asked.cells))

    def __call__(self, cells: Sequence[object]) -> object:
        """The result for these cells, computed where it is not kept."""
        asked = Asked(typed(cells), cells)
        try:
            hash(asked)
        except TypeError:  # a cell as no spreadsheet has it
            return self._compute(cells)
        return self._kept(asked)

    def count(self) -> tuple[int, int, int]:
        """How often a result was there, how often not, and how many are kept."""
        hits, misses, _, size = self._kept.cache_info()
        return hits, misses, size


def typed(cells: Sequence[object]) -> tuple[object, ...]:
    """Cells, ranges among them, with their types."""
    return tuple(typed(cell) if isinstance(cell, (list, tuple)) else (cell.__class__, cell) for cell in cells)
