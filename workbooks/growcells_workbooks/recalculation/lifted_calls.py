"""One GROW_ call lifted out of a formula, the formulas that hold its value, and how values are written for each."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from growcells.cells.errors import CellError

from .cells import Area, ErrorValue, Value, column_letters
from .days import Evaluate
from .engine import Engine
from .handed_ranges import Rows
from .readers import CellPlace
from .references import quoted


@dataclass(slots=True)
class LiftedCall:
    """One call of one cell. ``read`` gives its arguments, ``put`` is where its value goes, if anywhere."""

    owner: CellPlace
    name: str
    evaluate: Evaluate
    read: tuple[Callable[[Engine], object], ...] = ()
    put: CellPlace | None = None
    table: str = ""
    """The helper sheet of a call that may give several cells."""
    holders: tuple[Holder, ...] = ()
    """The formulas that name the cells of its value."""
    tables: tuple[str, ...] = ()
    """The helper sheets of those of its arguments that may give several cells."""
    fixed: tuple[CellPlace, ...] = ()
    """The helper cells of arguments that the engine computes of nothing but what is typed."""
    depends: bool = False
    """Whether its arguments may change while the workbook is computed."""
    area: Area | None = None
    """The array formula that it stands in, if that has a fixed size."""
    given: tuple[object, ...] | None = None
    result: object = None
    times: int = 0
    refusal: str = ""
    is_dropped: bool = False
    """Whether it asks for too much, and is not looked at again."""

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


def whole(result: object) -> object:
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


def literal(text: str) -> object:
    """The value of a number, text, truth or error as a formula writes it."""
    if text.startswith('"'):
        return text[1:-1].replace('""', '"')
    if text.upper() in ("TRUE", "FALSE"):
        return text.upper() == "TRUE"
    if text.startswith("#"):
        return CellError(text)
    return float(text.replace(" ", ""))
