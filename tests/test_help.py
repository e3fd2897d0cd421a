"""GROW_WHY and GROW_VERSION: the sentence of a call, and how a call is named."""

from __future__ import annotations

import re

import pytest

import growcells
from growcells import CellError
from growcells.version import VERSION

RATE = 'rate is "two": give a number of grams a gallon or a text such as "2 g/gal"'


@pytest.mark.parametrize("name", ["GROW_DOSE", "grow_dose", "=GROW_DOSE", " =GROW_DOSE(34, 2)", "GROW_DOSE()"])
def test_a_function_by_any_spelling(name: str) -> None:
    assert growcells.call("GROW_WHY", name, 34, 2) == "OK"
    assert growcells.call("GROW_WHY", name, 34, "two") == RATE


def test_the_first_bad_row_of_a_range() -> None:
    doses = ((34,), (None,), ("x",), ("y",))
    sentence = growcells.call("GROW_WHY", "GROW_DOSE", doses, 2)
    assert sentence == 'row 3: volume is "x": give a number of gallons or a text such as "34 gal"'
    assert growcells.call("GROW_WHY", "GROW_DOSE", doses[:2], 2) == "OK"


def test_arguments_left_out_are_not_blank_ones() -> None:
    assert growcells.call("GROW_WHY", "GROW_DOSE", 34, 2, None, None, None, None, None) == "OK"
    assert "rate is blank" in str(growcells.call("GROW_WHY", "GROW_DOSE", 34, None, "L"))
    assert "lacks rate" in str(growcells.call("GROW_WHY", "GROW_DOSE", 34, None))
    assert "lacks volume" in str(growcells.call("GROW_WHY", "GROW_DOSE"))
    assert growcells.call("GROW_WHY", "GROW_DOSE", 34, 2, None, None, None, "x").startswith(
        "GROW_DOSE was given 6 values"
    )


def test_an_error_in_a_cell_is_told() -> None:
    assert (
        growcells.call("GROW_WHY", "GROW_DOSE", CellError("#REF!"), 2)
        == "volume is an error already (#REF!): mend that cell first"
    )


def test_a_table_without_an_error_is_well() -> None:
    assert growcells.call("GROW_WHY", "GROW_PPM_TABLE", 1, 1, "17-7-21") == "OK"


def test_the_version_is_that_of_the_package() -> None:
    assert growcells.call("GROW_VERSION") == VERSION
    assert re.fullmatch(r"\d+\.\d+(\.\d+)?\S*", VERSION)
