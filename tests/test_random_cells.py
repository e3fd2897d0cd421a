"""Every function under extreme and random cells, and proof that what is looked for is found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, cast

import pytest

from growcells import CellError, CellFunction, functions
from growcells.cells.kinds import LONGEST_TEXT
from random_cells import EXTREMES, Figures, extreme_calls, fault_of_result, try_all, warm_up

SECONDS = 1.0
"""Longest time of a call where tests run; the command holds calls to a twentieth of it."""
FUNCTIONS = list(functions().values())


@pytest.fixture(scope="module", autouse=True)
def warm() -> None:
    warm_up()


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
def test_extreme_cells(function: CellFunction) -> None:
    figures = Figures()
    for cells in extreme_calls(function):
        figures.note(function, cells, SECONDS)
    assert figures.faults == []
    assert figures.calls >= len(EXTREMES) * len(function.arguments)


@pytest.mark.slow
def test_random_cells_of_all_functions() -> None:
    figures = try_all(20_000, seed=3, seconds=SECONDS)
    print("\n" + "\n".join(figures.lines()))
    assert figures.faults == []
    assert len(figures.slowest) == len(FUNCTIONS)


@pytest.mark.parametrize(
    ("result", "fault"),
    [
        (math.nan, "gives nan"),
        (((1.0, -math.inf),), "gives -inf"),
        (-1e-300, "below zero"),
        (None, "type NoneType"),
        ("x" * (LONGEST_TEXT + 1), "too long"),
        (CellError("#VALUE!", "x" * (LONGEST_TEXT + 1)), "too long"),
        (CellError("#VALUE!", "GROW_DOSE failed, which is a fault in growcells"), "a fault in growcells"),
        (CellError("#OOPS!", "a sentence"), "#OOPS!"),
        (((1.0, "text"), (CellError("#NUM!", "a sentence"), "")), ""),
    ],
)
def test_faults_of_results(result: object, fault: str) -> None:
    found = fault_of_result(functions()["GROW_DOSE"], result)
    assert fault in found and bool(found) == bool(fault)


def test_a_slow_call_is_found() -> None:
    class Slow:
        name = "GROW_SLOW"

        def evaluate(self, cells: Sequence[Any]) -> float:
            return float(sum(range(200_000)))

    figures = Figures()
    figures.note(cast("CellFunction", Slow()), [1], 1e-4)
    assert len(figures.faults) == 1 and "takes" in figures.faults[0]
