"""Every function under extreme and random cells, and proof that what is looked for is found."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Any, cast

import pytest

from growcells import CellError, CellFunction, functions
from growcells.cells import units
from growcells.cells.kinds import LONGEST_TEXT
from random_cells import EXTREMES, Figures, extreme_calls, fault_of_result, remembering, try_all, warm_up

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


def test_what_is_remembered_is_bounded() -> None:
    """A spreadsheet program lives long: for good it keeps only what is asked for by names that stand in tables."""
    unbounded = {function.__name__ for function in remembering() if function.cache_parameters()["maxsize"] is None}
    assert unbounded == {"names_in", "_densities"}
    assert len(remembering()) > 10


def test_units_are_forgotten_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """What pint remembers of texts, too."""
    monkeypatch.setattr(units, "MOST_TEXTS", 60)
    evaluate = functions()["GROW_VOLUME_BOX"].evaluate
    names = ("m", "in", "cm", "mm", "ft", "yd")
    for one, two, three in itertools.product(names, repeat=3):
        assert isinstance(evaluate([f"5 {one}*{two}/{three}", 20, 6]), float)
    assert len(units.unit_registry()._cache.parse_unit) < 100


def test_growing_memory_is_found() -> None:
    assert Figures(memory=[100.0] * 15).growth is None, "too few calls to tell"
    assert Figures(memory=[400.0] * 10 + [100.0] * 50).growth == 0
    assert Figures(memory=[float(number) for number in range(100)]).growth == pytest.approx(10)


def test_a_slow_call_is_found() -> None:
    class Slow:
        name = "GROW_SLOW"

        def evaluate(self, cells: Sequence[Any]) -> float:
            return float(sum(range(200_000)))

    figures = Figures()
    figures.note(cast("CellFunction", Slow()), [1], 1e-4)
    assert len(figures.faults) == 1 and "takes" in figures.faults[0]
