"""The formulas of one workbook on their way from stored to computed values."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from graphlib import CycleError, TopologicalSorter

from growcells import functions

from ..gate import Progress
from .cells import ErrorValue, Value, cell_name, read_area
from .engine import Engine, Uncomputed, knows
from .formulas import MAX_ARRAY_CELLS, Translator
from .package import Package
from .references import quoted, shifted, unquoted
from .sheet_edits import Edit, patched, replaced_formulas, value_edits
from .sheet_xml import SheetCell, scan_sheet
from .tokens import NotComputed

Place = tuple[int, int]
"""Row and column of a cell, counted from 1."""
CellPlace = tuple[str, int, int]
"""The name of a cell's sheet, its row and column."""

_ROUNDS = 4  # each finds cells that only show themselves as not computable once others are
_PROGRESS_STEP = 1_000

_CONVERT = re.compile(r"(?<![\w.])CONVERT\(", re.IGNORECASE)


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
class Sheet:
    """One worksheet on its way: its XML, what was found in it, and what becomes of it."""

    name: str
    data: bytes
    cells: list[SheetCell]
    written: dict[Place, str] = field(default_factory=dict)
    """Each formula as the sheet shows it, those of shared formulas written out."""
    formulas: dict[Place, str] = field(default_factory=dict)
    """Each formula as the engine computes it; one that is kept is not among them."""
    values: dict[Place, Value | ErrorValue] = field(default_factory=dict)

    def translate(self, translator: Translator) -> Iterator[tuple[Place, str]]:
        """Make the engine's formula for each cell; gives the cells that cannot be computed, and why."""
        shared: dict[str, SheetCell] = {}
        for cell in self.cells:
            if cell.formula_span is None:
                continue
            place = cell.place
            try:
                formula = self.written[place] = _written_formula(cell, shared)
                self.formulas[place] = _engine_formula(translator, self.name, cell, formula)
            except NotComputed as problem:
                self.written.setdefault(place, cell.formula or "")
                yield place, str(problem)

    def computed_cells(self) -> Iterator[SheetCell]:
        """The cells that the engine gives values for."""
        for cell in self.cells:
            owner = cell if cell.anchor is None or cell.formula_span is not None else cell.anchor
            if owner.place in self.formulas:
                yield cell

    def for_engine(self) -> bytes:
        """The sheet's XML with the engine's formulas in it."""
        return replaced_formulas(self.data, self.cells, self.formulas)

    def patched(self) -> tuple[bytes, int]:
        """The sheet's XML with the computed values in it, and how many cells differ."""
        edits: list[Edit] = []
        changed = 0
        for cell in self.cells:
            if cell.place in self.values:
                new = value_edits(self.data, cell, self.values[cell.place])
                changed += bool(new)
                edits += new
        return patched(self.data, edits) if edits else self.data, changed


