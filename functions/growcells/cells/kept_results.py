"""Results of slow functions, kept by the cells that they were asked for: a sheet computed again asks the same."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence

MOST_RESULTS = 2048
"""Results kept of a function, those asked for last: more than a log has cells of a slow one."""
MOST_BYTES = 2 * 2**20
"""Of the results kept of a function, pickled: ours, so that all functions together take some tens of MiB."""
KEY_BYTES = 16
"""Of what stands for the cells of a call: so many that two calls never share one."""


class KeptResults:
    """A function of cells that keeps what it gave, and not the cells. What it raises is not kept."""

    def __init__(self, compute: Callable[[Sequence[object]], object]) -> None:
        self._compute = compute
        self._kept: OrderedDict[bytes, tuple[object, int]] = OrderedDict()
        self._bytes = self._hits = self._misses = 0
        self._lock = threading.Lock()

    def __call__(self, cells: Sequence[object]) -> object:
        """The result for these cells, computed where it is not kept."""
        import hashlib
        import pickle

        try:  # TRUE, 1 and 1.0 differ in their bytes
            told = pickle.dumps(cells, pickle.HIGHEST_PROTOCOL)
        except Exception:  # a cell as no spreadsheet has it, which may raise anything
            return self._compute(cells)
        key = hashlib.blake2b(told, digest_size=KEY_BYTES).digest()
        with self._lock:
            if key in self._kept:
                self._hits += 1
                self._kept.move_to_end(key)
                return self._kept[key][0]
            self._misses += 1
        result = self._compute(cells)
        self._keep(key, result, KEY_BYTES + len(pickle.dumps(result, pickle.HIGHEST_PROTOCOL)))
        return result

    def _keep(self, key: bytes, result: object, size: int) -> None:
        with self._lock:
            self._bytes += size - self._kept.get(key, (None, 0))[1]  # another thread may have kept it meanwhile
            self._kept[key] = result, size
            while len(self._kept) > MOST_RESULTS or self._bytes > MOST_BYTES:
                self._bytes -= self._kept.popitem(last=False)[1][1]

    def count(self) -> tuple[int, int, int]:
        """How often a result was there, how often not, and how many are kept."""
        return self._hits, self._misses, len(self._kept)
