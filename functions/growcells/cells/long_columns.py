"""Arrays of numpy and columns of pandas as arguments: computed at once where a calculation is only arithmetic."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

from .arguments import Route

ARRAYS = (("numpy", "ndarray"), ("pandas", "Series"), ("pandas", "Index"), ("pandas", "DataFrame"))
"""The types that count as arrays: the module and the name of each."""

PLAIN = frozenset((float, int, str, bool, type(None), tuple, list))
"""The types of nearly all cells and ranges."""

BLOCK = 16_000
"""Rows computed at a time: so few that what is computed on the way stays in a processor's cache, and below the
128 KiB from which on glibc asks the system for new memory each time, which takes longer than to compute."""


def is_array(cell: object) -> bool:
    """Whether an argument is an array of numpy or pandas, told without importing them."""
    if type(cell) in PLAIN:
        return False
    loaded = ((sys.modules.get(module), name) for module, name in ARRAYS)
    return any(module is not None and isinstance(cell, getattr(module, name, ())) for module, name in loaded)


def as_rows(cell: object) -> object:
    """An array, or a number of numpy's, as plain Python has it; anything else as it is."""
    numpy = sys.modules.get("numpy")
    if numpy is not None and (is_array(cell) or isinstance(cell, numpy.generic)):
        return numpy.asarray(cell).tolist()
    return cell


def as_array(result: object, arrays: Sequence[Any]) -> Any:
    """A result for each row as an array in the shape of those given; of objects where a row is an error."""
    import numpy as np

    flat = [value for row in result for value in row] if isinstance(result, tuple) else [result]
    numbers = all(isinstance(value, float) for value in flat)
    column = np.empty(len(flat), dtype=np.float64 if numbers else object)
    column[:] = flat
    return column.reshape(np.shape(arrays[0]))


def all_at_once(
    calculation: Callable[..., object],
    routes: tuple[Route, ...],
    defaults: tuple[object, ...],
    result_factors: tuple[float, float],
    lowest: float,
    cells: Sequence[object],
) -> Any | None:
    """The result for arrays of numbers within limits, or None where a row needs a look of its own.

    ``calculation`` must be made of arithmetic alone, so that it takes arrays as it takes numbers.
    """
    import numpy as np

    columns = [np.asarray(cell) for cell in cells]
    shapes = {column.shape for column in columns if column.ndim} or {()}
    if len(shapes) > 1 or any(column.dtype.kind not in "fiu" for column in columns):
        return None
    for column, (low, high, *_) in zip(columns, routes, strict=False):
        if not is_within(column, low, high):
            return None
    slope, offset = result_factors
    flat = [column.reshape(-1) if column.ndim else column for column in columns]
    result = np.empty(shapes.pop())
    results = result.reshape(-1)
    left_out = defaults[len(cells) :]
    with np.errstate(all="ignore"):
        for start in range(0, results.size, BLOCK):
            rows = slice(start, start + BLOCK)
            values = [
                np.multiply(column[rows] if column.ndim else column, factor, dtype=np.float64)
                for column, (_, _, factor, _) in zip(flat, routes, strict=False)
            ]
            found: Any = calculation(*values, *left_out)
            np.divide(found - offset if offset else found, slope, out=results[rows])
            del values, found  # so that the next block takes this memory, not more of the system's
    return result if is_within(results, lowest, sys.float_info.max) else None


def is_within(numbers: Any, low: float, high: float) -> bool:
    """Whether all numbers of an array lie within limits; none that is not a number does."""
    import numpy as np

    flat = numbers.reshape(-1)
    return not flat.size or (low <= float(np.minimum.reduce(flat)) and float(np.maximum.reduce(flat)) <= high)
