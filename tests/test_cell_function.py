"""How a call runs: the long way and the quick way, rows of ranges, arrays, units, and faults of ours."""

from __future__ import annotations

import dataclasses
import math
import tracemalloc
import warnings
from collections.abc import Callable

import numpy as np
import pandas
import pytest

import growcells
from growcells import CellError, CellFunction, GrowError, functions
from growcells.cells import cell_function
from growcells.cells.arguments import Argument, Example, Result, formula_text
from growcells.cells.errors import OutOfRange
from growcells.cells.kept_results import MOST_BYTES, MOST_RESULTS
from growcells.cells.kinds import ANYTHING, LENGTH, LONGEST_TEXT, MASS, NUMBER, TEXT, UNIT, VOLUME, MeasuredStrength
from growcells.cells.long_columns import BLOCK, all_at_once, as_rows, is_array
from growcells.cells.ranges import Column, shape, unwrapped
from growcells.cells.units import LONGEST_LINE
from us_units import GRAMS_IN_OUNCE, LITRES_IN_GALLON

EXAMPLES = [(function, example) for function in functions().values() for example in function.examples]
IDS = [function.name for function, _ in EXAMPLES]


def made(calculation: Callable[..., object], **changes: object) -> CellFunction:
    """A cell function of two numbers."""
    declared: dict[str, object] = {
        "name": "GROW_TEST",
        "family": "Test",
        "help": "A test.",
        "arguments": (
            Argument("a", NUMBER, "a number", zero=True, negative=True),
            Argument("b", NUMBER, "more", False),
        ),
        "result": Result(NUMBER, "a number"),
        "examples": (Example((1, 2), 3.0, "arithmetic"),),
        "formula": "a + b",
        "source": "arithmetic",
        "calculation": calculation,
    }
    return CellFunction(**{**declared, **changes})  # type: ignore[arg-type]


def fresh(function: CellFunction) -> CellFunction:
    """The function as it is before its first call."""
    return dataclasses.replace(function)


@pytest.mark.parametrize(("function", "example"), EXAMPLES, ids=IDS)
def test_a_call_again_gives_the_same(function: CellFunction, example: Example) -> None:
    """The first call goes the long way; where the second goes the quick way it gives the very same value."""
    anew = fresh(function)
    first = anew(*example.arguments)
    assert anew(*example.arguments) == first
    assert function(*example.arguments) == first


QUICK = [
    ("GROW_DOSE", (34, 2)),
    ("GROW_DOSE", (34.5, "2 g/gal")),
    ("GROW_DOSE", ("106 L", "0.5 g/L")),
    ("GROW_DOSE", (100, 1, "L", "g/L")),
    ("GROW_DOSE", (100, 1, "L", "g/L", "kg")),
    ("GROW_DOSE", (100, 1, None, None, "kg")),
    ("GROW_TOPUP", (34, 20, 1.2, 1.6, 1.25)),
    ("GROW_TOPUP", (34, 20, 1.2, 1.6, 1.25, None)),
    ("GROW_TOPUP", (34, 20, 1.2, 1.6, 1.25, 0.4)),
    ("GROW_GROWTH_RATE", (4, 2, 7)),
    ("GROW_PPM", (10, 5, "17-7-21", "P")),
    ("GROW_CONVERT", (-5, "gal", "L")),
]


@pytest.mark.parametrize(("name", "cells"), QUICK)
def test_the_quick_way_is_taken_and_right(name: str, cells: tuple[object, ...]) -> None:
    function = fresh(functions()[name])
    value = function(*cells)
    assert function._quick != function._find_quick
    assert function._quick(cells) == value


