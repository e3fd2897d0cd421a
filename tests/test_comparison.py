"""Trials against statsmodels, scipy and what R's documentation prints.

``python tests/figures_trial.py`` prints the gaps measured here.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.oneway import anova_oneway
from statsmodels.stats.power import FTestAnovaPower, TTestIndPower

import growcells
from growcells.statistics.comparison import Units, fit_linear, letters
from growcells.statistics.control import control_range
from trials import (
    ONE_WAY,
    UNEQUAL,
    alarms_on_grid,
    column,
    columns,
    compared,
    false_alarms,
    gap,
    letter_faults,
    nested_gaps,
    nist,
    one_way_gap,
    rats,
    shares_a_letter,
    table,
    units,
    welch_gap,
)

CLOSE = 1e-6
STRD = {1: 14, 2: 13, 3: 13, 4: 10, 5: 10, 6: 10, 7: 4, 8: 4, 9: 4}
"""Figures of F that agree with the certified ones."""


@pytest.mark.parametrize("name", ONE_WAY)
def test_one_way_and_tukey_kramer(name: str) -> None:
    assert max(one_way_gap(ONE_WAY[name]())) < CLOSE


@pytest.mark.parametrize(
    "name",
    [
        "PlantGrowth",
        "npk, N alone",
        *(pytest.param(name, marks=pytest.mark.slow) for name in UNEQUAL),  # fifteen pairs take scipy seconds
    ],
)
def test_welch_and_games_howell(name: str) -> None:
    assert max(welch_gap((UNEQUAL | ONE_WAY)[name]())) < CLOSE


def test_plant_growth_as_r_prints_it() -> None:
    """oneway.test(weight ~ group, PlantGrowth) of R, and with one spread for all its anova and TukeyHSD."""
    samples = ONE_WAY["PlantGrowth"]()
    test = compared(samples).test
    assert (test.df_effect, round(test.df_error, 3)) == (2, 17.128)
    assert (round(test.f, 3), round(test.p, 5)) == (5.181, 0.01739)
    pooled = fit_linear(units(samples))
    assert (round(pooled.test.f, 3), round(pooled.test.p, 4)) == (4.846, 0.0159)
    assert round(pooled.pair(0, 1, 0.95).p, 7) == 0.3908711
    assert round(pooled.pair(0, 2, 0.95).low, 7) == -0.1972161
    assert round(pooled.pair(1, 2, 0.95).difference, 3) == 0.865


def test_insect_sprays_say_welch() -> None:
    values, treatments = columns(UNEQUAL["InsectSprays"]())
    said = " ".join(str(row[0]) for row in growcells.call("GROW_TRIAL_TABLE", values, treatments)[7:])
    assert "Welch's analysis of variance on 72 plants: F(5, 30.04) = 36.07, p < 0.0001." in said
    assert "Games–Howell" in said and "Tukey" not in said
    assert "Each treatment keeps its own spread" in said


def npk() -> Any:
    return table("datasets", "npk")


def test_npk_factorial_with_blocks() -> None:
    """Every effect of yield ~ block + N*P*K equals statsmodels' to 1e-6 and R's documentation as printed."""
    data = npk()
    theirs = sm.stats.anova_lm(smf.ols("Q('yield') ~ C(block) + C(N)*C(P) + C(N)*C(K) + C(P)*C(K)", data).fit(), typ=2)
    found = growcells.call(
        "GROW_TRIAL_FACTORS",
        column(data["yield"].tolist()),
        tuple(data[["N", "P", "K"]].itertuples(index=False)),
        column(data["block"].tolist()),
    )
    ours = dict(zip(("N", "P", "K", "N:P", "N:K", "P:K"), found[1:], strict=False))
    printed = {"N": 12.259, "P": 0.544, "K": 6.166, "N:P": 1.378, "N:K": 2.146, "P:K": 0.031}
    for effect, (_, df, mean_square, f, p) in ours.items():
        row = theirs.loc[":".join(f"C({factor})" for factor in effect.split(":"))]
        assert df == row["df"]
        assert max(gap(mean_square, row["sum_sq"]), gap(f, row["F"]), gap(p, row["PR(>F)"])) < CLOSE
        assert round(f, 3) == printed[effect]
    assert found[7] == ("factor 1 × factor 2 × factor 3", 0.0, "", "", "")


def test_npk_one_treatment_in_blocks_against_statsmodels() -> None:
    """Potassium in each block: the means of each level in each block, beds as blocks."""
    data = npk()
    cells = data.groupby(["block", "K"], as_index=False, observed=True)["yield"].mean()
    fit = smf.ols("Q('yield') ~ C(block) + C(K)", cells).fit()
    theirs = sm.stats.anova_lm(fit, typ=2)
    arguments = (column(data["yield"].tolist()), column(data["K"].tolist()), column(data["block"].tolist()))
    assert gap(growcells.call("GROW_TRIAL_P", *arguments), theirs["PR(>F)"]["C(K)"]) < CLOSE
    heading, *body = growcells.call("GROW_TRIAL_TABLE", *arguments)
    named = {row[0]: dict(zip(heading, row, strict=True)) for row in body}
    without = named["0"]["mean"] - named["1"]["mean"]
    assert without == pytest.approx(3.983, abs=5e-4)  # R documentation of npk: K1 −3.9833
    second = body[1]
    low, high = fit.conf_int().loc["C(K)[T.1]"]
    sign = 1 if second[0] == "1" else -1
    assert sorted((sign * second[8], sign * second[9])) == pytest.approx([low, high], abs=CLOSE)


def test_incomplete_blocks_against_statsmodels() -> None:
    """Where beds do not hold all treatments, differences are those within beds."""
    random = np.random.default_rng(5)
    bed_of = [0, 0, 1, 1, 2, 2, 3, 3, 3]
    treatment_of = [0, 1, 1, 2, 0, 2, 0, 1, 2]
    values = (random.normal(0, 1, 9) + np.array(bed_of) * 5 + np.array(treatment_of)).tolist()
    ours = fit_linear(Units(values, treatment_of, 3, bed_of))
    fit = smf.ols("y ~ C(b) + C(t)", pd.DataFrame({"y": values, "b": bed_of, "t": treatment_of})).fit()
    theirs = sm.stats.anova_lm(fit, typ=2)
    assert max(gap(ours.test.f, theirs["F"]["C(t)"]), gap(ours.test.p, theirs["PR(>F)"]["C(t)"])) < CLOSE
    assert ours.differences[0, 2] == pytest.approx(fit.params["C(t)[T.2]"])
    assert ours.errors[0, 2] == pytest.approx(fit.bse["C(t)[T.2]"])
    assert ours.errors[1, 2] == pytest.approx(float(fit.t_test("C(t)[T.2] - C(t)[T.1]").sd[0, 0]))


def test_beds_equal_the_nested_analysis_and_the_mixed_model() -> None:
    nested, mixed = nested_gaps()
    assert nested < CLOSE
    assert mixed < CLOSE


def test_the_cell_function_is_welch_on_bed_means() -> None:
    data, arguments = rats()
    means = [group["weight"].mean() for _, group in data.groupby("Rat", sort=False)]
    diets = [group["Diet"].iloc[0] for _, group in data.groupby("Rat", sort=False)]
    theirs = anova_oneway(np.array(means), groups=np.array(diets), use_var="unequal")
    assert gap(growcells.call("GROW_TRIAL_P", *arguments), theirs.pvalue) < CLOSE
    _, *body = growcells.call("GROW_TRIAL_TABLE", *arguments)
    assert [row[1] for row in body[:3]] == [8, 4, 4]
    assert body[3][0].startswith(f"Welch's analysis of variance on 16 bed means: F(2, {theirs.df[1]:.4g}) = ")


@pytest.mark.slow
def test_false_alarms_with_and_without_beds() -> None:
    """2,000 trials without a true difference: less than 5 % with beds, far more without."""
    with_beds = false_alarms(2000, with_beds=True)
    without = false_alarms(2000, with_beds=False)
    print(f"false alarms: {with_beds:.1%} with beds, {without:.1%} without")
    # As functions/README.md tells them.
    assert round(with_beds, 3) == 0.03
    assert round(without, 3) == 0.281


@pytest.mark.slow
def test_letters_of_a_thousand_random_trials_against_scipy() -> None:
    """Two treatments share a letter exactly where scipy's Tukey–Kramer range does not tell them apart."""
    pairs, told_apart, wrong = letter_faults(1000)
    assert wrong == 0
    assert 0.2 * pairs < told_apart < 0.8 * pairs


