"""What is to be told of the formulas of a computation: which failed and why, which were kept, which rest on those."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from growcells import functions
from growcells.cells.errors import CellError
from growcells.families.help import ALL_WELL, EXPLAINING

from .cells import Area, ErrorValue, Value, cell_name
from .computation import Computation
from .lifted_calls import LiftedCall
from .readers import CellPlace
from .results import FailedCell, KeptCell, RestingCell
from .sheet_formulas import Sheet
from .sheet_xml import SheetCell

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


def value_of(computation: Computation, sheet: Sheet, cell: SheetCell) -> Value | ErrorValue:
    """The value that a formula cell has now, new or stored."""
    return sheet.values[cell.place] if cell.place in sheet.values else computation.stored(cell)


def failed_cells(computation: Computation) -> Iterator[FailedCell]:
    """The formulas whose value is an error, in the order of the file."""
    calls: dict[CellPlace, list[LiftedCall]] = {}
    for call in computation.lifting.calls:
        if isinstance(call.result, CellError):
            calls.setdefault(call.owner, []).append(call)
    taken = _taken(computation, {place: failing for place, failing in calls.items() if len(failing) > 1})
    for name, sheet in computation.sheets.items():
        errors = {place for place, value in sheet.values.items() if value.__class__ is ErrorValue}
        for cell in sheet.cells:
            if cell.formula_span is None or not (cell.type == "e" or cell.place in errors):
                continue
            value = value_of(computation, sheet, cell)
            place = (name, *cell.place)
            if isinstance(value, ErrorValue) and place not in computation.kept:
                formula = computation.formulas[place].written
                why = _why(computation, place, value.code, taken.get(place, calls.get(place, [])))
                yield FailedCell(name, cell.name, "=" + formula, value.code, why)


def _taken(computation: Computation, calls: Mapping[CellPlace, list[LiftedCall]]) -> dict[CellPlace, list[LiftedCall]]:
    """For formulas with several failing calls, those that its value hangs on: of an IF, the branch that is taken.

    Another error is put in the place of each, and the engine asked whether the formula's changes with it.
    """
    taken: dict[CellPlace, list[LiftedCall]] = {}
    if not calls:
        return taken
    engine = computation.engine
    before = {place: engine.value(*place) for place in calls}
    for number in range(max(map(len, calls.values()), default=0)):
        changed = [failing[number] for failing in calls.values() if number < len(failing)]
        changed = [call for call in changed if call.put is not None and call.put != call.owner]
        for call in changed:
            assert call.put is not None and isinstance(call.result, CellError)
            engine.put(*call.put, ErrorValue("#DIV/0!" if call.result.code != "#DIV/0!" else "#NUM!"))
        engine.compute()
        for call in changed:
            if engine.value(*call.owner) != before[call.owner]:
                taken.setdefault(call.owner, []).append(call)
        for call in changed:
            assert call.put is not None and isinstance(call.result, CellError)
            engine.put(*call.put, ErrorValue(call.result.code))
    if calls:
        engine.compute()
    return taken


def _why(computation: Computation, place: CellPlace, code: str, calls: Iterable[LiftedCall]) -> str:
    for call in calls:
        answer = functions()[EXPLAINING].evaluate([call.name, *(call.given or ())])
        if isinstance(answer, str) and answer != ALL_WELL:
            return answer
    formula = computation.formulas[place]
    for sheet, area in formula.cells_read():
        origin = _error_in(computation, sheet, area, code)
        if origin is not None:
            return f"it passes on the error of {origin}: mend that cell first"
    return _MEANINGS.get(code, "it gives an error of its own")


def _error_in(computation: Computation, sheet: str, area: Area, code: str) -> str | None:
    """The first cell in an area whose value is this error."""
    if area.rows * area.columns > _MOST_SEARCHED:
        return None
    for place in area.places():
        if computation.engine.value(sheet, *place) == ErrorValue(code):
            return f"{sheet}!{cell_name(*place)}"
    return None


def kept_cells(computation: Computation) -> Iterator[KeptCell]:
    """The formulas that would have to be computed and keep their stored value, in the order of the file."""
    for place, why in computation.kept.items():
        yield KeptCell(place[0], cell_name(*place[1:]), "=" + computation.formulas[place].written, why)


def resting_cells(computation: Computation) -> Iterator[RestingCell]:
    """The formulas that depend on kept values, in the order of the file."""
    if not computation.resting:
        return
    for place, formula in computation.formulas.items():
        origin = computation.resting.get(place)
        if origin is not None:
            where = f"{origin[0]}!{cell_name(*origin[1:])}"
            yield RestingCell(place[0], cell_name(*place[1:]), "=" + formula.written, where)
