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

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

NODES = 80
"""Nodes of the integration over the control's error; twice as many change no p by more than 1e-9."""

SPREAD_NODES = 60
"""Nodes of the integration over the common spread."""

SEARCH_MARGIN = 0.5
"""Part by which the search for a range goes beyond its limits: for one treatment both are the range itself, and with
few degrees of freedom the integration misses them by more than rounding."""


@lru_cache(maxsize=8)
def _normal_nodes() -> tuple[Numbers, Numbers]:
    import numpy as np

    nodes, weights = np.polynomial.hermite_e.hermegauss(NODES)
    return nodes, weights / weights.sum()


@lru_cache(maxsize=1)
def _spread_nodes() -> tuple[Numbers, Numbers]:
    """Chances of a smaller spread, and the weight of each."""
    import numpy as np

    nodes, weights = np.polynomial.legendre.leggauss(SPREAD_NODES)
    return (nodes + 1) / 2, weights / 2


@lru_cache(maxsize=256)
def _spreads(df: float) -> Numbers:
    """Equally likely values of a spread that is known with degrees of freedom, beside the true one."""
    import numpy as np
    from scipy.special import gammaincinv

    found: Numbers = np.sqrt(2 * gammaincinv(df / 2, _spread_nodes()[0]) / df)
    return found


def none_beyond(t: float, shares: tuple[float, ...], df: float) -> float:
    """Chance that no difference from the control is more than t standard errors where there are none.

    ``shares`` is for each treatment the part of the variance of its difference that is the control's.
    """
    import numpy as np
    from scipy.special import ndtr

    nodes, weights = _normal_nodes()
    reach = t * _spreads(df)[:, None]
    inside = np.ones((SPREAD_NODES, NODES // 2))
    for share, count in Counter(shares).items():
        below = ndtr((reach - math.sqrt(share) * nodes) / math.sqrt(1 - share))
        # The nodes lie alike on both sides of zero: what is above −reach at one is what is below reach at the other.
        between = below[:, : NODES // 2] + below[:, : NODES // 2 - 1 : -1] - 1
        inside *= between if count == 1 else between**count
    return float(2 * _spread_nodes()[1] @ (inside @ weights[: NODES // 2]))


@lru_cache(maxsize=4096)
def control_p(t: float, shares: tuple[float, ...], df: float) -> float:
    """Chance of a difference of t standard errors or more between the control and any treatment where none differ."""
    return min(max(1 - none_beyond(abs(t), shares, df), 0.0), 1.0)


@lru_cache(maxsize=4096)
def control_range(confidence: float, shares: tuple[float, ...], df: float) -> float:
    """Standard errors within which all differences from the control lie with the confidence."""
    from scipy.optimize import brentq
    from scipy.special import stdtrit

    # They are more than those of one treatment, and less than by Bonferroni's sum over all of them.
    beyond = (1 - confidence) / 2
    least, most = (float(stdtrit(df, 1 - beyond / treatments)) for treatments in (1, len(shares)))
    low, high = least * (1 - SEARCH_MARGIN), most * (1 + SEARCH_MARGIN)
    return float(brentq(lambda t: none_beyond(t, shares, df) - confidence, low, high, xtol=1e-6))