NOT_QUICK = [
    ("GROW_DOSE", (34,)),
    ("GROW_DOSE", (34, None)),
    ("GROW_DOSE", (34, 0)),
    ("GROW_DOSE", (0.0, 2)),
    ("GROW_DOSE", (34, -2)),
    ("GROW_DOSE", (34, True)),
    ("GROW_DOSE", (34, math.nan)),
    ("GROW_DOSE", (34, math.inf)),
    ("GROW_DOSE", (34, 2, "in")),
    ("GROW_DOSE", (34, 2, ("gal",))),
    ("GROW_DOSE", (1e300, 1e300)),
    ("GROW_DOSE", (34, 2, None, None, None, None)),
    ("GROW_DOSE", (((34,), (20,)), 2)),
    ("GROW_SITES_FILLED", (1.5, 2)),
    ("GROW_BATCH_MIN", (2, 1, 1.01)),
    ("GROW_DLI", (200, 24.01)),
    ("GROW_STOCK", (2, 0.99, 5)),
    ("GROW_MIX_TEMP", (10, 20, 10, 101)),
    ("GROW_MIX_TEMP", (10, 20, 10, 0)),
    ("GROW_MIX_TEMP", (10, 20, 10, 30, None, None, "F")),
    ("GROW_MIX_TEMP", (10, 50, 10, 70, None, "F")),
    ("GROW_DILUTE", (20, "2 mS/cm", "900 ppm")),
]


@pytest.mark.parametrize(("name", "cells"), NOT_QUICK)
def test_what_is_not_plain_goes_the_long_way(name: str, cells: tuple[object, ...]) -> None:
    function = fresh(functions()[name])
    function.evaluate(functions()[name].examples[0].arguments)
    function.evaluate(cells)
    assert function._quick(cells) is None


def test_what_is_kept_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cell_function, "MOST_TEXTS", 2)
    monkeypatch.setattr(cell_function, "MOST_UNITS", 2)
    function = fresh(functions()["GROW_DOSE"])
    for number in range(1, 8):
        assert function(f"{number} L", "2 g/L") == pytest.approx(2 * number)
        assert function(number, 2, "L", "g/L", ("g", "kg")[number % 2]) == pytest.approx(
            2 * number / 1000 ** (number % 2)
        )
        assert function(number, 2, ("L", "m3", "gal")[number % 3]) == pytest.approx(
            2 * number * (1 / LITRES_IN_GALLON, 1000 / LITRES_IN_GALLON, 1)[number % 3]
        )
    assert len(function._ways) <= 3


def test_a_text_is_read_in_the_unit_beside_it() -> None:
    function = fresh(functions()["GROW_DOSE"])
    assert function("5", 1, "L", "g/L") == pytest.approx(5)
    assert function("5", 1, "m3", "g/L") == pytest.approx(5000)
    assert function("5", 1) == pytest.approx(5)
    assert function("5 L", 1, "m3", "g/L") == pytest.approx(5)


def test_a_blank_in_a_quick_call_is_what_is_left_out() -> None:
    function = fresh(functions()["GROW_DILUTE"])
    for cells in ((20, 2, 1.6), (20, 2, 1.6, None), (20, 2, 1.6, 0), (20, 2, 1.6, None)):
        assert function(*cells) == pytest.approx(5)


def test_a_fault_of_ours_is_an_error_that_says_so() -> None:
    def fail(a: float, b: float | None) -> float:
        raise RuntimeError("oh")

    assert made(fail).evaluate((1, 2)) == CellError(
        "#VALUE!", "GROW_TEST failed on these values, which is a fault in growcells: RuntimeError('oh')"
    )
    with pytest.raises(RuntimeError):
        made(fail)(1, 2)


RANGE_LEFT = (
    "GROW_TEST goes beyond the largest number with these values: look for one that is far too large or far too small"
)
NOT_FINITE = "GROW_TEST has no finite result for these values: look for one that is far too large or far too small"


