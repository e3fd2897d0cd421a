"""The studentized range: the largest difference among means that do not differ, in standard errors of a mean.

The range of k standard normal values is within w with the chance k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz, which is kept
as a curve for each k; a chance for a spread that is itself known with so many degrees of freedom is its mean over that
spread. Both integrals are sums at equal distances, in z and in the logarithm of the spread, which for functions that
fade out on both sides err less than any power of the distance.

scipy's distribution of the same name gives the same to 1e-8 and takes a tenth of a second to invert, by which a cell
would make a grower wait.

Reference: Harter, Annals of Mathematical Statistics 31 (1960) 1122–1147.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray
    from scipy.interpolate import CubicSpline

    Numbers = NDArray[float64]

WIDEST = 16.0
"""Range of standard normal values that no number of treatments exceeds with a chance that double precision holds."""

RANGES = 801
"""Points of the curve of that range; twice as many change no chance by more than 1e-9."""

FARTHEST, NODES = 8.5, 137
"""Reach and number of the standard normal values integrated over."""

SPREADS = 601
"""Number of spreads integrated over."""

NEGLIGIBLE = 25.0
"""Natural logarithm of how much likelier the likeliest spread is than one that is left out."""

SEARCH_MARGIN = 1e-4
"""Part by which the search for a range goes beyond its limits, since for two treatments both are the range itself."""


@lru_cache(maxsize=64)
def _beyond(treatments: int) -> CubicSpline:
    """The chance that the range of so many standard normal values is above w, as a curve over w."""
    import numpy as np
    from scipy.interpolate import CubicSpline
    from scipy.special import ndtr

    ranges = np.linspace(0, WIDEST, RANGES)
    values, step = np.linspace(-FARTHEST, FARTHEST, NODES, retstep=True)
    density = np.exp(-(values**2) / 2) / math.sqrt(2 * math.pi) * step
    between = ndtr(values) - ndtr(values - ranges[:, None])
    return CubicSpline(ranges, 1 - treatments * (between ** (treatments - 1) @ density))


def spread_limits(df: float, negligible: float) -> tuple[float, float]:
    """Logarithms between which a spread lies that is known with degrees of freedom, beside the true one.

    ``negligible`` is the natural logarithm of how much likelier the likeliest spread is than one beyond them.
    """
    # With x the logarithm of the spread its density is exp(−df h(x)), h(x) = (exp(2x) − 1) / 2 − x; left out is what
    # lies beyond df h = negligible, by h(x) ≥ x² above zero and h(−x) ≥ c for x = c + √(2c) below.
    reach = negligible / df
    return -reach - math.sqrt(2 * reach), math.sqrt(reach)


def spread_weights(df: float, logarithms: Numbers) -> tuple[Numbers, Numbers]:
    """Spreads of these logarithms, at equal distances, and how likely each is with degrees of freedom."""
    import numpy as np

    weights = np.exp(-df * (np.expm1(2 * logarithms) / 2 - logarithms))
    return np.exp(logarithms), weights / weights.sum()


@lru_cache(maxsize=256)
def _spreads(df: float) -> tuple[Numbers, Numbers]:
    """The spreads integrated over, and how likely each is."""
    import numpy as np

    return spread_weights(df, np.linspace(*spread_limits(df, NEGLIGIBLE), SPREADS))


@lru_cache(maxsize=4096)
def range_p(q: float, treatments: int, df: float) -> float:
    """Chance of a studentized range of q or more among so many treatments that are alike."""
    import numpy as np

    spreads, weights = _spreads(df)
    return min(max(float(weights @ _beyond(treatments)(np.minimum(q * spreads, WIDEST))), 0.0), 1.0)


@lru_cache(maxsize=4096)
def critical_range(confidence: float, treatments: int, df: float) -> float:
    """The studentized range that is exceeded with a chance of 1 − confidence."""
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    # It is more than that of one pair, and less than by Bonferroni's sum over all pairs.
    beyond = (1 - confidence) / 2
    least, most = (math.sqrt(2) * float(stdtrit(df, 1 - beyond / pairs)) for pairs in (1, math.comb(treatments, 2)))
    low, high = least * (1 - SEARCH_MARGIN), most * (1 + SEARCH_MARGIN)
    return float(brentq(lambda q: range_p(q, treatments, df) - (1 - confidence), low, high, xtol=1e-9))
