"""Arrays of numpy and columns of pandas as arguments: computed at once where a calculation is only arithmetic."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

from .arguments import Route

ARRAYS = (("numpy", "ndarray"), ("pandas", "Series"), ("pandas", "Index"), ("pandas", "DataFrame"))
"""The types that count as arrays: the module and the name of each."""


def is_array(cell: object) -> bool:
    """Whether an argument is an array of numpy or pandas, told without importing them."""
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

    slope, offset = result_factors
    values: list[object] = []
    for cell, (low, high, factor, _) in zip(cells, routes, strict=False):
        numbers = np.asarray(cell)
        if numbers.dtype.kind not in "fiu" or not is_within(numbers, low, high):
            return None
        values.append(numbers * factor)
    with np.errstate(all="ignore"):
        result = (np.asarray(calculation(*values, *defaults[len(cells) :])) - offset) / slope
    return result if is_within(result, lowest, sys.float_info.max) else None


def is_within(numbers: Any, low: float, high: float) -> bool:
    """Whether all numbers of an array lie within limits; none that is not a number does."""
    return not numbers.size or bool(low <= numbers.min() and numbers.max() <= high)
