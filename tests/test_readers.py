"""Which cells formulas read: sheets of which no formula reads any need not be in the engine."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

from growcells_workbooks.gate import silent
from growcells_workbooks.recalculation.computation import Computation
from growcells_workbooks.recalculation.package import Package


@pytest.mark.parametrize(
    ("formula", "is_read"),
    [
        ("=A1*2", False),
        ("=GROW_DOSE(A1,2)", False),
        ("=diary!B2", True),
        ("=SUM(Diary!B:B)", True),
        ("=GROW_DOSE('Diary'!B1,2)", True),
        ("=SUM(entries)", True),
        ('=INDIRECT("Di"&"ary!B1")', True),
        ("=OFFSET(A1,0,0)", True),
    ],
)
def test_a_sheet_that_no_formula_reads_is_not_in_the_engine(tmp_path: Path, formula: str, is_read: bool) -> None:
    book = Workbook()
    assert book.active is not None
    book.active.title = "Log"
    book.active["A1"] = 34
    book.active["C1"] = formula
    diary = book.create_sheet("Diary")
    for row in range(1, 4):
        diary.append([f"note {row}", row])
    book.defined_names["entries"] = DefinedName("entries", attr_text="Diary!$B$1:$B$3")
    book.save(tmp_path / "log.xlsx")
    computation = Computation(Package(tmp_path / "log.xlsx"), None, silent)
    computation.run()
    assert (computation.engine.value("Diary", 2, 2) == 2) is is_read
