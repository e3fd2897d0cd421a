"""The formulas of a workbook's sheets in their cells, and what of a cell keeps a formula from being computed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from growcells import functions
from growcells.cells.kinds import Kind

from .cells import ErrorValue, Value
from .readings import Reading
from .references import shifted
from .sheet_edits import Edit, patched, value_edits
from .sheet_xml import SheetCell
from .tokens import NotComputed
from .trust import Trust

Place = tuple[int, int]
"""Row and column of a cell, counted from 1."""

_MOST_ARRAY_CELLS = 2**20  # cells of an array formula: ours, a full column
_ROW = re.compile(rb"""<(?:[\w.-]+:)?row\s[^<>]*?\br=["']([0-9]{1,7})["']""")


class FormulaCell(NamedTuple):
    """A formula in its cell."""

    cell: SheetCell
    written: str
    """As the sheet shows it, that of a shared formula written out."""
    read: str
    """The same with what is typed in cells that choose what a function does."""
    reading: Reading
    moving: list[str]
    trust: Trust


@dataclass
class Sheet:
    """One worksheet on its way: its XML, what was found in it, and what becomes of it."""

    name: str
    data: bytes
    cells: list[SheetCell]
    values: dict[Place, Value | ErrorValue] = field(default_factory=dict)
    """The new values of formula cells; the others keep what is stored."""

    def patched(self) -> tuple[bytes, int]:
        """The sheet's XML with the new values in it, and how many cells differ."""
        edits: list[Edit] = []
        changed = 0
        for cell in self.cells:
            if cell.place in self.values:
                new = value_edits(self.data, cell, self.values[cell.place])
                changed += bool(new)
                edits += new
        return patched(self.data, edits) if edits else self.data, changed


def last_row(data: bytes) -> int:
    """The last row that a sheet has anything in, or a later one."""
    rows = [int(number) for number in _ROW.findall(data)]
    return max(rows, default=0) or data.count(b"<row") + data.count(b":row")


def spreads(name: str, index: int) -> bool:
    """Whether a growcells function computes each row of a range that is its argument of that index."""
    arguments = functions()[name].arguments
    if not arguments:
        return False
    kind = arguments[min(index, len(arguments) - 1)].kind
    return not kind.whole and type(kind).takes_range is Kind.takes_range


def table_functions() -> frozenset[str]:
    return frozenset(name for name, function in functions().items() if function.is_table)


def written_formula(cell: SheetCell, shared: dict[str, SheetCell]) -> tuple[str, str]:
    """The formula of a cell as the sheet shows it, and why it cannot be told, if so."""
    if cell.kind != "shared":
        return cell.formula or "", ""
    index = cell.shared_index or ""
    if cell.formula:
        shared[index] = cell
        return cell.formula, ""
    first = shared.get(index)
    if first is None or first.formula is None:
        return "", "it shares the formula of a cell that has none"
    (row, column), (first_row, first_column) = cell.place, first.place
    try:
        return shifted(first.formula, row - first_row, column - first_column), ""
    except NotComputed as problem:
        return first.formula, str(problem)


def unfit(cell: SheetCell) -> str:
    """Why a formula is not for the engine, by the kind of its cell; nothing where it is."""
    if cell.rich:
        return "its value (a picture, a stock, #SPILL! …) lies outside of the sheet, where nothing is changed"
    if cell.anchor is not None:
        return f"it stands among the cells of the array formula in {cell.anchor.name}"
    if cell.kind == "dataTable":
        return "it is part of a what-if data table"
    if cell.area is None:
        return ""
    if (cell.area.first_row, cell.area.first_column) != cell.place:
        return "it is an array formula of other cells"
    return "its array is too large" if cell.area.rows * cell.area.columns > _MOST_ARRAY_CELLS else ""