@pytest.mark.parametrize("cells", [(1, 2), ("1", 2)])
def test_a_result_that_is_no_number(cells: tuple[object, ...]) -> None:
    assert made(lambda a, b: a / (b - 2)).evaluate(cells) == CellError("#NUM!", RANGE_LEFT)
    assert made(lambda a, b: math.exp(1000 * a)).evaluate(cells) == CellError("#NUM!", RANGE_LEFT)
    for value in (math.nan, math.inf, -math.inf):
        assert made(lambda a, b, value=value: value).evaluate(cells) == CellError("#NUM!", NOT_FINITE)


def test_a_negative_result_is_refused_where_it_cannot_be() -> None:
    sentence = "GROW_TEST would be negative (-3) with these values: check that no two are swapped"
    assert made(lambda a, b: -3.0).evaluate((1, 2)) == CellError("#NUM!", sentence)
    assert made(lambda a, b: -3.0, result=Result(NUMBER, "any number", negative=True)).evaluate((1, 2)) == -3.0
    assert made(lambda a, b: 0.0).evaluate((1, 2)) == 0.0


@pytest.mark.parametrize(
    ("error", "needs", "package"),
    [(ImportError(name="scipy"), (), "scipy"), (ImportError("no"), ("numpy", "scipy"), "numpy and scipy")],
)
def test_a_package_that_is_missing_is_named(error: ImportError, needs: tuple[str, ...], package: str) -> None:
    def fail(a: float, b: float | None) -> float:
        raise error

    sentence = f"GROW_TEST needs the Python package {package}, which is not installed where this cell computes"
    assert made(fail, needs=needs).evaluate((1, 2)) == CellError("#VALUE!", sentence)


def test_a_result_too_large_for_the_unit_asked_for() -> None:
    error = functions()["GROW_DOSE"].evaluate((1e305, 1, "L", "g/L", "ng"))
    assert error == CellError("#NUM!", "GROW_DOSE gives a number too large for the unit asked for")
    assert functions()["GROW_DOSE"].evaluate((1e305, 1, "L", "g/L", "kg")) == pytest.approx(1e302)
    # The same by the quick way, which the first call has opened.
    function = fresh(functions()["GROW_DOSE"])
    function(1, 1, "L", "g/L", "ng")
    assert function.evaluate((1e305, 1, "L", "g/L", "ng")) == error


def test_results_are_cells() -> None:
    assert made(lambda a, b: 3).evaluate((1,)) == 3.0
    assert type(made(lambda a, b: 3)(1)) is float
    assert made(lambda a, b: True).evaluate((1,)) is True
    assert made(lambda a, b: "text", result=Result(TEXT, "a text")).evaluate((1,)) == "text"
    table = made(lambda a, b: [["x", 2], [None, 3.0]], result=Result(NUMBER, "a table", columns=("x", "y")))
    assert table.evaluate((1,)) == (("x", 2.0), (None, 3.0))
    assert table.is_table and not made(lambda a, b: 3).is_table


def test_units_of_the_result_follow_an_argument() -> None:
    length = Argument("mass", MASS, "a mass", unit="mass_unit")
    units = (
        Argument("mass_unit", UNIT, "a unit", False),
        Argument("unit", UNIT, "", False),
    )
    function = made(
        lambda mass: mass, arguments=(length, *units), result=Result(MASS, "it", unit_name="unit", follows="mass_unit")
    )
    assert [function(2), function(2, "kg"), function(2, "kg", "g"), function("2 kg", None, "g")] == [2, 2, 2000, 2000]


def test_signature_and_documentation() -> None:
    why = functions()["GROW_WHY"]
    assert why.signature == "GROW_WHY(function, arguments…)"
    function = made(lambda a, b: 3.0, advice="Beware.")
    assert function.signature == "GROW_TEST(a, [b])"
    assert function.__doc__ == (
        "A test.\n\nGROW_TEST(a, [b])\n\na: a number\nb: more\n\nGives: a number.\nFormula: a + b.\n"
        "Source: arithmetic.\n\nBeware.\nExample: =GROW_TEST(1,2) gives 3"
    )
    assert made(lambda a, b: 3.0).__doc__ == function.__doc__.replace("\n\nBeware.", "")


