"""The values of a workbook's formulas as they are handed out in memory."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from growcells import functions
from growcells.cells.arguments import formula_text
from growcells_workbooks.recalculation import computed_values
from growcells_workbooks.recalculation.native import PASSES_BLANKS
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


def test_a_range_in_each_argument_gives_a_value_for_each_of_its_rows(tmp_path: Path) -> None:
    """In whatever argument the range stands: the sum over its rows is that of the calls for each of them."""
    cells: dict[str, object] = {}
    sums: dict[tuple[int, int], float] = {}
    for name, function in functions().items():
        for index, argument in enumerate(function.arguments):
            for example in function.examples:
                value, given = function.evaluate(example.arguments), [*example.arguments]
                spreads = index < len(given) and given[index] is not None and not argument.kind.whole
                if spreads and isinstance(value, float) and not isinstance(given[index], tuple):
                    row = len(sums) + 1
                    cells |= {f"A{row}": given[index], f"B{row}": given[index]}
                    texts = [formula_text(cell) for cell in given]
                    texts[index] = f"A{row}:B{row}"
                    cells[f"C{row}"] = f"=SUM({name}({','.join(texts)}))"
                    sums[row, 3] = 2 * value
                    break
    computed = computed_values(write_book(tmp_path / "log.xlsx", cells), datetime.date(2026, 11, 20))
    assert computed.values["S"] == pytest.approx(sums)
    assert len(sums) > len(functions())


WHOLE_COLUMNS = {
    "{0}": "SUM AVERAGE MAX MIN COUNT COUNTA SUMSQ PRODUCT MEDIAN MODE MODE.SNGL STDEV STDEV.S STDEV.P STDEVP VAR "
    "VAR.S VAR.P VARP DEVSQ AVEDEV GEOMEAN HARMEAN SKEW KURT",
    "{0},{1}": "SUMPRODUCT CORREL PEARSON SLOPE INTERCEPT COVAR",
    "{0},2": "LARGE SMALL QUARTILE QUARTILE.INC QUARTILE.EXC",
    "{0},0.3": "TRIMMEAN PERCENTILE PERCENTILE.INC PERCENTILE.EXC",
    "4,{0}": "RANK RANK.EQ RANK.AVG",
    "3,{0},{1}": "FORECAST FORECAST.LINEAR",
}
"""How functions of columns are called."""


@pytest.mark.parametrize(
    ("function", "called"), [(name, called) for called, names in WHOLE_COLUMNS.items() for name in names.split()]
)
def test_whole_columns_give_what_their_filled_cells_give(tmp_path: Path, function: str, called: str) -> None:
    """The engine is given no more than these: it would take a GiB for a million pairs of cells."""
    numbers = {1: (2.0, 3.0), 2: (4.0, 4.5), 3: (4.0, 1.0), 5: (7.0, 8.0), 6: (1.0, 2.5), 7: (9.0, 6.0)}
    cells: dict[str, object] = {
        f"{letter}{row}": pair["AB".index(letter)] for row, pair in numbers.items() for letter in "AB"
    }
    prefix = "_xlfn." if "." in function else ""
    call = f"={prefix}{function}({called})"
    whole, filled = call.format("A:A", "B:B"), call.format("A1:A7", "B1:B7")
    computed = computed_values(write_book(tmp_path / "log.xlsx", {**cells, "D1": whole, "D2": filled}))
    assert not computed.without["S"]
    assert computed.values["S"][1, 4] == computed.values["S"][2, 4]
    assert function in PASSES_BLANKS
