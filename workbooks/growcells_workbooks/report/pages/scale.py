"""The scale of an axis."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

SMALLEST_STEP, MOST_STEPS = 0.5, 4


@dataclass(frozen=True)
class Scale:
    """The limits of an axis and the distance of its marks."""

    low: float
    high: float
    step: float


def scale(values: Iterable[float | None]) -> Scale:
    """An axis of two to four whole steps that holds all values, none of them on its ends unless that is 0."""
    known = [value for value in values if value is not None]
    if not known:
        return Scale(0.0, 1.0, 0.5)
    step = SMALLEST_STEP
    for factor in itertools.cycle((2, 2, 2.5)):  # 0.5, 1, 2, 5, 10 …
        low, high = (math.ceil(min(known) / step) - 1) * step, (math.floor(max(known) / step) + 1) * step
        if min(known) >= 0:
            low = max(low, 0.0)
        if high - low <= MOST_STEPS * step:
            return Scale(low, max(high, low + 2 * step), step)
        step *= factor
    raise AssertionError("the steps grow without end")
