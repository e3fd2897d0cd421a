"""The GROW_ calls of a workbook, lifted out of its formulas: their arguments are read from the engine, what growcells
gives for them is put into the engine, until nothing changes any more."""

from __future__ import annotations

import contextlib
import datetime
import re
from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass, field

from growcells import functions
from growcells.cells.errors import CellError

from ..gate import FileProblem
from .cells import MAX_COLUMNS, MAX_ROWS, Area, ErrorValue, Value, cell_name, column_letters, read_place
from .days import Evaluate, counting_from_1904
from .engine import Engine, Uncomputed
from .formulas import MAX_WHOLE
from .readers import CellPlace
from .readings import HELPER, TABLE_HELPER, Argument, ArgumentKind, Reading, call_mark, filled_in
from .references import quoted, read_area_of, unquoted
from .sheet_edits import ARRAY_MARK

MOST_TABLES = 500
"""Most calls and arguments that may give several cells, each of which takes a sheet of the engine: ours."""
MOST_CELLS = 2**20
"""Most cells handed to a call as one range: ours, a full column."""
MOST_ROUNDS = 1_000
"""Most times that the engine computes what the calls gave, and the calls what the engine gave, and that one call is
evaluated: ours. Rows that rest on each other, one below the other or above, take a few."""
MOST_WORK = 2_000_000
"""Most times that calls are looked at again: ours, some seconds; calls in a circle would never be done."""
WORK_OF_CALL = 40
"""What the evaluation of a call counts for in that: ours, as the two compare on the clock."""
FEW_ROUNDS = 4
"""Rounds of all calls that count for nothing, since a large log needs them as well: ours."""
MOST_READ = 3_000_000
"""Most cells of ranges that the calls of a workbook read: our choice, ten seconds of reading."""

LEFT_OUT = "\ue000"
"""Stands for a blank that an argument's formula gives, which the engine would make 0; a private-use character."""
_MAY_BE_BLANK = re.compile(
    r"(?:_xlfn\.)*(?:INDEX|OFFSET|INDIRECT|CHOOSE|IFS?|SWITCH|XLOOKUP|VLOOKUP|HLOOKUP|LOOKUP|IFERROR|IFNA|LET)\(",
    re.IGNORECASE,
)


_DEPENDENT = (ArgumentKind.AREA, ArgumentKind.CALL, ArgumentKind.EXPRESSION)


Rows = tuple[tuple[object, ...], ...]


class TooLarge(Exception):
    """A call asks for more cells than are handed over; the text says so."""


@dataclass(slots=True)
class LiftedCall:
    """One call of one cell. ``read`` gives its arguments, ``put`` is where its value goes, if anywhere."""

    owner: CellPlace
    name: str
    evaluate: Evaluate
    read: tuple[Callable[[Engine], object], ...]
    put: CellPlace | None
    table: str = ""
    """The helper sheet of a call that may give several cells."""
    holders: list[Holder] = field(default_factory=list)
    """The formulas that name the cells of its value."""
    cells: list[CellPlace] = field(default_factory=list)
    """The single cells among its arguments."""
    depends: bool = False
    """Whether its arguments may change while the workbook is computed."""
    area: Area | None = None
    """The array formula that it stands in, if that has a fixed size."""
    given: tuple[object, ...] | None = None
    result: object = None
    times: int = 0
    refusal: str = ""

    @property
    def reference(self) -> str:
        """The cells that its value takes."""
        if self.put is None:
            return ""
        rows = self.rows
        if len(rows) == len(rows[0]) == 1:
            return f"{quoted(self.put[0])}!$A$1"
        return f"{quoted(self.put[0])}!$A$1:${column_letters(len(rows[0]))}${len(rows)}"

    @property
    def rows(self) -> Rows:
        """Its value as the rows of a table, filling the array formula that it stands in."""
        return fitted(self.result if isinstance(self.result, tuple) and self.result else ((self.result,),), self.area)


