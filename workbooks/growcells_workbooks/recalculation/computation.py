"""The formulas of one workbook on their way from stored to computed values."""

from __future__ import annotations

import contextlib
import re
from collections import deque
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from graphlib import CycleError, TopologicalSorter

from growcells.registry import functions

from .engine import Engine, Uncomputed, knows
from .formulas import MAX_ARRAY_CELLS, Translator, calls_in
from .package import Package
from .references import NotComputed, quoted, references_in, shifted, unquoted
from .results import FailedCell, KeptCell, Progress, RestingCell
from .safe_files import FileProblem
from .sheet_edits import patched, replaced_formulas, value_edits
from .sheet_xml import (
    ErrorValue,
    SheetCell,
    Value,
    cell_name,
    read_area,
    scan_sheet,
)

Place = tuple[str, int, int]
"""A cell: its sheet's name, row and column counted from 1."""

_ROUNDS = 4  # each finds cells that only show themselves as not computable once others are
_PROGRESS_STEP = 1_000

_CONVERT = re.compile(r"(?<![\w.])CONVERT\(", re.IGNORECASE)

_MEANINGS = {
    "#DIV/0!": "it divides by zero or by a blank cell",
    "#VALUE!": "it computes with a text, or with values of the wrong kind",
    "#REF!": "it refers to a cell that does not exist",
    "#NAME?": "it uses a name that the workbook does not define: check the spelling",
    "#NUM!": "its result is no number that a cell can hold",
    "#N/A": "what it looks up is not there",
    "#NULL!": "it asks for the cells common to ranges that have none",
    "#SPILL!": "its result needs cells that are filled: empty the cells below and to the right of it",
    "#CALC!": "its result is an empty table",
}


@dataclass
class _Counter:
    """Counts the calls of growcells functions and tells of them.

    It knows nothing of the computation: the engine keeps it, and the two would keep each other in memory for ever.
    """

    report: Progress
    total: int
    calls: int = 0

    def count(self) -> None:
        self.calls += 1
        if self.calls % _PROGRESS_STEP == 0:
            self.report("computing", min(self.calls, self.total), self.total)


