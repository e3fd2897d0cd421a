"""Seeds against scipy's binomial distribution over grids, and statsmodels' exact limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

import growcells

RATES = [0.05, 0.3, 0.5, 0.6, 0.75, 0.8, 0.85, 0.9, 0.95, 0.99]
CONFIDENCES = [0.5, 0.75, 0.8, 0.9, 0.95, 0.96, 0.99, 0.999]
ROUNDING = 1e-12


@pytest.mark.parametrize("germination", RATES)
def test_sites_filled(germination: float) -> None:
    for seeds in range(1, 12):
        expected = stats.binom.sf(0, seeds, germination)
        assert growcells.call("GROW_SITES_FILLED", germination, seeds) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("confidence", CONFIDENCES)
@pytest.mark.parametrize("germination", RATES)
def test_seeds_per_site_are_enough_and_not_one_too_many(germination: float, confidence: float) -> None:
    seeds = growcells.call("GROW_SEEDS_PER_SITE", germination, confidence)
    assert isinstance(seeds, float)
    assert stats.binom.sf(0, seeds, germination) >= confidence - ROUNDING
    assert seeds == 1 or stats.binom.sf(0, seeds - 1, germination) < confidence - ROUNDING


# In decimals 1 − 0.3² is 0.91 exactly; in binary it is a hair less.
@pytest.mark.parametrize(
    ("germination", "confidence", "seeds"), [(0.7, 0.91, 2), (0.85, 0.9775, 2), (0.6, 0.936, 3), (0.9, 0.9999, 4)]
)
def test_seeds_per_site_where_the_confidence_is_met_exactly(germination: float, confidence: float, seeds: int) -> None:
    assert growcells.call("GROW_SEEDS_PER_SITE", germination, confidence) == seeds


@given(st.floats(1e-4, 1 - 1e-4), st.floats(0.01, 0.9999))
def test_seeds_per_site_are_never_too_few(germination: float, confidence: float) -> None:
    seeds = growcells.call("GROW_SEEDS_PER_SITE", germination, confidence)
    assert isinstance(seeds, float)
    assert -math.expm1(seeds * math.log1p(-germination)) >= confidence - 1e-11


@pytest.mark.parametrize("confidence", CONFIDENCES)
@pytest.mark.parametrize("germination", RATES)
def test_seeds_to_sow_are_enough_and_not_one_too_many(germination: float, confidence: float) -> None:
    for plants in (1, 2, 5, 36, 200):
        seeds = growcells.call("GROW_SEEDS_TO_SOW", plants, germination, confidence)
        assert stats.binom.sf(plants - 1, seeds, germination) >= confidence - 1e-11
        assert seeds == plants or stats.binom.sf(plants - 1, seeds - 1, germination) < confidence


@pytest.mark.parametrize("sown", [1, 2, 5, 20, 50, 200])
@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
def test_germination_limits(sown: int, confidence: float) -> None:
    for sprouted in range(0, sown + 1, max(1, sown // 10)):
        low = growcells.call("GROW_GERM_LOW", sprouted, sown, confidence)
        high = growcells.call("GROW_GERM_HIGH", sprouted, sown, confidence)
        expected = proportion_confint(sprouted, sown, 1 - confidence, method="beta")
        assert (low, high) == pytest.approx((expected[0], expected[1]), abs=1e-9)
        half = (1 - confidence) / 2
        assert low == 0 or stats.binom.sf(sprouted - 1, sown, low) == pytest.approx(half, rel=1e-6)
        assert high == 1 or stats.binom.cdf(sprouted, sown, high) == pytest.approx(half, rel=1e-6)


def test_the_help_advises_two_seeds_thinned_to_one() -> None:
    advice = growcells.functions()["GROW_SEEDS_PER_SITE"].advice
    assert "two seeds a site and thin" in advice
    assert f"{growcells.call('GROW_SITES_FILLED', 0.85, 2):.2%}".replace("%", " %") in advice


def test_seeds_that_all_sprout() -> None:
    assert growcells.call("GROW_SITES_FILLED", 1, 1) == 1.0
    assert growcells.call("GROW_SEEDS_PER_SITE", 1, 1) == 1.0
    assert growcells.call("GROW_SEEDS_PER_SITE", 1, 0.5) == 1.0
    assert growcells.call("GROW_SEEDS_TO_SOW", 36, 1, 1) == 36.0


def test_tiny_chances_keep_their_figures() -> None:
    assert growcells.call("GROW_SITES_FILLED", 1e-12, 3) == pytest.approx(3e-12, rel=1e-9)
    assert growcells.call("GROW_SEEDS_PER_SITE", 1e-9, 1e-6) == pytest.approx(1000, abs=1)
    assert growcells.call("GROW_SEEDS_PER_SITE", 0.5, 0.01) == 1.0


def test_seeds_to_sow_where_the_confidence_is_met_exactly() -> None:
    # One of two seeds at 70 % with 91 %, as above; by the binomial distribution 2 are enough.
    assert growcells.call("GROW_SEEDS_TO_SOW", 1, 0.7, 0.91) == 2.0
    assert growcells.call("GROW_SEEDS_TO_SOW", 1, 0.5, 0.75) == 2.0


def test_limits_of_a_test_in_which_all_or_none_sprouted() -> None:
    assert (growcells.call("GROW_GERM_LOW", 0, 5), growcells.call("GROW_GERM_HIGH", 5, 5)) == (0.0, 1.0)
    assert growcells.call("GROW_GERM_HIGH", 0, 5) == pytest.approx(1 - 0.025 ** (1 / 5))
    assert growcells.call("GROW_GERM_LOW", 5, 5, 0.9) == pytest.approx(0.05 ** (1 / 5))


def test_more_seeds_than_anybody_sows() -> None:
    with pytest.raises(growcells.GrowError, match=r"^it takes more than a billion seeds a site: check the germination"):
        growcells.call("GROW_SEEDS_PER_SITE", 1e-12, 0.99)
