"""What rounds of a trial say together: a difference in each, and over all of them, rounds and beds as random."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from .trial_sizes import fewest, t_power

MOST_ROUNDS = 1000
"""More than anybody plants; ours."""


@dataclass(frozen=True)
class Interval:
    """A difference with its confidence limits; None where nothing tells its spread."""

    difference: float
    low: float | None
    high: float | None

    @property
    def is_sure(self) -> bool:
        """Whether it does not reach over zero."""
        return self.low is not None and self.high is not None and (self.low > 0 or self.high < 0)


def between_beds(ones: Sequence[float], others: Sequence[float], confidence: float = 0.95) -> Interval:
    """The difference of two means of beds of a round, its limits from the spread between beds treated alike.

    Student's t with the pooled variance: Snedecor & Cochran, Statistical Methods.
    """
    from scipy.special import stdtrit

    difference = statistics.fmean(ones) - statistics.fmean(others)
    df = len(ones) + len(others) - 2
    squares = sum((value - statistics.fmean(group)) ** 2 for group in (ones, others) for value in group)
    if df < 1 or not squares:
        return Interval(difference, None, None)
    half = float(stdtrit(df, (1 + confidence) / 2)) * math.sqrt(squares / df * (1 / len(ones) + 1 / len(others)))
    return Interval(difference, difference - half, difference + half)


def over_rounds(differences: Sequence[float], confidence: float = 0.95) -> Interval:
    """The mean of the differences of rounds, its limits from their own spread: each round counts as one draw.

    That spread holds what changes from round to round and what beds add to it, so that both count as random.
    """
    from scipy.special import stdtrit

    mean = statistics.fmean(differences)
    if len(differences) < 2:
        return Interval(mean, None, None)
    half = float(stdtrit(len(differences) - 1, (1 + confidence) / 2)) * statistics.stdev(differences)
    half /= math.sqrt(len(differences))
    return Interval(mean, mean - half, mean + half)


def rounds_needed(difference: float, spread: float, power: float = 0.8, alpha: float = 0.05) -> int:
    """Rounds in which a true mean difference is seen with a power, where rounds spread so about it.

    Noncentral t of a single sample. Raises NoAnswer where more than MOST_ROUNDS are needed.
    """
    from scipy.special import stdtrit

    def seen(rounds: int) -> float:
        shift = abs(difference) / spread * math.sqrt(rounds)
        return t_power(shift, rounds - 1, float(stdtrit(rounds - 1, 1 - alpha / 2)))

    return fewest(seen, power, MOST_ROUNDS, "rounds are needed")
