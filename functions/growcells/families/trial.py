"""Is one treatment better than another: the test of a trial, its table, and how large a trial must be."""

from __future__ import annotations

import math
import statistics

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import COUNT, FRACTION, NUMBER
from ..cells.registry import Family, cell_function
from ..statistics.comparison import Comparison, Untestable, detectable_difference, letters, units_needed
from ..statistics.trials import Trial
from ..terms.plant_values import LARGEST, Lost
from ..terms.trial_columns import BEDS, MOST_TREATMENTS, REPLICATES, TREATMENTS, VALUES, read_trial
from ..terms.trial_sentences import USUAL_POWER, sentences

COLUMNS = (
    "treatment",
    "n",
    "lost",
    "mean",
    "sd",
    "low",
    "high",
    "difference",
    "difference low",
    "difference high",
    "p",
    "letters",
)

REST = ("",) * (len(COLUMNS) - 1)
"""The blank cells beside a sentence."""


CONFIDENCE = Argument(
    "confidence", FRACTION, "the confidence of limits and letters; 0.95 if left out", False, 0.95, low=0.5, high=0.999
)

POWER = Argument(
    "power", FRACTION, "the chance to see the difference; 0.8 if left out", False, USUAL_POWER, low=0.5, high=0.999
)

ALPHA = Argument("alpha", FRACTION, "the chance of a false alarm; 0.05 if left out", False, 0.05, low=0.001, high=0.5)

SPREAD = Argument("sd", NUMBER, "the standard deviation between plants (or beds) treated alike", high=LARGEST)

NUMBER_OF_TREATMENTS = Argument("treatments", COUNT, "how many treatments are compared", low=2, high=MOST_TREATMENTS)

TESTS = (
    "one-way analysis of variance with Tukey–Kramer, or Welch with Games–Howell where the Brown–Forsythe test finds "
    "that spreads differ; with beds on bed means, with beds as blocks where they hold several treatments"
)

SOURCES = (
    "Kramer, Biometrics 12 (1956) 307; Welch, Biometrika 38 (1951) 330; Games & Howell, J. Educ. Stat. 1 (1976) 113; "
    "Brown & Forsythe, JASA 69 (1974) 364; Piepho, J. Comput. Graph. Stat. 13 (2004) 456"
)


PLANT_GROWTH = {
    "ctrl": (4.17, 5.58, 5.18, 6.11, 4.5, 4.61, 5.17, 4.53, 5.33, 5.14),
    "trt1": (4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69),
    "trt2": (6.31, 5.12, 5.54, 5.5, 5.37, 5.29, 4.92, 6.15, 5.8, 5.26),
}
"""Dried weights of plants: Dobson, An Introduction to Statistical Modelling (1983); R's data set PlantGrowth."""

WEIGHTS = tuple((value,) for values in PLANT_GROWTH.values() for value in values)

GROUPS = tuple((name,) for name, values in PLANT_GROWTH.items() for _ in values)

R_SOURCE = "R, anova(lm(weight ~ group, PlantGrowth)) and TukeyHSD"

BED_VALUES = ((50,), (54,), (58,), (62,), (66,), ("dead",), (70,), (74,))

BED_FEEDS = (("A",), ("A",), ("A",), ("A",), ("B",), ("B",), ("B",), ("B",))

BED_NAMES = ((1,), (1,), (2,), (2,), (3,), (3,), (4,), (4,))