@dataclass
class Computation:
    """One workbook on its way from stored to computed values."""

    package: Package
    as_of: date | None
    report: Progress
    data: dict[str, bytes] = field(default_factory=dict)
    cells: dict[str, list[SheetCell]] = field(default_factory=dict)
    written: dict[Place, str] = field(default_factory=dict)
    """Each formula as the sheet shows it, those of shared formulas written out."""
    formulas: dict[str, dict[tuple[int, int], str]] = field(default_factory=dict)
    """Each formula as the engine computes it."""
    anchors: dict[Place, SheetCell] = field(default_factory=dict)
    """The array formula that fills a cell."""
    kept: dict[Place, str] = field(default_factory=dict)
    values: dict[Place, Value | ErrorValue] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    total: int = 0

    def run(self) -> None:
        self._read()
        self._translate()
        for _ in range(_ROUNDS):
            self.engine = self._load()
            self.engine.compute()
            uncomputed = self._collect()
            if not uncomputed:
                break
            self._keep(uncomputed)
        else:
            self.engine = self._load()
            self.engine.compute()
            for place, why in self._collect().items():
                self.kept.setdefault(place, why)
        self.report("computing", self.total, self.total)
        self._note_spills()

    def _read(self) -> None:
        sheets = self.package.book.sheets
        for number, (sheet, part) in enumerate(sheets.items()):
            self.report("reading", number, len(sheets))
            self.data[sheet] = self.package.read(part)
            self.cells[sheet] = scan_sheet(self.data[sheet])
            self.anchors |= {(sheet, *cell.place): cell.anchor for cell in self.cells[sheet] if cell.anchor}
        self.report("reading", len(sheets), len(sheets))

    def _translate(self) -> None:
        """Make the engine's formula for each cell, or note why it is kept."""
        tables = frozenset(name for name, function in functions().items() if function.is_table)
        translator = Translator(self.package.book, knows, frozenset(functions()), tables)
        for sheet, cells in self.cells.items():
            self.formulas[sheet] = {}
            shared: dict[str, SheetCell] = {}
            for cell in cells:
                if cell.formula_span is None:
                    continue
                self.total += 1
                place = (sheet, cell.row, cell.column)
                try:
                    self.written[place] = _written_formula(cell, shared)
                    self.formulas[sheet][cell.place] = _engine_formula(translator, sheet, cell, self.written[place])
                except NotComputed as problem:
                    self.written.setdefault(place, cell.formula or "")
                    self.kept[place] = str(problem)

    def _load(self) -> Engine:
        strings = self.package.book.shared_strings
        return Engine(
            self.package.book,
            {
                sheet: replaced_formulas(self.data[sheet], self.cells[sheet], self.formulas[sheet])
                for sheet in self.cells
            },
            self.package.read(strings) if strings else None,
            self.as_of,
            _Counter(self.report, self.total).count,
        )

    def _collect(self) -> dict[Place, str]:
        """Take the values of all formula cells; the answer is those that have none, and why."""
        self.values.clear()
        uncomputed: dict[Place, str] = {}
        for place in self._computed_places():
            value = self.engine.value(*place)
            if isinstance(value, Uncomputed):
                uncomputed[place] = value.why
            elif value == ErrorValue("#N/A") and _CONVERT.search(self.formulas[place[0]].get(place[1:], "")):
                uncomputed[place] = "CONVERT has a unit that is not known here; GROW_CONVERT may know it"
            else:
                self.values[place] = value
        return uncomputed

    def _computed_places(self) -> Iterator[Place]:
        for sheet, cells in self.cells.items():
            for cell in cells:
                owner = cell if cell.formula_span is not None or cell.anchor is None else cell.anchor
                if owner.place in self.formulas[sheet]:
                    yield sheet, cell.row, cell.column

    def _keep(self, uncomputed: Mapping[Place, str]) -> None:
        """Leave formulas out of the next round; of those that rest on a circle, only the circle itself."""
        for place in self._circles(uncomputed) or uncomputed:
            sheet, row, column = place
            owner = self.anchors.get(place)
            owner_place = owner.place if owner else (row, column)
            self.formulas[sheet].pop(owner_place, None)
            self.kept[(sheet, *owner_place)] = uncomputed[place]

    def _circles(self, among: Mapping[Place, str]) -> set[Place]:
        """The cells that read one another in circles, with those between two circles."""
        graph = TopologicalSorter(
            {place: [reader for reader in self._dependents(place) if reader in among] for place in among}
        )
        with contextlib.suppress(CycleError):
            graph.prepare()
        free: set[Place] = set()
        while ready := graph.get_ready():
            free.update(ready)
            graph.done(*ready)
        return among.keys() - free

    def _dependents(self, place: Place) -> Iterator[Place]:
        sheet, row, column = place
        for address in self.engine.dependents(_address(sheet, row, column)):
            other, _, name = address.rpartition("!")
            area = read_area(name)
            yield unquoted(other), area.first_row, area.first_column

    def _note_spills(self) -> None:
        """Say where a result has more cells than the file has room for."""
        for sheet, cells in self.cells.items():
            anchors = [cell for cell in cells if cell.area is not None and cell.place in self.formulas[sheet]]
            filled = {cell.place for cell in cells} if anchors else set()
            for cell in anchors:
                area = cell.area
                if cell.dynamic:
                    area = self.engine.spilled_area(_address(sheet, *cell.place))
                if area is not None and any(place not in filled for place in area.places()):
                    self.notes.append(
                        f"{sheet}!{cell.name} gives more cells than the file has room for: "
                        "a spreadsheet program fills them in when it opens the file"
                    )

    def patched_parts(self) -> tuple[dict[str, bytes], int]:
        """The sheet parts with the computed values in them, where any differs, and how many cells differ."""
        parts: dict[str, bytes] = {}
        changed = 0
        for sheet, cells in self.cells.items():
            data = self.data[sheet]
            edits = []
            for cell in cells:
                place = (sheet, cell.row, cell.column)
                if place in self.values:
                    new = value_edits(data, cell, self.values[place])
                    changed += bool(new)
                    edits += new
            if edits:
                parts[self.package.book.sheets[sheet]] = patched(data, edits)
        return parts, changed

    def failed(self) -> Iterator[FailedCell]:
        """The formulas whose value is an error, in the order of the file."""
        for place, value in self.values.items():
            if isinstance(value, ErrorValue) and place in self.written:
                sheet, row, column = place
                why = self._why(place, value.code)
                yield FailedCell(sheet, cell_name(row, column), "=" + self.written[place], value.code, why)

    def _why(self, place: Place, code: str) -> str:
        sheet, row, column = place
        formula = self.formulas[sheet][row, column]
        for name, arguments in calls_in(formula, frozenset(functions()), sheet):
            if "_xlpm." not in arguments:  # a variable of LET or LAMBDA means nothing outside of it
                answer = self.engine.answer(f'GROW_WHY("{name}"{"," if arguments else ""}{arguments})', row, column)
                if isinstance(answer, str) and answer != "OK":
                    return answer
        for other, area_text in references_in(formula, sheet):
            origin = self._error_in(other, area_text, code)
            if origin is not None:
                return f"it passes on the error of {origin}: mend that cell first"
        return _MEANINGS[code]

    def _error_in(self, sheet: str, area_text: str, code: str) -> str | None:
        """The first formula in an area whose value is this error."""
        try:
            area = read_area(area_text)
        except FileProblem:  # whole rows and columns
            return None
        if area.rows * area.columns > _PROGRESS_STEP:
            return None
        for row in range(area.first_row, area.last_row + 1):
            for column in range(area.first_column, area.last_column + 1):
                if self.engine.value(sheet, row, column) == ErrorValue(code):
                    return f"{sheet}!{cell_name(row, column)}"
        return None

    def kept_cells(self) -> Iterator[KeptCell]:
        """The formulas whose stored value was kept, in the order of the file."""
        for sheet, row, column in self.written:
            why = self.kept.get((sheet, row, column))
            if why is not None:
                formula = "=" + self.written[sheet, row, column]
                yield KeptCell(sheet, cell_name(row, column), formula, why)

    def resting(self) -> Iterator[RestingCell]:
        """The formulas that were computed from kept values, in the order of the file."""
        rests_on: dict[Place, Place] = {}
        waiting = deque((place, place) for place in self.kept)
        while waiting:
            place, origin = waiting.popleft()
            for dependent in self._dependents(place):
                if dependent not in rests_on and dependent not in self.kept:
                    rests_on[dependent] = origin
                    waiting.append((dependent, origin))
        for place in self.written:
            if place in rests_on:
                sheet, row, column = place
                other, other_row, other_column = rests_on[place]
                yield RestingCell(
                    sheet,
                    cell_name(row, column),
                    "=" + self.written[place],
                    f"{other}!{cell_name(other_row, other_column)}",
                )


