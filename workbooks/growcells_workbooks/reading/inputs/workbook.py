"""The sheets of an .xlsx or .xlsm workbook, with the values that its formulas have now.

Element and attribute names: ISO/IEC 29500-1, 18.3.1 (worksheets), 18.4 (shared strings), 18.8 (styles).
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import islice
from pathlib import Path

from growcells.cells.errors import CellError

from ...carrying.marks import SHEET, note_of
from ...gate import FileProblem, Progress
from ...recalculation import ComputedValues, computed_values
from ...recalculation.cells import Area, Value, read_area
from ...recalculation.package import Package
from .given import Input, hidden_note, in_order
from .log_cells import PROGRESS_STEP, LogCell, Place, Sheet, sheet_of
from .serials import GENERAL, known_formats
from .worksheet import NAMESPACE, WorksheetReader, is_blank, text_of, xml_elements

_DAMAGE = (*(zipfile.BadZipFile, zlib.error, EOFError), *(LookupError, ValueError, TypeError, OSError, SyntaxError))
"""The errors in which damage to a workbook shows."""
_MERGED = re.compile(rb"""mergeCell\s[^>]*?\bref\s*=\s*["']([A-Z0-9:]+)["']""")
_HIDDEN = re.compile(rb"""<row\s[^>]*?\bhidden\s*=\s*["'](?:1|true)["']""")
_COLUMN = re.compile(rb"<col\s[^>]*>")
_ATTRIBUTE = re.compile(rb"""\b(min|max|hidden)\s*=\s*["'](\w+)["']""")
CORE_PROPERTIES = "docProps/core.xml"
_CATEGORY = re.compile(rb"<(?:\w+:)?category>([^<]*)<")
_FORMULA = re.compile(rb"<f[ >][^<]*")
_CALL = re.compile(rb"GROW_[A-Z0-9_]+")


def read_workbook(path: Path, as_of: date | None, progress: Progress) -> Input:
    """The sheets of a workbook, which is opened once and only read. Raises FileProblem."""
    package = Package(path)
    computed = computed_values(package, as_of, progress)
    parts = {title: package.read(part) for title, part in package.book.sheets.items() if title != SHEET}
    formulas = (formula for part in parts.values() for formula in _FORMULA.findall(part))
    hidden = (hidden_note(title, *_hidden(part)) for title, part in parts.items())
    return Input(
        sheets_of(package, parts, computed, progress),
        computed.formulas,
        in_order({name.decode() for formula in formulas for name in _CALL.findall(formula)}),
        computed.failed,
        computed.kept,
        computed.resting,
        notes=(*computed.notes, *(note for note in (*hidden, note_of(package.book)) if note)),
        category=_category(package),
    )


def _category(package: Package) -> str:
    """What kind of document the properties of a workbook say it is."""
    found = _CATEGORY.search(package.read(CORE_PROPERTIES)) if CORE_PROPERTIES in package.parts() else None
    return found[1].decode(errors="replace") if found else ""


def sheets_of(
    package: Package,
    parts: Mapping[str, bytes],
    computed: ComputedValues | None = None,
    progress: Progress | None = None,
) -> list[Sheet]:
    """Sheets of a workbook by their titles and XML, with values as computed, or as stored where none are given.

    Raises FileProblem where they are damaged.
    """
    try:
        reader = WorksheetReader(_strings(package), _number_formats(package), package.book.starts_1904)
        sheets = []
        for title, part in parts.items():
            values = computed.values.get(title, {}) if computed else {}
            without = computed.without.get(title, {}) if computed else {}
            filled = {*values, *without}
            cells = reader.cells(title, part, filled)
            if filled:
                cells = _as_computed(reader, cells, values, without)
            if progress:
                cells = _told(title, cells, part.count(b"<c "), progress)
            sheets.append(sheet_of(title, cells, reader.epoch, _merged_areas(part), filled))
        return sheets
    except _DAMAGE as why:
        reason = " ".join(str(why).split())
        raise FileProblem(
            f"{package.path} cannot be opened as a workbook: take a whole copy of it ({reason})"
        ) from None


def _told(title: str, cells: Iterable[LogCell], total: int, progress: Progress) -> Iterator[LogCell]:
    told, left = 0, iter(cells)
    while some := list(islice(left, PROGRESS_STEP)):
        yield from some
        if len(some) == PROGRESS_STEP:
            told += PROGRESS_STEP
            progress(f"reading {title}", told, max(total, told))


def _as_computed(
    reader: WorksheetReader,
    cells: Iterable[LogCell],
    values: Mapping[Place, Value],
    without: Mapping[Place, CellError],
) -> Iterator[LogCell]:
    """Cells with the values of those that formulas fill in place of what the file stores."""
    for cell in cells:
        place = cell.row, cell.column
        if place in without:
            cell.value = without[place]
        elif place in values:
            cell.value = reader.shown_as(values[place], cell.number_format)
        if not is_blank(cell.value):
            yield cell


def _strings(package: Package) -> list[str]:
    """The shared strings of a workbook."""
    part = package.book.shared_strings
    if part is None:
        return []
    return [text_of(element) for element in xml_elements(package.read(part), "si")]


def _number_formats(package: Package) -> list[str]:
    """The number format of each cell style of a workbook, by its number."""
    from lxml import etree

    part = package.book.styles
    if part is None:
        return []
    own: dict[str, str] = {}
    used: list[str] = []
    space = f"{{{NAMESPACE}}}"
    for _, element in etree.iterparse(io.BytesIO(package.read(part)), resolve_entities=False):
        if element.tag == f"{space}numFmt":
            own[element.get("numFmtId", "")] = element.get("formatCode", "")
        elif element.tag == f"{space}cellXfs":
            used = [xf.get("numFmtId", "0") for xf in element.iterchildren(f"{space}xf")]
    return [own.get(number) or known_formats().get(int(number), GENERAL) for number in used]


def _merged_areas(part: bytes) -> Iterator[Area]:
    """The merged areas of a worksheet part: they stand behind its cells (18.3.1.55)."""
    return (read_area(match[1].decode()) for match in _MERGED.finditer(part, part.rfind(b"sheetData")))


def _hidden(part: bytes) -> tuple[int, int]:
    """How many rows and columns of a worksheet part do not show."""
    columns = 0
    for tag in _COLUMN.findall(part, 0, max(part.find(b"<sheetData"), 0)):
        attributes = dict(_ATTRIBUTE.findall(tag))
        if attributes.get(b"hidden") in (b"1", b"true") and {b"min", b"max"} <= attributes.keys():
            columns += int(attributes[b"max"]) - int(attributes[b"min"]) + 1
    return len(_HIDDEN.findall(part)), columns