@pytest.mark.slow
def test_letters_of_welch_trials_against_scipy() -> None:
    random = np.random.default_rng(3)
    tried = 0
    while tried < 30:
        samples = [random.normal(random.normal(0, 3), random.choice([0.2, 3]), 6).tolist() for _ in range(4)]
        comparison = compared(samples)
        if not comparison.own_spreads:
            continue
        tried += 1
        found = letters([float(np.mean(sample)) for sample in samples], comparison.differ(0.95))
        p = stats.tukey_hsd(*samples, equal_var=False).pvalue
        for i in range(4):
            for j in range(i):
                assert shares_a_letter(found[i], found[j]) is bool(p[i, j] >= 0.05)


@pytest.mark.parametrize("power", [0.5, 0.8, 0.9, 0.95])
@pytest.mark.parametrize("spreads", [0.4, 1, 2.5])
def test_size_of_a_trial_against_statsmodels(spreads: float, power: float) -> None:
    two = TTestIndPower()
    size = growcells.call("GROW_TRIAL_SIZE", spreads * 7, 7, 2, power)
    assert two.power(spreads, size, 0.05) >= power - 1e-9
    assert size == 2 or two.power(spreads, size - 1, 0.05) < power
    for treatments in (3, 6):
        several = FTestAnovaPower()
        effect = spreads / (2 * treatments) ** 0.5
        size = growcells.call("GROW_TRIAL_SIZE", spreads, 1, treatments, power, 0.01)
        assert several.power(effect, size * treatments, 0.01, k_groups=treatments) >= power - 1e-9
        assert size == 2 or several.power(effect, (size - 1) * treatments, 0.01, k_groups=treatments) < power


