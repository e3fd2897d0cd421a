"""The formulas of an .ods file: which call growcells functions, and whether their stored values are still so.

They are written as Excel writes them and computed beside the values that LibreOffice stored for all other cells.
LibreOffice stores a call of an add-in function by its inner name: ``of:=GROWCELLS.FUNCTIONS.GROWDOSE([.A1];2)``.
The syntax of formulas: OpenDocument 1.3 (ISO/IEC 26300), part 4.
"""

from __future__ import annotations

import datetime
import html
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from growcells import functions
from growcells.cells.errors import CellError
from growcells_addin.libreoffice.component import SERVICE, method_name

from ...gate import Progress
from ...recalculation import FailedCell, computed_values
from ...recalculation.cells import cell_name
from ...recalculation.days import EPOCH_1900, EPOCH_1904
from ...recalculation.package import Book, Package
from ...recalculation.references import quoted
from ..model.found import Outdated
from .given import in_order
from .log_cells import LogCell, Place, Sheet, shown

CLOSE = 1e-9
"""Relative difference of numbers that are the same: LibreOffice stores 15 digits. Ours."""
_PREFIX = re.compile(r"^(?:[a-z]+:)?=", re.IGNORECASE)
_NAME = re.compile(rf"\b(?:{re.escape(SERVICE)}\.(?P<method>\w+)|(?P<plain>GROW_\w+))(?=\s*\()", re.IGNORECASE)
_PIECE = re.compile(r"""(?P<text>"(?:[^"]|"")*")|\[(?P<reference>[^\]]*)\]|(?P<braces>\{[^{}]*\})|(?P<between>;)""")
_SHEET = r"(?:\$?(?P<{0}>'(?:[^']|'')+'|[^'.#$]+))?"
_CELL = r"\$?[A-Z]{1,3}\$?\d+"
_REFERENCE = re.compile(
    _SHEET.format("sheet")
    + r"\.(?P<first>\$?[A-Z]{1,3}\$?\d+)(?::"
    + _SHEET.format("other")
    + r"\.(?P<last>\$?[A-Z]{1,3}\$?\d+))?"
)
_TEXT = re.compile(r'"(?:[^"]|"")*"')
_ERRORS = frozenset({"#N/A", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#NULL!"})


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula of a sheet, the cell that it stands in, and the rows and columns that an array formula fills."""

    cell: LogCell
    text: str
    rows: int = 1
    columns: int = 1

    @property
    def places(self) -> Iterator[Place]:
        """The cells that it fills."""
        for row in range(self.cell.row, self.cell.row + self.rows):
            for column in range(self.cell.column, self.cell.column + self.columns):
                yield row, column


@dataclass(frozen=True)
class Checked:
    """What is to be said of the formulas of a file."""

    functions: tuple[str, ...] = ()
    failed: tuple[FailedCell, ...] = ()
    outdated: tuple[Outdated, ...] = ()
    notes: tuple[str, ...] = ()


class _Untranslatable(Exception):
    """A formula that Excel has no words for."""


def checked(
    path: Path,
    sheets: Sequence[Sheet],
    formulas: Mapping[str, Sequence[Formula]],
    names: Mapping[str, str],
    as_of: datetime.date | None,
    progress: Progress,
) -> Checked:
    """Compute the formulas with growcells functions anew, on the values stored for the other cells.

    ``formulas`` are by the titles of all sheets, ``names`` the definitions of names of the whole file. A cell whose
    stored value is an error gets to know why, as far as that can be told.
    """
    used = {name for listed in formulas.values() for formula in listed for name in _called(formula.text)}
    calling = {title: [each for each in listed if _called(each.text)] for title, listed in formulas.items()}
    total = sum(map(len, calling.values()))
    outdated: list[Outdated] = []
    why: dict[LogCell, str] = {}
    unchecked = 0
    if total:
        computed = computed_values(_AsWorkbook(path, sheets, calling, names), as_of, progress)
        for sheet in sheets:
            now: dict[Place, object] = {**computed.values[sheet.title], **computed.without[sheet.title]}
            for formula in calling[sheet.title]:
                value = now.get((formula.cell.row, formula.cell.column), NOT_COMPUTED)
                if isinstance(value, CellError) and value.code in UNKNOWN:
                    unchecked += 1
                    continue
                if isinstance(value, CellError):
                    why[formula.cell] = value.message
                outdated += _differing(sheet, formula, now)
    failed = [
        _failed(formula, why.get(formula.cell, STORED))
        for listed in formulas.values()
        for formula in listed
        if isinstance(formula.cell.value, CellError)
    ]
    note = (
        f"{unchecked:,} of {total:,} formulas with growcells functions cannot be computed here: they have the values "
        "that LibreOffice stored"
    )
    return Checked(in_order(used), tuple(failed), tuple(outdated), (note,) if unchecked else ())


NOT_COMPUTED = CellError("no value")
UNKNOWN = frozenset({NOT_COMPUTED.code, "#NAME?"})
"""The codes of formulas that cannot be computed here, also where they use a name that only LibreOffice knows."""
STORED = "LibreOffice stored this error: mend it there"


def _failed(formula: Formula, why: str) -> FailedCell:
    cell = formula.cell
    assert isinstance(cell.value, CellError)
    cell.value = CellError(cell.value.code, why)
    return FailedCell(cell.sheet, cell.name, written(formula.text), cell.value.code, why)


def _differing(sheet: Sheet, formula: Formula, now: Mapping[Place, object]) -> Iterator[Outdated]:
    """The cells of a formula whose stored value is not the one that it gives now."""
    for place in formula.places:
        value = now.get(place)
        cell = sheet.rows.get(place[0], {}).get(place[1])
        stored = None if cell is None else _plain(cell.value, sheet.epoch)
        if not _same(stored, value):
            texts = ("" if each is None else shown(each) for each in (stored, value))
            yield Outdated(sheet.title, cell_name(*place), written(formula.text), *texts)


def _same(stored: object, now: object) -> bool:
    if isinstance(stored, CellError) or isinstance(now, CellError):
        return isinstance(stored, CellError) and isinstance(now, CellError)
    if isinstance(stored, float) and isinstance(now, float):
        return math.isclose(stored, now, rel_tol=CLOSE, abs_tol=CLOSE)
    return (stored or "") == (now or "")


@cache
def _methods() -> Mapping[str, str]:
    """The names of functions by those that LibreOffice gives them, in lower case."""
    return {method_name(name).lower(): name for name in functions()}


def _name(match: re.Match[str]) -> str:
    """The name of the function that a formula calls, as people type it."""
    return match["plain"].upper() if match["plain"] else _methods().get(match["method"].lower(), match[0])


def _called(formula: str) -> set[str]:
    """The growcells functions that a formula calls; what stands in a text is no call."""
    return {name for match in _NAME.finditer(_TEXT.sub('""', formula)) if (name := _name(match)) in functions()}


def written(formula: str) -> str:
    """A formula as Excel shows it, ``=GROW_DOSE(A1,2)``; where Excel has no words for it, as the file has it."""
    try:
        return "=" + translated(formula)
    except _Untranslatable:
        return _PREFIX.sub("=", formula)


def translated(formula: str) -> str:
    """A formula as Excel writes it into a file, without the first sign. Raises _Untranslatable."""
    return _PIECE.sub(_piece, _NAME.sub(_name, _PREFIX.sub("", formula)))


def _defined(content: str) -> str:
    """The definition of a name as Excel writes it, "" where Excel has no words for it."""
    try:
        return translated(content)
    except _Untranslatable:
        return ""


def _piece(match: re.Match[str]) -> str:
    if match["text"]:
        return match["text"]
    if match["braces"]:
        return re.sub(r"[;|]", lambda sign: "," if sign[0] == ";" else ";", match["braces"])
    if match["between"]:
        return ","
    reference = _REFERENCE.fullmatch(match["reference"])
    if reference is None or reference["other"]:  # an area of several sheets, another file
        raise _Untranslatable
    sheet = reference["sheet"] or ""
    cells = reference["first"] + (f":{reference['last']}" if reference["last"] else "")
    return f"{quoted(sheet.strip(chr(39)).replace(chr(39) * 2, chr(39)))}!{cells}" if sheet else cells


class _AsWorkbook(Package):
    """The sheets of an .ods file as a workbook in memory, with only those formulas that are to be computed."""

    def __init__(
        self,
        path: Path,
        sheets: Sequence[Sheet],
        formulas: Mapping[str, Sequence[Formula]],
        names: Mapping[str, str],
    ) -> None:
        self.path = path
        self.book = Book(
            sheets={sheet.title: sheet.title for sheet in sheets},
            names={(None, name.upper()): text for name, content in names.items() if (text := _defined(content))},
            starts_1904=any(sheet.epoch == EPOCH_1904 for sheet in sheets),
        )
        self._sheets = {sheet.title: sheet for sheet in sheets}
        self._formulas = formulas

    def read(self, part: str) -> bytes:
        """A sheet as the part of a workbook."""
        sheet = self._sheets[part]
        texts = dict(_formula_elements(self._formulas.get(part, ())))
        filled = {row: {column: cell.value for column, cell in cells.items()} for row, cells in sheet.rows.items()}
        for row, column in texts:
            filled.setdefault(row, {}).setdefault(column, None)
        rows = (
            f'<row r="{row}">'
            + "".join(
                _cell_element((row, column), cells[column], texts.get((row, column)), sheet.epoch)
                for column in sorted(cells)
            )
            + "</row>"
            for row, cells in sorted(filled.items())
        )
        space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
        return f'<worksheet xmlns="{space}"><sheetData>{"".join(rows)}</sheetData></worksheet>'.encode()


def _formula_elements(formulas: Sequence[Formula]) -> Iterator[tuple[Place, str]]:
    """The formula elements by their places; of those that Excel has words for."""
    for formula in formulas:
        try:
            text = html.escape(translated(formula.text), quote=False)
        except _Untranslatable:
            continue
        first = formula.cell.row, formula.cell.column
        if formula.rows * formula.columns == 1:
            yield first, f"<f>{text}</f>"
            continue
        *_, last = formula.places
        for place in formula.places:
            yield place, ""
        yield first, f'<f t="array" ref="{cell_name(*first)}:{cell_name(*last)}">{text}</f>'


def _cell_element(place: Place, value: object, formula: str | None, epoch: datetime.datetime) -> str:
    """A cell with its value, or with its formula and no value."""
    name = cell_name(*place)
    if formula is not None:
        return f'<c r="{name}">{formula}</c>'
    plain = _plain(value, epoch)
    if isinstance(plain, float):
        return f'<c r="{name}"><v>{plain!r}</v></c>'
    if isinstance(plain, bool):
        return f'<c r="{name}" t="b"><v>{plain:d}</v></c>'
    if isinstance(plain, CellError):
        return f'<c r="{name}" t="e"><v>{plain.code if plain.code in _ERRORS else "#VALUE!"}</v></c>'
    text = html.escape(str(plain), quote=False)
    return f'<c r="{name}" t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'


def _plain(value: object, epoch: datetime.datetime) -> object:
    """A value with dates and times as the numbers that they are to formulas."""
    if isinstance(value, (datetime.date, datetime.time, datetime.timedelta)):
        from openpyxl.utils.datetime import to_excel

        known = EPOCH_1904 if epoch == EPOCH_1904 else EPOCH_1900
        return float(to_excel(value, known))  # type: ignore[no-untyped-call]
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
