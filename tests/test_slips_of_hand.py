"""A slip of the hand in a log may cost values, which is said, and hardly ever makes one be read as something else."""

from __future__ import annotations

from collections import Counter

import pytest

from slips_of_hand import counted

LOGS = 400
MOST_WRONG = 1 / 2000
"""Of the values where a cell is forgotten, most of them in logs whose only unit or name of a bed that was; ours."""
MOST_MISSING = 1 / 500


@pytest.fixture(scope="module")
def totals() -> dict[str, Counter[str]]:
    return counted(range(40_000, 40_000 + LOGS))


def test_nothing_is_read_as_something_else(totals: dict[str, Counter[str]]) -> None:
    forgotten = totals["forget a cell"]
    others = {slip: of["wrong"] for slip, of in totals.items() if of is not forgotten}
    assert forgotten["wrong"] <= MOST_WRONG * forgotten["right"]
    assert list(others.values()) == [0] * 5


def test_what_is_not_read_is_said(totals: dict[str, Counter[str]]) -> None:
    every = sum(totals.values(), Counter[str]())
    assert every["missing"] <= MOST_MISSING * every["right"]
    assert every["right"] > 15 * every["said"]