@pytest.mark.parametrize("size", [2, 3, 10, 40])
def test_detected_difference_against_statsmodels(size: int) -> None:
    difference = growcells.call("GROW_TRIAL_DETECTS", size, 3, 2, 0.9)
    assert TTestIndPower().power(difference / 3, size, 0.05) == pytest.approx(0.9, abs=1e-6)
    difference = growcells.call("GROW_TRIAL_DETECTS", size, 3, 4)
    effect = difference / 3 / 8**0.5
    assert FTestAnovaPower().power(effect, size * 4, 0.05, k_groups=4) == pytest.approx(0.8, abs=1e-6)


@pytest.mark.parametrize("number", STRD)
def test_nist_reference_data(number: int) -> None:
    """NIST StRD, analysis of variance, of lower to higher difficulty, carried by scipy's own tests.

    The values of 07 to 09 are 1000000000000.4 and such: a double holds them to 0.0001, and F to what that leaves of it.
    """
    samples, certified = nist(number)
    f = fit_linear(units(samples)).test.f
    digits = -math.log10(max(abs(f / certified - 1), 1e-16))
    print(f"SmLs0{number}: F {f:.15g}, certified {certified:.15g}: {digits:.1f} digits")
    assert digits >= STRD[number]


def test_a_table_of_numbers_as_large_as_cells_hold() -> None:
    samples, _ = nist(7)
    p = growcells.call("GROW_TRIAL_P", *columns(samples))
    assert p == pytest.approx(
        float(anova_oneway([np.array(s) - 1e12 for s in samples], use_var="unequal").pvalue), rel=0.02
    )


GRID = [
    ((3, 3, 3), 1),
    ((3, 3, 3), 4),
    ((5, 5, 5, 5), 4),
    ((10, 10), 1),
    ((4, 10), 4),
    ((5, 5, 20), 4),
    ((20, 5, 5), 4),
]
"""Units a treatment, and how many times wider the first is spread than the others."""