@cell_function(
    "GROW_TRIAL_TABLE",
    family=Family.TRIAL,
    help="Compares treatments: mean, spread, limits, difference from the first, letters, and in words what was tested.",
    arguments=(VALUES, TREATMENTS, BEDS, CONFIDENCE),
    result=Result(NUMBER, "a table, a row for each treatment and sentences below", negative=True, columns=COLUMNS),
    examples=(
        Example(
            (WEIGHTS, GROUPS),
            (
                COLUMNS,
                ("ctrl", 10.0, 0.0, 5.032, 0.5830914, 4.614882, 5.449118, "", "", "", "", "ab"),
                (
                    "trt1",
                    10.0,
                    0.0,
                    4.661,
                    0.7936757,
                    4.093238,
                    5.228761,
                    -0.371,
                    -1.0622161,
                    0.3202161,
                    0.3908711,
                    "b",
                ),
                ("trt2", 10.0, 0.0, 5.526, 0.4425733, 5.209402, 5.842598, 0.494, -0.1972161, 1.1852161, 0.1979960, "a"),
                ("One-way analysis of variance on 30 plants: F(2, 27) = 4.846, p = 0.0159.", *REST),
                (
                    "Differences are from ctrl; their limits, p and the letters are Tukey–Kramer at 0.95. "
                    "Treatments that share a letter are not shown to differ.",
                    *REST,
                ),
                (
                    "Spreads are not shown to differ (Brown–Forsythe p = 0.3412, level 0.05): "
                    "one spread is taken for all treatments.",
                    *REST,
                ),
                (
                    "A trial of this size and spread (sd 0.623) sees a true difference of 0.916 in 8 cases of 10.",
                    *REST,
                ),
                ("n counts measured plants.", *REST),
                ("No plant is noted as lost.", *REST),
                (
                    "Each plant is taken for a replicate of its own. Where the plants of a treatment share one bed or "
                    "reservoir, bed and treatment cannot be told apart: give beds, two or more for each treatment.",
                    *REST,
                ),
            ),
            R_SOURCE,
            1e-5,
        ),
        Example(
            (BED_VALUES, BED_FEEDS, BED_NAMES),
            (
                COLUMNS,
                ("A", 2.0, 0.0, 56.0, math.sqrt(32), 5.17518, 106.82482, "", "", "", "", "a"),
                ("B", 2.0, 1.0, 69.0, math.sqrt(18), 30.88139, 107.11861, 13.0, -8.513264, 34.513264, 0.1215414, "a"),
                ("One-way analysis of variance on 4 bed means: F(1, 2) = 6.76, p = 0.1215.", *REST),
                (
                    "Differences are from A; their limits, p and the letters are Tukey–Kramer at 0.95. "
                    "Treatments that share a letter are not shown to differ.",
                    *REST,
                ),
                (
                    "With fewer than 3 units in a treatment, or all equally far from their median, "
                    "spreads are not compared: one spread is taken for all treatments.",
                    *REST,
                ),
                ("A trial of this size and spread (sd 5) sees a true difference of 28.3 in 8 cases of 10.", *REST),
                ("n counts beds; each bed counts alike, whatever it holds of the 7 measured plants.", *REST),
                (
                    "Lost: 1 of 8 plants (A 0 of 4, B 1 of 4). Means are of the plants that lived: "
                    "a treatment that kills its weak plants looks better than it is.",
                    *REST,
                ),
                ("Each treatment has two beds or more: the test is on their means.", *REST),
            ),
            "scipy.stats.ttest_ind([66, 72], [52, 60]) on the bed means",
            1e-5,
        ),
    ),
    formula=TESTS,
    source=SOURCES,
    needs=("scipy",),
    advice=REPLICATES,
)
def trial_table(
    values: list[float | Lost | None],
    treatments: list[str | None],
    beds: list[str | None] | None,
    confidence: float,
) -> list[tuple[object, ...]]:
    """Rows of a trial table and its sentences. Raises GrowError where the columns do not describe a trial."""
    trial = read_trial(values, treatments, beds)
    comparison: Comparison | str
    try:
        comparison = trial.comparison
    except Untestable as reason:
        comparison = str(reason)
    marks = {} if isinstance(comparison, str) else letters_of(trial, comparison, confidence)
    rows: list[tuple[object, ...]] = [COLUMNS]
    for name in trial.treatments:
        rows.append(
            (
                name,
                *described(trial, name, confidence),
                *against_first(trial, comparison, name, confidence),
                marks.get(name, ""),
            )
        )
    rows += [(sentence, *REST) for sentence in sentences(trial, comparison, confidence)]
    return rows


def letters_of(trial: Trial, comparison: Comparison, confidence: float) -> dict[str, str]:
    """The letters of each treatment with living plants."""
    found = letters([float(mean) for mean in comparison.differences[0]], comparison.differ(confidence))
    return dict(zip(trial.present, found, strict=True))


def described(trial: Trial, name: str, confidence: float) -> tuple[object, ...]:
    """Units, lost plants, mean, standard deviation and the limits of the mean of a treatment."""
    from scipy import stats

    values = trial.values(name)
    size = len(values)
    lost = float(trial.lost[name])
    if not values:
        return (0.0, lost, "", "", "", "")
    mean = statistics.fmean(values)
    if size == 1:
        return (1.0, lost, mean, "", "", "")
    spread = statistics.stdev(values)
    half = float(stats.t.ppf((1 + confidence) / 2, size - 1)) * spread / math.sqrt(size)
    return (float(size), lost, mean, spread, mean - half, mean + half)