def test_only_the_first_example_is_documented() -> None:
    examples = (Example((1, 2), 3.0, "arithmetic"), Example((2, 2), 4.0, "arithmetic"))
    assert str(made(lambda a, b: 3.0, examples=examples).__doc__).count("Example:") == 1


# Rows of ranges.


def test_rows_in_turn_with_blanks_and_errors() -> None:
    volumes = ((34,), (None,), (20,), ("x",), (" ",))
    rates = ((2,), (None,), (None,), (2,), (3,))
    found = [row[0] for row in growcells.call("GROW_DOSE", volumes, rates)]
    assert found[:2] == [pytest.approx(68), ""]
    assert found[2] == CellError(
        "#VALUE!",
        "row 3: rate is blank: give the rate of the feed, such as grams a gallon; "
        'of a liquid a text such as "5 mL/gal"',
    )
    assert found[3].message.startswith('row 4: volume is "x"')
    assert found[4] == CellError("#VALUE!", "row 5: volume is blank: give the volume of water")


def test_a_range_of_rows_and_columns_keeps_its_shape() -> None:
    assert growcells.call("GROW_REFILL_DAYS", ((1, 2, 3), (4, 5, 6)), 1) == ((1, 2, 3), (4, 5, 6))
    assert growcells.call("GROW_REFILL_DAYS", ((1, 2), (4, 5)), ((1, 1), (2, 2))) == ((1, 2), (2, 2.5))


def test_rows_of_plain_numbers_go_the_quick_way(monkeypatch: pytest.MonkeyPatch) -> None:
    volumes = ((34,), (None,), (20,))
    expected = growcells.call("GROW_DOSE", volumes, 2)
    monkeypatch.setattr(CellFunction, "_single", lambda function, cells: pytest.fail("the long way"))
    assert growcells.call("GROW_DOSE", volumes, 2) == expected


def test_a_flat_list_is_a_column() -> None:
    assert growcells.call("GROW_REFILL_DAYS", [1, 2], 1) == ((1,), (2,))
    assert growcells.call("GROW_REFILL_DAYS", [5], 1) == 5
    assert growcells.call("GROW_REFILL_DAYS", ((5,),), ((1,), (2,))) == ((5,), (2.5,))


def test_unit_arguments_take_ranges_too() -> None:
    assert growcells.call("GROW_DOSE", 1, 1, (("L",), ("m3",)), "g/L") == ((pytest.approx(1),), (pytest.approx(1000),))


@pytest.mark.parametrize("cells", [(), ((),), ((1, 2), (3,))])
def test_no_rectangle(cells: tuple[object, ...]) -> None:
    with pytest.raises(GrowError, match=r"^a range is empty or ragged: give a rectangle of cells$"):
        shape(cells)


def test_shapes() -> None:
    assert shape(((1, 2, 3), (4, 5, 6))) == (2, 3)
    assert unwrapped(((1,),)) == unwrapped((1,)) == 1
    assert unwrapped((1, 2)) == [(1,), (2,)]
    assert unwrapped(((1, 2),)) == [(1, 2)]


def test_more_than_the_arguments() -> None:
    with pytest.raises(GrowError, match="was given 3 values and takes 2"):
        made(lambda a, b: 3.0)(1, 2, 3)
    repeated = made(
        lambda *given: float(len(given)), arguments=(Argument("a", NUMBER, "numbers", zero=True, repeated=True),)
    )
    assert [repeated(1), repeated(1, 2), repeated(*range(7))] == [1, 2, 7]
    assert repeated(1, ((1,), (2,))) == ((2,), (2,))
    assert repeated.signature == "GROW_TEST(a…)"


# Headings.


