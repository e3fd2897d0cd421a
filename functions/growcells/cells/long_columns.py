"""Long columns computed at once: numpy arrays through a calculation that is only arithmetic."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

from .arguments import Route


def is_array(cell: object) -> bool:
    """Whether an argument is a numpy array, told without importing numpy."""
    numpy = sys.modules.get("numpy")
    return numpy is not None and isinstance(cell, numpy.ndarray)


def as_rows(cell: object) -> object:
    """A numpy array, or a number of numpy's, as plain Python has it; anything else as it is."""
    numpy = sys.modules.get("numpy")
    if numpy is not None and isinstance(cell, (numpy.ndarray, numpy.generic)):
        return cell.tolist()
    return cell


def all_at_once(
    calculation: Callable[..., object],
    routes: tuple[Route, ...],
    defaults: tuple[object, ...],
    result_slope: float,
    lowest: float,
    cells: Sequence[object],
) -> Any | None:
    """The result for arrays of numbers within limits, or None where a row needs a look of its own.

    ``calculation`` must be made of arithmetic alone, so that it takes arrays as it takes numbers.
    """
    import numpy as np

    values: list[object] = []
    for cell, (low, high, slope, _) in zip(cells, routes, strict=False):
        numbers = np.asarray(cell)
        if numbers.dtype.kind not in "fiu" or not bool(np.all((numbers >= low) & (numbers <= high))):
            return None
        values.append(numbers * slope)
    with np.errstate(all="ignore"):
        result = np.asarray(calculation(*values, *defaults[len(cells) :])) / result_slope
    good = np.isfinite(result) & (result >= lowest)
    return result if bool(np.all(good)) else None
