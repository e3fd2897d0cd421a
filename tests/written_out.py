"""Workbooks whose calls are written out as native formulas, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from growcells import CellFunction
from growcells.cells.arguments import Example
from growcells.cells.kinds import is_range

WITH_LAMBDA = frozenset()
"""Carried functions that only a LAMBDA can say: an inverse that is sought, texts that are taken apart."""


def write_examples(path: Path, cases: Sequence[tuple[CellFunction, Example]]) -> None:
    """A workbook with a call a row, in column A, and its arguments in cells."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    ranges = book.create_sheet("ranges")
    filled = 0
    for row, (function, example) in enumerate(cases, 1):
        cells = []
        for column, argument in enumerate(example.arguments, 2):
            if is_range(argument):
                rows = [[cell] if not isinstance(cell, (list, tuple)) else list(cell) for cell in argument]  # type: ignore[attr-defined]
                for line, values in enumerate(rows, 1):
                    for place, value in enumerate(values, filled + 1):
                        ranges.cell(line, place, value)
                first, last = (get_column_letter(filled + place) for place in (1, len(rows[0])))
                cells.append(f"ranges!${first}$1:${last}${len(rows)}")
                filled += len(rows[0])
            elif argument is None:
                cells.append("")
            else:
                sheet.cell(row, column, argument)
                cells.append(f"{get_column_letter(column)}{row}")
        sheet.cell(row, 1, f"={function.name}({','.join(cells)})")
    book.save(path)
