"""All formulas of a workbook, read, and why the engine is not given some of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from growcells import functions

from ..gate import Progress
from .constants import with_constants
from .copies import Copies
from .formulas import Reader
from .left_out import without_left_out
from .package import Book, Package
from .readers import CellPlace
from .readings import Reading
from .sheet_formulas import (
    FormulaCell,
    Sheet,
    WrittenFormula,
    last_row,
    spreads,
    table_functions,
    unfit,
    written_formulas,
)
from .sheet_xml import SheetCell, scan_sheet
from .trust import Trust, gap_in, trust_of


@dataclass
class WorkbookFormulas:
    """The sheets of a workbook with their formulas."""

    sheets: dict[str, Sheet]
    last_row: int
    """The last row that is filled on any sheet."""
    formulas: dict[CellPlace, FormulaCell] = field(default_factory=dict)
    refused: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas that the engine does not compute, and why."""


def read_formulas(package: Package, report: Progress, trusting: bool) -> WorkbookFormulas:
    """Read the formulas of all sheets; raises FileProblem. ``trusting`` takes every function for proven."""
    parts = package.book.sheets
    sheets: dict[str, Sheet] = {}
    for number, (name, part) in enumerate(parts.items()):
        report("reading", number, len(parts))
        data = package.read(part)
        sheets[name] = Sheet(name, data, scan_sheet(data))
    found = WorkbookFormulas(sheets, max(last_row(sheet.data) for sheet in sheets.values()))
    written = {
        (name, *formula.cell.place): formula for name, sheet in sheets.items() for formula in written_formulas(sheet)
    }
    put = with_constants(written, sheets, package.shared_texts)
    put |= without_left_out(written, put, sheets)
    _Judge(found, package.book, trusting).read_all(written, put)
    for (name, _, _), formula in written.items():
        if formula.cell.anchor is not None:
            found.refused[name, *formula.cell.anchor.place] = "another formula stands among the cells of its array"
    report("reading", len(parts), len(parts))
    return found


class _Judged(NamedTuple):
    """A formula read and judged, and the rows in which its copies are the same."""

    reading: Reading
    trust: Trust
    refusal: str
    rows: range


class _Judge:
    """Reads each formula and says how far the engine is trusted with it, copies of it once."""

    def __init__(self, found: WorkbookFormulas, book: Book, trusting: bool) -> None:
        self.found, self.book, self.trusting = found, book, trusting
        self.reader = Reader(book, frozenset(functions()), table_functions(), found.last_row, spreads)
        self.scopes = {name: _scopes(book, sheet) for name, sheet in found.sheets.items()}
        self.known: dict[Copies, _Judged] = {}
        self.trusts: dict[tuple[str, int], tuple[Trust, str]] = {}
        """By sheet and reading, which the reader keeps."""

    def read_all(self, written: Mapping[CellPlace, WrittenFormula], put: Mapping[CellPlace, str]) -> None:
        """Read the formulas, those in ``put`` as they are there."""
        formulas, refused = self.found.formulas, self.found.refused
        for place, (cell, shown, problem) in written.items():
            copies = Copies.of(put[place], place[1]) if put and place in put else shown
            judged = self.known.get(copies)
            if judged is None:
                judged = self.known[copies] = self.judged(copies, place, cell.area is not None)
            if place[1] not in judged.rows:
                copies = Copies.of(copies.text(place[1]), place[1])
                judged = self.judged(copies, place, cell.area is not None)
            reading, trust, refusal, _ = judged
            problem = problem or unfit(cell) or reading.refusal
            if not problem and cell.type == "d" and self.book.starts_1904:
                problem = "its value is stored as a day, in a workbook that counts days from 1904"
            if not problem and reading.undefined:
                problem = self.unnamed(cell, reading)
            if problem or refusal:
                refused[place] = problem or refusal
                trust = Trust.NONE
            formulas[place] = FormulaCell(cell, shown, copies, reading, trust)

    def judged(self, copies: Copies, place: CellPlace, arrays: bool) -> _Judged:
        """The formula in this cell read and judged."""
        name, row, column = place
        reading, moving = self.reader.read(copies.text(row), name, row, column, arrays=arrays)
        rows = copies.rows if reading.movable and moving == copies.moving(row) else range(row, row + 1)
        if reading.rows is not None:
            first, last = reading.rows
            rows = range(max(rows.start, first), min(rows.stop, last + 1))
        if reading.refusal:
            return _Judged(reading, Trust.NONE, "", rows)
        key = name, id(reading)
        if key not in self.trusts:
            read = {sheet for sheet, _ in reading.areas} & self.scopes.keys()
            filtered = any("filtered" in self.scopes[sheet] for sheet in read)
            self.trusts[key] = self.trust(reading, self.scopes[name] | ({"filtered"} if filtered else set()))
        return _Judged(reading, *self.trusts[key], rows)

    def trust(self, reading: Reading, scopes: frozenset[str]) -> tuple[Trust, str]:
        """How far the engine is trusted with a formula, and why no further."""
        if self.trusting:
            gap = gap_in(reading, scopes)
            return (Trust.NONE, gap) if gap else (Trust.COMPUTES, "")
        return trust_of(reading, scopes)

    def unnamed(self, cell: SheetCell, reading: Reading) -> str:
        """Why a formula with a name that is not defined keeps its value: the program that computed it knew the name."""
        known = cell.has_value and cell.stored != "#NAME?" and not self.book.computes_on_load
        return f"the name {reading.undefined} is not defined in the workbook" if known else ""


def _scopes(book: Book, sheet: Sheet) -> frozenset[str]:
    """What holds for a sheet and its workbook that gaps of the engine depend on."""
    found = {"1904"} if book.starts_1904 else set()
    if book.shows_precision:
        found.add("as shown")
    if sheet.name in book.filtered or b"autoFilter" in sheet.data:
        found.add("filtered")
    if book.of_other_language:
        found.add("another language")
    if book.names or book.tables:
        found.add("named")
    return frozenset(found)
