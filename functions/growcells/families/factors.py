"""Trials that cross several things, such as nitrogen and potassium: which of them does it, which act together."""

from __future__ import annotations

from ..cells.arguments import Argument, Result, example_columns, example_of_table
from ..cells.kinds import NUMBER
from ..cells.registry import Family, cell_function
from ..statistics.crossed_factors import effects
from ..statistics.trials import Design
from ..terms.plant_values import Lost
from ..terms.trial_columns import BEDS, REPLICATES, VALUES, Factors, combinations, read_trial, with_names

COLUMNS = ("effect", "df", "mean square", "F", "p")

UNITS = {
    Design.PLANTS: "{} plants",
    Design.NESTED: "{} bed means",
    Design.BLOCKS: "{} bed means with beds as blocks",
}
"""What a test is made on, by design."""

YIELD, BLOCK, *LEVELS = example_columns("npk.csv", "yield", "block", "N", "P", "K")
NPK = (
    (("yield",), *YIELD),
    (("N", "P", "K"), *((*n, *p, *k) for n, p, k in zip(*LEVELS, strict=True))),
    (("block",), *BLOCK),
)


WEIGHT, BED, *FEED_AND_VARIETY = example_columns("split_plot.csv", "weight", "bed", "feed", "variety")
SPLIT_PLOT = (
    (("weight",), *WEIGHT),
    (("feed", "variety"), *((*feed, *variety) for feed, variety in zip(*FEED_AND_VARIETY, strict=True))),
    (("bed",), *BED),
)


@cell_function(
    "GROW_TRIAL_FACTORS",
    family=Family.TRIAL,
    help="For a trial that varies several things at once: which of them make a difference, and which act together.",
    arguments=(
        VALUES,
        Argument("factors", Factors("factors"), "a range with a column for each thing varied, such as N and K levels"),
        BEDS,
    ),
    result=Result(NUMBER, "a table, a row for each effect, what is left over, and a sentence", columns=COLUMNS),
    examples=(example_of_table(NPK, "npk_table.csv", 1e-3), example_of_table(SPLIT_PLOT, "split_plot_table.csv", 1e-5)),
    formula="mean square of an effect, beside all that do not contain it, over the mean square left over; that of what "
    "whole beds have in common over that of beds treated alike",
    source="least squares, F tests of type II; Yates, The Design and Analysis of Factorial Experiments (1937); split "
    "plots: Yates, Supplement to the Journal of the Royal Statistical Society 2 (1935) 181",
    needs=("scipy",),
    advice=f"Where two act together, say at which level of one the other was compared. {REPLICATES}",
)
def trial_factors(
    values: list[float | Lost | None], factors: list[list[str | None]], beds: list[str | None] | None
) -> list[tuple[object, ...]]:
    """Rows of an analysis of variance of crossed factors: mean squares in the squared unit of the values, F, p [1].

    Raises GrowError where the ranges do not describe a trial, Untestable where nothing is left over to test with.

    >>> trial_factors([1.0, 2.0, 4.0, 5.0], [["low"], ["low"], ["high"], ["high"]], None)[1][:4]
    ('factor 1', 1.0, 9.0, 18.0)
    """
    names, rows = with_names(factors, values)
    trial = read_trial(values, combinations(rows, len(names)), beds, "factors", "level of a factor")
    table = effects(names, trial)
    hidden = [str(name) for name, df, *_ in table if df == 0]
    split = any(name == "beds treated alike" for name, *_ in table)
    units = (
        "{} means of a split plot: what beds have in common is tested with beds treated alike"
        if split
        else UNITS[trial.design]
    )
    sentence = f"Analysis of variance on {units}.".format(len(trial.units))
    if hidden:
        sentence += f" Cannot be told apart from beds or from other effects: {', '.join(hidden)}."
    return [COLUMNS, *table, (sentence, *("",) * (len(COLUMNS) - 1))]
