"""One workbook on its way from stored to new values: read, given to the engine, computed, and what of it counts."""

from __future__ import annotations

import functools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time

from ..gate import Progress
from .call_rounds import CallRounds
from .cells import ErrorValue, Value
from .days import EPOCH_1900, EPOCH_1904
from .deciding import Deciding
from .engine_book import loaded
from .handed_ranges import HandedRanges
from .lifting import Lifting
from .old_values import kept_and_why, left_alone, resting_on
from .package import Package
from .readers import CellPlace, Readers
from .readings import sheet_numbers
from .sheet_edits import stored_value, total_of
from .sheet_formulas import FormulaCell, Sheet
from .sheet_xml import SheetCell
from .spills import spilling
from .workbook_formulas import read_formulas

_PROGRESS_STEP = 1_000


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
    """One workbook on its way from stored to new values; ``deciding.py`` says which values change.

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
    refused: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas that the engine does not compute, and why."""
    pinned: set[CellPlace] = field(default_factory=set)
    """The formulas whose stored value is right, whatever the engine gives."""
    near: set[CellPlace] = field(default_factory=set)
    """Those of them whose stored value is the engine's but for the last digits."""
    kept: dict[CellPlace, str] = field(default_factory=dict)
    """The formulas that would have to be computed and are not, and why."""
    resting: dict[CellPlace, CellPlace] = field(default_factory=dict)
    """The formulas that depend on those, and the one that each depends on."""
    notes: list[str] = field(default_factory=list)

    @property
    def total(self) -> int:
        """How many formulas there are."""
        return len(self.formulas)

    def run(self) -> None:
        """Read the sheets and compute what has to be computed; raises FileProblem."""
        book = self.package.book
        self.everything |= book.computes_on_load
        clock = self._clock()
        found = read_formulas(self.package, self.report, self.trusting)
        self.sheets, self.formulas, self.refused = found.sheets, found.formulas, found.refused
        counter = _Counter(self.report, self.total)
        ranges = HandedRanges(
            max(sheet.data.count(b"<row") + sheet.data.count(b":row") for sheet in self.sheets.values())
        )
        self.lifting = Lifting(sheet_numbers(book), book.starts_1904, clock, ranges)
        self.rounds = CallRounds(self.lifting.calls, ranges, counter.count)
        if self.formulas:  # else the engine would be loaded for nothing
            self.engine = loaded(self.package, found, self.lifting)
            self.compute()
            self._settle()
            self.notes += spilling(self)
            self.notes += left_alone(self)
        self.report("computing", self.total, self.total)

    def _clock(self) -> tuple[str, str]:
        """What NOW and TODAY give, as numbers of the workbook's calendar."""
        now = datetime.now() if self.as_of is None else datetime.combine(self.as_of, time())
        passed = now - (EPOCH_1904 if self.package.book.starts_1904 else EPOCH_1900)
        return f"{passed.days + passed.seconds / 86_400:.17g}", str(passed.days)

    def compute(self) -> None:
        """Compute everything in the engine, and keep what turns out to be no formula for it."""
        self.rounds.run(self.engine, self.refused)
        for call in self.lifting.calls:
            if call.refusal:
                self.refuse(call.owner, call.refusal)

    def _settle(self) -> None:
        """Decide which values are new, and tell which formulas are old."""
        deciding = Deciding(self)
        new = deciding.decided()
        for (name, row, column), value in new.items():
            self.sheets[name].values[row, column] = value
        self.kept = kept_and_why(self, new, deciding)
        self.resting = resting_on(self, self.kept)

    def refuse(self, place: CellPlace, why: str) -> bool:
        """Leave a formula uncomputed; whether it was not before."""
        if place in self.refused:
            return False
        self.refused[place] = why
        self._put_stored(place)
        return True

    def pin(self, places: Iterable[CellPlace]) -> None:
        """Keep the stored values of formulas, whatever the engine gives."""
        for place in places:
            self.pinned.add(place)
            self._put_stored(place)

    def _put_stored(self, place: CellPlace) -> None:
        """Put the stored value of a formula into the engine in its place."""
        area = self.formulas[place].cell.area
        if area is not None:
            self.engine.empty(place[0], area)
        for cell in self.cells_of(place):
            value = self.stored(cell)
            if isinstance(value, float) and self.formulas[place].reading.is_total:
                self.engine.put_formula(place[0], *cell.place, total_of(value))  # which other totals leave out
            else:
                self.engine.put(place[0], *cell.place, value)

    def is_computed(self, place: CellPlace) -> bool:
        """Whether the engine's value of a formula counts."""
        return place not in self.refused and place not in self.pinned

    def stored(self, cell: SheetCell) -> Value | ErrorValue:
        """The value that the file stores for a cell."""
        return stored_value(cell, self._shared_texts if cell.type == "s" else ())

    @functools.cached_property
    def _shared_texts(self) -> list[str]:
        return self.package.shared_texts()

    @functools.cached_property
    def readers(self) -> Readers:
        """Which formulas read which cells."""
        return Readers((place, formula.cells_read()) for place, formula in self.formulas.items())

    def cells_of(self, place: CellPlace) -> Iterator[SheetCell]:
        """The cell of a formula, and those that its array fills."""
        owner = self.formulas[place].cell
        yield owner
        if owner.area is not None:
            yield from (cell for cell in self.sheets[place[0]].cells if cell.anchor is owner)

    def places_of(self, place: CellPlace) -> Iterator[CellPlace]:
        """The places of a formula's cell, and of those that its array fills."""
        return ((place[0], *cell.place) for cell in self.cells_of(place))

    def is_of_formula(self, place: CellPlace) -> bool:
        """Whether a formula fills a cell."""
        return place in self.formulas or place in self.anchors

    def owner(self, place: CellPlace) -> CellPlace:
        """The formula that fills a cell."""
        return place if place in self.formulas else self.anchors[place]

    @functools.cached_property
    def anchors(self) -> dict[CellPlace, CellPlace]:
        """The array formula of each cell that one fills."""
        return {
            (name, *cell.place): (name, *cell.anchor.place)
            for name, sheet in self.sheets.items()
            for cell in sheet.cells
            if cell.anchor is not None
        }

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
