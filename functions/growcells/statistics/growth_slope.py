"""How fast one plant grows, from its sizes on several dates."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence


def growth_slope(sizes: Sequence[tuple[float, float]]) -> float | None:
    """Relative growth rate [1/day]: slope of the logarithm of a size against its day, by least squares.

    None where there are fewer than two days.
    """
    if len({day for day, _ in sizes}) < 2:
        return None
    days = [day for day, _ in sizes]
    return statistics.linear_regression(days, [math.log(size) for _, size in sizes]).slope
