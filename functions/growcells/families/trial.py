"""Is one treatment better than another: the test of a trial, its table, and how large a trial must be."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result, example_columns, example_of_table
from ..cells.errors import GrowError
from ..cells.kinds import COUNT, FRACTION, NUMBER
from ..cells.registry import Family, cell_function
from ..statistics.trial_sizes import detectable_difference, units_needed
from ..terms.plant_values import LARGEST, Lost
from ..terms.trial_columns import BEDS, MOST_TREATMENTS, REPLICATES, TREATMENTS, VALUES, read_trial
from ..terms.trial_table import ALPHA, COLUMNS, CONFIDENCE, POWER, SHARES, SOURCES, SPREAD, TESTS, table_of

NUMBER_OF_TREATMENTS = Argument("treatments", COUNT, "how many treatments are compared", low=2, high=MOST_TREATMENTS)


PLANT_GROWTH = example_columns("plant_growth.csv", "weight", "treatment")
BEDS_OF_FOUR = example_columns("beds.csv", "mass", "feed", "bed")


@cell_function(
    "GROW_TRIAL_TABLE",
    family=Family.TRIAL,
    help="Compares treatments: mean, spread, limits, difference from the first, letters, and in words what was tested.",
    arguments=(VALUES, TREATMENTS, BEDS, CONFIDENCE),
    result=Result(NUMBER, "a table, a row for each treatment and sentences below", negative=True, columns=COLUMNS),
    examples=(
        example_of_table(PLANT_GROWTH, "plant_growth_table.csv", 1e-5),
        example_of_table(BEDS_OF_FOUR, "beds_table.csv", 1e-5),
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
    """Rows of a trial table, means in the unit of the values, and its sentences; confidence [1].

    Raises GrowError where the columns do not describe a trial, NoAnswer where there are too many groups for letters.

    >>> trial_table([4.0, 5.0, 7.0, 8.0], ["A", "A", "B", "B"], None, 0.95)[2][:4]
    ('B', 2.0, 0.0, 7.5)
    """
    return table_of(read_trial(values, treatments, beds), confidence)


@cell_function(
    "GROW_TRIAL_P",
    family=Family.TRIAL,
    help="Is there a difference between treatments: the chance of one as large if there were none.",
    arguments=(VALUES, TREATMENTS, BEDS),
    result=Result(FRACTION, "p: the smaller it is, the surer the difference; below 0.05 is usually taken as one"),
    examples=(
        Example(PLANT_GROWTH, 0.01739, "R, oneway.test(weight ~ group, PlantGrowth), from memory", 1e-3),
        Example(
            BEDS_OF_FOUR,
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
    """p [1] of the test of all treatments.

    Raises GrowError where the columns do not describe a trial, Untestable where no test can be made.

    >>> round(trial_p([4.0, 5.0, 7.0, 8.0], ["A", "A", "B", "B"], None), 4)
    0.0513
    """
    trial = read_trial(values, treatments, beds)
    if trial.is_of_shares:
        raise GrowError(SHARES)
    return trial.comparison.test.p


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
    advice="Take sd from the table of an earlier trial; with the sd between bed means the answer is a number of beds.",
)
def trial_size(difference: float, sd: float, treatments: float, power: float, alpha: float) -> float:
    """Units [1] needed in each treatment to see a difference, which has the unit of sd.

    Raises NoAnswer where they are too many to be planted.

    >>> trial_size(10.0, 10.0, 2.0, 0.8, 0.05)
    17.0
    """
    return float(units_needed(difference / sd, int(treatments), power, alpha))


@cell_function(
    "GROW_TRIAL_DETECTS",
    family=Family.TRIAL,
    help="The smallest difference that a trial of a given size can show, also for a trial that is over.",
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
    advice="Where no difference is found there may still be one that is smaller than this.",
)
def trial_detects(units: float, sd: float, treatments: float, power: float, alpha: float) -> float:
    """Smallest difference, in the unit of sd, that so many units [1] see with the power [1] at an alpha [1].

    >>> round(trial_detects(17.0, 10.0, 2.0, 0.8, 0.05), 3)
    9.91
    """
    return sd * detectable_difference(units, int(treatments), treatments * (units - 1), power, alpha)