def _address(sheet: str, row: int, column: int) -> str:
    return f"{quoted(sheet)}!{cell_name(row, column)}"


def _written_formula(cell: SheetCell, shared: dict[str, SheetCell]) -> str:
    """The formula of a cell as the sheet shows it; raises NotComputed."""
    if cell.kind != "shared":
        return cell.formula or ""
    index = cell.shared_index or ""
    if cell.formula:
        shared[index] = cell
        return cell.formula
    first = shared.get(index)
    if first is None or first.formula is None:
        raise NotComputed("it shares the formula of a cell that has none")
    return shifted(first.formula, cell.row - first.row, cell.column - first.column)


def _engine_formula(translator: Translator, sheet: str, cell: SheetCell, formula: str) -> str:
    """The formula that the engine computes for a cell; raises NotComputed."""
    if cell.rich:
        raise NotComputed(
            "its value (a picture, a stock, #SPILL! …) lies outside of the sheet, where nothing is changed"
        )
    if cell.anchor is not None:
        raise NotComputed(f"it stands among the cells of the array formula in {cell.anchor.name}")
    if not formula.strip():
        raise NotComputed("the formula is empty")
    if cell.kind == "dataTable":
        raise NotComputed("it is part of a what-if data table")
    if cell.area is None:
        return translator.ordinary(formula, sheet, cell.row, cell.column)
    if (cell.area.first_row, cell.area.first_column) != cell.place:
        raise NotComputed("it is an array formula of other cells")
    if cell.area.rows * cell.area.columns > MAX_ARRAY_CELLS:
        raise NotComputed("its array is too large")
    if cell.dynamic:
        return translator.dynamic(formula, sheet, cell.row, cell.column)
    return translator.fitted(formula, sheet, cell.row, cell.column, cell.area.rows, cell.area.columns)
