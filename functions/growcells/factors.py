"""Trials that cross several things, such as nitrogen and potassium: which of them does it, which act together."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .comparison import Untestable, check_spread, indicators, least_squares
from .errors import CellError, OutOfRange, PassedOn
from .kinds import NUMBER, TEXT, Kind, is_blank
from .outcomes import Lost, labels
from .plants import Design, Trial, read_trial
from .ranges import as_row, check_lengths
from .registry import Argument, Example, Result, cell_function
from .seed import FAMILY
from .trial import BEDS, REPLICATES, VALUES

if TYPE_CHECKING:
    from numpy import int_
    from numpy.typing import NDArray

    from .comparison import Matrix

COLUMNS = ("effect", "df", "mean square", "F", "p")
TIMES = " × "
SEPARATOR = "-"
MOST_FACTORS = 4
"""With two levels each they make 16 treatments already."""
UNITS = {
    Design.PLANTS: "{} plants",
    Design.NESTED: "{} bed means",
    Design.BLOCKS: "{} bed means with beds as blocks",
}
"""What a test is made on, by design."""
Term = tuple[int, ...]
"""The factors, by number, that an effect is of: one alone, or several acting together."""


@dataclass(frozen=True)
class Factors(Kind):
    """A range with a column for each factor; None where a row is blank."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> list[list[str | None]]:
        if not isinstance(cell, (list, tuple)):
            cell = ((cell,),)
        rows = [as_row(row) for row in cell]
        for error in (value for row in rows for value in row if isinstance(value, CellError)):
            raise PassedOn(argument.name, error)
        return [[None if is_blank(value) else TEXT.read(value, argument) for value in row] for row in rows]


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
    family=FAMILY,
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


def with_names(factors: list[list[str | None]], values: Sequence[object]) -> tuple[list[str], list[list[str | None]]]:
    """The names of the factors and their rows beside the values.

    A first row without a value is a heading where what stands in it never comes again below. Raises GrowError where
    the rows do not fit, OutOfRange where there are too many columns.
    """
    check_lengths({"values": values, "factors": factors})
    count = len(factors[0])
    if count > MOST_FACTORS:
        raise OutOfRange(f"factors has {count} columns: give at most {MOST_FACTORS}")
    heading, *rest = factors
    names = [f"factor {number}" for number in range(1, count + 1)]
    once = all(level not in below for level, below in zip(heading, zip(*rest, strict=True), strict=False))
    if values[0] is not None or not once:
        return names, factors
    return [given or name for given, name in zip(heading, names, strict=True)], [[None] * count, *rest]


def combinations(rows: list[list[str | None]], count: int) -> list[str | None]:
    """For each row the numbers of its levels, such as ``0-1-1``; None where a level is blank."""
    columns = [labels([row[number] for row in rows]) for number in range(count)]
    numbers = [{level: str(place) for place, level in enumerate(dict.fromkeys(column))} for column in columns]
    return [
        None if None in levels else SEPARATOR.join(number[level] for number, level in zip(numbers, levels, strict=True))
        for levels in zip(*columns, strict=True)
    ]


def effects(names: Sequence[str], trial: Trial) -> list[tuple[object, ...]]:
    """A row for each effect, and one for what is left over. Raises Untestable where that is nothing."""
    import numpy as np
    from scipy import stats

    values = np.array([value for _, _, value in trial.units])
    centered = values - values.mean()
    codes = np.array([[int(level) for level in name.split(SEPARATOR)] for name, _, _ in trial.units])
    base = np.ones((len(values), 1))
    if trial.design is Design.BLOCKS:
        beds = list(dict.fromkeys(bed for _, bed, _ in trial.units))
        base = indicators([beds.index(bed) for _, bed, _ in trial.units], len(beds))
    terms = [term for size in range(1, len(names) + 1) for term in itertools.combinations(range(len(names)), size)]
    columns = {term: term_columns(term, codes) for term in terms}

    def fit(chosen: Sequence[Term]) -> tuple[float, int]:
        return least_squares(np.hstack([base, *(columns[term] for term in chosen)]), centered)

    squares, rank = fit(terms)
    df = len(values) - rank
    if df < 1:
        raise Untestable("no combination is repeated: the spread between units that were treated alike is unknown")
    check_spread(squares, values)
    table: list[tuple[object, ...]] = []
    for term in terms:
        others = [other for other in terms if not set(term) <= set(other)]
        without, rank_without = fit(others)
        left, rank_with = fit([*others, term])
        name = TIMES.join(names[factor] for factor in term)
        df_effect = rank_with - rank_without
        if df_effect:
            mean_square = max(without - left, 0.0) / df_effect
            f = mean_square / (squares / df)
            table.append((name, float(df_effect), mean_square, f, float(stats.f.sf(f, df_effect, df))))
        else:
            table.append((name, 0.0, "", "", ""))
    return [*table, ("left over", float(df), squares / df, "", "")]


def term_columns(term: Term, codes: NDArray[int_]) -> Matrix:
    """The columns of an effect: products of the indicators of all levels but the first of its factors."""
    import numpy as np

    product = np.ones((len(codes), 1))
    for factor in term:
        levels = codes[:, factor]
        own = indicators(levels.tolist(), int(levels.max()) + 1)[:, 1:]
        product = (product[:, :, np.newaxis] * own[:, np.newaxis, :]).reshape(len(codes), -1)
    return product
