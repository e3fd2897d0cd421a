"""Results of slow functions, kept by the cells that they were asked for: a sheet computed again asks the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

MOST_RESULTS = 2048
"""Results kept of a function, those asked for last: more than a log has cells of a slow one, in a few MB of memory."""


@dataclass(frozen=True)
class Asked:
    """The cells of a call, and the bytes that they are told apart by: TRUE, 1 and 1.0 differ in these."""

    key: bytes
    cells: Sequence[object] = field(compare=False)


class KeptResults:
    """A function of cells that keeps what it gave. What it raises is not kept."""

    def __init__(self, compute: Callable[[Sequence[object]], object]) -> None:
        self._compute = compute
        self._kept = lru_cache(maxsize=MOST_RESULTS)(lambda asked: compute(asked.cells))

    def __call__(self, cells: Sequence[object]) -> object:
        """The result for these cells, computed where it is not kept."""
        import pickle

        try:
            key = pickle.dumps(cells, pickle.HIGHEST_PROTOCOL)
        except Exception:  # a cell as no spreadsheet has it, which may raise anything
            return self._compute(cells)
        return self._kept(Asked(key, cells))

    def count(self) -> tuple[int, int, int]:
        """How often a result was there, how often not, and how many are kept."""
        hits, misses, _, size = self._kept.cache_info()
        return hits, misses, size
