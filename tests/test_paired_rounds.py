"""What rounds say together, against scipy's own t tests and statsmodels' power of a t test."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestPower

from growcells.no_answer import NoAnswer
from growcells.statistics.paired_rounds import between_beds, over_rounds, rounds_needed


@pytest.mark.parametrize("seed", range(20))
def test_limits_are_those_of_t_tests(seed: int) -> None:
    chance = np.random.default_rng(seed)
    ones, others = chance.normal(50, 5, 3 + seed % 4), chance.normal(54, 5, 2 + seed % 3)
    found = between_beds(ones.tolist(), others.tolist())
    limits = stats.ttest_ind(ones, others).confidence_interval()
    assert (found.low, found.high) == pytest.approx((limits.low, limits.high), rel=1e-12)
    assert found.is_sure == (limits.low > 0 or limits.high < 0)
    found = over_rounds(ones.tolist())
    limits = stats.ttest_1samp(ones, 0).confidence_interval()
    assert (found.low, found.high) == pytest.approx((limits.low, limits.high), rel=1e-12)


def test_what_has_no_spread_has_no_limits() -> None:
    for found in (between_beds([50], [54]), between_beds([50, 50], [54, 54]), over_rounds([-4])):
        assert (found.difference, found.low, found.high, found.is_sure) == (-4, None, None, False)


@pytest.mark.parametrize("difference", [2.0, 5.0, 8.0])
def test_rounds_needed_have_the_power_and_one_less_has_not(difference: float) -> None:
    rounds = rounds_needed(difference, 4)
    power = TTestPower()
    assert power.power(difference / 4, rounds, 0.05) >= 0.8
    assert rounds == 2 or power.power(difference / 4, rounds - 1, 0.05) < 0.8


def test_more_rounds_than_anybody_plants() -> None:
    with pytest.raises(NoAnswer, match="more than 1,000 rounds"):
        rounds_needed(0.001, 4)