def test_a_heading_is_blanked_where_every_column_that_can_tell_has_one() -> None:
    masses, feeds = (("mass",), (10,), (20,)), (("feed",), ("KNO3",), ("17-7-21",))
    plain = growcells.call("GROW_BLEND", masses[1:], feeds[1:])
    assert growcells.call("GROW_BLEND", masses, feeds) == plain
    assert growcells.call("GROW_BLEND", (("",), *masses[1:]), (("",), *feeds[1:])) == plain
    assert growcells.call("GROW_BLEND", (("",), *masses[1:]), feeds) == plain
    assert growcells.call("GROW_BLEND", ((None,), *masses[1:]), feeds) == plain
    assert growcells.functions()["GROW_BLEND"].evaluate((masses, feeds[1:])).code == "#VALUE!"
    # A row of which one column is no heading is data.
    error = growcells.functions()["GROW_BLEND"].evaluate(((("x",), (10,)), (("KNO3",), ("17-7-21",))))
    assert error.message == 'row 1 of masses is "x": give a number of grams or a text such as "68 g"'


def test_one_row_is_no_heading() -> None:
    assert growcells.functions()["GROW_COST_HEAD"].evaluate(((("costs",),), 3)).message == (
        'row 1 of costs is "costs": give a number such as 31.5'
    )
    assert growcells.call("GROW_COST_HEAD", (("costs",), (6,)), 3) == 2
    assert growcells.call("GROW_COST_HEAD", ["costs", 6], 3) == 2


# Arrays.


def test_arrays_are_told_from_cells() -> None:
    assert is_array(np.array([1.0]))
    assert not is_array([1.0]) and not is_array(np.float64(1))
    assert as_rows(np.array([1.0, 2.0])) == [1, 2]
    assert as_rows(np.float64(2)) == 2 and type(as_rows(np.float64(2))) is float
    assert as_rows("x") == "x"


ROUTES = ((0.0, 10.0, 2.0, {}), (1.0, 5.0, 1.0, {}))


def test_all_at_once() -> None:
    def together(a: object, b: object, c: object) -> object:
        return a + b + c  # type: ignore[operator]

    def computed(*cells: object, slope: float = 1.0, lowest: float = 0.0) -> object:
        found = all_at_once(together, ROUTES, (None, None, 100.0), (slope, 0.0), lowest, cells)  # type: ignore[arg-type]
        return None if found is None else found.tolist()

    assert computed(np.array([1, 2]), np.array([3.0, 4.0])) == [105, 108]
    assert computed(np.array([0.0, 10.0]), 5) == [105, 125]
    assert computed(np.array([1.0]), 1, slope=2.0) == [51.5]
    assert computed(np.array([1.0, 10.1]), 1) is None
    assert computed(np.array([1.0, -0.1]), 1) is None
    assert computed(np.array([1.0]), 5.1) is None
    assert computed(np.array(["x"]), 1) is None
    assert computed(np.array([True]), 1) is None
    assert computed(np.array([1.0]), 1, lowest=103.1) is None
    assert computed(np.array([1.0]), 1, lowest=103.0) == [103]


def test_arrays_whose_result_is_not_finite_are_taken_row_by_row() -> None:
    def divided(a: object, b: object) -> object:
        return a / (b - 2.0)  # type: ignore[operator]

    with warnings.catch_warnings(action="error"):
        assert all_at_once(divided, ROUTES, (), (1.0, 0.0), 0.0, (np.array([1.0, 2.0]), np.array([2.0, 3.0]))) is None


def test_arrays_longer_than_a_block() -> None:
    lengths = np.linspace(20, 60, 2 * BLOCK + 1)
    found = array_of("GROW_VOLUME_BOX", lengths, 25, np.float32(6.5))
    places = (0, BLOCK - 1, BLOCK, 2 * BLOCK)
    assert [found[place] for place in places] == [
        growcells.call("GROW_VOLUME_BOX", lengths[n], 25, 6.5) for n in places
    ]
    assert isinstance(array_of("GROW_VOLUME_BOX", np.append(lengths, -1), 25, 6)[-1], CellError)


