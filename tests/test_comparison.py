"""Trials against statsmodels, scipy and what R's documentation prints.

``python tests/figures_trial.py`` prints the gaps measured here.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.power import FTestAnovaPower, TTestIndPower

import growcells
from growcells.statistics.comparison import Units, fit_linear, letters
from trials import (
    ONE_WAY,
    UNEQUAL,
    column,
    columns,
    compared,
    false_alarms,
    gap,
    letter_faults,
    nested_gaps,
    one_way_gap,
    rats,
    rows,
    shares_a_letter,
    table,
    welch_gap,
)

CLOSE = 1e-6


@pytest.mark.parametrize("name", ONE_WAY)
def test_one_way_and_tukey_kramer(name: str) -> None:
    assert max(one_way_gap(ONE_WAY[name]())) < CLOSE


@pytest.mark.parametrize("name", UNEQUAL)
def test_welch_and_games_howell(name: str) -> None:
    assert max(welch_gap(UNEQUAL[name]())) < CLOSE


def test_plant_growth_as_r_prints_it() -> None:
    """anova(lm(weight ~ group, PlantGrowth)) and TukeyHSD(aov(weight ~ group, PlantGrowth)) of R."""
    samples = ONE_WAY["PlantGrowth"]()
    test = compared(samples).test
    assert (test.df_effect, test.df_error) == (2, 27)
    assert (round(test.f, 3), round(test.p, 4)) == (4.846, 0.0159)
    first, second, third = rows(samples)
    assert round(second["p"], 7) == 0.3908711
    assert round(third["difference low"], 7) == -0.1972161
    assert round(rows([samples[1], samples[2]])[1]["difference"], 3) == 0.865
    assert round(compared(samples).pair(1, 2, 0.95).p, 7) == 0.0120064
    assert (first["letters"], second["letters"], third["letters"]) == ("ab", "b", "a")


def test_insect_sprays_say_welch() -> None:
    values, treatments = columns(UNEQUAL["InsectSprays"]())
    said = " ".join(str(row[0]) for row in growcells.call("GROW_TRIAL_TABLE", values, treatments)[7:])
    assert "Welch's analysis of variance on 72 plants: F(5, 30.04) = 36.07, p < 0.0001." in said
    assert "Games–Howell" in said and "Tukey" not in said
    assert "Spreads differ (Brown–Forsythe p = 0.0042, level 0.05)" in said


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


def test_the_cell_function_is_that_nested_analysis() -> None:
    data, arguments = rats()
    of_diet, of_rat = (smf.ols(f"weight ~ C({name})", data).fit() for name in ("Diet", "Rat"))
    f = of_diet.ess / 2 / ((of_diet.ssr - of_rat.ssr) / 13)
    assert gap(growcells.call("GROW_TRIAL_P", *arguments), float(stats.f.sf(f, 2, 13))) < CLOSE
    _, *body = growcells.call("GROW_TRIAL_TABLE", *arguments)
    assert [row[1] for row in body[:3]] == [8, 4, 4]
    assert body[3][0] == f"One-way analysis of variance on 16 bed means: F(2, 13) = {f:.4g}, p < 0.0001."


@pytest.mark.slow
def test_false_alarms_with_and_without_beds() -> None:
    """2,000 trials without a true difference: 5 % ± 1.5 with beds; far more without."""
    with_beds = false_alarms(2000, with_beds=True)
    without = false_alarms(2000, with_beds=False)
    print(f"false alarms: {with_beds:.1%} with beds, {without:.1%} without")
    assert abs(with_beds - 0.05) <= 0.015
    assert without > 0.15


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
