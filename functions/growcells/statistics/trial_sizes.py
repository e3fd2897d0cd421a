"""How large a trial must be: the chance that its test sees a difference, by the distributions of the test.

References: noncentral F and t, Johnson & Kotz, Continuous Univariate Distributions 2 (1970) 189 and 201; split plots,
Cochran & Cox, Experimental Designs, 2nd ed. (1957) 7.1; from memory. Held against statsmodels, scipy and simulation.
"""

from __future__ import annotations

import bisect
from collections.abc import Callable
from enum import StrEnum

from ..no_answer import NoAnswer
from .control import control_range

LARGEST_TRIAL = 1_000_000
"""Units a treatment; a trial that needs more will not be made. Ours."""


def fewest(
    chance: Callable[[int], float],
    wanted: float,
    most: int = LARGEST_TRIAL,
    meant: str = "plants or beds are needed in each treatment",
) -> int:
    """Fewest units, two or more, at which a chance that rises with them is the one wanted.

    Raises NoAnswer where more than ``most`` are needed; ``meant`` is what they are, as its sentence says it.
    """

    def enough(units: int) -> bool:
        return chance(units) >= wanted

    high = 2
    while not enough(high):
        if high == most:
            raise NoAnswer(f"more than {most:,} {meant}: look for a larger difference")
        high = min(2 * high, most)
    return bisect.bisect_left(range(high), True, high // 2 + 1, key=enough)


def _f_power(df_effect: float, df_error: float, shift: float, alpha: float) -> float:
    """Chance that an F test sees an effect of so large a noncentrality."""
    from scipy.special import fdtri, ncfdtr

    return 1 - float(ncfdtr(df_effect, df_error, shift, float(fdtri(df_effect, df_error, 1 - alpha))))


def power(difference: float, units: float, treatments: int, df_error: float, alpha: float) -> float:
    """Chance that the F test sees two treatments that differ so much [spreads], the others halfway between them."""
    return _f_power(treatments - 1, df_error, units * difference**2 / 2, alpha)


def units_needed(difference: float, treatments: int, wanted: float, alpha: float) -> int:
    """Fewest units a treatment with which a difference [spreads] is seen with the power wanted. Raises NoAnswer."""
    return fewest(lambda units: power(difference, units, treatments, treatments * (units - 1), alpha), wanted)


def detectable_difference(units: float, treatments: int, df_error: float, wanted: float, alpha: float) -> float:
    """Smallest difference [spreads] that a trial sees with the power wanted."""
    from scipy.optimize import brentq

    def lacking(difference: float) -> float:
        return power(difference, units, treatments, df_error, alpha) - wanted

    high = 1.0
    while lacking(high) < 0:
        high *= 2
    return float(brentq(lacking, 0, high))


def t_power(shift: float, df: float, limit: float) -> float:
    """Chance that t goes beyond a limit, to either side, where its noncentrality is ``shift``."""
    from scipy import stats

    return float(stats.nct.sf(limit, df, shift) + stats.nct.cdf(-limit, df, shift))


def control_power(difference: float, units: int, treatments: int, alpha: float) -> float:
    """Chance that Dunnett's test sees a treatment that differs from the control [spreads]; the control is one of them.

    All have as many units; the chance is that of this one comparison, whatever the others do. The test gives each
    treatment a spread of its own, so that a comparison has the degrees of freedom of its two; with two units each it
    has those of all.
    """
    df = (2 if units > 2 else treatments) * (units - 1)
    critical = control_range(1 - alpha, (0.5,) * (treatments - 1), float(df))
    return t_power(difference * (units / 2) ** 0.5, df, critical)


class Effect(StrEnum):
    """What a split plot tests: what whole beds have in common, what varies within them, or both together."""

    BEDS = "beds"
    WITHIN = "within"
    BOTH = "both"


def split_power(
    effect: Effect, difference: float, between: float, beds: int, feeds: int, varieties: int, alpha: float
) -> float:
    """Chance that a split plot of so many beds a feed sees a difference, in standard deviations left within beds.

    ``between`` is the standard deviation of beds treated alike, in the same unit. The difference is that of two feeds,
    of two varieties or, of both together, that by which two varieties differ more under one feed than another; all
    other levels lie halfway.
    """
    of_beds, of_both = feeds * (beds - 1), (feeds - 1) * (varieties - 1)
    df_effect, df_error, shift = {
        Effect.BEDS: (feeds - 1, of_beds, beds * varieties * difference**2 / 2 / (1 + varieties * between**2)),
        Effect.WITHIN: (varieties - 1, of_beds * (varieties - 1), beds * feeds * difference**2 / 2),
        Effect.BOTH: (of_both, of_beds * (varieties - 1), beds * difference**2 / 4),
    }[effect]
    return _f_power(df_effect, df_error, shift, alpha)
