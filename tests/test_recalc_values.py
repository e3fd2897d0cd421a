"""The values of a workbook's formulas as they are handed out in memory."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from growcells_workbooks.recalculation import computed_values
from recalc_books import write_book


def test_values_and_why_there_are_none(tmp_path: Path) -> None:
    """Every formula cell is in one of the two, and nothing is written."""
    source = write_book(
        tmp_path / "log.xlsx",
        {"A1": 26, "B1": "=GROW_DOSE(A1,2)", "B2": "=GROW_DOSE(A2,2)", "B3": "=TODAY()-1", "B4": '=""'},
    )
    before = source.read_bytes()
    computed = computed_values(source, datetime.date(2026, 11, 20))
    values, without = computed.values["S"], computed.without["S"]
    assert values == pytest.approx({(1, 2): 52.0, (3, 2): 46345.0, (4, 2): ""})
    assert without.keys() == {(2, 2)}
    assert (without[2, 2].code, without[2, 2].message) == ("#VALUE!", computed.failed[0].why)
    assert computed.formulas == 4
    assert source.read_bytes() == before
