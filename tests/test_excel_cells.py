"""What comes into cells and out of them through xlwings' call paths for Excel on Windows and elsewhere.

The examples of every function go this way in test_conformance.py, bad input in test_bad_input.py, blanks in
test_blanks.py.

No Excel runs here: what these tests show is what xlwings hands over for what Excel is known to give it.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator
from decimal import Decimal
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growcells import CellError, CellFunction, functions
from stand_ins.comparison import ERROR_TEXT, as_rows, is_error
from stand_ins.excel import MISSING, OfficeExcel, WindowsExcel, office_excel, windows_excel

FUNCTIONS = functions()
FULL, HALF = pytest.approx(68), pytest.approx(34)
"""Grams for 34 and 17 gal at 2 g/gal."""

Excel = WindowsExcel | OfficeExcel


@pytest.fixture(scope="module", params=[windows_excel, office_excel])
def excel(request: pytest.FixtureRequest) -> Iterator[Excel]:
    with request.param() as host:
        yield host


def sentence(*cells: object) -> str:
    """What growcells says is wrong with a dose of these cells."""
    problem = FUNCTIONS["GROW_DOSE"].evaluate(cells)
    assert isinstance(problem, CellError) and problem.message
    return problem.message


def test_excel_on_windows_shows_the_sentence(excel_on_windows: WindowsExcel) -> None:
    assert excel_on_windows.call("GROW_DOSE", 34, "two") == ERROR_TEXT + sentence(34, "two")
    assert excel_on_windows.call("GROW_DOSE", 34) == ERROR_TEXT + sentence(34)


def test_excel_whose_functions_cannot_give_errors_shows_the_sentence(excel_elsewhere: OfficeExcel) -> None:
    assert excel_elsewhere.call("GROW_DOSE", 34, "two", runtime="1.3") == ERROR_TEXT + sentence(34, "two")


def test_newer_excel_gets_a_real_error_value(excel_elsewhere: OfficeExcel) -> None:
    assert excel_elsewhere.call_raw("GROW_DOSE", [[34]], [["two"]]) == [[{"type": "Error", "errorType": "Value"}]]
    assert excel_elsewhere.call("GROW_DOSE", 34, -2) == CellError("#NUM!")


@pytest.mark.parametrize("code", ["#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A"])
def test_an_error_cell_is_passed_on(excel: Excel, code: str) -> None:
    shown = excel.call("GROW_DOSE", CellError(code), 2)
    if isinstance(excel, OfficeExcel):
        assert shown == CellError(code)
    else:
        assert shown.startswith(ERROR_TEXT) and code in shown
    assert code in excel.call("GROW_WHY", "GROW_DOSE", CellError(code), 2)


def test_errors_newer_than_the_table_of_xlwings_are_no_numbers(excel_on_windows: WindowsExcel) -> None:
    spill = -2146828288 + 2045
    assert "#SPILL!" in excel_on_windows.call_raw("GROW_DOSE", spill, 2.0)
    assert "#SPILL!" in excel_on_windows.call_raw("GROW_DOSE", ((spill,), (34.0,)), 2.0)[0][0]


def test_errors_newer_than_the_file_format_are_passed_on_as_text(excel_elsewhere: OfficeExcel) -> None:
    cell = {"type": "Error", "errorType": "Spill", "basicValue": "#SPILL!", "basicType": "Error"}
    shown = excel_elsewhere.call_raw("GROW_DOSE", [[cell]], [[2]])[0][0]
    assert shown.startswith(ERROR_TEXT) and "#SPILL!" in shown


def test_an_error_text_of_ours_stays_that_error_in_the_next_formula(excel_on_windows: WindowsExcel) -> None:
    first = excel_on_windows.call("GROW_DOSE", 34, "two")
    assert excel_on_windows.call("GROW_COST", first, 31.5, 10) == first


def test_no_text_is_longer_than_a_cell(excel_on_windows: WindowsExcel) -> None:
    assert len(excel_on_windows.call("GROW_DOSE", 34, "much " * 8_000)) <= 32_767


def test_a_column_stays_a_column(excel: Excel) -> None:
    assert as_rows(excel.call("GROW_DOSE", ((34,), (17,), (None,)), 2)) == [[FULL], [HALF], [""]]


def test_a_row_stays_a_row(excel: Excel) -> None:
    shown = excel.call("GROW_DOSE", ((34, 17, None),), 2)
    # xlwings hands COM a single row flat, as Excel takes it.
    assert shown == ([FULL, HALF, ""] if isinstance(excel, WindowsExcel) else ((FULL, HALF, ""),))


def test_a_block_of_cells_keeps_its_shape(excel: Excel) -> None:
    assert as_rows(excel.call("GROW_DOSE", ((34, 17), (7, None)), 2)) == [[FULL, HALF], [pytest.approx(14), ""]]


def test_a_range_of_one_cell_is_that_cell(excel: Excel) -> None:
    assert excel.call("GROW_DOSE", ((34,),), 2) == FULL


def test_a_bad_row_harms_no_other(excel: Excel) -> None:
    rows = as_rows(excel.call("GROW_DOSE", ((34,), ("much",), (CellError("#N/A"),), (17,)), 2))
    assert [is_error(row[0]) for row in rows] == [False, True, True, False]
    assert [rows[0][0], rows[3][0]] == [FULL, HALF]


def test_optional_arguments_can_be_left_out_or_stand_in_the_middle(excel: Excel) -> None:
    plain = excel.call("GROW_DOSE", 34, 2)
    assert excel.call("GROW_DOSE", 34, 2, MISSING, MISSING, MISSING) == plain
    assert excel.call("GROW_DOSE", 34, 2, MISSING, MISSING, "kg") == pytest.approx(plain / 1000)
    assert excel.call("GROW_DOSE", 34, 2, None, "", "kg") == pytest.approx(plain / 1000)


def test_values_typed_into_the_formula(excel_on_windows: WindowsExcel) -> None:
    # VBA hands constants over as values, not as ranges; array constants as tuples, a row of them flat.
    assert excel_on_windows.call_raw("GROW_DOSE", 34.0, "2 g/gal") == FULL
    assert excel_on_windows.call_raw("GROW_DOSE", ((34.0,), (17.0,)), 2.0) == [[FULL], [HALF]]
    assert excel_on_windows.call_raw("GROW_DOSE", (34.0, 17.0), 2.0) == [FULL, HALF]


def test_a_currency_cell_is_a_number(excel_on_windows: WindowsExcel) -> None:
    assert excel_on_windows.call_raw("GROW_COST", 68.0, Decimal("31.5"), 10.0) == excel_on_windows.call(
        "GROW_COST", 68, 31.5, 10
    )


def test_dates_arrive_as_dates(excel_on_windows: WindowsExcel) -> None:
    day = datetime.datetime(2026, 11, 16, 8, 30, tzinfo=datetime.UTC)
    local = day.replace(tzinfo=None)
    with mock.patch.object(CellFunction, "evaluate", return_value=None) as evaluate:
        excel_on_windows.call("GROW_REORDER", 2600, 650, 2, day)
        excel_on_windows.call("GROW_WHY", ((day,), (None,)))
    assert [call.args[0] for call in evaluate.call_args_list] == [
        [2600.0, 650.0, 2.0, local],
        [((local,), (None,))],
    ]


def test_dates_give_the_same_in_every_excel(excel: Excel) -> None:
    text = excel.call("GROW_REORDER", 2600, 650, 2, "2026-11-16")
    assert excel.call("GROW_REORDER", 2600, 650, 2, datetime.date(2026, 11, 16)) == text


CELLS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**6), 10**6),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=20),
    st.sampled_from(["5 in", "34 gal", "#N/A", "#GROW! much", "1,5", "=1+1", "N", "17-7-21"]),
    st.datetimes(datetime.datetime(1901, 1, 1), datetime.datetime(2100, 1, 1)),
    st.sampled_from(["#DIV/0!", "#REF!", "#VALUE!"]).map(CellError),
)
RANGES = st.integers(1, 3).flatmap(
    lambda width: st.lists(st.tuples(*[CELLS] * width), min_size=1, max_size=3).map(tuple)
)


@settings(deadline=None)  # the first call of some functions loads scipy
@given(st.data())
def test_no_cells_make_a_call_raise(excel: Excel, data: st.DataObject) -> None:
    function = data.draw(st.sampled_from(list(FUNCTIONS.values())))
    required = sum(argument.required for argument in function.arguments)
    count = data.draw(st.integers(required, len(function.arguments)))
    cells = [data.draw(CELLS | RANGES) for _ in range(count)]
    for row in as_rows(excel.call(function.name, *cells)):
        for cell in row:
            assert isinstance(cell, (str, bool, int, float, CellError))
            assert not isinstance(cell, float) or math.isfinite(cell)
