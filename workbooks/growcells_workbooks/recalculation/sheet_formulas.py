"""The formulas of a workbook's sheets in their cells, and what of a cell keeps a formula from being computed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from growcells import functions

from .cells import Area, ErrorValue, Value
from .copies import Copies, areas_at
from .readings import Reading, filled_in
from .references import shifted
from .sheet_edits import Edit, new_value_edits, patched
from .sheet_xml import SheetCell
from .tokens import NotComputed
from .trust import Trust

Place = tuple[int, int]
"""Row and column of a cell, counted from 1."""

_MOST_ARRAY_CELLS = 2**20  # cells of an array formula: ours, a full column
_NOTHING = Copies.of("", 0), None
_ROW = re.compile(rb"""row(?<=[<:]row)\s[^<>]*?\br=["']([0-9]{1,7})["']""")


class WrittenFormula(NamedTuple):
    """A formula in its cell as the sheet has it; ``problem`` is why it cannot be told, if so."""

    cell: SheetCell
    copies: Copies
    problem: str

    @property
    def text(self) -> str:
        """As the sheet shows it, that of a shared formula written out."""
        return self.copies.text(self.cell.place[0])


class FormulaCell(NamedTuple):
    """A formula in its cell, read."""

    cell: SheetCell
    shown: Copies
    """As the sheet shows it."""
    copies: Copies
    """The same with what is typed in cells that choose what a function does."""
    reading: Reading
    trust: Trust

    @property
    def written(self) -> str:
        """As the sheet shows it, that of a shared formula written out."""
        return self.shown.text(self.cell.place[0])

    @property
    def moving(self) -> list[str]:
        """Its moving references."""
        return self.copies.moving(self.cell.place[0])

    def cells_read(self) -> Iterator[tuple[str, Area]]:
        """The sheet and the area of each reference whose cells it reads."""
        areas, located = self.copies.areas(self.reading), self.reading.located
        read = [area for number, area in enumerate(areas) if number not in located] if located else areas
        return areas_at(read, self.cell.place[0])

    def filled_in(self, text: str, clock: tuple[str, str] = ("", "")) -> str:
        """A text of its reading as it is in its cell; ``clock`` is what NOW and TODAY give."""
        return filled_in(text, self.moving, self.cell.place[0], self.cell.name, clock)


@dataclass
class Sheet:
    """One worksheet on its way: its XML, what was found in it, and what becomes of it."""

    name: str
    data: bytes
    cells: list[SheetCell]
    values: dict[Place, Value | ErrorValue] = field(default_factory=dict)
    """The new values of formula cells, which are not the stored ones; the others keep what is stored."""

    def patched(self) -> tuple[bytes, int]:
        """The sheet's XML with the new values in it, and how many cells differ."""
        if not self.values:
            return self.data, 0
        edits: list[Edit] = []
        for cell in self.cells:
            if cell.place in self.values:
                edits += new_value_edits(self.data, cell, self.values[cell.place])
        return patched(self.data, edits), len(self.values)


def last_row(data: bytes) -> int:
    """The last row that a sheet has anything in, or a later one."""
    rows = [int(number) for number in _ROW.findall(data)]
    return max(rows, default=0) or data.count(b"<row") + data.count(b":row")


def spreads(name: str, index: int) -> bool:
    """Whether a growcells function may compute each row of a range that is its argument of that index."""
    arguments = functions()[name].arguments
    return bool(arguments) and not arguments[min(index, len(arguments) - 1)].kind.whole


def table_functions() -> frozenset[str]:
    return frozenset(name for name, function in functions().items() if function.is_table)


def written_formulas(sheet: Sheet) -> Iterator[WrittenFormula]:
    """The formulas of a sheet, in the order of the file."""
    shared: dict[str, SheetCell] = {}
    above: dict[int, tuple[Copies, str | None]] = {}  # by column, with the number of the formula that it shares
    for cell in sheet.cells:
        if cell.formula_span is None:
            continue
        row, column = cell.place
        copies, number = above.get(column, _NOTHING)
        formula, problem = cell.formula or "", ""
        if cell.kind == "shared":
            number, last_number = cell.shared_index or "", number
            if formula:
                shared[number] = cell
            elif number == last_number and copies.is_plain and row in copies.rows:
                yield WrittenFormula(cell, copies, "")
                continue
            else:
                formula, problem = _shared_formula(cell, shared.get(number))
        else:
            number = None
        if cell.area is not None:  # what its copies are is computed in another way
            yield WrittenFormula(cell, Copies.of(formula, row), problem)
            continue
        if row not in copies.rows or copies.text(row) != formula:
            copies = Copies.of(formula, row)
        above[column] = copies, None if problem else number
        yield WrittenFormula(cell, copies, problem)


def _shared_formula(cell: SheetCell, first: SheetCell | None) -> tuple[str, str]:
    """The formula of a cell that shares that of another one, and why it cannot be told, if so."""
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