@dataclass(slots=True)
class Holder:
    """A formula in the engine that names cells whose number depends on a call."""

    place: CellPlace
    text: str
    """With the marks of calls in it."""
    calls: dict[str, LiftedCall]
    """By the marks."""
    area: Area | None = None
    first_alone: bool = False
    """Whether it shows the first cell alone."""

    def formula(self) -> str:
        text = self.text
        for mark, call in self.calls.items():
            reference = call.reference
            text = text.replace(mark, reference.partition(":")[0] if self.first_alone and text == mark else reference)
        return f"INDEX({text},1,1)" if self.first_alone and ":" in text else text


@dataclass
class Lifting:
    """All lifted calls of a workbook, and the helper sheets that they need."""

    numbers: dict[str, int]
    """Those of the sheets, by which their helper sheets are named."""
    starts_1904: bool
    clock: tuple[str, str]
    counted: Callable[[], None]
    calls: list[LiftedCall] = field(default_factory=list)
    helpers: dict[str, dict[tuple[int, int], str]] = field(default_factory=dict)
    """The formulas on each helper sheet."""
    direct: set[CellPlace] = field(default_factory=set)
    """Cells whose whole formula is one call, so that its value is put into them."""
    work: int = 0
    """Calls looked at and evaluated so far, beyond a few rounds of them all."""
    stuck: bool = False
    """Whether that is too much, as of calls in a circle."""
    cells_read: int = 0
    """Cells of ranges that were handed to calls so far."""
    _tables: int = 0
    _evaluate: dict[str, Evaluate] = field(default_factory=dict)

    def lift(self, reading: Reading, moving: list[str], owner: CellPlace, area: Area | None, is_array: bool) -> str:
        """Lift the calls of a formula; gives the formula that the engine is to have, nothing where it has none.

        Raises TooLarge.
        """
        sheet, row, column = owner
        name, number = cell_name(row, column), self.numbers[sheet]

        def here(text: str) -> str:
            return filled_in(text, moving, row, name, self.clock)

        lifted: dict[int, LiftedCall] = {}
        many: dict[str, LiftedCall] = {}
        texts = [reading.text, *(argument.text for call in reading.calls for argument in call.arguments)]
        waiting: list[tuple[str, tuple[int, int], str]] = []
        for call in reading.calls:
            cells: list[CellPlace] = []
            read = tuple([self._reader(argument, here, lifted, owner, waiting, cells) for argument in call.arguments])
            depends = any(argument.kind in _DEPENDENT for argument in call.arguments)
            made = LiftedCall(owner, call.name, self._function(call.name), read, None, cells=cells, depends=depends)
            if call.many:
                made.table, made.area = self._new_table(), area
                made.put = (made.table, 1, 1)
                self.helpers[made.table] = {}
                many[here(call_mark(number, call.number))] = made
            elif reading.is_call and call is reading.calls[-1] and not is_array:
                made.put = owner
                self.direct.add(owner)
            elif any(call_mark(number, call.number) in text for text in texts):
                made.put = (HELPER.format(number, call.number), row, column)
                self.helpers.setdefault(made.put[0], {})
            lifted[call.number] = made
            self.calls.append(made)
        for helper, place, text in waiting:
            self._hold(text, (helper, *place), many, None, False)
        if owner in self.direct:
            return ""
        return self._hold(here(reading.text), owner, many, area, reading.many and not is_array)

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
        owner: CellPlace,
        waiting: list[tuple[str, tuple[int, int], str]],
        cells: list[CellPlace],
    ) -> Callable[[Engine], object]:
        """What reads an argument from the engine. Raises TooLarge."""
        kind = argument.kind
        if kind is ArgumentKind.LEFT_OUT:
            return _constant(None)
        if kind is ArgumentKind.LITERAL:
            return _constant(literal(here(argument.text)))
        if kind is ArgumentKind.CALL:
            call = lifted[argument.number]
            return lambda engine: call.result
        if kind in (ArgumentKind.CELL, ArgumentKind.AREA):
            scope, _, text = here(argument.text).rpartition("!")
            sheet = unquoted(scope) if scope else owner[0]
            if kind is ArgumentKind.CELL:
                row, column = read_place(text.replace("$", "").upper())
                cells.append((sheet, row, column))
                return lambda engine: handed_in(engine.value(sheet, row, column))
            area = read_area_of(text)
            return lambda engine: _block(engine, sheet, area)
        text = here(argument.text)
        if not argument.many:
            helper, place = HELPER.format(self.numbers[owner[0]], argument.number), (owner[1], owner[2])
            if _MAY_BE_BLANK.match(text):
                text = f'IF(ISBLANK({text}),"{LEFT_OUT}",{text})'
            self.helpers.setdefault(helper, {})[place] = text
            waiting.append((helper, place, text))
            return lambda engine: handed_in(engine.value(helper, *place))
        helper = self._new_table()
        self.helpers[helper] = {(1, 1): ARRAY_MARK + text}
        waiting.append((helper, (1, 1), text))
        return lambda engine: _block(engine, helper, engine.filled(helper))

    def note_formulas(self, formulas: Container[CellPlace]) -> None:
        """Tell the calls apart whose arguments are typed; ``formulas`` is the cells that formulas fill."""
        for call in self.calls:
            call.depends |= any(place in formulas for place in call.cells)

    def run(self, engine: Engine) -> None:
        """Evaluate the calls and compute the engine's formulas in turn until nothing changes; raises FileProblem."""
        engine.compute()
        self.work = -FEW_ROUNDS * WORK_OF_CALL * len(self.calls)
        dependent = [call for call in self.calls if call.depends]
        waiting: Sequence[LiftedCall] = self.calls
        for _ in range(MOST_ROUNDS):
            changed = False
            for number in range(MOST_ROUNDS):
                again = False
                for call in waiting:
                    if self._call(call, engine):
                        again = True
                changed |= again
                waiting = dependent if number % 2 else dependent[::-1]  # rows rest on the row above, or below
                if not again or self.stuck:
                    break
            if not changed:
                return
            engine.compute()
            if self.stuck:
                break
        for call in self.calls:
            if call.depends and self._call(call, engine):
                call.refusal = "it stands in too long a row of growcells functions, or in a circle"

    def _call(self, call: LiftedCall, engine: Engine) -> bool:
        """Evaluate a call whose arguments have changed; whether its value is another one."""
        self.work += 1
        self.stuck = self.stuck or self.work > MOST_WORK or call.times > MOST_ROUNDS
        try:
            given = tuple([read(engine) for read in call.read])
        except TooLarge as problem:
            call.refusal = str(problem)
            return False
        self.cells_read += sum(len(rows) * len(rows[0]) for rows in given if isinstance(rows, tuple) and rows)
        if self.cells_read > MOST_READ:
            raise FileProblem(
                f"the workbook cannot be computed: its growcells functions read more than {MOST_READ:,} cells in ranges"
            )
        if call.given is not None and same(given, call.given):
            return False
        call.given = given
        self.work += WORK_OF_CALL
        call.times += 1
        self.counted()
        if any(isinstance(value, Uncomputed) for value in given):
            call.refusal = next(value.why for value in given if isinstance(value, Uncomputed))
        else:
            call.refusal = ""
        result = _whole(call.evaluate(given)) if not call.refusal else CellError("#N/A")
        if call.times > 1 and same((result,), (call.result,)):
            return False
        call.result = result
        if call.table:
            self._put_table(call, engine)
        elif call.put is not None:
            engine.put(*call.put, single(result[0][0] if isinstance(result, tuple) and result else result))
        return True

    def _put_table(self, call: LiftedCall, engine: Engine) -> None:
        """Put a call's values on its helper sheet, and change the formulas that name the cells."""
        for number, row in enumerate(call.rows, 1):
            for column, value in enumerate(row, 1):
                engine.put(call.table, number, column, single(value))
        for holder in call.holders:
            engine.put_formula(*holder.place, holder.formula(), holder.area)


