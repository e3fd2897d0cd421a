"""Statistics of a comparison of treatments: one test of all of them, then each pair, then letters; and sizes of trials.

One linear model serves trials without beds and those whose beds each hold several treatments, which scipy's
``f_oneway`` and ``tukey_hsd`` do not know; the distributions are scipy's but those of many comparisons at once.

| assumption | where |
| --- | --- |
| units (plants or bed means) are independent of each other | everywhere |
| a spread of its own for each treatment | ``welch`` |
| one spread for all treatments | ``fit_linear`` |
| beds shift all their treatments alike | ``fit_linear`` with beds |
| normal distribution, to which means of several plants come close | everywhere |

References: Tukey–Kramer, Kramer, Biometrics 12 (1956) 307–310. Welch, Biometrika 38 (1951) 330–336.
Games & Howell, Journal of Educational Statistics 1 (1976) 113–125. Without a test of the spreads beforehand:
Zimmerman, British Journal of Mathematical and Statistical Psychology 57 (2004) 173–181; Delacre, Leys, Mora & Lakens,
International Review of Social Psychology 32 (2019) 13. Letters: Piepho, Journal of Computational and Graphical
Statistics 13 (2004) 456–466.
"""

from __future__ import annotations

import itertools
import math
import statistics
import string
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..no_answer import NoAnswer
from .control import control_p, control_range
from .studentized_range import critical_range, range_p

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

if TYPE_CHECKING:
    Matrix = NDArray[float64]

FEWEST_FOR_SPREAD = 3
"""Units in each treatment from which on it keeps its own spread: two tell hardly anything of it."""

NO_SPREAD = 4 * sys.float_info.epsilon
"""Spread relative to the largest value that is no more than the rounding of double precision."""

LARGEST_SHARE, SHARE_DIGITS = 1 - 1e-12, 12
"""Largest part of a variance that is a control's, and its decimals: treatments that are alike are counted together."""


class Untestable(NoAnswer):
    """A trial from which no test can be made; the text says why."""


@dataclass(frozen=True)
class Units:
    """What a trial compares: a value for each unit, the number of its treatment, and that of its bed where beds hold
    several treatments. Each treatment from 0 to ``treatments`` − 1 has at least one unit."""

    values: Sequence[float]
    groups: Sequence[int]
    treatments: int
    beds: Sequence[int] | None = None

    def samples(self) -> list[list[float]]:
        """The values of each treatment."""
        samples: list[list[float]] = [[] for _ in range(self.treatments)]
        for value, group in zip(self.values, self.groups, strict=True):
            samples[group].append(value)
        return samples


@dataclass(frozen=True)
class FTest:
    """An F test: its statistic, both degrees of freedom, and the probability of one as large without a difference."""

    f: float
    df_effect: float
    df_error: float
    p: float


@dataclass(frozen=True)
class Pair:
    """A difference of two treatments, its limits, and p, both adjusted for the number of treatments."""

    difference: float
    low: float
    high: float
    p: float