def test_arrays_of_single_precision_and_of_unlike_shapes() -> None:
    single = np.array([20.1, 48.3], dtype=np.float32)
    assert array_of("GROW_VOLUME_BOX", single, 25, 6).tolist() == [
        growcells.call("GROW_VOLUME_BOX", length, 25, 6) for length in single.tolist()
    ]
    with pytest.raises(GrowError, match="give ranges of the same size"):
        growcells.call("GROW_VOLUME_BOX", np.array([20.0, 48.0]), np.array([20.0, 21.0, 22.0]), 6)


def test_arguments_left_out_beside_arrays() -> None:
    def together(a: object, b: float) -> object:
        return a + b  # type: ignore[operator]

    assert all_at_once(together, ROUTES, (None, 7.0), (1.0, 0.0), 0.0, (np.array([1.0]),)).tolist() == [9]


def test_arrays_of_functions_that_are_not_arithmetic_alone() -> None:
    found = array_of("GROW_VOLUME_OVAL", np.array([20.0, 48.0]), 20, 10)
    assert found.tolist() == [growcells.call("GROW_VOLUME_OVAL", length, 20, 10) for length in (20, 48)]


def array_of(name: str, *cells: object) -> np.ndarray:
    """What a function gives for arrays, which must be an array."""
    found = growcells.call(name, *cells)
    assert isinstance(found, np.ndarray)
    return found


ONE_EACH = [
    (function, example)
    for function, example in {function.name: (function, example) for function, example in EXAMPLES}.values()
    if not function.is_table
    and function.arguments
    and not any(argument.whole for argument in function.arguments)
    and isinstance(example.value, float)
]


@pytest.mark.parametrize(("function", "example"), ONE_EACH, ids=[function.name for function, _ in ONE_EACH])
def test_arrays_in_give_an_array_out(function: CellFunction, example: Example) -> None:
    """The same type and values for every function of single values, whichever of its arguments is the array."""
    for place, cell in enumerate(example.arguments):
        if isinstance(cell, str) or cell is None or place >= len(function.values):
            continue
        for column in (np.array([cell, cell]), pandas.Series([cell, cell], index=[7, 9]), np.array([[cell, cell]])):
            cells = [column if index == place else given for index, given in enumerate(example.arguments)]
            found = array_of(function.name, *cells)
            assert found.dtype == np.float64 and found.shape == column.shape
            assert found.ravel().tolist() == pytest.approx([example.value] * 2, rel=max(example.tolerance, 1e-9))


def test_rows_that_are_wrong_stand_as_errors_in_an_array() -> None:
    for name in ("GROW_VOLUME_BOX", "GROW_VOLUME_OVAL"):
        found = array_of(name, np.array([40.0, -1.0]), 25, 6)
        assert found[0] == growcells.call(name, 40, 25, 6)
        assert isinstance(found[1], CellError) and found[1].message.startswith("row 2: length is -1, below zero")


def test_a_range_gives_rows_and_an_array_of_one_gives_an_array() -> None:
    assert growcells.call("GROW_REFILL_DAYS", [1.0, 2.0], 1) == ((1,), (2,))
    assert growcells.call("GROW_REFILL_DAYS", ((1.0, 2.0),), 1) == ((1, 2),)
    assert array_of("GROW_VOLUME_OVAL", np.array([20.0]), 20, 10).shape == (1,)


def test_arrays_with_unit_arguments() -> None:
    assert array_of("GROW_DOSE", np.array([1.0, 2.0]), 1, "L", "g/L").tolist() == [1, 2]
    assert array_of("GROW_MIX_TEMP", np.array([1.0]), 10, 1, 20, "L", "°C", "F").tolist() == pytest.approx([59])
    assert array_of("GROW_REFILL_DAYS", np.array([[1.0, 2.0], [3.0, 4.0]]), 1).tolist() == [[1, 2], [3, 4]]
    with pytest.raises(GrowError, match="volume_unit"):
        growcells.call("GROW_DOSE", np.array([1.0, 2.0]), 1, "cm", "g/L")


