"""Shares of plants that sprouted, lived or were sold: are they alike, how far apart, how many plants tell.

| assumption | where |
| --- | --- |
| plants are independent of each other: plants of one bed share its luck, which makes p too small | everywhere |
| the numbers of successes and of plants are given | ``exact_p`` |

References: Fisher, The Logic of Inductive Inference (1935); Freeman & Halton, Biometrika 38 (1951) 141–149. Limits of a
difference from those of Wilson: Newcombe, Statistics in Medicine 17 (1998) 873–890, method 10. Numbers of plants:
Fleiss, Levin & Paik, Statistical Methods for Rates and Proportions, 3rd ed. (2003), equation 4.14, with its correction
for continuity.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..no_answer import NoAnswer

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

MOST_TABLES = 2_000_000
"""Ways in which the successes may fall on the treatments that are counted one by one."""

AS_LIKELY = 1 + 1e-7
"""How much likelier a table may be by rounding that is as likely as the one found: R's fisher.test."""


def exact_p(successes: Sequence[int], counts: Sequence[int]) -> float:
    """Chance of shares that are as unlikely as these or more, where the treatments are alike: Fisher's exact test.

    Raises NoAnswer where there are too many ways to count.
    """
    import numpy as np
    from scipy.special import gammaln

    total = sum(successes)
    chances: Numbers = np.zeros(1)
    held: NDArray[np.int64] = np.zeros(1, dtype=np.int64)

    def log_ways(count: int, chosen: NDArray[np.int64]) -> Numbers:
        ways: Numbers = gammaln(count + 1) - gammaln(chosen + 1) - gammaln(count - chosen + 1)
        return ways

    for place, count in enumerate(counts):
        left = sum(counts[place + 1 :])
        steps = np.arange(count + 1, dtype=np.int64)
        if len(held) * len(steps) > 4 * MOST_TABLES:
            raise NoAnswer("these are too many plants and treatments to count every way: compare fewer treatments")
        held = (held[:, None] + steps[None, :]).ravel()
        chances = (chances[:, None] + log_ways(count, steps)[None, :]).ravel()
        possible = (held <= total) & (held + left >= total)
        held, chances = held[possible], chances[possible]
    whole = float(log_ways(sum(counts), np.array([total]))[0])
    found = sum(
        float(log_ways(count, np.array([success]))[0]) for success, count in zip(successes, counts, strict=True)
    )
    likely = np.exp(chances - whole)
    return min(float(likely[likely <= math.exp(found - whole) * AS_LIKELY].sum()), 1.0)


def wilson(success: int, count: int, z: float) -> tuple[float, float]:
    """Limits of a share, z standard errors to either side: Wilson's score limits."""
    share = success / count
    middle = share + z**2 / (2 * count)
    half = z * math.sqrt(share * (1 - share) / count + z**2 / (4 * count**2))
    return (middle - half) / (1 + z**2 / count), (middle + half) / (1 + z**2 / count)


def difference_limits(successes: Sequence[int], counts: Sequence[int], confidence: float) -> tuple[float, float]:
    """Limits of the second share less the first: Newcombe's, from those of each."""
    from scipy import stats

    z = float(stats.norm.ppf((1 + confidence) / 2))
    first, second = (success / count for success, count in zip(successes, counts, strict=True))
    (low1, high1), (low2, high2) = (wilson(s, n, z) for s, n in zip(successes, counts, strict=True))
    difference = second - first
    low = difference - math.sqrt((second - low2) ** 2 + (high1 - first) ** 2)
    high = difference + math.sqrt((high2 - second) ** 2 + (first - low1) ** 2)
    return max(low, -1.0), min(high, 1.0)


def plants_needed(share: float, other: float, power: float, alpha: float) -> int:
    """Plants a treatment with which the exact test sees two shares with the power, corrected for continuity."""
    from scipy import stats

    mean = (share + other) / 2
    apart = abs(share - other)
    beyond, within = float(stats.norm.ppf(1 - alpha / 2)), float(stats.norm.ppf(power))
    spread = beyond * math.sqrt(2 * mean * (1 - mean)) + within * math.sqrt(share * (1 - share) + other * (1 - other))
    plain = (spread / apart) ** 2
    return math.ceil(plain / 4 * (1 + math.sqrt(1 + 4 / (plain * apart))) ** 2)
