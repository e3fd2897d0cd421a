"""The GROW_ calls of a workbook, lifted out of its formulas: where their arguments are read from the engine, and where
what growcells gives for them is put into it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence, Set
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

from growcells import functions

from ..gate import FileProblem
from .cells import Area
from .copies import Copies, Corners, moves_as_one
from .days import Evaluate, counting_from_1904
from .engine import Engine
from .handed_ranges import LEFT_OUT, HandedRanges, TooLarge, handed_in
from .lifted_calls import Holder, LiftedCall, literal
from .readers import CellPlace
from .readings import HELPER, TABLE_HELPER, Argument, ArgumentKind, Call, call_mark
from .references import read_area_of, references_in, unquoted
from .sheet_edits import ARRAY_MARK, SharedFormula
from .sheet_formulas import FormulaCell, Place
from .tokens import NotComputed

MOST_TABLES = 500
"""Most calls and arguments that may give several cells, each of which takes a sheet of the engine: ours."""
_MAY_BE_BLANK = re.compile(
    r"(?:_xlfn\.)*(?:INDEX|OFFSET|INDIRECT|CHOOSE|IFS?|SWITCH|XLOOKUP|VLOOKUP|HLOOKUP|LOOKUP|IFERROR|IFNA|LET)\(",
    re.IGNORECASE,
)
_BLANK_TOLD = f'_xlfn.LET(_xlpm.growgiven,{{}},IF(ISBLANK(_xlpm.growgiven),"{LEFT_OUT}",_xlpm.growgiven))'
"""A formula that may give a blank cell, which the engine would hand on as 0; as a variable it is computed once."""


class _Own(NamedTuple):
    """The calls of one formula in its cell, while they are lifted."""

    formula: FormulaCell
    owner: CellPlace
    lifted: dict[int, LiftedCall]
    """By their numbers."""
    helpers: list[tuple[CellPlace, str]]
    """The formulas of arguments in their helper cells."""


Read = Callable[[Engine], object]
"""Reads an argument of a call from the engine."""


class _Source(NamedTuple):
    """Where an argument of a call comes from, as all copies of a formula have it."""

    reader: Callable[[LiftedCall, _Own], Read]
    """Makes what reads it, for one of the copies. Raises TooLarge."""
    cell: Corners | None = None
    """The one cell that it is, if so."""
    areas: Sequence[Corners | None] = ()
    """The range that it is, or all that its formula reads."""
    helper: str = ""
    """The sheet with its formula, in the place of the call's, where the engine computes it from these alone."""
    depends: bool = False
    """Whether it may change while the workbook is computed, whatever else is read."""


class _Planned(NamedTuple):
    """A call as all copies of a formula have it."""

    call: Call
    evaluate: Evaluate
    sources: tuple[_Source, ...]
    is_named: bool
    """Whether the formula, or the argument of another call, names its value."""
    lifted: list[LiftedCall]
    """The call of each copy."""


