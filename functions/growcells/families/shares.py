"""Shares of plants that sprouted, lived, bolted or were sold, compared between feeds or seed lots."""

from __future__ import annotations

from collections.abc import Sequence

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError, OutOfRange
from ..cells.kinds import COUNT, FRACTION, NUMBER
from ..cells.ranges import Column, check_lengths
from ..cells.registry import Family, cell_function
from ..statistics.proportions import difference_limits, exact_p, plants_needed
from ..terms.trial_table import ALPHA, CONFIDENCE, POWER

MOST_PLANTS = 1e5

SUCCESSES = Argument(
    "successes",
    Column("successes", COUNT),
    "a column of how many plants sprouted (or lived, or were sold), one number a treatment",
    zero=True,
    high=MOST_PLANTS,
)

COUNTS = Argument(
    "counts",
    Column("counts", COUNT),
    "a column of how many there were of each treatment, in the same order",
    high=MOST_PLANTS,
)

ONE_BY_ONE = (
    "Each plant or seed counts on its own: those of one tray or bed share its luck, and then p is too small and the "
    "limits too narrow. With two beds or more a treatment give the share of each bed to GROW_TRIAL_TABLE instead."
)


def filled(successes: Sequence[float | None], counts: Sequence[float | None]) -> tuple[list[int], list[int]]:
    """The filled rows of both columns.

    Raises GrowError where a row has one without the other or fewer than two are filled, OutOfRange where more
    succeeded than there were.
    """
    check_lengths({"successes": successes, "counts": counts})
    rows = []
    for row, (success, count) in enumerate(zip(successes, counts, strict=True), 1):
        if success is None and count is None:
            continue
        if success is None or count is None:
            raise GrowError(
                f"row {row} has no {'successes' if success is None else 'counts'}: fill the row or clear it"
            )
        if success > count:
            raise OutOfRange(f"row {row} has {success:g} successes of {count:g}: no more can succeed than there were")
        rows.append((int(success), int(count)))
    if len(rows) < 2:
        raise GrowError("successes and counts have fewer than two filled rows: give a row for each treatment")
    return [success for success, _ in rows], [count for _, count in rows]


@cell_function(
    "GROW_SHARE_P",
    family=Family.TRIAL,
    help="Do shares differ between treatments, such as those of seeds that sprouted: the chance of such a difference "
    "if there were none.",
    arguments=(SUCCESSES, COUNTS),
    result=Result(FRACTION, "p, the smaller the surer; below 0.05 is the usual sign of a difference"),
    examples=(
        Example((((3,), (1,)), ((4,), (4,))), 0.4857142857142857, "Fisher's tea: R, fisher.test, p = 0.4857"),
        Example((((41,), (30,)), ((48,), (48,))), 0.018979196, "scipy.stats.fisher_exact([[41, 7], [30, 18]])", 1e-7),
        Example(
            (((1,), (2,), (1,), (0,)), ((4,), (5,), (9,), (9,))),
            0.211623932,
            "every 2 × 4 table of these sums, counted with scipy.stats.hypergeom",
            1e-7,
        ),
    ),
    formula="sum of the chances of all ways to share out the successes that are no likelier than the one found",
    source="Fisher (1935); Freeman & Halton, Biometrika 38 (1951) 141",
    needs=("scipy",),
    advice=ONE_BY_ONE,
)
def share_p(successes: list[float | None], counts: list[float | None]) -> float:
    """p [1] of Fisher's exact test on numbers of successes and of plants.

    Raises GrowError where the columns do not go together, NoAnswer where there are too many ways to count.

    >>> round(share_p([3.0, 1.0], [4.0, 4.0]), 4)
    0.4857
    """
    return exact_p(*filled(successes, counts))


def _limits(successes: list[float | None], counts: list[float | None], confidence: float) -> tuple[float, float]:
    given = filled(successes, counts)
    if len(given[0]) > 2:
        raise GrowError("successes and counts have more than two filled rows: give the two whose difference is meant")
    return difference_limits(*given, confidence)


LIMITS = "Newcombe, Statistics in Medicine 17 (1998) 873, method 10"
LIMITS_FORMULA = "second share less first, and the root of the squared distances of their Wilson limits"