def _constant(value: object) -> Callable[[Engine], object]:
    return lambda engine: value


def _whole(result: object) -> object:
    """A table as tuples of tuples."""
    if isinstance(result, (tuple, list)):
        return tuple(tuple(row) if isinstance(row, (tuple, list)) else (row,) for row in result)
    return result


def single(result: object) -> Value | ErrorValue:
    """A result as a cell holds it; nothing is an empty text, since a formula shows it as nothing and not as 0."""
    if isinstance(result, CellError):
        return ErrorValue(result.code)
    if result is None:
        return ""
    if isinstance(result, (bool, float, str)):
        return result
    if isinstance(result, int):
        return float(result)
    if isinstance(result, datetime.datetime):
        raise TypeError(result)
    return str(result)


def fitted(rows: Rows, area: Area | None) -> Rows:
    """A table made to fill an array formula: one row or column is repeated, what is missing is #N/A, as Excel does."""
    if area is None:
        return rows
    height, width = max(len(rows), area.rows), max(len(rows[0]), area.columns)
    if (height, width) == (len(rows), len(rows[0])):
        return rows

    def element(row: int, column: int) -> object:
        row, column = (0 if len(rows) == 1 else row), (0 if len(rows[0]) == 1 else column)
        return rows[row][column] if row < len(rows) and column < len(rows[row]) else CellError("#N/A")

    return tuple(tuple(element(row, column) for column in range(width)) for row in range(height))


