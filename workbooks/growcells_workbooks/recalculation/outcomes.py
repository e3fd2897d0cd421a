"""What is to be told of the formulas of a computation: which failed and why, which were kept, which rest on those."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from formualizer import TokenSubType

from growcells import functions

from ..gate import FileProblem
from .cells import ErrorValue, cell_name, read_area
from .computation import CellPlace, Computation
from .references import quoted, references_in
from .results import FailedCell, KeptCell, RestingCell
from .tokens import is_operand, tokens_of

_MOST_SEARCHED = 1_000  # cells of a range that are searched for the error that a formula passes on: ours

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


def failed_cells(computation: Computation) -> Iterator[FailedCell]:
    """The formulas whose value is an error, in the order of the file."""
    for name, sheet in computation.sheets.items():
        for place, value in sheet.values.items():
            if isinstance(value, ErrorValue) and place in sheet.written:
                why = _why(computation, (name, *place), value.code)
                yield FailedCell(name, cell_name(*place), "=" + sheet.written[place], value.code, why)


def _why(computation: Computation, place: CellPlace, code: str) -> str:
    name, row, column = place
    formula = computation.sheets[name].formulas[row, column]
    reasons: list[tuple[Call, str]] = []
    for call in calls_in(formula, frozenset(functions()), name):
        if "_xlpm." not in call.arguments:  # a variable of LET or LAMBDA means nothing outside of it
            question = f'GROW_WHY("{call.name}"{"," if call.arguments else ""}{call.arguments})'
            answer = computation.engine.answer(question, row, column)
            if isinstance(answer, str) and answer != "OK":
                reasons.append((call, answer))
    if reasons:
        # Of the branches of an IF only one is taken: there another error in place of the call shows.
        other = "NA()" if code != "#N/A" else "1/0"
        taken = (
            reason
            for call, reason in reasons
            if len(reasons) == 1
            or computation.engine.answer(f"{call.before}{other}{call.after}", row, column) != ErrorValue(code)
        )
        return next(taken, reasons[0][1])
    for sheet, area_text in references_in(formula, name):
        origin = _error_in(computation, sheet, area_text, code)
        if origin is not None:
            return f"it passes on the error of {origin}: mend that cell first"
    return _MEANINGS[code]


@dataclass(frozen=True)
class Call:
    """A call in a formula: its name, its arguments, and what stands before and after it."""

    name: str
    arguments: str
    before: str
    after: str


def calls_in(formula: str, names: frozenset[str], sheet: str) -> list[Call]:
    """Each call of one of ``names`` in an engine formula, innermost first.

    References get their sheet's name, so that the arguments mean the same on another sheet.
    """
    opened: list[tuple[str, int]] = []
    spans: list[tuple[str, int, int]] = []
    pieces: list[str] = []
    for token in tokens_of(formula):
        text = token.value
        if is_operand(token) and "!" not in text:
            text = f"{quoted(sheet)}!{text}"
        pieces.append(text)
        if token.subtype == TokenSubType.Open:
            opened.append((text[:-1].upper(), len(pieces)))
        elif token.subtype == TokenSubType.Close and opened:
            name, start = opened.pop()
            if name in names:
                spans.append((name, start, len(pieces)))
    return [
        Call(name, *("".join(part) for part in (pieces[start : end - 1], pieces[: start - 1], pieces[end:])))
        for name, start, end in spans
    ]


def _error_in(computation: Computation, sheet: str, area_text: str, code: str) -> str | None:
    """The first cell in an area whose value is this error."""
    try:
        area = read_area(area_text)
    except FileProblem:  # whole rows and columns
        return None
    if area.rows * area.columns > _MOST_SEARCHED:
        return None
    for place in area.places():
        if computation.engine.value(sheet, *place) == ErrorValue(code):
            return f"{sheet}!{cell_name(*place)}"
    return None


def kept_cells(computation: Computation) -> Iterator[KeptCell]:
    """The formulas whose stored value was kept, in the order of the file."""
    if not computation.kept:
        return
    for name, sheet in computation.sheets.items():
        for place, formula in sheet.written.items():
            why = computation.kept.get((name, *place))
            if why is not None:
                yield KeptCell(name, cell_name(*place), "=" + formula, why)


def resting_cells(computation: Computation) -> Iterator[RestingCell]:
    """The formulas that were computed from kept values, in the order of the file."""
    kept = computation.kept
    rests_on: dict[CellPlace, CellPlace] = {}
    waiting = deque((place, place) for place in kept)
    while waiting:
        read, kept_place = waiting.popleft()
        for dependent in computation.dependents(read):
            if dependent not in rests_on and dependent not in kept:
                rests_on[dependent] = kept_place
                waiting.append((dependent, kept_place))
    if not rests_on:
        return
    for name, sheet in computation.sheets.items():
        for (row, column), formula in sheet.written.items():
            origin = rests_on.get((name, row, column))
            if origin is not None:
                other, *other_place = origin
                yield RestingCell(name, cell_name(row, column), "=" + formula, f"{other}!{cell_name(*other_place)}")
