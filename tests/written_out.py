"""Workbooks whose calls are written out as native formulas, for tests."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.utils import get_column_letter

from growcells import CellFunction
from growcells.cells.arguments import Example
from growcells.cells.kinds import STRENGTH, is_range

NOT_WRITTEN_OUT = {
    "GROW_DEPTH_FOR": "takes a LAMBDA",
    "GROW_SEEDS_TO_SOW": "takes a LAMBDA",
    "GROW_CONVERT": "is in a cell",
    "GROW_TARGET": "is in a cell",
}
"""Carried functions whose examples are not written out where their arguments are in cells, and why."""


def is_written_out(function: CellFunction, example: Example) -> bool:
    """Whether the copy gives the value of an example; of strengths as text nobody could tell whether they match."""
    strengths = [
        cell
        for argument, cell in zip(function.arguments, example.arguments, strict=False)
        if argument.kind is STRENGTH and isinstance(cell, str)
    ]
    return function.name not in NOT_WRITTEN_OUT and not strengths


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
                        ranges.cell(line, place).value = value
                first, last = (get_column_letter(filled + place) for place in (1, len(rows[0])))
                cells.append(f"ranges!${first}$1:${last}${len(rows)}")
                filled += len(rows[0])
            elif argument is None:
                cells.append("")
            else:
                sheet.cell(row, column).value = argument  # type: ignore[assignment]
                cells.append(f"{get_column_letter(column)}{row}")
        sheet.cell(row, 1, f"={function.name}({','.join(cells)})")
    book.save(path)
