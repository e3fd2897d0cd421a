"""The values of a workbook's formulas as they are handed out in memory."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from growcells import functions
from growcells.cells.arguments import formula_text
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