@dataclass
class Computation:
    """One workbook on its way from stored to computed values."""

    package: Package
    as_of: date | None
    report: Progress
    sheets: dict[str, Sheet] = field(default_factory=dict)
    kept: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas whose stored value is kept, and why."""
    notes: list[str] = field(default_factory=list)
    total: int = 0
    """How many formulas there are."""

    def run(self) -> None:
        """Read the sheets and compute their formulas; raises FileProblem."""
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
        parts = self.package.book.sheets
        for number, (name, part) in enumerate(parts.items()):
            self.report("reading", number, len(parts))
            data = self.package.read(part)
            self.sheets[name] = Sheet(name, data, scan_sheet(data))
        self.report("reading", len(parts), len(parts))

    def _translate(self) -> None:
        tables = frozenset(name for name, function in functions().items() if function.is_table)
        translator = Translator(self.package.book, knows, frozenset(functions()), tables)
        for name, sheet in self.sheets.items():
            self.kept |= {(name, *place): why for place, why in sheet.translate(translator)}
            self.total += len(sheet.written)

    def _load(self) -> Engine:
        strings = self.package.book.shared_strings
        return Engine(
            self.package.book,
            {name: sheet.for_engine() for name, sheet in self.sheets.items()},
            self.package.read(strings) if strings else None,
            self.as_of,
            _Counter(self.report, self.total).count,
        )

    def _collect(self) -> dict[CellPlace, str]:
        """Take the values of all formula cells; the answer is those that have none, and why."""
        uncomputed: dict[CellPlace, str] = {}
        for name, sheet in self.sheets.items():
            sheet.values.clear()
            for cell in sheet.computed_cells():
                place = cell.place
                value = self.engine.value(name, *place)
                if isinstance(value, Uncomputed):
                    uncomputed[name, *place] = value.why
                elif isinstance(value, ErrorValue) and _is_of_unknown_unit(value, sheet.formulas.get(place, "")):
                    uncomputed[name, *place] = "CONVERT has a unit that is not known here; GROW_CONVERT may know it"
                else:
                    sheet.values[place] = value
        return uncomputed

    def _keep(self, uncomputed: Mapping[CellPlace, str]) -> None:
        """Leave formulas out of the next round; of those that rest on a circle, only the circle itself."""
        filled = {(name, *cell.place): cell.anchor for name, sheet in self.sheets.items() for cell in sheet.cells}
        for place in self._circles(uncomputed) or uncomputed:
            name, row, column = place
            anchor = filled[place]
            owner = anchor.place if anchor else (row, column)
            self.sheets[name].formulas.pop(owner, None)
            self.kept[name, *owner] = uncomputed[place]

    def _circles(self, among: Mapping[CellPlace, str]) -> list[CellPlace]:
        """The cells that read one another in circles, with those between two circles."""
        graph = TopologicalSorter(
            {place: [reader for reader in self.dependents(place) if reader in among] for place in among}
        )
        with contextlib.suppress(CycleError):
            graph.prepare()
        free: set[CellPlace] = set()
        while ready := graph.get_ready():
            free.update(ready)
            graph.done(*ready)
        return [place for place in among if place not in free]

    def dependents(self, place: CellPlace) -> Iterator[CellPlace]:
        """The cells whose formulas read this one."""
        for address in self.engine.dependents(_address(*place)):
            other, _, name = address.rpartition("!")
            area = read_area(name)
            yield unquoted(other), area.first_row, area.first_column

    def _note_spills(self) -> None:
        """Say where a result has more cells than the file has room for."""
        for name, sheet in self.sheets.items():
            anchors = [cell for cell in sheet.cells if cell.area is not None and cell.place in sheet.formulas]
            filled = {cell.place for cell in sheet.cells} if anchors else set()
            for cell in anchors:
                area = cell.area
                if cell.dynamic:
                    area = self.engine.spilled_area(_address(name, *cell.place))
                if area is not None and any(place not in filled for place in area.places()):
                    self.notes.append(
                        f"{name}!{cell.name} gives more cells than the file has room for: "
                        "a spreadsheet program fills them in when it opens the file"
                    )

    def patched_parts(self) -> tuple[dict[str, bytes], int]:
        """The sheet parts with the computed values in them, where any differs, and how many cells differ."""
        parts: dict[str, bytes] = {}
        changed = 0
        for name, sheet in self.sheets.items():
            data, differing = sheet.patched()
            if differing:
                parts[self.package.book.sheets[name]] = data
            changed += differing
        return parts, changed


def _is_of_unknown_unit(value: ErrorValue, formula: str) -> bool:
    """Whether the error may be that of CONVERT for a unit that the engine does not know."""
    return value.code == "#N/A" and _CONVERT.search(formula) is not None


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
    (row, column), (first_row, first_column) = cell.place, first.place
    return shifted(first.formula, row - first_row, column - first_column)


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
        return translator.ordinary(formula, sheet, *cell.place)
    if (cell.area.first_row, cell.area.first_column) != cell.place:
        raise NotComputed("it is an array formula of other cells")
    if cell.area.rows * cell.area.columns > MAX_ARRAY_CELLS:
        raise NotComputed("its array is too large")
    if cell.dynamic:
        return translator.dynamic(formula, sheet, *cell.place)
    return translator.fitted(formula, sheet, *cell.place, cell.area.rows, cell.area.columns)
