"""The bridges, and formulas computed in a file, for tests that compare them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from growcells import CellError
from growcells.cells.errors import ERROR_CODES
from growcells_workbooks.recalculation import recalculate

BRIDGES = (
    *("called", "in_file", "in_excel_on_windows", "in_excel_elsewhere"),
    pytest.param("in_libreoffice", marks=pytest.mark.office),
)
"""The fixtures by which a test module reaches each bridge."""
BLANK_CELL = "Z1"
"""A cell that no test fills."""


def shown(value: object) -> object:
    """A cell value read by openpyxl, an error text as an error."""
    return CellError(value) if isinstance(value, str) and value in ERROR_CODES else value


def computed_in_file(folder: Path, formulas: Sequence[str]) -> list[object]:
    """The values of formulas, each in a cell of a workbook recalculated without a spreadsheet program."""
    book = Workbook()
    assert book.active is not None
    for row, formula in enumerate(formulas, 1):
        book.active.cell(row, 1, formula)
    book.save(folder / "formulas.xlsx")
    assert not recalculate(folder / "formulas.xlsx", folder / "computed.xlsx").kept
    sheet = load_workbook(folder / "computed.xlsx", data_only=True).active
    assert sheet is not None
    return [shown(sheet.cell(row, 1).value) for row in range(1, len(formulas) + 1)]
