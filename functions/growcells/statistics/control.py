"""Comparisons of several treatments with one control: Dunnett's test, also where spreads differ.

References: Dunnett, Journal of the American Statistical Association 50 (1955) 1096–1121. Each comparison with degrees
of freedom and correlations of its own where spreads differ: Hasler & Hothorn, The International Journal of
Biostatistics 4 (2008) 1, article 11.
"""

from __future__ import annotations

import math
from collections import Counter
from functools import lru_cache
from typing import TYPE_CHECKING

from .studentized_range import NEGLIGIBLE, spread_limits, spread_weights

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

FARTHEST = 8.0
"""Reach of the standard normal values for the control's error; ours: beyond lies a chance of 1e-15."""

STEP, SMALLEST_STEP = 0.5, 0.008
"""Their distance, beside the width of what is integrated where that is narrower; half of it changes no p by more than
1e-8, with shares up to 0.999 of a variance. The least keeps what is computed small."""

SPREAD_STEP = 0.5
"""Distance of the logarithms of spreads integrated over, beside their standard deviation; half of it changes no p by
more than 1e-6 with one degree of freedom and 1e-8 with four or more."""

SEARCH_MARGIN = 0.5
"""Part by which the search for a range goes beyond its limits: for one treatment both are the range itself, and with
few degrees of freedom the integration misses them by more than rounding."""

CHANCES = (1e-300, 1 - 1e-15)
"""Between them a chance has a finite range: the integration may miss 0 and 1 by rounding."""


@lru_cache(maxsize=64)
def _normal_nodes(share: float) -> tuple[Numbers, Numbers]:
    """Standard normal values below zero at equal distances, and the weight of each; ``share`` is the largest."""
    import numpy as np

    step = max(STEP * min(1.0, math.sqrt((1 - share) / share)), SMALLEST_STEP)
    nodes = np.asarray(-step * (np.arange(math.ceil(FARTHEST / step)) + 0.5), dtype=np.float64)
    weights = np.exp(-(nodes**2) / 2)
    return nodes, weights / weights.sum()


@lru_cache(maxsize=256)
def _spreads(df: float) -> tuple[Numbers, Numbers]:
    """Spreads that are known with degrees of freedom, beside the true one, and how likely each is."""
    import numpy as np

    lowest, highest = spread_limits(df, NEGLIGIBLE)
    number = math.ceil((highest - lowest) * math.sqrt(2 * df) / SPREAD_STEP)
    return spread_weights(df, np.linspace(lowest, highest, number))


def none_beyond(t: float, shares: tuple[float, ...], df: float) -> float:
    """Chance that no difference from the control is more than t standard errors where there are none.

    ``shares`` is for each treatment the part of the variance of its difference that is the control's.
    """
    import numpy as np
    from scipy.special import ndtr

    nodes, weights = _normal_nodes(max(shares))
    spreads, chances = _spreads(df)
    reach = t * spreads[:, None]
    inside = np.ones((len(spreads), len(nodes)))
    for share, count in Counter(shares).items():
        # The values lie alike on both sides of zero: what is above −reach at one is what is below reach at the other.
        shift, width = math.sqrt(share) * nodes, math.sqrt(1 - share)
        between = ndtr((reach - shift) / width) + ndtr((reach + shift) / width) - 1
        inside *= between if count == 1 else between**count
    return float(chances @ (inside @ weights))


@lru_cache(maxsize=4096)
def control_p(t: float, shares: tuple[float, ...], df: float) -> float:
    """Chance of a difference of t standard errors or more between the control and any treatment where none differ."""
    return min(max(1 - none_beyond(abs(t), shares, df), 0.0), 1.0)


@lru_cache(maxsize=4096)
def control_range(confidence: float, shares: tuple[float, ...], df: float) -> float:
    """Standard errors within which all differences from the control lie with the confidence."""
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    treatments = len(shares)
    # They are more than those of one treatment, and less than by Bonferroni's sum over all of them.
    beyond = (1 - confidence) / 2
    least, most = (float(stdtrit(df, 1 - beyond / number)) for number in (1, treatments))
    low, high = least * (1 - SEARCH_MARGIN), most * (1 + SEARCH_MARGIN)

    def alone(chance: float) -> float:
        """Logarithm of the standard errors within which so many treatments lie by a chance, each on its own.

        Against the logarithm of the standard errors it is nearly straight, so that the search ends after few steps.
        """
        each = min(max(chance, CHANCES[0]), CHANCES[1]) ** (1 / treatments)
        return math.log(float(stdtrit(df, (1 + each) / 2)))

    wanted = alone(confidence)
    found = brentq(
        lambda t: alone(none_beyond(math.exp(t), shares, df)) - wanted, math.log(low), math.log(high), xtol=1e-6
    )
    return math.exp(found)
