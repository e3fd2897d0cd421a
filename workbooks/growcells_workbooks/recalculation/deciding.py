"""Which formulas have another value, which of these have to change, and which keep the stored one.

What is computed anew, and what keeps its value:

1. A formula that holds a GROW_ call, has no stored value, or depends on the clock or on chance, is computed.
2. A formula that depends on a cell whose value changed is computed.
3. A formula made of operations and functions that are firmly proven equal to Excel's, whose stored value differs from
   what its inputs give, is stale: it is computed. A program that does not calculate has changed its inputs.
4. One that is proven, though not firmly, is stale where a formula of which that is certain reads a typed cell with it.
   Every other formula keeps the value that a real program stored; where the engine gives another one that nothing
   accounts for, it is listed, since nothing tells which of the two is right.
5. Where the workbook itself says that its values are not computed (fullCalcOnLoad), or everything is asked for, every
   formula is computed.
6. A formula that must be computed and is not proven keeps its value and is listed; so is what rests on it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..gate import FileProblem
from .cells import ErrorValue, Value, cell_name
from .changed_inputs import beside_changed
from .contents import MOST_LOOKED_AT, doubtful_operands, trust_in_contents
from .copies import Copies
from .criteria_calls import SPILLED
from .doubtful_numbers import Asked, reading_other_numbers, shows_point
from .engine import (
    NO_FIT,
    NO_ONE_CELL,
    NOT_COMPUTED,
    NOT_FOUND,
    NOT_PROVEN,
    OTHER_NUMBER,
    OTHER_SIGN,
    TOO_LARGE,
    Uncomputed,
)
from .native import READS_ANYWHERE
from .powers import DIVISION_ERROR, may_be_too_large
from .readers import CellPlace
from .sheet_edits import agrees, holds, may_hold, stored_number
from .staleness import is_accounted_for, is_stale
from .trust import Trust

if TYPE_CHECKING:
    from .computation import Computation

_MOST_ROUNDS = 50  # each finds cells that keep their value because others do
_USUAL_ROUNDS = 40  # then all are kept at once that have their value but for last digits: a loan has many rows
_VALUE_ERROR, _REF_ERROR = ErrorValue("#VALUE!"), ErrorValue("#REF!")

_RANGES = "y"
"""The form of what is computed of ranges in an ordinary formula: in one of arrays it is a capital letter."""

NewValues = dict[CellPlace, Value | ErrorValue]

Places = Mapping[CellPlace, object]
"""Places in an order, of which it is quickly told whether one is among them."""


@dataclass
class Deciding:
    """The formulas of a computed workbook, told apart by whether their value has to change."""

    computation: Computation
    stale: set[CellPlace] = field(default_factory=set)
    undecided: set[CellPlace] = field(default_factory=set)
    """The formulas that keep their stored value, although nothing accounts for the other one that the engine gives."""

    def decided(self) -> NewValues:
        """The values of the cells that have to change."""
        compute = self.computation.compute
        for number in range(_MOST_ROUNDS):
            if self._keep_what_rests_on_nothing() or self._keep_what_asks_for_arrays():
                compute()
                continue
            new, close, uncomputed = self._differing()
            owners = self._owners(new)
            uncomputed |= self._of_other_sign(new) | self._untrusted(owners)
            if uncomputed:
                self._refuse_uncomputed(uncomputed)
                compute()
                continue
            near = {place: None for place in owners if place in close and self._is_inexact(place, new)} if close else {}
            others = {place: None for place in owners if place not in near} if near else owners
            if near and self._pin_near(near, near if number > _USUAL_ROUNDS else others):
                compute()
                continue
            explained = self._explained(others)
            if len(explained) == len(owners):
                return new
            unexplained = {place: None for place in others if place not in explained and self._is_far(place, new)}
            if not unexplained:
                return {place: value for place, value in new.items() if self.computation.owner(place) in explained}
            if self._pin_inexact_for(unexplained) or self._pin_unexplained(unexplained, explained):
                compute()
        raise FileProblem("the workbook cannot be computed: its formulas come to no end")

    def _owners(self, places: Places) -> Places:
        """The formulas that fill cells, in their order."""
        computation = self.computation
        return {computation.owner(place): None for place in places} if computation.anchors else places

    def _keep_what_rests_on_nothing(self) -> bool:
        """Leave uncomputed what depends on formulas that have neither a value nor a stored one."""
        computation = self.computation
        empty = [place for place in computation.refused if not computation.formulas[place].cell.has_value]
        if not empty:
            return False
        origins = (place for origin in empty for place in computation.places_of(origin))
        reached = computation.readers.reached(origins, computation.formulas)
        return any(
            [
                computation.refuse(place, f"it depends on {origin[0]}!{cell_name(*origin[1:])}, which has no value")
                for place, origin in reached.items()
            ]
        )

    def _keep_what_asks_for_arrays(self) -> bool:
        """Leave uncomputed what asks for all cells of an array that is kept: the engine has these as single cells."""
        computation = self.computation
        arrays = (place for place in (*computation.refused, *computation.pinned) if self._fills_an_area(place))
        return any(
            [
                computation.refuse(
                    reader, f"it asks for what {anchor[0]}!{cell_name(*anchor[1:])} fills, which is kept"
                )
                for anchor in arrays
                for reader in computation.readers.of(anchor)
                if SPILLED in computation.formulas[reader].reading.written
            ]
        )

    def _fills_an_area(self, place: CellPlace) -> bool:
        return self.computation.formulas[place].cell.area is not None

    def _differing(self) -> tuple[NewValues, set[CellPlace], dict[CellPlace, Uncomputed]]:
        """The cells whose value in the engine is not the stored one, those of their formulas of which one may be the
        stored one but for its last digits, and the formulas that the engine does not compute."""
        computation = self.computation
        new: NewValues = {}
        close: set[CellPlace] = set()
        uncomputed: dict[CellPlace, Uncomputed] = {}
        idle = computation.refused.keys() | computation.pinned
        for name, sheet in computation.sheets.items():
            values = computation.engine.values(name, [cell.place for cell in sheet.cells])
            for cell, value in zip(sheet.cells, values, strict=True):
                place = owner = (name, *cell.place)
                if cell.anchor is not None and not cell.formula_span:
                    owner = (name, *cell.anchor.place)
                if idle and owner in idle:
                    continue
                if value.__class__ is not float and value.__class__ is not str:
                    value = self._understood(value, place, owner)
                    if isinstance(value, Uncomputed):
                        uncomputed[owner] = value
                        continue
                if may_hold(cell, value):
                    if holds(cell, value):
                        continue
                    close.add(owner)
                new[place] = value
        return new, close, uncomputed

    def _understood(
        self, value: Value | ErrorValue | Uncomputed, place: CellPlace, owner: CellPlace
    ) -> Value | ErrorValue | Uncomputed:
        """What the engine gives for a cell, or that it does not compute it, where it says so by an error."""
        if value == _VALUE_ERROR and owner != place and self._is_short(owner):
            return Uncomputed(NO_FIT)
        if value == _VALUE_ERROR and self._computes_with_ranges(owner):
            return Uncomputed(NO_ONE_CELL)
        if value == _REF_ERROR and self.computation.formulas[owner].reading.asks_by_text:
            return Uncomputed(NOT_FOUND)
        if value == DIVISION_ERROR and may_be_too_large(self.computation, owner):
            return Uncomputed(TOO_LARGE)
        return value

    def _of_other_sign(self, new: NewValues) -> dict[CellPlace, Uncomputed]:
        """The formulas with numbers in new texts, in the workbook of a program that may write these otherwise."""
        computation = self.computation
        if not computation.package.book.of_other_language:
            return {}
        return {
            owner: Uncomputed(OTHER_SIGN)
            for place, value in new.items()
            if shows_point(computation.formulas[owner := computation.owner(place)], value)
        }

    def _untrusted(self, owners: Places) -> dict[CellPlace, Uncomputed]:
        """The formulas with new values that are not trusted with what the cells hold that they read."""
        computation = self.computation
        if computation.trusting:
            return {}
        formulas, engine = computation.formulas, computation.engine
        alike: dict[Copies, list[CellPlace]] = {}
        for place in owners:
            alike.setdefault(formulas[place].copies, []).append(place)
        unproven: set[CellPlace] = set()
        other_numbers: set[CellPlace] = set()
        asked = Asked(engine)
        for places in alike.values():
            first = formulas[places[0]]
            doubtful = doubtful_operands(first.reading)
            if doubtful:
                unproven.update(
                    place for place in places if trust_in_contents(formulas[place], engine, doubtful) is Trust.NONE
                )
            other_numbers.update(reading_other_numbers(first, places, engine))
            if first.reading.asked:
                other_numbers.update(place for place in places if asked.finds_another(formulas[place]))
        found = {place: Uncomputed(NOT_PROVEN) for place in owners if place in unproven} if unproven else {}
        if other_numbers:
            found |= {place: Uncomputed(OTHER_NUMBER) for place in owners if place in other_numbers}
        return found

    def _is_short(self, owner: CellPlace) -> bool:
        """Whether an array formula has more cells than its result: there the engine gives #VALUE! and Excel #N/A."""
        formula = self.computation.formulas[owner]
        return (
            not formula.cell.dynamic
            and not formula.reading.calls
            and not isinstance(self.computation.engine.value(*owner), ErrorValue)
        )

    def _computes_with_ranges(self, owner: CellPlace) -> bool:
        """Whether a function of an ordinary formula is given what is computed of ranges, of which the engine does not
        always take the one cell."""
        uses = self.computation.formulas[owner].reading.uses
        return any(form == _RANGES and name[:1].isalpha() for name, _, form in uses)

    def _refuse_uncomputed(self, uncomputed: dict[CellPlace, Uncomputed]) -> None:
        """Leave uncomputed what the engine cannot compute; of what depends on a circle, only the circle itself."""
        circling = {place: None for place, why in uncomputed.items() if why.code == "#CIRC!"}
        circles = self.computation.readers.circles(circling) if circling else []
        for place in circles or [place for place in uncomputed if place not in circling] or list(uncomputed):
            self.computation.refuse(place, uncomputed[place].why)

    def has_reason(self, place: CellPlace) -> bool:
        """Whether a formula is computed whatever its stored value."""
        formula = self.computation.formulas[place]
        reading = formula.reading
        return (
            self.computation.everything
            or bool(reading.calls)
            or reading.clock
            or reading.random
            or not formula.cell.has_value
            or place in self.stale
        )

    def _explained(self, owners: Places) -> Collection[CellPlace]:
        """Those of the formulas with another value that have a reason for it, or read a cell that has."""
        computation = self.computation
        if computation.everything:
            return owners
        roots = [place for place in owners if self.has_reason(place)]
        if len(roots) == len(owners):
            return owners
        explained = set(roots)
        others = {place: None for place in owners if place not in explained}
        cells = (cell for root in roots for cell in computation.places_of(root))
        explained |= computation.readers.reached(cells, others).keys()
        if not all(map(self._is_of_the_clock, roots)):  # by which something changes whenever a workbook is computed
            explained |= {place for place in others if self._reads_anywhere(place)}
        return explained

    def _is_of_the_clock(self, place: CellPlace) -> bool:
        """Whether a formula's value is another one each time."""
        reading = self.computation.formulas[place].reading
        return reading.clock or reading.random

    def _reads_anywhere(self, place: CellPlace) -> bool:
        """Whether a formula may read values of cells that it does not name."""
        return any(function in READS_ANYWHERE for function, _, _ in self.computation.formulas[place].reading.uses)

    def _is_far(self, place: CellPlace, new: NewValues) -> bool:
        """Whether a formula's value differs from the stored one by more than the order of additions may make."""
        computation = self.computation
        return any(
            (place[0], *cell.place) in new and not agrees(computation.stored(cell), new[place[0], *cell.place])
            for cell in computation.cells_of(place)
        )

    def _is_inexact(self, place: CellPlace, new: NewValues) -> bool:
        """Whether all that differs of a formula's value is the last digits of numbers, of which the stored ones stay.

        The clock's own are new.
        """
        computation = self.computation
        cell, _, _, reading, _ = computation.formulas[place]
        if reading.clock:
            return False
        if cell.area is None:
            value = new[place]
            if isinstance(value, str):  # a complex number
                return bool(value) and cell.type == "str" and agrees(computation.stored(cell), value)
            return isinstance(value, float) and cell.type == "n" and agrees(stored_number(cell), value)
        return all(
            isinstance(computation.stored(cell), float) and agrees(computation.stored(cell), new[place[0], *cell.place])
            for cell in computation.cells_of(place)
            if (place[0], *cell.place) in new
        )

    def _pin_near(self, near: Places, readers: Places) -> bool:
        """Put stored values in place of the engine's that all but agree with them, where these formulas read them: a
        difference of large numbers shows what an inexact function is off by. Whether there are any."""
        computation = self.computation
        cells = (cell for place in near for cell in computation.places_of(place))
        read = computation.readers.reached(cells, readers)
        wanted = {computation.owner(origin) for origin in read.values()}
        computation.near.update(wanted)
        computation.pin(wanted)
        return bool(wanted)

    def _pin_inexact_for(self, readers: Iterable[CellPlace]) -> bool:
        """Put stored values in place of the engine's that are theirs but for digits that no program shows, in the
        formulas that these read: a comparison may show them. Whether there are any."""
        computation = self.computation
        wanted = {
            place
            for reader in readers
            for sheet, area in computation.formulas[reader].cells_read()
            if area.rows * area.columns <= MOST_LOOKED_AT
            for place in ((sheet, *at) for at in area.places())
            if place in computation.formulas and computation.is_computed(place) and self._is_off_by_digits(place)
        }
        computation.near.update(wanted)
        computation.pin(wanted)
        return bool(wanted)

    def _is_off_by_digits(self, place: CellPlace) -> bool:
        """Whether the engine's number is the stored one but for its last digits."""
        cell, value = self.computation.formulas[place].cell, self.computation.engine.value(*place)
        return isinstance(value, float) and cell.area is None and holds(cell, value) and stored_number(cell) != value

    def _behind_circles(self) -> Iterable[CellPlace]:
        """The formulas that depend on circles, of which a spreadsheet program computes nothing, or some rounds."""
        computation = self.computation
        circles = (place for place, why in computation.refused.items() if why == NOT_COMPUTED["#CIRC!"])
        cells = (cell for circle in circles for cell in computation.places_of(circle))
        return computation.readers.reached(cells, computation.formulas)

    def _pin_unexplained(self, unexplained: dict[CellPlace, None], explained: Iterable[CellPlace]) -> bool:
        """Judge the formulas whose value differs for no known reason, first those that read no other of them.

        A firmly proven one is stale, and so is what reads a typed cell with one; any other keeps its stored value.
        Whether any is of the second kind.
        """
        computation = self.computation
        reading_others = {
            reader
            for place in unexplained
            for cell in computation.places_of(place)
            for reader in computation.readers.of(cell)
            if reader != place
        }
        first = [place for place in unexplained if place not in reading_others] or list(unexplained)
        circling = {*computation.readers.circles(unexplained), *self._behind_circles()}
        open_ = [place for place in first if place not in circling and not is_accounted_for(computation, place)]
        self.stale.update(place for place in open_ if is_stale(computation, place))
        left = [place for place in open_ if place not in self.stale]
        if left and not computation.package.book.computes_by_hand:
            beside = beside_changed(computation, self.stale.union(explained))
            self.stale.update(place for place in left if place in beside)
        self.undecided.update(place for place in left if place not in self.stale)
        wrong = [place for place in first if place not in self.stale]
        computation.pin(wrong)
        return bool(wrong)
