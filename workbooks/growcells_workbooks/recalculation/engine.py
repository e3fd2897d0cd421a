"""The ironcalc engine: a workbook of cells and native formulas, loaded, evaluated, read and changed.

It has no call-backs, so that it never sees a GROW_ call; what does not agree with Excel in it is in
``data/engine_gaps.csv``.
"""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

import ironcalc

from ..gate import FileProblem
from ..gate.problems import writing_problem
from .cells import Area, ErrorValue, Value
from .engine_files import package_of

_ERROR_TYPE = ironcalc.CellType.ErrorValue
NO_FIT, NOT_FOUND, NOT_PROVEN, TOO_LARGE, OTHER_NUMBER = "#FIT!", "#REF?", "#KIND?", "#POWER?", "#TEXT?"
NO_ONE_CELL, OTHER_SIGN = "#CELL?", "#SIGN?"
NOT_COMPUTED = {
    "#CIRC!": "it refers to itself, directly or through other cells",
    "#N/IMPL!": "the engine does not have a part of it",
    "#ERROR!": "the engine cannot read it",
    NO_FIT: "its result is smaller than the cells of its array formula",
    NO_ONE_CELL: "the engine does not take the one cell of each of its ranges that is in the own row or column",
    NOT_FOUND: "the engine does not find what a text in it names",
    TOO_LARGE: "the engine gives #DIV/0! for a power of zero and for one that is too large",
    OTHER_NUMBER: "it computes with a text that programs take for different numbers",
    OTHER_SIGN: "it joins a number to a text, which has another sign before its decimals in some languages",
    NOT_PROVEN: "a function in it is not proven equal to Excel for what its cells hold",
}
"""The engine's own errors, which no cell can hold, and what to say of them."""
_STACK_BYTES = 256 * 2**20  # the engine follows references by recursion: twice what a column of 100,000 sums took

Given = TypeVar("Given")


class Uncomputed:
    """What the engine gives for a cell that it cannot compute; ``why`` says it in a few words."""

    def __init__(self, code: str) -> None:
        self.code = code
        self.why = NOT_COMPUTED[code]


class Engine:
    """A workbook of these sheets in the engine; raises FileProblem where the engine cannot take it."""

    def __init__(self, sheets: Mapping[str, bytes], shared_strings: bytes | None) -> None:
        self._numbers = {name: number for number, name in enumerate(sheets)}
        with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
            path = Path(folder, "book.xlsx")  # the engine reads files alone
            try:
                path.write_bytes(package_of(sheets, shared_strings))
            except OSError as problem:
                raise writing_problem(path, problem) from None
            self._model = _guarded(lambda: ironcalc.load_from_xlsx(str(path), "en", "UTC", "en"))

    def compute(self) -> None:
        """Compute every formula."""
        _guarded(self._model.evaluate)

    def value(self, sheet: str, row: int, column: int) -> Value | ErrorValue | Uncomputed:
        """The value of a cell after compute()."""
        number = self._numbers[sheet]
        value: Value = self._model.get_cell_value(number, row, column)
        return self._told(number, row, column, value) if value.__class__ is str else value

    def values(self, sheet: str, places: Iterable[tuple[int, int]]) -> list[Value | ErrorValue | Uncomputed]:
        """The values of cells, by their rows and columns."""
        number, get, told = self._numbers[sheet], self._model.get_cell_value, self._told
        return [
            told(number, row, column, value) if (value := get(number, row, column)).__class__ is str else value
            for row, column in places
        ]

    def _told(self, number: int, row: int, column: int, value: str) -> str | ErrorValue | Uncomputed:
        """What the text of a cell means: itself, or an error."""
        if value[:1] != "#":
            return value
        if self._model.get_cell_type(number, row, column) != _ERROR_TYPE:
            return value
        return Uncomputed(value) if value in NOT_COMPUTED else _error(value)

    def block(self, sheet: str, area: Area) -> tuple[tuple[Value | ErrorValue | Uncomputed, ...], ...]:
        """The values of an area, row by row."""
        number, get, told = self._numbers[sheet], self._model.get_cell_value, self._told
        columns = range(area.first_column, area.last_column + 1)
        return tuple(
            tuple(
                [
                    told(number, row, column, value) if (value := get(number, row, column)).__class__ is str else value
                    for column in columns
                ]
            )
            for row in range(area.first_row, area.last_row + 1)
        )

    def filled(self, sheet: str) -> Area:
        """The area that has cells with something in them, from A1 on."""
        _, last_row, _, last_column = self._model.get_sheet_dimensions(self._numbers[sheet])
        return Area(1, 1, last_row, last_column)

    def is_empty(self, sheet: str, row: int, column: int) -> bool:
        return bool(self._model.is_empty_cell(self._numbers[sheet], row, column))

    def put(self, sheet: str, row: int, column: int, value: Value | ErrorValue) -> None:
        """Put a value into a cell in place of what stands there; raises FileProblem."""
        number, model = self._numbers[sheet], self._model
        if value.__class__ is float:
            model.update_cell_with_number(number, row, column, value)
        elif isinstance(value, bool):
            model.update_cell_with_bool(number, row, column, value)
        elif isinstance(value, str):
            model.update_cell_with_text(number, row, column, value)
        elif value is None:
            model.clear_cell_contents(number, row, column)
        else:
            assert isinstance(value, ErrorValue), value
            model.update_cell_with_formula(number, row, column, f"={value.code}")

    def put_formula(self, sheet: str, row: int, column: int, formula: str, area: Area | None = None) -> None:
        """Put a formula into a cell; with ``area`` as an array formula that fills it. Raises FileProblem."""
        number = self._numbers[sheet]
        if area is None:
            _guarded(lambda: self._model.update_cell_with_formula(number, row, column, "=" + formula))
        else:
            self.empty(sheet, area)  # no part of an array formula can be changed
            _guarded(
                lambda: self._model.set_user_array_formula(number, row, column, area.columns, area.rows, "=" + formula)
            )

    def empty(self, sheet: str, area: Area) -> None:
        """Empty the cells of an area, which holds array formulas whole; raises FileProblem."""
        corners = (area.first_row, area.first_column, area.last_row, area.last_column)
        _guarded(lambda: self._model.range_clear_contents(self._numbers[sheet], *corners))


@cache
def _error(code: str) -> ErrorValue:
    """An error, the same object for each code: a range may hold a million."""
    return ErrorValue(code)


def _guarded(action: Callable[[], Given]) -> Given:
    """Run an action of the engine with room for its recursion; raises FileProblem for whatever it raises."""
    outcome: list[Given] = []
    problems: list[BaseException] = []

    def run() -> None:
        try:
            outcome.append(action())
        except BaseException as problem:  # a panic in the engine is no Exception
            problems.append(problem)

    before = threading.stack_size(_STACK_BYTES)
    try:
        thread = threading.Thread(target=run, name="engine", daemon=True)
        thread.start()
    except RuntimeError:  # so Python says that there is no room for its stack
        raise MemoryError from None
    finally:
        threading.stack_size(before)
    thread.join()
    if problems:
        told = (str(problems[0]).splitlines() or ["for no reason that it tells"])[0]
        raise FileProblem(f"the workbook cannot be computed: {told[:200]}") from None
    return outcome[0]
