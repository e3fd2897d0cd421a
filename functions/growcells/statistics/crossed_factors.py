"""Analysis of variance of crossed factors such as nitrogen and potassium: which of them does it, which act together."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .comparison import Untestable, centered_of, check_spread, indicators, least_squares
from .trials import Design, Trial

if TYPE_CHECKING:
    from numpy import int_
    from numpy.typing import NDArray

    from .comparison import Matrix

TIMES = " × "

SEPARATOR = "-"

Term = tuple[int, ...]
"""The factors, by number, that an effect is of: one alone, or several acting together."""


@dataclass(frozen=True)
class Left:
    """What is left over to test with: the squares about a fit, and their degrees of freedom."""

    squares: float
    df: int

    @property
    def mean(self) -> float:
        """Mean square."""
        return self.squares / self.df


def effects(names: Sequence[str], trial: Trial) -> list[tuple[object, ...]]:
    """A row for each effect, and one for what is left over; where factors are those of whole beds, one for beds too.

    Effects of whole beds are tested with the beds that are treated alike, all others with what is left within beds.
    Raises Untestable where nothing is left over, or where beds of a split plot do not hold the same.
    """
    import numpy as np
    from scipy.special import fdtrc

    values = np.array([value for _, _, value in trial.units])
    centered = centered_of(values)
    codes = np.array([[int(level) for level in name.split(SEPARATOR)] for name, _, _ in trial.units])
    base = np.ones((len(values), 1))
    whole: Term = ()
    beds: list[int] = []
    if trial.design is Design.BLOCKS:
        known = list(dict.fromkeys(bed for _, bed, _ in trial.units))
        beds = [known.index(bed) for _, bed, _ in trial.units]
        whole = of_whole_beds(codes, beds)
        base = indicators(beds, len(known)) if not whole else base
    terms = [term for size in range(1, len(names) + 1) for term in itertools.combinations(range(len(names)), size)]
    columns = {term: term_columns(term, codes) for term in terms}

    def fit(chosen: Sequence[Term], *more: Matrix) -> tuple[float, int]:
        return least_squares(np.hstack([base, *more, *(columns[term] for term in chosen)]), centered)

    among = indicators(beds, max(beds) + 1) if whole else None
    squares, rank = fit(terms) if among is None else fit(terms, among)
    df = len(values) - rank
    within = Left(squares, df)
    between = within
    if among is not None:
        check_even(codes, beds, whole)
        without, rank_without = fit(terms)
        between = Left(without - squares, rank - rank_without)
        if between.df < 1:
            raise Untestable("each combination has a single bed, so that bed and treatment cannot be told apart")
    if df < 1:
        raise Untestable("no combination is repeated, so that the spread within a combination is unknown")
    check_spread(squares, values)
    table: list[tuple[object, ...]] = []
    for term in terms:
        others = [other for other in terms if not set(term) <= set(other)]
        without, rank_without = fit(others)
        left, rank_with = fit([*others, term])
        name = TIMES.join(names[factor] for factor in term)
        df_effect = rank_with - rank_without
        if df_effect:
            error = between if set(term) <= set(whole) else within
            mean_square = max(without - left, 0.0) / df_effect
            f = mean_square / error.mean
            table.append((name, float(df_effect), mean_square, f, float(fdtrc(df_effect, error.df, f))))
        else:
            table.append((name, 0.0, "", "", ""))
    if whole:
        table.append(("beds treated alike", float(between.df), between.mean, "", ""))
    return [*table, ("left over", float(df), within.mean, "", "")]


def of_whole_beds(codes: NDArray[int_], beds: Sequence[int]) -> Term:
    """The factors that are the same throughout each bed, where others vary within it."""
    levels = [{tuple(row) for row, own in zip(codes.tolist(), beds, strict=True) if own == bed} for bed in set(beds)]
    return tuple(
        factor for factor in range(codes.shape[1]) if all(len({row[factor] for row in held}) == 1 for held in levels)
    )


def check_even(codes: NDArray[int_], beds: Sequence[int], whole: Term) -> None:
    """Raise Untestable where beds of a split plot do not all hold the same, once each."""
    rest = [factor for factor in range(codes.shape[1]) if factor not in whole]
    held = {
        tuple(
            sorted(
                tuple(row[factor] for factor in rest)
                for row, own in zip(codes.tolist(), beds, strict=True)
                if own == bed
            )
        )
        for bed in set(beds)
    }
    if len(held) > 1:
        raise Untestable(
            "the beds do not all hold the same levels of what varies within them: leave out what is not in every bed"
        )


def term_columns(term: Term, codes: NDArray[int_]) -> Matrix:
    """The columns of an effect: products of the indicators of all levels but the first of its factors."""
    import numpy as np

    product = np.ones((len(codes), 1))
    for factor in term:
        levels = codes[:, factor]
        own = indicators(levels.tolist(), int(levels.max()) + 1)[:, 1:]
        product = (product[:, :, np.newaxis] * own[:, np.newaxis, :]).reshape(len(codes), -1)
    return product
