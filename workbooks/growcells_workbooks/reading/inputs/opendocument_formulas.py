"""The formulas of an .ods file: which call growcells functions, and whether their stored values are still so.

LibreOffice stores a call of an add-in function by its inner name, ``of:=GROWCELLS.FUNCTIONS.GROWDOSE([.A1];2)``.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache

from openpyxl.utils.datetime import to_excel

from growcells import CellFunction, functions
from growcells.cells.errors import CellError
from growcells_addin.libreoffice.component import SERVICE, method_name

from ...recalculation import FailedCell
from ...recalculation.cells import column_number
from ..cells import LogCell, shown
from ..grid import Sheet
from .given import Outdated, in_order

CLOSE = 1e-9
"""Relative difference of numbers that are the same: LibreOffice stores 15 digits. Ours."""

_PREFIX = re.compile(r"^(?:[a-z]+:)?=", re.IGNORECASE)
_NAME = re.compile(rf"\b(?:{re.escape(SERVICE)}\.(?P<method>\w+)|(?P<plain>GROW_\w+))(?=\s*\()", re.IGNORECASE)
_REFERENCE = re.compile(
    r"\[(?:\$?(?:'(?P<quoted>(?:[^']|'')+)'|(?P<bare>[^'.#\]$]+)))?\.\$?(?P<left>[A-Z]{1,3})\$?(?P<top>\d+)"
    r"(?::(?:\$?(?:'(?:[^']|'')+'|[^'.#\]$]+))?\.\$?(?P<right>[A-Z]{1,3})\$?(?P<bottom>\d+))?\]"
)
_TEXT = re.compile(r'"((?:[^"]|"")*)"')
_NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?")
_NEXT = re.compile(r"\s*(;|$)")


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula of a sheet, the cell that it stands in, and the rows and columns that an array formula fills."""

    cell: LogCell
    text: str
    rows: int = 1
    columns: int = 1


@dataclass
class Checked:
    """What is to be said of the formulas of a file."""

    functions: tuple[str, ...] = ()
    failed: tuple[FailedCell, ...] = ()
    outdated: tuple[Outdated, ...] = ()
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class _Call:
    """A formula that is one call of a growcells function with values and references for arguments."""

    function: CellFunction
    arguments: list[object]


class _Unchecked(Exception):
    """The formula is more than such a call."""


def checked(sheets: Sequence[Sheet], formulas: Mapping[str, Sequence[Formula]]) -> Checked:
    """Compute those formulas anew that are one call of a growcells function, on the values stored.

    A cell whose stored value is an error gets to know why, as far as that can be told.
    """
    pages = {sheet.title: sheet for sheet in sheets}
    used: set[str] = set()
    failed: list[FailedCell] = []
    outdated: list[Outdated] = []
    unchecked = calling = 0
    for title, listed in formulas.items():
        for formula in listed:
            names = _called(formula.text)
            used |= names
            now: object = None
            if names:
                calling += 1
                try:
                    call = _call(formula.text, title, pages)
                    now = call.function.evaluate(call.arguments)
                    outdated += _differing(pages[title], formula, now)
                except _Unchecked:
                    unchecked += 1
            if isinstance(formula.cell.value, CellError):
                why = now.message if isinstance(now, CellError) else "LibreOffice stored this error: mend it there"
                formula.cell.value = CellError(formula.cell.value.code, why)
                code = formula.cell.value.code
                failed.append(FailedCell(title, formula.cell.name, written(formula.text), code, why))
    note = (
        f"{unchecked:,} of {calling:,} formulas with growcells functions have the values that LibreOffice stored; "
        "they are more than one call on cells and plain values, so that they were not computed anew"
    )
    return Checked(in_order(used), tuple(failed), tuple(outdated), (note,) if unchecked else ())


@cache
def _methods() -> Mapping[str, str]:
    """The names of functions by those that LibreOffice gives them, in lower case."""
    return {method_name(name).lower(): name for name in functions()}


def _name(match: re.Match[str]) -> str:
    """The name of the function that a formula calls, as people type it."""
    if match["plain"]:
        return match["plain"].upper()
    return _methods().get(match["method"].lower(), match[0])


