"""The exact test of shares against every table counted one by one, and its time."""

from __future__ import annotations

import itertools
import math
import random
import time
from collections.abc import Sequence

import pytest

import growcells
from growcells.no_answer import NoAnswer
from growcells.statistics.proportions import AS_LIKELY, exact_p

LONGEST = 0.05
"""Longest time of a call [s of the processor]: that of a cell function."""


def counted(successes: Sequence[int], counts: Sequence[int]) -> float:
    """p from all tables of the same sums, in whole numbers."""

    def ways(table: Sequence[int]) -> int:
        return math.prod(math.comb(count, success) for count, success in zip(counts, table, strict=True))

    tables = itertools.product(*(range(count + 1) for count in counts))
    found = ways(successes)
    each = [ways(table) for table in tables if sum(table) == sum(successes)]
    assert sum(each) == math.comb(sum(counts), sum(successes))
    return sum(way for way in each if way <= found * AS_LIKELY) / sum(each)


def test_every_table() -> None:
    choose = random.Random(6)
    for _ in range(150):
        counts = [choose.randrange(1, 10) for _ in range(choose.choice((2, 3, 4)))]
        successes = [choose.randrange(count + 1) for count in counts]
        assert exact_p(successes, counts) == pytest.approx(counted(successes, counts), rel=1e-10), (successes, counts)


@pytest.mark.parametrize(
    ("successes", "counts"),
    [
        ((41, 30) * 2, (48,) * 4),
        ((41, 30) * 4, (48,) * 8),
        ((30, 41, 42, 39, 47, 45), (48,) * 6),
        ((10, 20) * 10, (24,) * 20),
        ((100, 150), (100_000, 90_000)),
        ((500, 600, 550), (1000,) * 3),
    ],
)
def test_no_cell_waits_for_it(successes: Sequence[int], counts: Sequence[int]) -> None:
    """It is counted, or refused, at once."""
    exact_p((1, 2), (3, 4))  # imports
    start = time.thread_time()
    try:
        assert 0 <= exact_p(successes, counts) <= 1
    except NoAnswer as problem:
        assert "too many plants and treatments" in str(problem)
    assert time.thread_time() - start < LONGEST


def test_blank_rows_are_passed_over() -> None:
    assert growcells.call("GROW_SHARE_P", ((3,), (None,), (8,)), ((10,), (None,), (10,))) == growcells.call(
        "GROW_SHARE_P", ((3,), (8,)), ((10,), (10,))
    )
