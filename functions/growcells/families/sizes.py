"""How large a trial beside a control and one of beds split between varieties must be."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import COUNT, NUMBER, Choice
from ..cells.registry import Family, cell_function
from ..statistics.trial_sizes import Effect, control_power, fewest, split_power
from ..terms.plant_values import LARGEST
from ..terms.trial_columns import MOST_TREATMENTS
from ..terms.trial_table import ALPHA, POWER, SPREAD

MOST_LEVELS = 20
"""Levels of a factor that are compared at most. Ours."""


@cell_function(
    "GROW_CONTROL_SIZE",
    family=Family.TRIAL,
    help="Plants (or beds) needed in each treatment to see one that differs from the control, where several are tried.",
    arguments=(
        Argument("difference", NUMBER, "the smallest difference from the control worth seeing", high=LARGEST),
        SPREAD,
        Argument("treatments", COUNT, "how many treatments, the control among them", low=2, high=MOST_TREATMENTS),
        POWER,
        ALPHA,
    ),
    result=Result(NUMBER, "plants or beds in each treatment, the control too"),
    examples=(
        Example((10, 10, 2), 17.0, "statsmodels.stats.power.TTestIndPower: 16.7"),
        Example((10, 10, 4), 22.0, "scipy.stats.multivariate_t for Dunnett's limit, scipy.stats.nct for the power"),
    ),
    formula="fewest n at which noncentral t with shift difference ÷ sd × √(n ÷ 2) and the degrees of freedom of "
    "the two goes beyond the limit of Dunnett",
    source="Dunnett, Journal of the American Statistical Association 50 (1955) 1096; noncentral t distribution",
    needs=("scipy",),
    advice="It is what the comparisons of GROW_TRIAL_TABLE need where the first treatment is called the control. "
    "With the sd between bed means the answer is a number of beds.",
)
def control_size(difference: float, sd: float, treatments: float, power: float, alpha: float) -> float:
    """Units [1] in each treatment to see a difference from the control, which has the unit of sd.

    Raises NoAnswer where they are too many to be planted.

    >>> control_size(10.0, 10.0, 4.0, 0.8, 0.05)
    22.0
    """
    return float(fewest(lambda units: control_power(difference / sd, units, int(treatments), alpha), power))


@cell_function(
    "GROW_SPLIT_SIZE",
    family=Family.TRIAL,
    help="Beds needed for each feed where each bed holds every variety: to see feeds, varieties or both together.",
    arguments=(
        Argument("difference", NUMBER, "the smallest difference worth seeing, in the unit of the two sd", high=LARGEST),
        Argument(
            "sd_beds",
            NUMBER,
            "the standard deviation between beds treated alike; 0 where beds are all one",
            zero=True,
            high=LARGEST,
        ),
        Argument("sd_left", NUMBER, "the standard deviation between plots of one bed that are left over", high=LARGEST),
        Argument("feeds", COUNT, "how many feeds, or what else whole beds have in common", low=2, high=MOST_LEVELS),
        Argument("varieties", COUNT, "how many varieties, or what else varies within a bed", low=2, high=MOST_LEVELS),
        Argument(
            "effect",
            Choice("effect", tuple(Effect)),
            "beds if left out: a difference of two feeds; within: of two varieties; both: by how much more two "
            "varieties differ under one feed than under another",
            False,
            Effect.BEDS,
        ),
        POWER,
        ALPHA,
    ),
    result=Result(NUMBER, "beds for each feed"),
    examples=(
        Example(
            (10, 6, 4, 2, 3),
            8.0,
            "statsmodels' TTestIndPower of bed means with sd √(6² + 4² ÷ 3): 7.6 beds",
        ),
        Example(
            (5, 6, 4, 2, 3, "within"),
            8.0,
            "statsmodels.stats.power.ftest_power with 2 and 28 degrees of freedom: 0.859; 7 beds 0.7997",
        ),
    ),
    formula="fewest beds at which noncentral F has the power: feeds over beds treated alike, others over what is left",
    source="Cochran & Cox, Experimental Designs, 2nd ed. (1957) 7.1, from memory; noncentral F distribution; held "
    "against simulated trials",
    needs=("scipy",),
    advice="From a table of GROW_TRIAL_FACTORS: sd_left is the root of the mean square left over; sd_beds the root of "
    "that of beds treated alike less that left over, divided by the varieties, and 0 where that is below zero.",
)
def split_size(
    difference: float,
    sd_beds: float,
    sd_left: float,
    feeds: float,
    varieties: float,
    effect: str,
    power: float,
    alpha: float,
) -> float:
    """Beds [1] for each feed of a split plot; the difference has the unit of both standard deviations.

    Raises NoAnswer where they are too many to be planted.

    >>> split_size(10.0, 6.0, 4.0, 2.0, 3.0, "beds", 0.8, 0.05)
    8.0
    """
    levels = int(feeds), int(varieties)
    tested, seen, between = Effect(effect), difference / sd_left, sd_beds / sd_left
    return float(fewest(lambda beds: split_power(tested, seen, between, beds, *levels, alpha), power))
