"""The studentized range against scipy's distribution, and against a published table."""

from __future__ import annotations

import itertools
import time

import pytest
from scipy import stats

from growcells.statistics.studentized_range import critical_range, range_p

DF = (1.0, 1.3, 2.0, 3.7, 8.0, 40.0, 1000.0, 99_999.0)
HARTER = {
    **{(2, 1): 17.97, (3, 1): 26.98, (10, 1): 49.07, (2, 5): 3.635, (3, 5): 4.602, (6, 5): 6.033},
    **{(3, 10): 3.877, (5, 10): 4.654, (10, 10): 5.598, (3, 20): 3.578, (4, 60): 3.737},
}
"""Points exceeded with a chance of 0.05, by treatments and degrees of freedom: Harter 1960, table 3, from memory."""
LONGEST = 0.05
"""Longest time of a call [s of the processor]: that of a cell function."""


@pytest.mark.parametrize("treatments", [2, 3, 5, 10, 40, 300])
def test_chances(treatments: int) -> None:
    for df, q in itertools.product(DF, (0.1, 0.5, 2.0, 3.5, 6.0, 12.0, 300.0)):
        expected = stats.studentized_range.sf(q, treatments, df)
        assert range_p(q, treatments, df) == pytest.approx(expected, abs=2e-8), (q, df)


def test_points_of_a_table() -> None:
    for (treatments, df), q in HARTER.items():
        assert critical_range(0.95, treatments, df) == pytest.approx(q, rel=3e-4), (treatments, df)


def test_points_are_where_their_chance_is() -> None:
    for treatments, df, confidence in itertools.product((2, 7, 60), DF, (0.5, 0.9, 0.999)):
        assert range_p(critical_range(confidence, treatments, df), treatments, df) == pytest.approx(
            1 - confidence, abs=1e-9
        )


@pytest.mark.parametrize(("q", "p"), [(0.0, 1.0), (1e300, 0.0), (float("inf"), 0.0)])
def test_extremes(q: float, p: float) -> None:
    assert range_p(q, 5, 12.0) == pytest.approx(p, abs=1e-12)


def test_no_cell_waits_for_it() -> None:
    critical_range(0.9, 3, 8.0)  # imports
    start = time.thread_time()
    critical_range(0.95, 37, 8.25)
    assert time.thread_time() - start < LONGEST
