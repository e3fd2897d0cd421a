"""The GROW_ calls of a workbook, lifted out of its formulas: where their arguments are read from the engine, and where
what growcells gives for them is put into it."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Iterator, Set
from dataclasses import dataclass, field

from growcells import functions

from ..gate import FileProblem
from .cells import Area, cell_name, read_place
from .days import Evaluate, counting_from_1904
from .engine import Engine
from .handed_ranges import LEFT_OUT, HandedRanges, TooLarge, handed_in
from .lifted_calls import Holder, LiftedCall, literal
from .readers import CellPlace
from .readings import HELPER, TABLE_HELPER, Argument, ArgumentKind, Reading, call_mark, filled_in, marks
from .references import read_area_of, references_in, unquoted
from .sheet_edits import ARRAY_MARK

MOST_TABLES = 500
"""Most calls and arguments that may give several cells, each of which takes a sheet of the engine: ours."""
_MAY_BE_BLANK = re.compile(
    r"(?:_xlfn\.)*(?:INDEX|OFFSET|INDIRECT|CHOOSE|IFS?|SWITCH|XLOOKUP|VLOOKUP|HLOOKUP|LOOKUP|IFERROR|IFNA|LET)\(",
    re.IGNORECASE,
)


@dataclass
class Lifting:
    """All lifted calls of a workbook, and the helper sheets that they need."""

    numbers: dict[str, int]
    """Those of the sheets, by which their helper sheets are named."""
    starts_1904: bool
    clock: tuple[str, str]
    ranges: HandedRanges
    calls: list[LiftedCall] = field(default_factory=list)
    helpers: dict[str, dict[tuple[int, int], str]] = field(default_factory=dict)
    """The formulas on each helper sheet."""
    direct: set[CellPlace] = field(default_factory=set)
    """Cells whose whole formula is one call, so that its value is put into them."""
    _tables: int = 0
    _numbers_named: dict[int, tuple[Reading, Set[int]]] = field(default_factory=dict)
    _evaluate: dict[str, Evaluate] = field(default_factory=dict)

    def lift(self, reading: Reading, moving: list[str], owner: CellPlace, area: Area | None, is_array: bool) -> str:
        """Lift the calls of a formula; gives the formula that the engine is to have, nothing where it has none.

        Raises TooLarge.
        """
        sheet, row, column = owner
        number, table = self.numbers[sheet], marks(moving, row, cell_name(row, column), self.clock)

        def here(text: str) -> str:
            return text if text.isascii() else text.translate(table)

        lifted: dict[int, LiftedCall] = {}
        many: dict[str, LiftedCall] = {}
        named = self._named(reading, number)
        waiting: list[tuple[str, tuple[int, int], str]] = []
        for call in reading.calls:
            made = LiftedCall(owner, call.name, self._function(call.name))
            made.read = tuple([self._reader(argument, here, lifted, made, waiting) for argument in call.arguments])
            if call.many:
                made.table, made.area = self._new_table(), area
                made.put = (made.table, 1, 1)
                self.helpers[made.table] = {}
                many[here(call_mark(number, call.number))] = made
            elif reading.is_call and call is reading.calls[-1] and not is_array:
                made.put = owner
                self.direct.add(owner)
            elif call.number in named:
                made.put = (HELPER.format(number, call.number), row, column)
                self.helpers.setdefault(made.put[0], {})
            lifted[call.number] = made
            self.calls.append(made)
        for helper, place, text in waiting:
            self._hold(text, (helper, *place), many, None, False)
        if owner in self.direct:
            return ""
        return self._hold(here(reading.text), owner, many, area, reading.many and not is_array)

    def _named(self, reading: Reading, sheet: int) -> Set[int]:
        """The numbers of a formula's calls that its text or that of an argument names."""
        found = self._numbers_named.get(id(reading))
        if found is None or found[0] is not reading:
            texts = [reading.text, *(argument.text for call in reading.calls for argument in call.arguments)]
            numbers = [call.number for call in reading.calls]
            found = reading, {number for number in numbers if any(call_mark(sheet, number) in text for text in texts)}
            self._numbers_named[id(reading)] = found
        return found[1]

    def _hold(
        self, text: str, place: CellPlace, many: dict[str, LiftedCall], area: Area | None, first_alone: bool
    ) -> str:
        """The formula of a cell; where it names cells of calls with several, it is held to be changed with them."""
        calls = {mark: call for mark, call in many.items() if mark in text}
        if calls:
            holder = Holder(place, text, calls, area, first_alone)
            for call in calls.values():
                call.holders.append(holder)
            text = holder.formula()
        return text

    def _new_table(self) -> str:
        self._tables += 1
        if self._tables > MOST_TABLES:
            raise TooLarge("it is one of too many growcells functions that are given or give several cells")
        return TABLE_HELPER.format(self._tables)

    def _function(self, name: str) -> Evaluate:
        found = self._evaluate.get(name)
        if found is None:
            function = functions()[name]
            found = counting_from_1904(function) if self.starts_1904 else function.evaluate
            self._evaluate[name] = found
        return found

    def _reader(
        self,
        argument: Argument,
        here: Callable[[str], str],
        lifted: dict[int, LiftedCall],
        made: LiftedCall,
        waiting: list[tuple[str, tuple[int, int], str]],
    ) -> Callable[[Engine], object]:
        """What reads an argument of a call from the engine. Raises TooLarge."""
        kind, owner = argument.kind, made.owner
        if kind is ArgumentKind.LEFT_OUT:
            return _constant(None)
        if kind is ArgumentKind.LITERAL:
            return _constant(literal(here(argument.text)))
        if kind is ArgumentKind.CALL:
            call, made.depends = lifted[argument.number], True
            return lambda engine: call.result
        if kind in (ArgumentKind.CELL, ArgumentKind.AREA):
            scope, _, text = here(argument.text).rpartition("!")
            sheet = unquoted(scope) if scope else owner[0]
            if kind is ArgumentKind.CELL:
                row, column = read_place(text.replace("$", "").upper())
                made.cells.append((sheet, row, column))
                return lambda engine: handed_in(engine.value(sheet, row, column))
            area = read_area_of(text)
            made.areas.append((sheet, area))
            return lambda engine: self.ranges.read(engine, sheet, area)
        text, made.depends = here(argument.text), True
        if not argument.many:
            helper, place = HELPER.format(self.numbers[owner[0]], argument.number), (owner[1], owner[2])
            if _MAY_BE_BLANK.match(text):
                text = f'IF(ISBLANK({text}),"{LEFT_OUT}",{text})'
            self.helpers.setdefault(helper, {})[place] = text
            waiting.append((helper, place, text))
            return lambda engine: handed_in(engine.value(helper, *place))
        helper = self._new_table()
        areas_in_text = [read_area_of(found) for _, found in references_in(text, owner[0])]
        self.ranges.fill(max((area.rows * area.columns for area in areas_in_text), default=1))
        self.helpers[helper] = {(1, 1): ARRAY_MARK + text}
        waiting.append((helper, (1, 1), text))
        made.tables.append(helper)
        return lambda engine: self.ranges.read(engine, helper, engine.filled(helper))

    def note_formulas(self, formulas: set[CellPlace], unbounded: set[str]) -> None:
        """Tell the calls apart whose arguments are typed.

        ``formulas`` is the cells that formulas fill, ``unbounded`` the sheets on which formulas may fill others too.
        """
        self.ranges.note_formulas(formulas, unbounded | self.helpers.keys())
        for call in self.calls:
            if not call.depends:
                call.depends = not formulas.isdisjoint(call.cells) or not all(
                    self.ranges.is_typed(sheet, area) for sheet, area in call.areas
                )


def _constant(value: object) -> Callable[[Engine], object]:
    return lambda engine: value


def cells_read(reading: Reading, moving: list[str], owner: CellPlace) -> Iterator[tuple[str, Area]]:
    """The sheet and the area of each reference of a formula in its cell."""
    _, row, column = owner
    name = cell_name(row, column)
    for sheet, text in reading.areas:
        with contextlib.suppress(FileProblem):  # a cell that no sheet has
            yield sheet, read_area_of(filled_in(text, moving, row, name, ("", "")))
