"""Sizes of trials beside a control and of split plots, against statsmodels, scipy's multivariate t and simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq
from statsmodels.stats.power import FTestAnovaPower, TTestIndPower, ftest_power

import growcells
from growcells.statistics.crossed_factors import effects
from growcells.statistics.trial_sizes import Effect, control_power, split_power
from growcells.terms.trial_columns import combinations, read_trial
from trials import compared

SIMULATED = 1500


def dunnett_power(difference: float, units: int, treatments: int, alpha: float) -> float:
    """The same power from scipy's multivariate t, which integrates by chance."""
    df, count = (2 if units > 2 else treatments) * (units - 1), treatments - 1
    shape = np.full((count, count), 0.5) + np.eye(count) / 2
    outside = stats.multivariate_t(shape=shape, df=df, seed=1)

    def alarms(t: float) -> float:
        return float(1 - outside.cdf(np.full(count, t), lower_limit=np.full(count, -t)) - alpha)

    critical = brentq(alarms, 0.5, 40, xtol=1e-5) if count > 1 else float(stats.t.isf(alpha / 2, df))
    shift = difference * (units / 2) ** 0.5
    return float(stats.nct.sf(critical, df, shift) + stats.nct.cdf(-critical, df, shift))


def split_powers(
    effect: Effect, difference: float, between: float, beds: int, feeds: int, varieties: int, alpha: float
) -> float:
    """The same power from statsmodels: feeds as an analysis of bed means, the rest as F tests of what is left."""
    if effect is Effect.BEDS:
        spread = (between**2 + 1 / varieties) ** 0.5
        size = difference / spread / (2 * feeds) ** 0.5
        return float(FTestAnovaPower().power(size, beds * feeds, alpha, k_groups=feeds))
    both = effect is Effect.BOTH
    df = (varieties - 1) * ((feeds - 1) if both else 1)
    left = feeds * (beds - 1) * (varieties - 1)
    shift = beds * difference**2 / 4 if both else beds * feeds * difference**2 / 2
    return float(ftest_power((shift / (df + left + 1)) ** 0.5, left, df, alpha))


@pytest.mark.parametrize("power", [0.5, 0.8, 0.95])
@pytest.mark.parametrize("spreads", [0.5, 1, 2.5])
def test_size_beside_a_control(spreads: float, power: float) -> None:
    two = TTestIndPower()
    size = growcells.call("GROW_CONTROL_SIZE", spreads * 3, 3, 2, power)
    assert two.power(spreads, size, 0.05) >= power - 1e-6
    assert size == 2 or two.power(spreads, size - 1, 0.05) < power + 1e-6
    size = int(growcells.call("GROW_CONTROL_SIZE", spreads, 1, 4, power))
    assert dunnett_power(spreads, size, 4, 0.05) >= power - 2e-3
    assert size == 2 or dunnett_power(spreads, size - 1, 4, 0.05) < power + 2e-3


@pytest.mark.parametrize("effect", Effect)
@pytest.mark.parametrize(("feeds", "varieties"), [(2, 2), (3, 2), (2, 4)])
def test_size_of_a_split_plot(effect: Effect, feeds: int, varieties: int) -> None:
    size = int(growcells.call("GROW_SPLIT_SIZE", 12, 4, 5, feeds, varieties, str(effect)))
    assert split_powers(effect, 2.4, 0.8, size, feeds, varieties, 0.05) >= 0.8
    assert size == 2 or split_powers(effect, 2.4, 0.8, size - 1, feeds, varieties, 0.05) < 0.8


def test_sizes_that_nobody_plants() -> None:
    for call in (("GROW_CONTROL_SIZE", 1e-4, 10, 3), ("GROW_SPLIT_SIZE", 1e-4, 5, 10, 2, 2)):
        assert "more than 1,000,000" in growcells.call("GROW_WHY", *call)
    assert growcells.call("GROW_CONTROL_SIZE", 1e6, 1, 5) == 2.0
    assert growcells.call("GROW_SPLIT_SIZE", 1e6, "0", 1, 2, 2) == 2.0


@pytest.mark.parametrize("size", [520_000, 600_000, 999_000])
def test_sizes_up_to_the_largest_trial_are_told(size: int) -> None:
    # So many degrees of freedom make t the normal distribution; statsmodels' own search misses it by 6 in 10,000.
    spreads = (stats.norm.ppf(0.975) + stats.norm.ppf(0.8)) * (2 / size) ** 0.5
    for function in ("GROW_TRIAL_SIZE", "GROW_CONTROL_SIZE"):
        assert growcells.call(function, spreads, 1, 2) == pytest.approx(size, rel=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize(("treatments", "units", "spreads"), [(3, 8, 1.5), (5, 6, 2.0)])
def test_power_beside_a_control_by_simulation(treatments: int, units: int, spreads: float) -> None:
    """How often the p of the trial table itself falls below 5 %, beside the power that the size is reckoned with."""
    random = np.random.default_rng(20)
    seen = 0
    for _ in range(SIMULATED):
        means = [0.0, spreads, *[0.0] * (treatments - 2)]
        samples = [random.normal(mean, 1, units).tolist() for mean in means]
        seen += compared(samples).against_control(1, 0.95).p < 0.05
    expected = control_power(spreads, units, treatments, 0.05)
    print(f"{treatments} treatments of {units}: seen {seen / SIMULATED:.3f}, reckoned {expected:.3f}")
    assert abs(seen / SIMULATED - expected) < 0.05


@pytest.mark.slow
@pytest.mark.parametrize(
    ("effect", "name"), [(Effect.BEDS, "feed"), (Effect.WITHIN, "variety"), (Effect.BOTH, "feed × variety")]
)
def test_power_of_a_split_plot_by_simulation(effect: Effect, name: str) -> None:
    """Two feeds, three varieties, four beds a feed: how often GROW_TRIAL_FACTORS finds the effect."""
    random = np.random.default_rng(21)
    feeds, varieties, beds, between, difference = 2, 3, 4, 0.7, 2.0
    cells = [(f, f * beds + b, v) for f in range(feeds) for b in range(beds) for v in range(varieties)]
    rows: list[list[str | None]] = [[f"f{f}", f"v{v}"] for f, _, v in cells]
    shift = {
        Effect.BEDS: lambda f, v: difference * (f - 0.5),
        Effect.WITHIN: lambda f, v: difference * (v - 1) / 2,
        Effect.BOTH: lambda f, v: difference * (f - 0.5) * (v - 1) / 2,
    }[effect]
    seen = 0
    for _ in range(SIMULATED):
        of_bed = random.normal(0, between, feeds * beds)
        values = [50 + shift(f, v) + of_bed[b] + float(random.normal()) for f, b, v in cells]
        trial = read_trial(values, combinations(rows, 2), [f"b{b}" for _, b, _ in cells])
        seen += next(row for row in effects(["feed", "variety"], trial) if row[0] == name)[4] < 0.05  # type: ignore[operator]
    expected = split_power(effect, difference, between, beds, feeds, varieties, 0.05)
    print(f"{name}: seen {seen / SIMULATED:.3f}, reckoned {expected:.3f}")
    assert abs(seen / SIMULATED - expected) < 0.04