def test_cells_given_by_the_names_of_their_arguments() -> None:
    whole = growcells.call("GROW_DOSE", "34 gal", "1.8 g/gal", None, None, "oz")
    assert growcells.call("GROW_DOSE", "34 gal", mass_unit="oz", rate="1.8 g/gal") == whole
    assert growcells.call("GROW_DOSE", rate="1.8 g/gal", volume="34 gal", mass_unit="oz") == whole
    with pytest.raises(TypeError, match=r"^GROW_DOSE takes no pump: GROW_DOSE\(volume, rate"):
        growcells.call("GROW_DOSE", "34 gal", pump=1)
    with pytest.raises(TypeError, match=r"^GROW_DOSE was given twice its volume: "):
        growcells.call("GROW_DOSE", "34 gal", volume=1)
    with pytest.raises(GrowError, match="rate is blank"):
        growcells.call("GROW_DOSE", "34 gal", mass_unit="oz")


def test_an_array_in_a_range_argument() -> None:
    assert growcells.call("GROW_COST_HEAD", np.array([12.0, 6.0]), 3) == 6


def test_texts_that_are_too_long() -> None:
    long = "x" * (LONGEST_LINE + 1)
    error = growcells.functions()["GROW_TRIAL_P"].evaluate((((1,), (2,)), (("A",), (long,))))
    assert error == CellError(
        "#VALUE!", "treatments is a text of 256 characters: give a column with the treatment of each plant"
    )
    wordy = made(lambda a, b: "x" * (LONGEST_TEXT + 1), result=Result(TEXT, "words"))
    assert wordy.evaluate((1, 2)).message == "GROW_TEST gives a text of 32,768 characters, more than a cell holds"


# Declarations.


def test_cells_as_they_stand_in_a_formula() -> None:
    assert formula_text(None) == ""
    assert (formula_text(True), formula_text(False)) == ("TRUE", "FALSE")
    assert formula_text('5"') == '"5"""'
    assert (formula_text(5), formula_text(5.0), formula_text(-0.5)) == ("5", "5", "-0.5")
    assert formula_text(((1, None), ("a", " "))) == '{1,"";"a",""}'
    assert Example((1, None, "x"), 0, "none").formula("GROW_X") == '=GROW_X(1,,"x")'


def test_a_name_that_is_no_function() -> None:
    with pytest.raises(KeyError, match=r"GROW_NOTHING"):
        growcells.call("GROW_NOTHING")


def test_errors_as_cells() -> None:
    assert str(CellError("#REF!", "told")) == "#REF!"
    assert OutOfRange("too far").as_cell() == CellError("#NUM!", "too far")
    assert Column("volumes", VOLUME).read(((1,), (None,), ("2 gal",)), functions()["GROW_DOSE"].arguments[0]) == [
        pytest.approx(LITRES_IN_GALLON),
        None,
        pytest.approx(2 * LITRES_IN_GALLON),
    ]


def test_a_temperature_asked_for_in_another_unit_stays_right_when_it_is_asked_again() -> None:
    function = fresh(functions()["GROW_MIX_TEMP"])
    for _ in range(3):
        assert function(10, 20, 10, 30, None, None, "F") == pytest.approx(77)


def test_strengths_of_two_kinds_in_one_call() -> None:
    with pytest.raises(
        GrowError, match=r"^some strengths are a conductivity and others a mass per volume: give all of them"
    ):
        cell_function.check_strengths(
            [MeasuredStrength(1, "mass per volume"), 2.0, MeasuredStrength(3, "conductivity")]
        )
    cell_function.check_strengths([MeasuredStrength(1, "conductivity"), 2.0, MeasuredStrength(3, "conductivity")])