def against_first(trial: Trial, comparison: Comparison | str, name: str, confidence: float) -> tuple[object, ...]:
    """Difference from the first treatment with living plants, its limits and p; blanks where there are none."""
    if name not in trial.present[1:]:
        return ("", "", "", "")
    if isinstance(comparison, str):
        difference = statistics.fmean(trial.values(name)) - statistics.fmean(trial.values(trial.present[0]))
        return (difference, "", "", "")
    pair = comparison.pair(0, trial.present.index(name), confidence)
    return (pair.difference, pair.low, pair.high, pair.p)


@cell_function(
    "GROW_TRIAL_P",
    family=Family.TRIAL,
    help="Is there a difference between treatments: the chance of one as large if there were none.",
    arguments=(VALUES, TREATMENTS, BEDS),
    result=Result(FRACTION, "p, the smaller the surer; below 0.05 is the usual sign of a difference"),
    examples=(
        Example((WEIGHTS, GROUPS), 0.01591, R_SOURCE, 1e-4),
        Example(
            (BED_VALUES, BED_FEEDS, BED_NAMES),
            0.12154140808,
            "scipy.stats.ttest_ind([66, 72], [52, 60]) on the bed means",
        ),
    ),
    formula=TESTS,
    source=SOURCES,
    needs=("scipy",),
    advice=REPLICATES,
)
def trial_p(values: list[float | Lost | None], treatments: list[str | None], beds: list[str | None] | None) -> float:
    """p of the test of all treatments. Raises GrowError, and Untestable where no test can be made."""
    return read_trial(values, treatments, beds).comparison.test.p


@cell_function(
    "GROW_TRIAL_SIZE",
    family=Family.TRIAL,
    help="Plants needed in each treatment to see a difference; beds, where treatments are given by the bed.",
    arguments=(
        Argument("difference", NUMBER, "the smallest difference worth seeing, in the unit of sd", high=LARGEST),
        SPREAD,
        NUMBER_OF_TREATMENTS,
        POWER,
        ALPHA,
    ),
    result=Result(NUMBER, "plants or beds in each treatment"),
    examples=(
        Example((10, 10, 2), 17.0, "statsmodels.stats.power.TTestIndPower: 16.7"),
        Example((10, 10, 4, 0.9), 30.0, "statsmodels.stats.power.FTestAnovaPower, f = 1 ÷ √8"),
    ),
    formula="fewest n at which the F test with noncentrality n × (difference ÷ sd)² ÷ 2 has the power",
    source="noncentral F distribution; two treatments differ so much, the others lie halfway between them",
    needs=("scipy",),
    advice="Take sd from an earlier trial's table, of the same kind of unit: the sd between bed means gives beds.",
)
def trial_size(difference: float, sd: float, treatments: float, power: float, alpha: float) -> float:
    """Units needed in each treatment. Raises OutOfRange where they are too many to be planted."""
    return float(units_needed(difference / sd, int(treatments), power, alpha))


@cell_function(
    "GROW_TRIAL_DETECTS",
    family=Family.TRIAL,
    help="The smallest difference that a trial of a given size sees, one already done as well.",
    arguments=(
        Argument("units", COUNT, "plants (or beds, where treated by the bed) in each treatment", low=2, high=1e6),
        SPREAD,
        NUMBER_OF_TREATMENTS,
        POWER,
        ALPHA,
    ),
    result=Result(NUMBER, "the difference, in the unit of sd"),
    examples=(Example((17, 10, 2), 9.910029, "statsmodels.stats.power.TTestIndPower", 1e-5),),
    formula="the difference at which the F test with noncentrality units × (difference ÷ sd)² ÷ 2 has the power",
    source="noncentral F distribution; two treatments differ so much, the others lie halfway between them",
    needs=("scipy",),
    advice="No difference found means none larger than this, not none.",
)
def trial_detects(units: float, sd: float, treatments: float, power: float, alpha: float) -> float:
    """Smallest difference seen with the power, in the unit of sd."""
    return sd * detectable_difference(units, int(treatments), treatments * (units - 1), power, alpha)
