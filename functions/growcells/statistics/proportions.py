"""Shares of plants that sprouted, lived or were sold: are they alike, how far apart, how many plants tell.

| assumption | where |
| --- | --- |
| plants are independent of each other: plants of one bed share its luck, which makes p too small | everywhere |
| the numbers of successes and of plants are given | ``exact_p`` |

References: Fisher, The Logic of Inductive Inference (1935); Freeman & Halton, Biometrika 38 (1951) 141–149; Mehta &
Patel, Journal of the American Statistical Association 78 (1983) 427–434. Limits of a difference from those of Wilson:
Newcombe, Statistics in Medicine 17 (1998) 873–890, method 10. Numbers of plants: Fleiss, Levin & Paik, Statistical
Methods for Rates and Proportions, 3rd ed. (2003), equation 4.14, with its correction for continuity.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..no_answer import NoAnswer

if TYPE_CHECKING:
    from numpy import float64, int64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]
    Whole = NDArray[int64]

MOST_TABLES = 250_000
"""Ways in which the successes may fall on some treatments that are looked at together; ours. With so many the whole
test takes a twentieth of a second."""

AS_LIKELY = 1 + 1e-7
"""How much likelier a table may be by rounding that is as likely as the one found: R's fisher.test."""

ALIKE = 1e-9
"""Difference of the logarithms of two chances that is rounding."""


def log_ways(count: int, chosen: Whole) -> Numbers:
    """Logarithm of the ways to choose so many of a count."""
    from scipy.special import gammaln

    ways: Numbers = gammaln(count + 1) - gammaln(chosen + 1) - gammaln(count - chosen + 1)
    return ways


def exact_p(successes: Sequence[int], counts: Sequence[int]) -> float:
    """Chance of shares that are as unlikely as these or more, where the treatments are alike: Fisher's exact test.

    The successes fall on one treatment after the other. Ways that are as likely and leave as many are counted together,
    and ways that stay unlikely whatever follows are not followed up, as Mehta & Patel do in their network.
    Raises NoAnswer where there are too many ways to count.
    """
    import numpy as np

    order = sorted(range(len(counts)), key=lambda place: counts[place])
    sizes, found = [counts[place] for place in order], [successes[place] for place in order]
    total = sum(found)
    whole = float(log_ways(sum(sizes), np.array(total)))
    limit = sum(float(log_ways(n, np.array(x))) for n, x in zip(sizes, found, strict=True)) + math.log(AS_LIKELY)
    likeliest = _likeliest(sizes, total)
    p = 0.0
    held: Whole = np.zeros(1, dtype=np.int64)
    chances: Numbers = np.zeros(1)
    times: Numbers = np.ones(1)
    for place, size in enumerate(sizes[:-1]):
        left = sum(sizes[place + 1 :])
        steps = np.arange(size + 1, dtype=np.int64)
        _check_ways(len(held) * len(steps))
        held = (held[:, None] + steps).ravel()
        chances = (chances[:, None] + log_ways(size, steps)).ravel()
        times = np.repeat(times, len(steps))
        open_ways = (held <= total) & (held + left >= total)
        held, chances, times = held[open_ways], chances[open_ways], times[open_ways]
        unlikely = chances + likeliest[place + 1][total - held] <= limit
        rest = log_ways(left, total - held[unlikely])
        p += float(times[unlikely] @ np.exp(chances[unlikely] + rest - whole))
        held, chances, times = _together(held[~unlikely], chances[~unlikely], times[~unlikely])
    return min(p, 1.0)


def _check_ways(ways: int) -> None:
    if ways > MOST_TABLES:
        raise NoAnswer("these are too many plants and treatments to count every way: compare fewer treatments")


def _likeliest(sizes: Sequence[int], total: int) -> list[Numbers]:
    """For the treatments from each on: logarithm of the most ways for each number of successes left for them."""
    import numpy as np

    best = log_ways(sizes[-1], np.arange(sizes[-1] + 1))[: total + 1]
    found = [best]
    for size in sizes[-2:0:-1]:
        _check_ways(size * len(best))
        own = log_ways(size, np.arange(size + 1))
        joined: Numbers = np.full(min(len(best) + size, total + 1), -np.inf)
        for success in range(min(size, total) + 1):
            reach = joined[success : success + len(best)]
            np.maximum(reach, best[: len(reach)] + own[success], out=reach)
        best = joined
        found.append(best)
    return [np.zeros(1), *reversed(found)]


def _together(held: Whole, chances: Numbers, times: Numbers) -> tuple[Whole, Numbers, Numbers]:
    """Ways that hold as many successes and are as likely, each once, and how many times."""
    import numpy as np

    if not len(held):
        return held, chances, times
    order = np.lexsort((chances, held))
    held, chances = held[order], chances[order]
    first = np.flatnonzero(np.concatenate([[True], (np.diff(held) != 0) | (np.diff(chances) > ALIKE)]))
    return held[first], chances[first], np.add.reduceat(times[order], first)


def wilson(success: int, count: int, z: float) -> tuple[float, float]:
    """Limits of a share, z standard errors to either side: Wilson's score limits."""
    share = success / count
    middle = share + z**2 / (2 * count)
    half = z * math.sqrt(share * (1 - share) / count + z**2 / (4 * count**2))
    return (middle - half) / (1 + z**2 / count), (middle + half) / (1 + z**2 / count)


def difference_limits(successes: Sequence[int], counts: Sequence[int], confidence: float) -> tuple[float, float]:
    """Limits of the second share less the first: Newcombe's, from those of each."""
    from scipy.special import ndtri

    z = float(ndtri((1 + confidence) / 2))
    first, second = (success / count for success, count in zip(successes, counts, strict=True))
    (low1, high1), (low2, high2) = (wilson(s, n, z) for s, n in zip(successes, counts, strict=True))
    difference = second - first
    low = difference - math.sqrt((second - low2) ** 2 + (high1 - first) ** 2)
    high = difference + math.sqrt((high2 - second) ** 2 + (first - low1) ** 2)
    return max(low, -1.0), min(high, 1.0)


def plants_needed(share: float, other: float, power: float, alpha: float) -> int:
    """Plants a treatment with which the exact test sees two shares with the power, corrected for continuity."""
    from scipy.special import ndtri

    mean = (share + other) / 2
    apart = abs(share - other)
    beyond, within = float(ndtri(1 - alpha / 2)), float(ndtri(power))
    spread = beyond * math.sqrt(2 * mean * (1 - mean)) + within * math.sqrt(share * (1 - share) + other * (1 - other))
    plain = (spread / apart) ** 2
    return math.ceil(plain / 4 * (1 + math.sqrt(1 + 4 / (plain * apart))) ** 2)