@cell_function(
    "GROW_SHARE_LOW",
    family=Family.TRIAL,
    help="The least by which the second of two shares differs from the first: the lower limit of their difference.",
    arguments=(SUCCESSES, COUNTS, CONFIDENCE),
    result=Result(
        NUMBER, "the lower limit of second less first, below zero where it may be the smaller", negative=True
    ),
    examples=(
        Example(
            (((48,), (56,)), ((80,), (70,))), 0.0524, "Newcombe 1998, example (a), method 10: 0.0524 to 0.3339", 1e-3
        ),
        Example(
            (((1,), (9,)), ((10,), (10,))),
            0.369866907,
            "statsmodels' confint_proportions_2indep(9, 10, 1, 10, method='newcomb')",
            1e-7,
        ),
    ),
    formula=LIMITS_FORMULA,
    source=LIMITS,
    needs=("scipy",),
    advice=ONE_BY_ONE,
)
def share_low(successes: list[float | None], counts: list[float | None], confidence: float = 0.95) -> float:
    """Lower limit [1] of the second share less the first. Raises GrowError where there are not two.

    >>> round(share_low([48.0, 56.0], [80.0, 70.0], 0.95), 4)
    0.0524
    """
    return _limits(successes, counts, confidence)[0]


@cell_function(
    "GROW_SHARE_HIGH",
    family=Family.TRIAL,
    help="The most by which the second of two shares differs from the first: the upper limit of their difference.",
    arguments=(SUCCESSES, COUNTS, CONFIDENCE),
    result=Result(NUMBER, "the upper limit of second less first, below zero where it is the smaller", negative=True),
    examples=(
        Example(
            (((48,), (56,)), ((80,), (70,))), 0.3339, "Newcombe 1998, example (a), method 10: 0.0524 to 0.3339", 1e-3
        ),
    ),
    formula=LIMITS_FORMULA,
    source=LIMITS,
    needs=("scipy",),
    advice=ONE_BY_ONE,
)
def share_high(successes: list[float | None], counts: list[float | None], confidence: float = 0.95) -> float:
    """Upper limit [1] of the second share less the first. Raises GrowError where there are not two.

    >>> round(share_high([48.0, 56.0], [80.0, 70.0], 0.95), 4)
    0.3339
    """
    return _limits(successes, counts, confidence)[1]


@cell_function(
    "GROW_SHARE_SIZE",
    family=Family.TRIAL,
    help="Plants (or seeds) needed in each of two treatments to see one share beside another.",
    arguments=(
        Argument("share1", FRACTION, "the share expected with the one, such as 0.85 or 85 %", low=0.001, high=0.999),
        Argument("share2", FRACTION, "the share with the other that is worth seeing", low=0.001, high=0.999),
        POWER,
        ALPHA,
    ),
    result=Result(NUMBER, "plants in each treatment"),
    examples=(
        Example((0.6, 0.95), 27.0, "exact power of Fisher's test with 27 of each, counted with scipy.stats: 0.840"),
        Example(
            ("50 %", "90 %"), 25.0, "exact power of Fisher's test with 25 of each, counted with scipy.stats: 0.833"
        ),
    ),
    formula="normal approximation with Fleiss' correction for continuity, which is near the exact test of GROW_SHARE_P",
    source="Fleiss, Levin & Paik, Statistical Methods for Rates and Proportions, 3rd ed. (2003), equation 4.14",
    needs=("scipy",),
    advice="Shares take many plants: from 85 to 95 % of seeds sprouted more than a hundred and fifty of each. "
    + ONE_BY_ONE,
)
def share_size(share1: float, share2: float, power: float = 0.8, alpha: float = 0.05) -> float:
    """Plants a treatment to see two shares [1] with a power [1] at a chance of a false alarm [1].

    Raises OutOfRange where the shares are alike.

    >>> share_size(0.85, 0.95)
    160.0
    """
    if share1 == share2:
        raise OutOfRange("share1 and share2 are alike: give the share that is worth telling from the other")
    return float(plants_needed(share1, share2, power, alpha))