def same(left: Sequence[object], right: Sequence[object]) -> bool:
    """Whether arguments are the same, 1 and TRUE told apart."""
    if left != right:
        return False
    return all(
        type(one) is type(other) and (not isinstance(one, tuple) or same(one, other))  # type: ignore[arg-type]
        for one, other in zip(left, right, strict=True)
    )


def literal(text: str) -> object:
    """The value of a number, text, truth or error as a formula writes it."""
    if text.startswith('"'):
        return text[1:-1].replace('""', '"')
    if text.upper() in ("TRUE", "FALSE"):
        return text.upper() == "TRUE"
    if text.startswith("#"):
        return CellError(text)
    return float(text.replace(" ", ""))


def handed_in(value: Value | ErrorValue | Uncomputed) -> object:
    """A cell as the registry takes it."""
    if isinstance(value, ErrorValue):
        return CellError(value.code)
    return None if value == LEFT_OUT else value


def _block(engine: Engine, sheet: str, area: Area) -> object:
    """The cells of an area as the registry takes them; of whole columns and rows what is filled. Raises TooLarge."""
    whole_columns, whole_rows = area.rows == MAX_ROWS, area.columns == MAX_COLUMNS
    if (whole_columns and area.columns > MAX_WHOLE) or (whole_rows and area.rows > MAX_WHOLE):
        raise TooLarge("its range is too large")
    if whole_columns or whole_rows:
        filled = engine.filled(sheet)
        area = Area(
            area.first_row,
            area.first_column,
            max(area.first_row, min(area.last_row, filled.last_row)),
            max(area.first_column, min(area.last_column, filled.last_column)),
        )
    if area.rows * area.columns > MOST_CELLS:
        raise TooLarge("its range is too large")
    return tuple([tuple([handed_in(value) for value in row]) for row in engine.block(sheet, area)])


def cells_read(reading: Reading, moving: list[str], owner: CellPlace) -> Iterator[tuple[str, Area]]:
    """The sheet and the area of each reference of a formula in its cell."""
    _, row, column = owner
    name = cell_name(row, column)
    for sheet, text in reading.areas:
        with contextlib.suppress(FileProblem):  # a cell that no sheet has
            yield sheet, read_area_of(filled_in(text, moving, row, name, ("", "")))