def test_columns_and_single_cells_are_read_in_their_unit() -> None:
    column = growcells.call("GROW_PPM_TABLE", ((1,), (1,)), 1, (("12.4-0-0",), ("24.8-0-0",)), None, "oz", "L")
    assert column[1] == ("N", pytest.approx((124 + 248) * GRAMS_IN_OUNCE))
    assert growcells.call("GROW_PPM_TABLE", 1, 1, "12.4-0-0", None, "oz", "L")[1] == (
        "N",
        pytest.approx(124 * GRAMS_IN_OUNCE),
    )


def test_the_unit_that_does_not_fit_is_named() -> None:
    error = functions()["GROW_DOSE"].evaluate((34, 2, "in"))
    assert error.message == 'volume_unit is "in", which measures length: give a unit of volume such as gal'


def test_limits_hold_in_the_unit_of_the_cell_also_once_texts_and_units_are_known() -> None:
    function = made(
        lambda size: size,
        arguments=(
            Argument("size", LENGTH, "a size", low=1, high=10, unit="size_unit"),
            Argument("size_unit", UNIT, "its unit", False),
        ),
        result=Result(NUMBER, "the size in dm"),
        examples=(),
    )
    assert (function(0.5, "m"), function(50, "cm")) == (5.0, 5.0)
    for too_far in ((5, "m"), (0.05, "m"), (500, "cm"), (5, "cm")):
        with pytest.raises(OutOfRange, match="from 1 to 10 dm"):
            function(*too_far)


def test_a_range_of_empty_rows_is_a_sentence_not_a_fault() -> None:
    found = functions()["GROW_COST_HEAD"].evaluate((((), ()), 2))
    assert found == CellError("#VALUE!", "costs has 2 rows and 0 columns: give a single column")


def test_an_array_of_doses_by_volume_is_taken_row_by_row() -> None:
    assert growcells.call("GROW_DOSE", np.array([1.0, 2.0]), 2, "L", "mL/L", "mL").tolist() == [2.0, 4.0]


def test_an_array_gives_shares_without_a_unit() -> None:
    assert growcells.call("GROW_WEIGH_ERROR", np.array([5.0, 10.0]), 1).tolist() == [0.1, 0.05]


def test_a_slow_function_keeps_its_results_by_the_cells_and_their_types() -> None:
    asked: list[object] = []

    def calculation(value: object) -> float:
        asked.append(value)
        return float(len(asked))

    function = made(calculation, arguments=(Argument("value", ANYTHING, "anything"),), needs=("numpy",))
    assert [function(cell) for cell in ("a", ((1.0,),), "a", ((1.0,),), ((1,),), ((True,),))] == [1, 2, 1, 2, 3, 4]
    assert function.kept.count() == (2, 4, 4)
    assert [function(lambda: 0), function(lambda: 0)] == [5, 6]  # no spreadsheet has such a cell
    assert function.kept.count() == (2, 4, 4)


def test_what_a_slow_function_keeps_is_bounded() -> None:
    """By its bytes, however large the cells and the results are, and what was asked for last stays longest."""
    arguments = (Argument("value", ANYTHING, "anything"),)
    function = made(lambda value: "x" * 30_000, arguments=arguments, needs=("numpy",))
    tracemalloc.start()
    for number in range(500):
        function(f"{number}{'y' * 30_000}")
        function("asked for again and again")
    held, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert function.kept.count()[0] == 499
    assert 10 < function.kept.count()[2] < MOST_BYTES / 30_000
    assert held < 1.5 * MOST_BYTES
    few = made(lambda value: 1.0, arguments=arguments, needs=("numpy",))
    for number in range(MOST_RESULTS + 10):
        few(float(number))
    assert few.kept.count()[2] == MOST_RESULTS


def test_what_fails_is_not_kept() -> None:
    function = dataclasses.replace(functions()["GROW_EC"])
    for _ in range(2):
        with pytest.raises(GrowError):
            function((("N", 1e9), ("K", 1e9)))
    assert function.kept.count() == (0, 2, 0)