def _called(formula: str) -> set[str]:
    """The growcells functions that a formula calls; what stands in a text is no call."""
    return {name for match in _NAME.finditer(_TEXT.sub('""', formula)) if (name := _name(match)) in functions()}


def written(formula: str) -> str:
    """A formula as LibreOffice shows it: ``=GROW_DOSE(A1;2)``."""
    plain = _PREFIX.sub("=", _NAME.sub(_name, formula))
    return re.sub(r"\[([^\]]*)\]", lambda match: match[1].replace(":.", ":").removeprefix("."), plain)


def _call(formula: str, title: str, pages: Mapping[str, Sheet]) -> _Call:
    """The one call that a formula is. Raises _Unchecked where it is more than that."""
    start = _PREFIX.match(formula)
    match = _NAME.match(formula, start.end() if start else 0)
    if match is None or not formula.rstrip().endswith(")"):
        raise _Unchecked
    inside = formula.rstrip()[match.end() :].lstrip()[1:-1]
    arguments: list[object] = []
    place = 0
    while place < len(inside):
        place, value = _argument(inside, place, title, pages)
        end = _NEXT.match(inside, place)
        if end is None:
            raise _Unchecked
        arguments.append(value)
        place = end.end()
        if end[1] and place == len(inside):
            arguments.append(None)
    return _Call(functions()[_name(match)], arguments)


def _argument(text: str, start: int, title: str, pages: Mapping[str, Sheet]) -> tuple[int, object]:
    """Where an argument ends, and its value. Raises _Unchecked where it is no plain value or reference."""
    start += len(text[start:]) - len(text[start:].lstrip())
    if text[start] == ";":
        return start, None
    if match := _TEXT.match(text, start):
        return match.end(), match[1].replace('""', '"')
    if match := _NUMBER.match(text, start):
        return match.end(), float(match[0])
    if match := _REFERENCE.match(text, start):
        name = match["quoted"].replace("''", "'") if match["quoted"] else match["bare"]
        sheet = pages.get(name or title)
        if sheet is not None:
            return match.end(), _referred(sheet, match)
    raise _Unchecked


def _referred(sheet: Sheet, match: re.Match[str]) -> object:
    """What a function is handed for a reference: LibreOffice makes 0 of a single blank cell."""
    top, left = int(match["top"]), column_number(match["left"])
    if match["bottom"] is None:
        value = _handed(sheet, top, left)
        return 0.0 if value is None else value
    last = min(int(match["bottom"]), max(sheet.rows, default=0))
    columns = range(left, column_number(match["right"]) + 1)
    return tuple(tuple(_handed(sheet, row, column) for column in columns) for row in range(top, last + 1)) or ((None,),)


def _handed(sheet: Sheet, row: int, column: int) -> object:
    """The value of a cell as LibreOffice hands it to a function."""
    cell = sheet.rows.get(row, {}).get(column)
    return None if cell is None else _plain(cell.value, sheet.epoch)


def _plain(value: object, epoch: datetime.datetime) -> object:
    """A value with dates, times and truths as the numbers that they are to formulas."""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        return float(to_excel(value, epoch))  # type: ignore[no-untyped-call]
    return float(value) if isinstance(value, (int, bool)) else value


def _differing(sheet: Sheet, formula: Formula, now: object) -> list[Outdated]:
    """The cells of a formula whose stored value is not the one that it gives now."""
    table = now if isinstance(now, tuple) else ((now,),)
    found = []
    for down, row in enumerate(table[: formula.rows]):
        for across, value in enumerate((row if isinstance(row, tuple) else (row,))[: formula.columns]):
            place = formula.cell.row + down, formula.cell.column + across
            stored = _handed(sheet, *place)
            if not _same(stored, _plain(value, sheet.epoch)):
                name = LogCell("", *place, None).name
                told = [str(each) if isinstance(each, CellError) else shown(each or "") for each in (stored, value)]
                found.append(Outdated(sheet.title, name, written(formula.text), *told))
    return found


def _same(stored: object, now: object) -> bool:
    if isinstance(stored, CellError) or isinstance(now, CellError):
        return isinstance(stored, CellError) and isinstance(now, CellError)
    if isinstance(stored, float) and isinstance(now, float):
        return math.isclose(stored, now, rel_tol=CLOSE, abs_tol=CLOSE)
    return (stored or "") == (now or "") or (not stored and not now)