@dataclass(frozen=True)
class Comparison:
    """The test of all treatments, and the differences with their standard errors and degrees of freedom.

    ``differences[i][j]`` is the mean of treatment j less that of treatment i.
    """

    test: FTest
    differences: Matrix
    errors: Matrix
    df: Matrix
    sd: float
    """The spread of units about their treatment, all treatments together."""
    own_spreads: bool = False
    """Whether each treatment keeps its own spread: Welch and Games–Howell."""

    def pair(self, first: int, second: int, confidence: float) -> Pair:
        """The second treatment against the first: Tukey–Kramer, or Games–Howell with spreads of their own."""
        difference = float(self.differences[first, second])
        critical = critical_range(confidence, len(self.differences), float(self.df[first, second]))
        half = self._scale(first, second) * critical
        return Pair(difference, difference - half, difference + half, self.pair_p(first, second))

    def against_control(self, second: int, confidence: float) -> Pair:
        """A treatment against the first, which is the control: Dunnett."""
        difference, error = float(self.differences[0, second]), float(self.errors[0, second])
        df, shares = float(self.df[0, second]), self._shares
        half = error * control_range(confidence, shares, df)
        return Pair(difference, difference - half, difference + half, control_p(difference / error, shares, df))

    @property
    def _shares(self) -> tuple[float, ...]:
        """For each treatment but the first the part of the variance of its difference that is the first one's."""
        count = len(self.errors)
        squares = self.errors**2
        others = [place for place in range(1, count)]
        # The variance of the first: what two differences from it have in common.
        common = [
            (squares[0, i] + squares[0, j] - squares[i, j]) / 2 for i, j in itertools.combinations(others, 2)
        ] or [squares[0, 1] / 2]
        mean = statistics.fmean(common)
        return tuple(round(min(float(mean / squares[0, place]), LARGEST_SHARE), SHARE_DIGITS) for place in others)

    def pair_p(self, first: int, second: int) -> float:
        """Probability of a difference as large between any two of so many treatments that are alike."""
        q = abs(float(self.differences[first, second])) / self._scale(first, second)
        return range_p(q, len(self.differences), float(self.df[first, second]))

    def _scale(self, first: int, second: int) -> float:
        return float(self.errors[first, second]) / math.sqrt(2)

    def differ(self, confidence: float) -> list[list[bool]]:
        """For each two treatments whether they differ."""
        count = len(self.differences)
        table = [[False] * count for _ in range(count)]
        for first, second in itertools.combinations(range(count), 2):
            table[first][second] = table[second][first] = self._is_beyond(first, second, confidence)
        return table

    def _is_beyond(self, first: int, second: int, confidence: float) -> bool:
        return self.pair_p(first, second) < 1 - confidence


def compare(units: Units) -> Comparison:
    """The comparison with a spread of its own for each treatment, or with one for all where units are too few for that.

    Raises Untestable.
    """
    pooled = fit_linear(units)
    sizes = [len(sample) for sample in units.samples()]
    if units.beds is not None or not keep_own_spreads(sizes):
        return pooled
    return welch(units.samples(), pooled.sd)


def keep_own_spreads(sizes: Sequence[int]) -> bool:
    """Whether treatments of so many units keep their own spreads, whatever these are.

    Two each tell next to nothing of their spreads, and as many in all make one spread for all the lesser evil.
    """
    return min(sizes) >= FEWEST_FOR_SPREAD or (min(sizes) == 2 and max(sizes) > 2)


def indicators(numbers: Sequence[int], count: int) -> Matrix:
    """A column for each number from 0 to count − 1, 1 where a unit has it."""
    import numpy as np

    indicators: Matrix = np.eye(count)[list(numbers)]
    return indicators


def fit_linear(units: Units) -> Comparison:
    """Least squares with one spread: treatment, or treatment and bed where beds hold several treatments.

    Raises Untestable where there is one treatment, no spread, no unit to spare for it, or where no bed joins two
    groups of treatments.
    """
    import numpy as np
    from scipy.special import fdtrc

    count = units.treatments
    if count < 2:
        raise Untestable("only one treatment has living plants: a comparison needs two")
    values = np.asarray(units.values)
    centered = centered_of(values)
    base = np.ones((len(values), 1)) if units.beds is None else indicators(units.beds, max(units.beds) + 1)
    design = np.hstack([base, indicators(units.groups, count)[:, 1:]])
    squares, rank = least_squares(design, centered)
    if rank < design.shape[1]:
        raise Untestable("the beds do not link all treatments: some share no bed, not even through a third one")
    df = len(values) - rank
    if df < 1:
        raise Untestable("no treatment is repeated, so that the spread between units of the same treatment is unknown")
    check_spread(squares, values)
    variance = squares / df
    f = max(least_squares(base, centered)[0] - squares, 0.0) / (count - 1) / variance
    inverse = np.linalg.inv(design.T @ design)
    effects = np.concatenate([[0.0], (inverse @ design.T @ centered)[base.shape[1] :]])
    covariance = np.zeros((count, count))
    covariance[1:, 1:] = inverse[base.shape[1] :, base.shape[1] :] * variance
    own = np.diag(covariance)
    return Comparison(
        FTest(f, count - 1, df, float(fdtrc(count - 1, df, f))),
        np.subtract.outer(effects, effects).T,
        np.sqrt(np.maximum(np.add.outer(own, own) - 2 * covariance, 0)),
        np.full((count, count), float(df)),
        math.sqrt(variance),
    )


