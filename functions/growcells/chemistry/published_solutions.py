"""Published solutions, and the masses of products that come nearest to one."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from ..data import read_data
from .nutrient_bases import NITROGEN_FORMS, nutrients
from .products import Analysis, PpmTable
from .unit_factors import MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE

LEAST_SCALE = 1.0
"""ppm to which the miss of a target of 0 is related."""


@functools.cache
def recipes() -> Mapping[str, PpmTable]:
    """All published solutions by name: ppm by nutrient key, without those that the source does not give."""
    return {
        row["recipe"]: MappingProxyType({key: float(row[key]) for key in nutrients() if row.get(key)})
        for row in read_data("recipes.csv")
    }


@functools.cache
def unchecked() -> Mapping[str, str]:
    """The published solutions whose figures were held against no source, and how sure they are."""
    rows = read_data("recipes.csv")
    return {row["recipe"]: row["certainty"] for row in rows if row["certainty"].startswith("from memory")}


def fitted(
    targets: PpmTable, analyses: Sequence[Analysis], volume: float, water: PpmTable, weights: PpmTable
) -> list[float]:
    """Masses [g] of products that bring a volume [L] of water nearest to targets [mg/L].

    Raises UntoldNitrogen where a form of nitrogen is wanted and a product does not tell its own,
    OverflowError for numbers out of all proportion.
    """
    import numpy
    from scipy.optimize import nnls

    keys = list(targets)
    for form in NITROGEN_FORMS:
        if form in targets:
            for analysis in analyses:
                analysis.percent(nutrients()[form])  # refuses an analysis that does not tell it
    wanted = numpy.array([targets[key] - water.get(key, 0.0) for key in keys])
    scales = numpy.array([weights.get(key, 1.0) / (targets[key] or LEAST_SCALE) for key in keys])
    percents = numpy.array([[analysis.percents.get(key, 0.0) for analysis in analyses] for key in keys])
    with numpy.errstate(all="ignore"):
        parts, goals = percents / PERCENT_IN_WHOLE * scales[:, None], wanted * scales
    if not (numpy.isfinite(parts).all() and numpy.isfinite(goals).all()):
        raise OverflowError("a target or a weight is far too large or small")
    strengths, _ = nnls(parts, goals)
    return [float(strength) * volume / MILLIGRAMS_IN_GRAM for strength in strengths]
