"""Analysis of variance of crossed factors such as nitrogen and potassium: which of them does it, which act together."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING

from .comparison import Untestable, check_spread, indicators, least_squares
from .trials import Design, Trial

if TYPE_CHECKING:
    from numpy import int_
    from numpy.typing import NDArray

    from .comparison import Matrix

TIMES = " × "

SEPARATOR = "-"

Term = tuple[int, ...]
"""The factors, by number, that an effect is of: one alone, or several acting together."""


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
        raise Untestable(
            "no combination is repeated, so that the spread between units of the same combination is unknown"
        )
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
