"""The formulas of one workbook on their way from stored to new values.

What is computed anew, and what keeps its value:

1. A formula that holds a GROW_ call, has no stored value, or depends on the clock or on chance, is computed.
2. A formula that depends on a cell whose value changed is computed.
3. A formula made of operations and functions that are firmly proven equal to Excel's, whose stored value differs from
   what its inputs give, is stale: it is computed. A program that does not calculate has changed its inputs.
4. Every other formula keeps the value that a real program stored, whatever the engine gives for it.
5. Where the workbook itself says that its values are not computed (fullCalcOnLoad), or everything is asked for, every
   formula is computed.
6. A formula that must be computed and is not proven keeps its value and is listed; so is what rests on it.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time

from growcells import functions

from ..gate import FileProblem, Progress
from .call_rounds import CallRounds
from .cells import ErrorValue, Value, cell_name
from .constants import with_constants
from .contents import hangs_on_contents, trust_in_contents
from .days import DAYS_BETWEEN
from .engine import NO_FIT, NOT_FOUND, NOT_PROVEN, Engine, Uncomputed, engine_sheet, helper_sheet
from .formulas import Reader
from .handed_ranges import HandedRanges, TooLarge
from .left_out import without_left_out
from .lifting import Lifting, cells_read
from .native import OF_LANGUAGE, READS_ANYWHERE
from .package import Package
from .readers import CellPlace, Readers, unread
from .readings import Reading, filled_in, sheet_numbers
from .references import read_area_of
from .sheet_edits import ARRAY_MARK, agrees, engine_edits, holds, patched, stored_value, written
from .sheet_formulas import FormulaCell, Place, Sheet, last_row, spreads, table_functions, unfit, written_formula
from .sheet_xml import SheetCell, scan_sheet
from .spills import spilling
from .tokens import NotComputed
from .trust import Trust, gap_in, trust_of

_PROGRESS_STEP = 1_000
_LEFT_OVER = 1e-9  # of a number, what its last digits may leave where one nearly as large is taken from it: ours
_POINTS = str.maketrans({",": ".", "\u00a0": None, "\u202f": None, "'": None, " ": None})
"""What languages put between the figures of a number, made one."""
_MOST_ROUNDS = 50  # each finds cells that keep their value because others do
_MOST_SEARCHED = 10_000_000  # cells that look-ups of the nearest smaller value read, which takes some 20 s: ours

OLD = "it is old, since a cell that it depends on has changed"
_VALUE_ERROR, _REF_ERROR = ErrorValue("#VALUE!"), ErrorValue("#REF!")


@dataclass
class _Counter:
    """Counts the calls of growcells functions and tells of them."""

    report: Progress
    total: int
    calls: int = 0

    def count(self) -> None:
        self.calls += 1
        if self.calls % _PROGRESS_STEP == 0:
            self.report("computing", min(self.calls, self.total), self.total)


@dataclass
class Computation:
    """One workbook on its way from stored to new values.

    ``everything`` asks for every formula; ``trusting`` takes every function for proven, as the harness does that makes
    the proofs.
    """

    package: Package
    as_of: date | None
    report: Progress
    everything: bool = False
    trusting: bool = False
    sheets: dict[str, Sheet] = field(default_factory=dict)
    formulas: dict[CellPlace, FormulaCell] = field(default_factory=dict)
    kept: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas that would have to be computed and are not, and why."""
    resting: dict[CellPlace, CellPlace] = field(default_factory=dict)
    """The formulas that depend on those, and the one that each depends on."""
    notes: list[str] = field(default_factory=list)
    _refused: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas that the engine does not compute, and why."""
    _pinned: set[CellPlace] = field(default_factory=set)
    """The formulas whose stored value is right, whatever the engine gives."""
    _near: set[CellPlace] = field(default_factory=set)
    """Those of them whose stored value is the engine's but for the last digits."""
    _stale: set[CellPlace] = field(default_factory=set)
    _hanging: dict[int, bool] = field(default_factory=dict)
    """By the readings of formulas, which ``formulas`` holds."""
    _readers: Readers | None = None
    _shared: list[str] | None = None

    @property
    def total(self) -> int:
        """How many formulas there are."""
        return len(self.formulas)

    def run(self) -> None:
        """Read the sheets and compute what has to be computed; raises FileProblem."""
        self.everything |= self.package.book.computes_on_load
        self.clock = self._clock()
        self._read()
        book, counter = self.package.book, _Counter(self.report, self.total)
        ranges = HandedRanges(
            max(sheet.data.count(b"<row") + sheet.data.count(b":row") for sheet in self.sheets.values())
        )
        self.lifting = Lifting(sheet_numbers(book), book.starts_1904, self.clock, ranges)
        self.rounds = CallRounds(self.lifting.calls, ranges, counter.count)
        if self.formulas:  # else the engine would be loaded for nothing
            self._load()
            self._compute()
            self._settle(self._decided())
            self.notes += spilling(self)
        self.report("computing", self.total, self.total)

    def _clock(self) -> tuple[str, str]:
        """What NOW and TODAY give, as numbers of the workbook's calendar."""
        now = datetime.now() if self.as_of is None else datetime.combine(self.as_of, time())
        passed = now - datetime(1899, 12, 30)
        days = passed.days - (DAYS_BETWEEN if self.package.book.starts_1904 else 0)
        return f"{days + passed.seconds / 86_400:.17g}", str(days)

    def _read(self) -> None:
        """Read the formulas of all sheets."""
        parts = self.package.book.sheets
        for number, (name, part) in enumerate(parts.items()):
            self.report("reading", number, len(parts))
            data = self.package.read(part)
            self.sheets[name] = Sheet(name, data, scan_sheet(data))
        self._last_row = max(last_row(sheet.data) for sheet in self.sheets.values())
        reader = Reader(self.package.book, frozenset(functions()), table_functions(), self._last_row, spreads)
        known = self._written()
        cells = {place: cell for place, (cell, _, _) in known.items()}
        formulas = {place: formula for place, (_, formula, _) in known.items()}
        put = with_constants(cells, formulas, self.sheets, self.package.shared_texts)
        put |= without_left_out(formulas | put, self.sheets)
        scopes = {name: self._scopes(sheet) for name, sheet in self.sheets.items()}
        trusts: dict[tuple[str, int], tuple[Trust, str]] = {}
        for place, (cell, formula, refusal) in known.items():
            read = put.get(place, formula)
            reading, moving = reader.read(read, *place, arrays=cell.area is not None)
            refusal = refusal or unfit(cell) or reading.refusal or self._unnamed(cell, reading)
            trust = Trust.NONE
            if not refusal:
                key = place[0], id(reading)
                if key not in trusts:
                    trusts[key] = self._trust(reading, scopes[place[0]])
                trust, refusal = trusts[key]
            self.formulas[place] = FormulaCell(cell, formula, read, reading, moving, trust)
            if refusal:
                self._refused[place] = refusal
        for (name, _, _), cell in cells.items():
            if cell.anchor is not None:
                self._refused[name, *cell.anchor.place] = "another formula stands among the cells of its array"
        self.report("reading", len(parts), len(parts))

    def _written(self) -> dict[CellPlace, tuple[SheetCell, str, str]]:
        """Each formula cell with its formula, and why that cannot be told, if so."""
        known: dict[CellPlace, tuple[SheetCell, str, str]] = {}
        for name, sheet in self.sheets.items():
            shared: dict[str, SheetCell] = {}
            for cell in sheet.cells:
                if cell.formula_span is not None:
                    known[name, *cell.place] = (cell, *written_formula(cell, shared))
        return known

    def _trust(self, reading: Reading, scopes: frozenset[str]) -> tuple[Trust, str]:
        if self.trusting:
            gap = gap_in(reading, scopes)
            return (Trust.NONE, gap) if gap else (Trust.COMPUTES, "")
        return trust_of(reading, scopes)

    def _unnamed(self, cell: SheetCell, reading: Reading) -> str:
        """Why a formula with a name that is not defined keeps its value: the program that computed it knew the name."""
        if not reading.undefined:
            return ""
        known = cell.has_value and cell.stored != "#NAME?" and not self.package.book.computes_on_load
        return f"the name {reading.undefined} is not defined in the workbook" if known else ""

    def _scopes(self, sheet: Sheet) -> frozenset[str]:
        """What holds for a sheet and its workbook that gaps of the engine depend on."""
        book = self.package.book
        found = {"1904"} if book.starts_1904 else set()
        if book.shows_precision:
            found.add("as shown")
        if book.iterates:
            found.add("iterating")
        if sheet.name in book.filtered or b"autoFilter" in sheet.data:
            found.add("filtered")
        if book.names or book.tables:
            found.add("named")
        return frozenset(found)

    def _load(self) -> None:
        """Load the engine with the workbook, its growcells functions lifted out."""
        if any(name.casefold().startswith("growcells ") for name in self.sheets):
            raise FileProblem('a sheet of the workbook is named "growcells …": give it another name to compute it')
        given: dict[str, dict[Place, str | None]] = {name: {} for name in self.sheets}
        looked_through = 0
        for place, formula in self.formulas.items():
            text = None if place in self._refused else self._engine_formula(place, formula)
            if text and formula.reading.searches:
                looked_through += self._searched(place, formula)
                if looked_through > _MOST_SEARCHED:
                    self._refused[place] = "its look-ups read too many cells"
                    text = None
            if text and formula.reading.as_array:
                text = ARRAY_MARK + text
            if text is None or text != formula.written or formula.cell.kind == "shared":
                given[place[0]][place[1:]] = text
        without = {name for name, sheet in self.sheets.items() if not sheet.cells}
        idle = unread(without, (formula.reading for formula in self.formulas.values()))
        sheets: dict[str, bytes] = {}
        for name, sheet in self.sheets.items():
            edits = engine_edits(sheet.data, sheet.cells, given[name])
            sheets[name] = engine_sheet(b"" if name in idle else patched(sheet.data, edits) if edits else sheet.data)
        for name, cells in self.lifting.helpers.items():
            sheets[name] = helper_sheet(cells)
        strings = self.package.book.shared_strings
        self.engine = Engine(sheets, self.package.read(strings) if strings else None)
        filled = {(name, *cell.place) for name, sheet in self.sheets.items() for cell in sheet.cells}
        unbounded = {place[0] for place, formula in self.formulas.items() if formula.reading.many or formula.cell.area}
        self.lifting.note_formulas(filled, unbounded)

    def _searched(self, place: CellPlace, formula: FormulaCell) -> int:
        """How many cells a formula looks through one by one."""
        texts = [
            filled_in(text, formula.moving, place[1], formula.cell.name, self.clock)
            for text in formula.reading.searches
        ]
        areas = [read_area_of(text) for text in texts]
        return sum(area.columns * max(0, min(area.last_row, self._last_row) - area.first_row + 1) for area in areas)

    def _engine_formula(self, place: CellPlace, formula: FormulaCell) -> str | None:
        """The formula that the engine gets, an empty one where a value is put there, None where it is refused."""
        cell, reading = formula.cell, formula.reading
        if reading.text == reading.written:
            return formula.read
        if not reading.calls:
            return filled_in(reading.text, formula.moving, place[1], cell.name, self.clock)
        fixed = cell.area if cell.area is not None and not cell.dynamic else None
        try:
            return self.lifting.lift(reading, formula.moving, place, fixed, cell.area is not None)
        except (TooLarge, NotComputed) as problem:
            self._refused[place] = str(problem)
        except FileProblem:
            self._refused[place] = "it names a cell that no sheet has"
        return None

    def _compute(self) -> None:
        """Compute everything in the engine, and keep what turns out to be no formula for it."""
        self.rounds.run(self.engine, self._refused)
        for call in self.lifting.calls:
            if call.refusal:
                self._refuse(call.owner, call.refusal)

    def _refuse(self, place: CellPlace, why: str) -> bool:
        """Leave a formula uncomputed; whether it was not before."""
        if place in self._refused:
            return False
        self._refused[place] = why
        self._pin(place)
        return True

    def _pin(self, place: CellPlace) -> None:
        """Put the stored value of a formula into the engine in its place."""
        area = self.formulas[place].cell.area
        if area is not None:
            self.engine.empty(place[0], area)
        for cell in self.cells_of(place):
            self.engine.put(place[0], *cell.place, self.stored(cell))

    def stored(self, cell: SheetCell) -> Value | ErrorValue:
        """The value that the file stores for a cell."""
        if cell.type == "s" and self._shared is None:
            self._shared = self.package.shared_texts()
        return stored_value(cell, self._shared or ())

    def cells_of(self, place: CellPlace) -> Iterator[SheetCell]:
        """The cell of a formula, and those that its array fills."""
        owner = self.formulas[place].cell
        yield owner
        if owner.area is not None:
            yield from (cell for cell in self.sheets[place[0]].cells if cell.anchor is owner)

    def is_computed(self, place: CellPlace) -> bool:
        """Whether the engine's value of a formula counts."""
        return place not in self._refused and place not in self._pinned

    @property
    def readers(self) -> Readers:
        """Which formulas read which cells."""
        if self._readers is None:
            self._readers = Readers(
                (place, cells_read(formula.reading, formula.moving, place)) for place, formula in self.formulas.items()
            )
        return self._readers

    def _decided(self) -> dict[CellPlace, Value | ErrorValue]:
        """The values of the cells that have to change."""
        for _ in range(_MOST_ROUNDS):
            if self._keep_what_rests_on_nothing():
                self._compute()
                continue
            new, uncomputed = self._differing()
            if uncomputed:
                self._refuse_uncomputed(uncomputed)
                self._compute()
                continue
            owners = {self._owner(place): None for place in new}
            near = {place: None for place in owners if self._is_inexact(place, new)}
            others = {place: None for place in owners if place not in near} if near else owners
            if near and self._pin_near(near, others):
                self._compute()
                continue
            explained = self._explained(others)
            unexplained = {place: None for place in others if place not in explained and self._is_far(place, new)}
            if not unexplained:
                return {place: value for place, value in new.items() if self._owner(place) in explained}
            if self._pin_unexplained(unexplained):
                self._compute()
        raise FileProblem("the workbook cannot be computed: its formulas come to no end")

    def _keep_what_rests_on_nothing(self) -> bool:
        """Leave uncomputed what depends on formulas that have neither a value nor a stored one."""
        empty = [place for place in self._refused if not self.formulas[place].cell.has_value]
        if not empty:
            return False
        reached = self.readers.reached((place for origin in empty for place in self._places_of(origin)), self.formulas)
        return any(
            [
                self._refuse(place, f"it depends on {origin[0]}!{_name(origin)}, which has no value")
                for place, origin in reached.items()
            ]
        )

    def _differing(self) -> tuple[dict[CellPlace, Value | ErrorValue], dict[CellPlace, Uncomputed]]:
        """The cells whose value in the engine is not the stored one, and the formulas that it does not compute."""
        new: dict[CellPlace, Value | ErrorValue] = {}
        uncomputed: dict[CellPlace, Uncomputed] = {}
        refused, pinned, value_of = self._refused, self._pinned, self.engine.value
        for name, sheet in self.sheets.items():
            for cell in sheet.cells:
                place = (name, *cell.place)
                owner = place if cell.anchor is None or cell.formula_span else (name, *cell.anchor.place)
                if owner in refused or owner in pinned:
                    continue
                value = value_of(*place)
                if owner != place and value == _VALUE_ERROR and self._is_short(owner):
                    value = Uncomputed(NO_FIT)
                elif value == _REF_ERROR and self.formulas[owner].reading.asks_by_text:
                    value = Uncomputed(NOT_FOUND)
                if isinstance(value, Uncomputed):
                    uncomputed[owner] = value
                elif not holds(cell, *written(value)):
                    new[place] = value
        if not self.trusting:
            for owner in {self._owner(place): None for place in new if self._hangs_on_contents(self._owner(place))}:
                if self._trust_in_contents(owner) is Trust.NONE:
                    uncomputed[owner] = Uncomputed(NOT_PROVEN)
        return new, uncomputed

    def _hangs_on_contents(self, owner: CellPlace) -> bool:
        """Whether the trust in a formula hangs on what its cells hold, which copies of it share."""
        reading = self.formulas[owner].reading
        known = self._hanging.get(id(reading))
        if known is None:
            known = self._hanging[id(reading)] = hangs_on_contents(reading)
        return known

    def _trust_in_contents(self, owner: CellPlace) -> Trust:
        """How far a formula is trusted with what the cells that it reads hold now."""
        formula = self.formulas[owner]
        return trust_in_contents(formula.reading, formula.moving, owner, self.engine)

    def _is_short(self, owner: CellPlace) -> bool:
        """Whether an array formula has more cells than its result: there the engine gives #VALUE! and Excel #N/A."""
        formula = self.formulas[owner]
        return (
            not formula.cell.dynamic
            and not formula.reading.calls
            and not isinstance(self.engine.value(*owner), ErrorValue)
        )

    def _owner(self, place: CellPlace) -> CellPlace:
        """The formula that fills a cell."""
        return place if place in self.formulas else self._anchors[place]

    @functools.cached_property
    def _anchors(self) -> dict[CellPlace, CellPlace]:
        """The array formula of each cell that one fills."""
        return {
            (name, *cell.place): (name, *cell.anchor.place)
            for name, sheet in self.sheets.items()
            for cell in sheet.cells
            if cell.anchor is not None
        }

    def _refuse_uncomputed(self, uncomputed: dict[CellPlace, Uncomputed]) -> None:
        """Leave uncomputed what the engine cannot compute; of what depends on a circle, only the circle itself."""
        circling = {place: None for place, why in uncomputed.items() if why.code == "#CIRC!"}
        circles = self.readers.circles(circling) if circling else []
        for place in circles or [place for place in uncomputed if place not in circling] or list(uncomputed):
            self._refuse(place, uncomputed[place].why)

    def _has_reason(self, place: CellPlace) -> bool:
        """Whether a formula is computed whatever its stored value."""
        formula = self.formulas[place]
        reading = formula.reading
        return (
            self.everything
            or bool(reading.calls)
            or reading.clock
            or reading.random
            or not formula.cell.has_value
            or place in self._stale
        )

    def _explained(self, owners: dict[CellPlace, None]) -> set[CellPlace]:
        """Those of the formulas with another value that have a reason for it, or read a cell that has."""
        roots = [place for place in owners if self._has_reason(place)]
        if len(roots) == len(owners):
            return set(roots)
        explained = set(roots)
        others = {place: None for place in owners if place not in explained}
        explained |= self.readers.reached((cell for root in roots for cell in self._places_of(root)), others).keys()
        if explained:
            explained |= {place for place in others if self._reads_anywhere(place)}
        return explained

    def _reads_anywhere(self, place: CellPlace) -> bool:
        """Whether a formula may read values of cells that it does not name."""
        return any(function in READS_ANYWHERE for function, _, _ in self.formulas[place].reading.uses)

    def _places_of(self, place: CellPlace) -> Iterator[CellPlace]:
        return ((place[0], *cell.place) for cell in self.cells_of(place))

    def _is_far(self, place: CellPlace, new: dict[CellPlace, Value | ErrorValue]) -> bool:
        """Whether a formula's value differs from the stored one by more than the order of additions may make."""
        return any(
            (place[0], *cell.place) in new and not agrees(self.stored(cell), new[place[0], *cell.place])
            for cell in self.cells_of(place)
        )

    def _is_inexact(self, place: CellPlace, new: dict[CellPlace, Value | ErrorValue]) -> bool:
        """Whether all that differs of a formula's value is the last digits of numbers, of which the stored ones stay.

        The clock's own are new.
        """
        formula = self.formulas[place]
        if formula.reading.clock:
            return False
        if formula.cell.area is None:
            return isinstance(new[place], float) and formula.cell.type == "n" and not self._is_far(place, new)
        return all(
            isinstance(self.stored(cell), float) and agrees(self.stored(cell), new[place[0], *cell.place])
            for cell in self.cells_of(place)
            if (place[0], *cell.place) in new
        )

    def _pin_near(self, near: dict[CellPlace, None], others: dict[CellPlace, None]) -> bool:
        """Put stored values in place of the engine's that all but agree with them, where formulas with other values
        read them: a difference of large numbers shows what an inexact function is off by. Whether there are any."""
        read = self.readers.reached((cell for place in near for cell in self._places_of(place)), others)
        wanted = {self._owner(origin) for origin in read.values()}
        self._pinned.update(wanted)
        self._near.update(wanted)
        for place in wanted:
            self._pin(place)
        return bool(wanted)

    def _pin_unexplained(self, unexplained: dict[CellPlace, None]) -> bool:
        """Judge the formulas whose value differs for no known reason, first those that read no other of them.

        A firmly proven one is stale, any other keeps its stored value. Whether any is of the second kind.
        """
        reading_others = {
            reader
            for place in unexplained
            for cell in self._places_of(place)
            for reader in self.readers.of(cell)
            if reader != place
        }
        first = [place for place in unexplained if place not in reading_others] or list(unexplained)
        circling = set(self.readers.circles(unexplained))
        stale = [place for place in first if self._is_stale(place) and place not in circling]
        self._stale.update(stale)
        wrong = [place for place in first if place not in self._stale]
        self._pinned.update(wrong)
        for place in wrong:
            self._pin(place)
        return bool(wrong)

    def _is_stale(self, place: CellPlace) -> bool:
        """Whether a formula's own value proves the stored one to be old."""
        formula, book = self.formulas[place], self.package.book
        plain = formula.cell.area is None and not formula.reading.anywhere
        firm = formula.trust is Trust.FIRM and self._trust_in_contents(place) is Trust.FIRM
        known = firm and plain and not book.computes_by_hand
        return known and not self._is_left_over(place) and not self._is_of_language(place)

    def _is_of_language(self, place: CellPlace) -> bool:
        """Whether a value may differ from the stored one by the language of the program that stored it: a number in a
        text has a comma in some, and a point in others."""
        formula = self.formulas[place]
        if any(function in OF_LANGUAGE for function, _, _ in formula.reading.uses):
            return True
        value, stored = self.engine.value(*place), self.stored(formula.cell)
        return (
            isinstance(value, str) and isinstance(stored, str) and value.translate(_POINTS) == stored.translate(_POINTS)
        )

    def _is_left_over(self, place: CellPlace) -> bool:
        """Whether a value differs from the stored one by no more than what is left of large numbers that cancel."""
        formula = self.formulas[place]
        value, stored = self.engine.value(*place), self.stored(formula.cell)
        if not isinstance(value, float) or not isinstance(stored, float):
            return False
        read = (
            area for area in cells_read(formula.reading, formula.moving, place) if area[1].rows == area[1].columns == 1
        )
        cells = (self.engine.value(sheet, area.first_row, area.first_column) for sheet, area in read)
        largest = max((abs(cell) for cell in cells if isinstance(cell, float)), default=0.0)
        return abs(value - stored) <= _LEFT_OVER * largest

    def _settle(self, new: dict[CellPlace, Value | ErrorValue]) -> None:
        """Take the new values, and tell which formulas are old."""
        for (name, row, column), value in new.items():
            self.sheets[name].values[row, column] = value
        idle = {place: None for place in (*self._refused, *self._pinned)}
        old = self.readers.reached(new, idle) if idle and new else {}
        anywhere = {place for place in idle if new and self.formulas[place].reading.anywhere}
        for place in self.formulas:
            if place in idle:
                why = self._refused.get(place, "its stored value is not what the engine gives")
                if place in self._refused and self._has_reason(place):
                    self.kept[place] = why
                elif place in old or place in anywhere:
                    self.kept[place] = f"{OLD}; {why}"
        if self.kept:
            among = {place: None for place in self.formulas if place not in self.kept}
            origins = (cell for place in self.kept for cell in self._places_of(place))
            for place, origin in self.readers.reached(origins, among).items():
                self.resting[place] = self._owner(origin)

    def patched_parts(self) -> tuple[dict[str, bytes], int]:
        """The sheet parts with the new values in them, where any differs, and how many cells differ."""
        parts: dict[str, bytes] = {}
        changed = 0
        for name, sheet in self.sheets.items():
            data, differing = sheet.patched()
            if differing:
                parts[self.package.book.sheets[name]] = data
            changed += differing
        return parts, changed


def _name(place: CellPlace) -> str:
    return cell_name(place[1], place[2])
