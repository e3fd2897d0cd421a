"""The GROW_ calls of a workbook evaluated and the engine's formulas computed, in turn, until nothing changes."""

from __future__ import annotations

import time
from collections.abc import Callable, Container, Sequence
from dataclasses import dataclass, field

from growcells.cells.errors import CellError

from .cells import Area
from .engine import Engine, Uncomputed
from .handed_ranges import HandedRanges, TooLarge, same, size, work_of
from .lifted_calls import LiftedCall, single, whole
from .readers import CellPlace

_FIRST_CELL = Area(1, 1, 1, 1)

MOST_ROUNDS = 1_000
"""Most times that the engine computes what the calls gave, and the calls what the engine gave, and that one call is
evaluated: ours. Rows that rest on each other, one below the other or above, take a few."""
MOST_WORK = 2_000_000
"""Most times that calls are looked at again: ours, some seconds; calls in a circle would never be done."""
WORK_OF_CALL = 40
"""What the evaluation of a call counts for in that: ours, as the two compare on the clock."""
FEW_ROUNDS = 4
"""Rounds of all calls that count for nothing, since a large log needs them as well: ours."""
MANY_ROUNDS, MOST_SECONDS = 6, 6.0
"""How often the engine computes whatever it takes, and how long more often than that [s of the processor]: ours."""
MOST_RESULTS = 4_096
"""Most results of calls with ranges that are kept for calls with the same arguments: ours."""


@dataclass
class CallRounds:
    """The calls, and how far they have come."""

    calls: list[LiftedCall]
    ranges: HandedRanges
    counted: Callable[[], None]
    """Told of each call that is evaluated."""
    work: int = 0
    """Calls looked at and evaluated so far, beyond a few rounds of them all."""
    rounds: int = 0
    """How often the engine has computed."""
    seconds: float = 0.0
    """What that took of the processor."""
    stuck: bool = False
    """Whether all that is too much, as of calls in a circle."""
    _results: dict[tuple[object, ...], tuple[tuple[object, ...], object]] = field(default_factory=dict)
    """What calls with ranges gave, by their arguments; these are kept with it, so that each range stays what it is."""

    def run(self, engine: Engine, refused: Container[CellPlace] = ()) -> None:
        """Evaluate the calls but those of refused formulas until nothing changes; raises FileProblem."""
        self._compute(engine)
        calls = [call for call in self.calls if call.owner not in refused]
        self.work = -FEW_ROUNDS * WORK_OF_CALL * len(calls)
        dependent = [call for call in calls if call.depends]
        waiting: Sequence[LiftedCall] = calls
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
            _fix(calls, engine)
            self._compute(engine)
            if self.stuck:
                break
        for call in dependent:
            if self._call(call, engine):
                call.refusal = "it stands in too long a row of growcells functions, or in a circle"

    def _compute(self, engine: Engine) -> None:
        """Have the engine compute, and see whether it has done so for too long."""
        start = time.process_time()
        engine.compute()
        self.ranges.note_computed()
        self.seconds += time.process_time() - start
        self.rounds += 1
        self.stuck = self.stuck or (self.rounds > MANY_ROUNDS and self.seconds > MOST_SECONDS)

    def _call(self, call: LiftedCall, engine: Engine) -> bool:
        """Evaluate a call whose arguments have changed; whether its value is another one."""
        self.work += 1
        self.stuck = self.stuck or self.work > MOST_WORK or call.times > MOST_ROUNDS
        if call.is_dropped:
            return False
        try:
            given = tuple([read(engine) for read in call.read])
            if call.given is not None and same(given, call.given):
                return False
            return self._evaluate(call, given, engine)
        except TooLarge as problem:
            call.refusal, call.is_dropped = str(problem), True
            for table in call.tables:  # the engine need not compute once more what nobody will read
                engine.empty(table, _FIRST_CELL)
            return False

    def _evaluate(self, call: LiftedCall, given: tuple[object, ...], engine: Engine) -> bool:
        """Evaluate a call and put its value into the engine; whether it is another one. Raises TooLarge."""
        result, call.given = self._result(call, given), given
        if call.times > 1 and same((result,), (call.result,)):
            return False
        call.result = result
        if call.table:
            self._put_table(call, engine)
        elif call.put is not None:
            engine.put(*call.put, single(result[0][0] if isinstance(result, tuple) and result else result))
            self.ranges.note_put(call.put[0], call.put[2])
        return True

    def _result(self, call: LiftedCall, given: tuple[object, ...]) -> object:
        """The value of a call for these arguments; raises TooLarge."""
        self.work += WORK_OF_CALL
        call.times += 1
        self.counted()
        kinds = set(map(type, given))
        call.refusal = ""
        if Uncomputed in kinds:
            call.refusal = next(value.why for value in given if isinstance(value, Uncomputed))
            return CellError("#N/A")
        if tuple not in kinds:
            return whole(call.evaluate(given))
        ranges = [index for index, value in enumerate(given) if isinstance(value, tuple)]
        asked = (
            call.name,
            *(id(value) if index in ranges else (type(value), value) for index, value in enumerate(given)),
        )
        if asked not in self._results:
            self.ranges.spend(work_of(call.name, given))
            if len(self._results) >= MOST_RESULTS:
                self._results.clear()
            self._results[asked] = given, whole(call.evaluate(given))
        return self._results[asked][1]

    def _put_table(self, call: LiftedCall, engine: Engine) -> None:
        """Put a call's values on its helper sheet, and change the formulas that name the cells; raises TooLarge."""
        rows = call.rows
        self.ranges.spend(size(rows))
        for number, row in enumerate(rows, 1):
            for column, value in enumerate(row, 1):
                engine.put(call.table, number, column, single(value))
        for holder in call.holders:
            engine.put_formula(*holder.place, holder.formula(), holder.area)


def _fix(calls: Sequence[LiftedCall], engine: Engine) -> None:
    """Put what arguments give that read nothing but typed cells in the place of their formulas, computed once."""
    for call in calls:
        for place in call.fixed:
            value = engine.value(*place)
            if isinstance(value, (float, str)):
                engine.put(*place, value)
        call.fixed = ()
