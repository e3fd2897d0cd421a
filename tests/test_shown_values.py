"""Values as a spreadsheet program shows them."""

from __future__ import annotations

import math

import pytest

from growcells_workbooks.report.look.grid import PORTRAIT, fitted
from growcells_workbooks.report.pages.page import Table
from growcells_workbooks.sheets.shown_values import shown
from growcells_workbooks.sheets.table_columns import FINE, Column


@pytest.mark.parametrize(
    ("value", "number_format", "text"),
    [
        (1234.5, "[$€-407] #,##0.00", "€ 1,234.50"),
        (math.inf, "0.0", "#NUM!"),
        (-math.inf, "General", "#NUM!"),
        (math.nan, "0.0", "#NUM!"),
    ],
)
def test_a_number_in_a_format(value: float, number_format: str, text: str) -> None:
    assert shown(value, number_format) == text


def test_a_huge_number_leaves_other_columns_their_room() -> None:
    columns = [Column("bed", 9), Column("cost", 9, FINE)]
    bed, cost = fitted(Table(columns, [["T1", 1e300]]), PORTRAIT)
    assert bed.width >= 9
    assert cost.width < PORTRAIT / 2