@dataclass
class Lifting:
    """All lifted calls of a workbook, and the helper sheets that they need."""

    numbers: dict[str, int]
    """Those of the sheets, by which their helper sheets are named."""
    starts_1904: bool
    clock: tuple[str, str]
    ranges: HandedRanges
    calls: list[LiftedCall] = field(default_factory=list)
    helpers: dict[str, dict[Place, str | SharedFormula]] = field(default_factory=dict)
    """The formulas on each helper sheet."""
    direct: set[CellPlace] = field(default_factory=set)
    """Cells whose whole formula is one call, so that its value is put into them."""
    _tables: int = 0
    _plans: dict[Copies, list[_Planned]] = field(default_factory=dict)
    _planned: list[_Planned] = field(default_factory=list)
    """The calls of all plans."""
    _evaluate: dict[str, Evaluate] = field(default_factory=dict)
    _arguments: int = 0
    """How many formulas of arguments there are, copies counted once."""
    _told: set[int] = field(default_factory=set)
    """Those of them that stand on their helper sheet."""

    def lift(self, formula: FormulaCell, owner: CellPlace) -> str | None:
        """Lift the calls of a formula; gives what the engine is to have in place of its reading, if anything: nothing
        where a call's value is put there, a formula that is changed with the values that it names.

        Raises FileProblem, NotComputed and TooLarge.
        """
        sheet, row, column = owner
        reading, cell = formula.reading, formula.cell
        is_array = cell.area is not None
        area = None if cell.dynamic else cell.area
        own = _Own(formula, owner, {}, [])
        many: dict[str, LiftedCall] = {}
        for call, evaluate, sources, is_named, lifted in self._plan(formula, sheet):
            made = LiftedCall(owner, call.name, evaluate)
            made.read = tuple([source.reader(made, own) for source in sources])
            if call.many:
                made.table, made.area = self._new_table(), area
                made.put = (made.table, 1, 1)
                self.helpers[made.table] = {}
                many[formula.filled_in(call_mark(self.numbers[sheet], call.number))] = made
            elif reading.is_call and call is reading.calls[-1] and not is_array:
                made.put = owner
                self.direct.add(owner)
            elif is_named:
                made.put = (HELPER.format(self.numbers[sheet], call.number), row, column)
                self.helpers.setdefault(made.put[0], {})
            own.lifted[call.number] = made
            self.calls.append(made)
            lifted.append(made)
        for place, text in own.helpers:
            self._hold(text, place, many, None, False)
        if owner in self.direct:
            return ""
        if not many:
            return None
        text = formula.filled_in(reading.text, self.clock)
        return self._hold(text, owner, many, area, reading.many and not is_array)

    def _plan(self, formula: FormulaCell, sheet: str) -> list[_Planned]:
        """The calls of a formula as all its copies have them. Raises FileProblem."""
        copies, reading = formula.copies, formula.reading
        plan = self._plans.get(copies)
        if plan is None or not copies.is_plain:  # else a text in it may differ from copy to copy
            number = self.numbers[sheet]
            texts = [reading.text, *(argument.text for call in reading.calls for argument in call.arguments)]
            plan = self._plans[copies] = [
                _Planned(
                    call,
                    self._function(call.name),
                    tuple([self._source(argument, formula, sheet) for argument in call.arguments]),
                    any(call_mark(number, call.number) in text for text in texts),
                    [],
                )
                for call in reading.calls
            ]
            self._planned += plan
        return plan

    def _hold(
        self, text: str, place: CellPlace, many: dict[str, LiftedCall], area: Area | None, first_alone: bool
    ) -> str:
        """The formula of a cell; where it names cells of calls with several, it is held to be changed with them."""
        calls = {mark: call for mark, call in many.items() if mark in text}
        if calls:
            holder = Holder(place, text, calls, area, first_alone)
            for call in calls.values():
                call.holders += (holder,)
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

    def _source(self, argument: Argument, formula: FormulaCell, sheet: str) -> _Source:
        """What makes the reader of an argument. Raises FileProblem."""
        kind = argument.kind
        if kind is ArgumentKind.LEFT_OUT:
            return _constant(None)
        if kind is ArgumentKind.LITERAL:
            return _constant(literal(formula.filled_in(argument.text, self.clock)))
        if kind is ArgumentKind.CALL:
            return _of_call(argument.number)
        if kind is ArgumentKind.EXPRESSION:
            return self._of_table(argument) if argument.many else self._of_formula(argument, formula, sheet)
        scope, _, text = argument.text.rpartition("!")
        corners = formula.copies.corners(unquoted(scope) if scope else sheet, text)
        if corners is None:
            raise FileProblem("a reference names a cell that no sheet has")
        return _of_cell(corners) if kind is ArgumentKind.CELL else self._of_area(corners)

    def _of_area(self, corners: Corners) -> _Source:
        ranges = self.ranges

        def reader(made: LiftedCall, own: _Own) -> Read:
            sheet, area = corners.sheet, corners.at(own.owner[1])
            return lambda engine: ranges.read(engine, sheet, area)

        return _Source(reader, areas=(corners,))

    def _of_formula(self, argument: Argument, formula: FormulaCell, sheet: str) -> _Source:
        """Of an argument that the engine computes, in a helper cell in the place of the formula."""
        marked, copies, reading = argument.text, formula.copies, formula.reading
        helper = HELPER.format(self.numbers[sheet], argument.number)
        if _MAY_BE_BLANK.match(marked):
            marked = _BLANK_TOLD.format(marked)
        is_changed = any(call.many for call in reading.calls)
        is_shared = copies.is_plain and moves_as_one([marked]) and not is_changed
        read = None if reading.random or reading.anywhere else self._read_by(argument.text, formula, sheet)
        self._arguments += 1
        number = self._arguments
        alike = SharedFormula(number)

        def reader(made: LiftedCall, own: _Own) -> Read:
            _, row, column = own.owner
            given: str | SharedFormula = alike
            if not is_shared or number not in self._told:
                given = text = own.formula.filled_in(marked, self.clock)
                if is_shared:
                    given = SharedFormula(number, text)
                    self._told.add(number)
                else:
                    own.helpers.append(((helper, row, column), text))
            self.helpers.setdefault(helper, {})[row, column] = given
            return partial(_cell_value, helper, row, column)

        return _Source(reader, depends=True) if read is None else _Source(reader, areas=read, helper=helper)

    def _read_by(self, text: str, formula: FormulaCell, sheet: str) -> list[Corners | None] | None:
        """What the formula of an argument reads, None where that is more than cells: growcells functions too."""
        try:
            return [formula.copies.corners(*found) for found in references_in(text, sheet)]
        except NotComputed:
            return None

    def _of_table(self, argument: Argument) -> _Source:
        """Of an argument that may give several cells, on a helper sheet of its own."""
        ranges = self.ranges

        def reader(made: LiftedCall, own: _Own) -> Read:
            text = own.formula.filled_in(argument.text, self.clock)
            helper = self._new_table()
            areas = [read_area_of(found) for _, found in references_in(text, own.owner[0])]
            ranges.fill(max((area.rows * area.columns for area in areas), default=1))
            self.helpers[helper] = {(1, 1): ARRAY_MARK + text}
            own.helpers.append(((helper, 1, 1), text))
            made.tables += (helper,)
            return lambda engine: ranges.read(engine, helper, engine.filled(helper))

        return _Source(reader, depends=True)

    def note_formulas(self, formulas: Set[CellPlace], unbounded: set[str]) -> None:
        """Tell the calls apart whose arguments are typed.

        ``formulas`` is the cells that formulas fill, ``unbounded`` the sheets on which formulas may fill others too.
        """
        self.ranges.note_formulas(formulas, unbounded | self.helpers.keys())
        for planned in self._planned:
            for source in planned.sources:
                self._note_source(source, planned.lifted, formulas)
        self._plans.clear()  # no more is lifted, and what is lifted holds nothing of this
        self._planned.clear()

    def _note_source(self, source: _Source, lifted: Sequence[LiftedCall], formulas: Set[CellPlace]) -> None:
        """Tell for one of their arguments which of the copies of a call have it typed."""
        is_typed = self.ranges.is_typed
        cell = source.cell
        if cell is not None and is_typed(cell.sheet, cell.whole_columns()):
            cell = None
        areas = [area for area in source.areas if area and not is_typed(area.sheet, area.whole_columns())]
        moving = [area for area in areas if area.moves]
        depends = source.depends or not all(is_typed(area.sheet, area.at(1)) for area in areas if not area.moves)
        if not (depends or cell or moving or source.helper):
            return
        for call in lifted:
            _, row, column = call.owner
            computed = depends or (cell is not None and (cell.sheet, *cell.first_cell(row)) in formulas)
            if computed or not all([is_typed(area.sheet, area.at(row)) for area in moving]):
                call.depends = True
            elif source.helper:
                call.fixed += ((source.helper, row, column),)


def _constant(value: object) -> _Source:
    def read(engine: Engine) -> object:
        return value

    return _Source(lambda made, own: read)


def _of_call(number: int) -> _Source:
    """Of the call of this number before it in the formula."""

    def reader(made: LiftedCall, own: _Own) -> Read:
        call = own.lifted[number]
        return lambda engine: call.result

    return _Source(reader, depends=True)


def _of_cell(corners: Corners) -> _Source:
    sheet, (top, column, moves), _ = corners

    def reader(made: LiftedCall, own: _Own) -> Read:
        row = top + own.owner[1] if moves else top
        return partial(_cell_value, sheet, row, column)

    return _Source(reader, cell=corners)


def _cell_value(sheet: str, row: int, column: int, engine: Engine) -> object:
    """The value of a cell as the registry takes it."""
    value = engine.value(sheet, row, column)
    return value if value.__class__ is float else handed_in(value)
