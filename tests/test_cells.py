"""Cell values in and out: the table of rules that every bridge shares, and every function under random cells."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import growcells
from growcells import CellError, CellFunction, functions
from growcells.cells.arguments import Example
from growcells.cells.errors import ERROR_CODES
from growcells.cells.kinds import is_range
from stand_ins.comparison import assert_shows

FUNCTIONS = list(functions().values())
EXAMPLES = [(function, example) for function in FUNCTIONS for example in function.examples]


@pytest.mark.parametrize(("function", "example"), EXAMPLES, ids=[function.name for function, _ in EXAMPLES])
def test_example(function: CellFunction, example: Example) -> None:
    assert_shows(function(*example.arguments), example)


GOOD = [
    ("GROW_VOLUME_BOX", ("42", " 31 ", "6"), 42 * 31 * 6 / 231),
    ("GROW_VOLUME_BOX", ("3 ft 6 in", "31 in", "15.24 cm"), 42 * 31 * 6 / 231),
    ("GROW_VOLUME_BOX", (42, 31, 6, None, None), 42 * 31 * 6 / 231),
    ("GROW_VOLUME_BOX", (42, 31, 6, 0.0, 0.0), 42 * 31 * 6 / 231),  # blank unit cells as LibreOffice hands them over
    ("GROW_VOLUME_BOX", (((42,),), ((31,),), 6), 42 * 31 * 6 / 231),  # a range of one cell is that cell
    ("GROW_MIX_TEMP", (10, "0 °C", 10, 20), 10.0),
    ("GROW_TOPUP", (34, "0 gal", "0 mS/cm", 1.6, 1.25), 68.0),
    ("GROW_MIX_TEMP", (10, "32 F", 10, 20), 10.0),
    ("GROW_DILUTE", (20, 2, 1.6, 0), 5.0),
    ("GROW_DILUTE", (20, "2000 uS/cm", "1.6 mS/cm", None), 5.0),
    ("GROW_COST", (0, 31.5, 10), 0.0),
    ("GROW_COST_HEAD", ((("feed",), (12,), (None,), (6,)), 36), 0.5),  # a heading and a blank
    ("GROW_REORDER", (2600, 650, 2, datetime.date(2026, 11, 16)), 46356.0),
    ("GROW_REORDER", (2600, 650, 2, datetime.datetime(2026, 11, 16, 12)), 46356.5),
    ("GROW_WHY", ("grow_dose", 34, 2, None), "OK"),
    # Both ends of the limits are within them.
    ("GROW_MIX_TEMP", (10, "0 °C", 10, 100), 50.0),
    ("GROW_VPD", (60, "100 %"), 0.0),
    ("GROW_DEW_POINT", ("-40 °C", "100 %"), -40.0),
    ("GROW_EC_25", (1, "0 °C"), 1 / (1 - 0.0191 * 25)),
    ("GROW_EC_25", (1, 50), 1 / (1 + 0.0191 * 25)),
    ("GROW_DLI", (1e4, 24), 864.0),
    ("GROW_STOCK", ("1 g/L", 1, "1 L"), 1.0),
    ("GROW_SITES_FILLED", (1, 1e9), 1.0),
    ("GROW_SEEDS_TO_SOW", (1, 0.001, 0.001), 1.0),
    ("GROW_REORDER", (7, 7, 1, 1), 1.0),
    ("GROW_DAYS_SINCE", (2958465, 2958465.5), 0.5),
]


@pytest.mark.parametrize(("name", "cells", "value"), GOOD)
def test_good_input(name: str, cells: tuple[object, ...], value: object) -> None:
    assert functions()[name](*cells) == pytest.approx(value)


def test_each_row_in_turn() -> None:
    column = ((42,), ("x",), (None,), (CellError("#DIV/0!"),), (10,))
    values = growcells.call("GROW_VOLUME_BOX", column, 31, 6)
    assert isinstance(values, tuple)
    assert [row[0] for row in values][::2] == pytest.approx([42 * 31 * 6 / 231, "", 10 * 31 * 6 / 231])
    bad, passed_on = values[1][0], values[3][0]
    assert (bad.code, passed_on.code) == ("#VALUE!", "#DIV/0!")
    assert bad.message.startswith("row 2: ")


def test_ranges_of_unlike_shape() -> None:
    error = functions()["GROW_VOLUME_BOX"].evaluate((((1,), (2,)), ((1,), (2,), (3,)), 5))
    assert isinstance(error, CellError)
    assert "2 rows" in error.message and "3 rows" in error.message


def test_a_row_as_range() -> None:
    assert growcells.call("GROW_VOLUME_BOX", ((11, 22),), 21, "1 in") == ((1.0, 2.0),)


def numbers_in(result: object) -> Iterator[float]:
    """Every number of a result."""
    cells = [cell for row in result for cell in row] if isinstance(result, tuple) else [result]
    yield from (cell for cell in cells if isinstance(cell, float))


SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**9), 10**9),
    st.floats(),
    st.sampled_from(
        ["", " ", "5", "42 in", "2 g/gal", "1,5", "17-7-21", "KNO3", "N", "P2O5", "box", "dead", "gal", "0 °C", "1/0"]
    ),
    st.text(max_size=12),
    st.dates(),
    st.sampled_from([CellError(code) for code in ERROR_CODES]),
)
RANGES = st.integers(1, 3).flatmap(
    lambda width: st.lists(st.tuples(*(SCALARS,) * width), min_size=1, max_size=5).map(tuple)
)
CELLS = st.one_of(SCALARS, SCALARS, RANGES)


@pytest.mark.slow
@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_random_cells(function: CellFunction, data: st.DataObject) -> None:
    """No exception escapes, and no NaN, infinity or impossible negative comes back."""
    example = data.draw(st.sampled_from(function.examples))
    given_cells = list(example.arguments)
    # Mostly a good call with one or two cells spoiled, which reaches further into a function than noise alone.
    for index in range(len(given_cells)):
        if data.draw(st.integers(0, 2)) == 0:
            given_cells[index] = data.draw(CELLS)
    given_cells += data.draw(st.lists(CELLS, max_size=3))
    result = function.evaluate(given_cells)
    if isinstance(result, CellError):
        assert result.code in ERROR_CODES
        assert result.message
        assert "a fault in growcells" not in result.message
    else:
        assert isinstance(result, (float, str)) or is_range(result)
    for number in numbers_in(result):
        assert math.isfinite(number)
        assert number >= 0 or function.result.negative


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda function: function.name)
def test_declaration_is_complete(function: CellFunction) -> None:
    assert function.family and function.help and function.formula and function.source
    assert function.examples
    assert all(example.source for example in function.examples)
    assert all(argument.help for argument in function.arguments)
    required = [argument.required for argument in function.arguments]
    assert required == sorted(required, reverse=True), "an optional argument stands before a required one"
    names = [argument.name for argument in function.arguments]
    assert len(names) == len(set(names))
    assert function.__doc__ and function.signature in function.__doc__


def test_an_array_is_a_range_computed_at_once() -> None:
    lengths = np.array([42.0, 84.0])
    assert growcells.call("GROW_VOLUME_BOX", lengths, 31, 6) == pytest.approx(lengths * 31 * 6 / 231)
    assert growcells.call("GROW_VOLUME_BOX", np.float64(42), 31, 6) == pytest.approx(42 * 31 * 6 / 231)
    pipes = growcells.call("GROW_VOLUME_PIPE", np.array([4.0, 6.0]), 120, 2)
    assert isinstance(pipes, np.ndarray)
    assert pipes.tolist() == [growcells.call("GROW_VOLUME_PIPE", diameter, 120, 2) for diameter in (4, 6)]


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf, 1e308])
def test_an_array_with_a_bad_row_is_taken_row_by_row(bad: float) -> None:
    values = growcells.call("GROW_VOLUME_BOX", np.array([42.0, bad]), 1e300 if bad == 1e308 else 31, 6)
    assert isinstance(values, np.ndarray)
    assert isinstance(values[0], float) and isinstance(values[1], CellError)


@pytest.mark.parametrize("function", [f for f in FUNCTIONS if f.elementwise], ids=lambda function: function.name)
def test_arrays_give_what_single_calls_give(function: CellFunction) -> None:
    generator = np.random.default_rng(1)
    count = sum(argument.required for argument in function.arguments)
    columns = [generator.uniform(0.5, 1, 20) for _ in range(count)]
    result = function(*columns)
    assert isinstance(result, np.ndarray)
    single = [function(*(float(column[row]) for column in columns)) for row in range(20)]
    assert result.tolist() == pytest.approx(single, rel=1e-15)


def test_functions_that_are_arithmetic_alone() -> None:
    """Those without a condition, a look-up or a function of the math module take arrays as they take numbers."""
    assert {function.name for function in FUNCTIONS if function.elementwise} == {
        *(f"GROW_VOLUME_{shape}" for shape in ("BOX", "ROUND")),
        *("GROW_REFILL_DAYS", "GROW_MIX_TEMP", "GROW_DOSE", "GROW_RATE", "GROW_WEIGH_ERROR", "GROW_BATCH_MIN"),
        *("GROW_COST", "GROW_FILLS_LEFT"),
    }
