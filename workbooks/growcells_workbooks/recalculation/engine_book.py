"""A workbook as the engine gets it: its cells, its formulas as they were read, and the helper cells of lifted calls."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..gate import FileProblem
from .copies import Copies, moves_as_one
from .days import DAYS_BETWEEN
from .engine import Engine
from .engine_files import engine_sheet, helper_sheet
from .handed_ranges import TooLarge
from .lifting import Lifting
from .package import Package
from .readers import CellPlace, unread
from .references import read_area_of
from .sheet_edits import ARRAY_MARK, SharedFormula, engine_edits, patched, stored_number, total_of
from .sheet_formulas import FormulaCell, Place
from .tokens import NotComputed
from .workbook_formulas import WorkbookFormulas

_MOST_SEARCHED = 10_000_000  # cells that look-ups of the nearest smaller value read, which takes some 20 s: ours


@dataclass
class _Shared:
    """The formulas that cells of the workbook share with their copies."""

    known: dict[Copies, SharedFormula | None] = field(default_factory=dict)
    """What all but the first are given, nothing where each has to be told."""

    def of(self, formula: FormulaCell, clock: tuple[str, str]) -> SharedFormula | None:
        """The formula as the engine gets it where it may share it with its copies."""
        copies, reading = formula.copies, formula.reading
        if formula.cell.area is not None or formula.cell.dynamic or reading.as_array:
            return None
        if copies in self.known:
            return self.known[copies]
        if not copies.is_plain or not moves_as_one([reading.text]):
            self.known[copies] = None
            return None
        self.known[copies] = SharedFormula(len(self.known))
        return SharedFormula(len(self.known) - 1, formula.filled_in(reading.text, clock))


def loaded(package: Package, found: WorkbookFormulas, lifting: Lifting) -> Engine:
    """The engine with the workbook, its growcells functions lifted out. Raises FileProblem."""
    if any(name.casefold().startswith("growcells ") for name in found.sheets):
        raise FileProblem('a sheet of the workbook is named "growcells …": give it another name to compute it')
    given: dict[str, dict[Place, str | SharedFormula | None]] = {name: {} for name in found.sheets}
    shared = _Shared()
    looked_through = 0
    for place, formula in found.formulas.items():
        text = _left(formula) if place in found.refused else _given(place, formula, found, lifting, shared)
        if text and formula.reading.searches:
            looked_through += _searched(formula, found.last_row, lifting.clock)
            if looked_through > _MOST_SEARCHED:
                found.refused[place] = "its look-ups read too many cells"
                text = None
        may_be_as_written = isinstance(text, str) and formula.cell.kind != "shared" and place not in lifting.direct
        if not (may_be_as_written and text == formula.written):
            given[place[0]][formula.cell.place] = text
    sheets: dict[str, bytes] = {}
    without = {name for name, sheet in found.sheets.items() if not sheet.cells}
    readings = {formula.copies: formula.reading for formula in found.formulas.values()} if without else {}
    idle = unread(without, readings.values())
    days_before = DAYS_BETWEEN if package.book.starts_1904 else 0
    for name, sheet in found.sheets.items():
        edits = engine_edits(sheet.data, sheet.cells, given[name])
        data = b"" if name in idle else patched(sheet.data, edits) if edits else sheet.data
        sheets[name] = engine_sheet(data, days_before)
    for name, cells in lifting.helpers.items():
        sheets[name] = helper_sheet(cells)
    strings = package.book.shared_strings
    engine = Engine(sheets, package.read(strings) if strings else None)
    filled = {
        (name, *cell.place) for name, sheet in found.sheets.items() for cell in sheet.cells if cell.anchor is not None
    }
    unbounded = {place[0] for place, formula in found.formulas.items() if formula.reading.many or formula.cell.area}
    lifting.note_formulas(found.formulas.keys() | filled if filled else found.formulas.keys(), unbounded)
    return engine


def _left(formula: FormulaCell) -> str | None:
    """What the engine gets for a formula that it does not compute: nothing but the stored value, which is a total where
    it is one, so that other totals leave it out."""
    cell = formula.cell
    if cell.area is None and cell.type == "n" and formula.reading.is_total:
        value = stored_number(cell)
        return None if value is None else total_of(value)
    return None


def _given(
    place: CellPlace, formula: FormulaCell, found: WorkbookFormulas, lifting: Lifting, shared: _Shared
) -> str | SharedFormula | None:
    """The formula that the engine gets, an empty one where a value is put there, None where it is refused."""
    reading = formula.reading
    if reading.calls:
        try:
            held = lifting.lift(formula, place)
        except (TooLarge, NotComputed) as problem:
            found.refused[place] = str(problem)
            return None
        except FileProblem:
            found.refused[place] = "it names a cell that no sheet has"
            return None
        if held is not None:
            return ARRAY_MARK + held if held and reading.as_array else held
    alike = shared.of(formula, lifting.clock)
    if alike is not None:
        return alike
    text = formula.filled_in(reading.text, lifting.clock)
    return ARRAY_MARK + text if reading.as_array else text


def _searched(formula: FormulaCell, last_row: int, clock: tuple[str, str]) -> int:
    """How many cells a formula looks through one by one."""
    areas = [read_area_of(formula.filled_in(text, clock)) for text in formula.reading.searches]
    return sum(area.columns * max(0, min(area.last_row, last_row) - area.first_row + 1) for area in areas)