@pytest.mark.slow
@pytest.mark.parametrize(("sizes", "times"), [*GRID, ((2, 2), 1), ((2, 2, 2), 1), ((2, 2, 2), 4)])
def test_false_alarms_with_unequal_sizes_and_spreads(sizes: tuple[int, ...], times: float) -> None:
    """A nominal 5 % is at most 7.5 % with spreads of their own; with two units each, one spread for all, up to 12 %."""
    share = alarms_on_grid(sizes, times, 2000)
    print(f"units {sizes}, first spread {times:g} times the others: {share:.1%} false alarms")
    assert share <= (0.075 if max(sizes) > 2 else 0.12)


@pytest.mark.parametrize("seed", range(8))
def test_dunnett_against_scipy(seed: int) -> None:
    """With one spread for all; scipy integrates by chance, to some 1e-4."""
    random = np.random.default_rng(seed)
    samples = [
        random.normal(mean, 1, int(random.integers(3, 9))).tolist() for mean in random.normal(0, 1, seed % 4 + 3)
    ]
    ours = fit_linear(units(samples))
    theirs = stats.dunnett(*samples[1:], control=samples[0], random_state=1)
    limits = theirs.confidence_interval(0.95)
    for place in range(1, len(samples)):
        pair = ours.against_control(place, 0.95)
        assert pair.p == pytest.approx(theirs.pvalue[place - 1], abs=2e-4)
        assert (pair.low, pair.high) == (
            pytest.approx(limits.low[place - 1], abs=5e-3 * (pair.high - pair.low)),
            pytest.approx(limits.high[place - 1], abs=5e-3 * (pair.high - pair.low)),
        )


def test_dunnett_as_its_table_prints_it() -> None:
    """Dunnett 1955, two-sided 5 %, equal sizes: 2 treatments and 10 degrees of freedom, 3 and 20."""
    assert round(control_range(0.95, (0.5, 0.5), 10.0), 2) == 2.57
    assert round(control_range(0.95, (0.5, 0.5, 0.5), 20.0), 2) == 2.54


def test_dunnett_with_spreads_of_their_own() -> None:
    """Each comparison with degrees of freedom and correlations of its own, by scipy's multivariate t."""
    ours = compared(ONE_WAY["PlantGrowth"]())
    shares = ours._shares
    shape = np.sqrt(np.outer(shares, shares))
    np.fill_diagonal(shape, 1)
    for place in (1, 2):
        t = abs(ours.differences[0, place] / ours.errors[0, place])
        outside = stats.multivariate_t(shape=shape, df=ours.df[0, place], seed=1)
        expected = 1 - outside.cdf(np.full(2, t), lower_limit=np.full(2, -t))
        assert ours.against_control(place, 0.95).p == pytest.approx(expected, abs=2e-4)


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.3, 0.5, 0.9, 0.999])
@pytest.mark.parametrize(("df", "near"), [(1, 1e-5), (2, 1e-6), (4, 1e-9), (18.3, 1e-10), (300, 1e-10)])
def test_a_single_treatment_beside_a_control_is_a_t_test(df: float, near: float, share: float) -> None:
    """Whatever part of the variance is the control's: scipy's distribution of t."""
    for confidence in (0.5, 0.95, 0.999):
        expected = stats.t.ppf((1 + confidence) / 2, df)
        assert control_range(confidence, (share,), df) == pytest.approx(expected, rel=near)


@pytest.mark.slow
def test_false_alarms_beside_a_control() -> None:
    """Trials without a true difference, spreads and sizes unequal: how often any treatment differs from the control."""
    random = np.random.default_rng(5)
    alarms = 0
    for _ in range(1500):
        samples = [random.normal(0, s, n).tolist() for s, n in ((1, 6), (2, 5), (1, 8), (3, 5))]
        ours = compared(samples)
        alarms += min(ours.against_control(place, 0.95).p for place in (1, 2, 3)) < 0.05
    print(f"beside a control: {alarms / 1500:.1%} false alarms")
    assert alarms / 1500 <= 0.07
