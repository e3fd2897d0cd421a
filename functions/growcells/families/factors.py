"""Trials that cross several things, such as nitrogen and potassium: which of them does it, which act together."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
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

NPK = (
    (49.5, 1, 0, 1, 1), (62.8, 1, 1, 1, 0), (46.8, 1, 0, 0, 0), (57, 1, 1, 0, 1),
    (59.8, 2, 1, 0, 0), (58.5, 2, 1, 1, 1), (55.5, 2, 0, 0, 1), (56, 2, 0, 1, 0),
    (62.8, 3, 0, 1, 0), (55.8, 3, 1, 1, 1), (69.5, 3, 1, 0, 0), (55, 3, 0, 0, 1),
    (62, 4, 1, 0, 0), (48.8, 4, 1, 1, 1), (45.5, 4, 0, 0, 1), (44.2, 4, 0, 1, 0),
    (52, 5, 1, 1, 0), (51.5, 5, 0, 0, 0), (49.8, 5, 1, 0, 1), (48.8, 5, 0, 1, 1),
    (57.2, 6, 1, 0, 1), (59, 6, 1, 1, 0), (53.2, 6, 0, 1, 1), (56, 6, 0, 0, 0),
)  # fmt: skip
"""Yield of peas, block, N, P, K: R's data set npk, from Venables & Ripley, Modern Applied Statistics with S (2002)."""

NPK_LEFT = 185.2867 / 12
"""Mean square left, as R's documentation of npk prints it."""


@cell_function(
    "GROW_TRIAL_FACTORS",
    family=Family.TRIAL,
    help="In a trial that crosses several things, which of them makes a difference and which act together.",
    arguments=(
        VALUES,
        Argument("factors", Factors("factors"), "a range with a column for each thing varied, such as N and K levels"),
        BEDS,
    ),
    result=Result(NUMBER, "a table, a row for each effect, what is left over, and a sentence", columns=COLUMNS),
    examples=(
        Example(
            (
                (("yield",), *((row[0],) for row in NPK)),
                (("N", "P", "K"), *(row[2:] for row in NPK)),
                (("block",), *((row[1],) for row in NPK)),
            ),
            (
                COLUMNS,
                ("N", 1.0, 189.2817, 189.2817 / NPK_LEFT, 0.00437),
                ("P", 1.0, 8.4017, 8.4017 / NPK_LEFT, 0.4749),
                ("K", 1.0, 95.2017, 95.2017 / NPK_LEFT, 0.0288),
                ("N × P", 1.0, 21.2817, 21.2817 / NPK_LEFT, 0.26317),
                ("N × K", 1.0, 33.135, 33.135 / NPK_LEFT, 0.16865),
                ("P × K", 1.0, 0.4817, 0.4817 / NPK_LEFT, 0.86275),
                ("N × P × K", 0.0, "", "", ""),
                ("left over", 12.0, NPK_LEFT, "", ""),
                (
                    "Analysis of variance on 24 bed means with beds as blocks. "
                    "Cannot be told apart from beds or from other effects: N × P × K.",
                    *("",) * 4,
                ),
            ),
            "R, summary(aov(yield ~ block + N*P*K, npk)) as its documentation prints it",
            1e-3,
        ),
    ),
    formula="mean square of an effect, beside all that do not contain it, over the mean square left over",
    source="least squares, F tests of type II; Yates, The Design and Analysis of Factorial Experiments (1937)",
    needs=("scipy",),
    advice=f"Where two act together, say at which level of one the other was compared. {REPLICATES}",
)
def trial_factors(
    values: list[float | Lost | None], factors: list[list[str | None]], beds: list[str | None] | None
) -> list[tuple[object, ...]]:
    """Rows of an analysis of variance of crossed factors.

    Raises GrowError where the ranges do not describe a trial, Untestable where nothing is left over to test with.
    """
    names, rows = with_names(factors, values)
    trial = read_trial(values, combinations(rows, len(names)), beds)
    table = effects(names, trial)
    hidden = [str(name) for name, df, *_ in table if df == 0]
    sentence = f"Analysis of variance on {UNITS[trial.design]}.".format(len(trial.units))
    if hidden:
        sentence += f" Cannot be told apart from beds or from other effects: {', '.join(hidden)}."
    return [COLUMNS, *table, (sentence, *("",) * (len(COLUMNS) - 1))]