def least_squares(design: Matrix, values: Matrix) -> tuple[float, int]:
    """Sum of squares about a least-squares fit, and the rank of its design."""
    import numpy as np

    coefficients, _, rank, _ = np.linalg.lstsq(design, values, rcond=None)
    return float(np.sum((values - design @ coefficients) ** 2)), int(rank)


def centered_of(values: Matrix) -> Matrix:
    """Values less their mean, in which large values that differ by little keep all their figures."""
    import numpy as np

    centered: Matrix = np.asarray(values, dtype=np.float64) - values[0]
    centered -= centered.mean()
    return centered


def check_spread(squares: float, values: Matrix) -> None:
    """Raise Untestable where the squares left over are no more than rounding."""
    import numpy as np

    if squares <= len(values) * (NO_SPREAD * float(np.abs(values).max())) ** 2:
        raise Untestable(
            "all units of the same treatment have the same value as far as a cell holds figures: "
            "there is no spread to test with"
        )


def welch(samples: Sequence[Sequence[float]], sd: float) -> Comparison:
    """Welch's test and the standard errors of Games and Howell: each treatment keeps its own spread.

    Raises Untestable where the units of a treatment are all equal.

    Written out because the options of scipy that do it need a release newer than the oldest that growcells takes.
    """
    import numpy as np
    from scipy.special import fdtrc

    count = len(samples)
    sizes = np.array([len(sample) for sample in samples], dtype=np.float64)
    start = samples[0][0]
    means = np.array([statistics.fmean(value - start for value in sample) for sample in samples])
    squared = np.array([statistics.variance([value - start for value in sample]) for sample in samples]) / sizes
    smallest = (NO_SPREAD * max(abs(value) for sample in samples for value in sample)) ** 2
    if min(squared) <= smallest:
        raise Untestable(
            "the units of one treatment are all equal, which tells nothing of its spread: measure finer, or more units"
        )
    weights = 1 / squared
    shares = weights / weights.sum()
    spare = float(np.sum((1 - shares) ** 2 / (sizes - 1))) / (count**2 - 1)
    between = float(np.sum(weights * (means - np.sum(shares * means)) ** 2)) / (count - 1)
    f = between / (1 + 2 * (count - 2) * spare)
    df = 1 / (3 * spare)
    variances = np.add.outer(squared, squared)
    return Comparison(
        FTest(f, count - 1, df, float(fdtrc(count - 1, df, f))),
        np.subtract.outer(means, means).T,
        np.sqrt(variances),
        variances**2 / np.add.outer(squared**2 / (sizes - 1), squared**2 / (sizes - 1)),
        sd,
        own_spreads=True,
    )


def letters(means: Sequence[float], differ: Sequence[Sequence[bool]]) -> list[str]:
    """Letters for treatments, the largest mean with a: two treatments share one exactly where they do not differ.

    Raises NoAnswer where the groups overlap so much that the alphabet is too short.
    """
    count = len(means)
    groups = [frozenset(range(count))]
    for first, second in itertools.combinations(range(count), 2):
        if differ[first][second]:
            parts = {
                group - {out} if {first, second} <= group else group for group in groups for out in (first, second)
            }
            groups = [part for part in parts if not any(part < other for other in parts)]
    order = sorted(range(count), key=lambda index: -means[index])
    groups.sort(key=lambda group: [index not in group for index in order])
    if len(groups) > len(string.ascii_letters):
        raise NoAnswer("the treatments overlap in more ways than there are letters: compare fewer of them")
    return [
        "".join(letter for letter, group in zip(string.ascii_letters, groups, strict=False) if index in group)
        for index in range(count)
    ]
