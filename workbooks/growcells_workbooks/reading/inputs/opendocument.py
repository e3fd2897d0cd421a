"""The sheets of an .ods file, with the values that LibreOffice stored for its formulas.

Element and attribute names: OpenDocument 1.3 (ISO/IEC 26300), part 3, 9 (tables) and 19 (attributes).
"""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from growcells.cells.errors import CellError

from ...gate import FileProblem, Progress, opened_zip, read_file
from ...gate.zip_parts import damage_named
from ...recalculation.cells import MAX_COLUMNS, MAX_ROWS, Area
from ...recalculation.days import EPOCH_1900
from .given import Input, hidden_note
from .log_cells import PROGRESS_STEP, LogCell, Place, Sheet, sheet_of
from .opendocument_formulas import Formula, checked
from .opendocument_styles import NumberFormats
from .serials import GENERAL, shows_duration
from .worksheet import is_blank, number_of

MEDIA_TYPES = (
    b"application/vnd.oasis.opendocument.spreadsheet",
    b"application/vnd.oasis.opendocument.spreadsheet-template",
)
MANIFEST = "META-INF/manifest.xml"
MOST_CELLS = 5_000_000
"""Filled cells of a file that are read: ours, some five times a log of 100,000 rows."""
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_CALCULATED = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}value-type"
_SHEET, _COLUMN, _ROW, _CELL, _COVERED, _EPOCH = (
    f"{_TABLE}{name}"
    for name in ("table", "table-column", "table-row", "table-cell", "covered-table-cell", "null-date")
)
_NAMED_RANGE, _NAMED_EXPRESSION = f"{_TABLE}named-range", f"{_TABLE}named-expression"
_STYLES = f"{_OFFICE}automatic-styles"
_KIND, _NUMBER, _DATE, _TIME, _TRUTH, _STRING = (
    f"{_OFFICE}{name}" for name in ("value-type", "value", "date-value", "time-value", "boolean-value", "string-value")
)
_NAME = f"{_TABLE}name"
_FORMULA, _STYLE, _REPEATED = f"{_TABLE}formula", f"{_TABLE}style-name", f"{_TABLE}number-columns-repeated"
_PARAGRAPH, _SPACES, _TAB, _BREAK = (f"{_TEXT}{name}" for name in ("p", "s", "tab", "line-break"))
_SPANS = tuple(f"{_TABLE}number-{lines}-spanned" for lines in ("rows", "columns"))
_MATRIX = tuple(f"{_TABLE}number-matrix-{lines}-spanned" for lines in ("rows", "columns"))
_DURATION = re.compile(r"(?P<sign>-?)P(?:(\d+)D)?T?(?:(\d+)H)?(?:(\d+)M)?(?:([\d.]+)S)?")
_DAMAGE = (etree.XMLSyntaxError, LookupError, ValueError, OverflowError)


def read_opendocument(path: Path, as_of: datetime.date | None, progress: Progress) -> Input:
    """The sheets of an .ods file, which is only read.

    Formulas with growcells functions are computed anew, TODAY giving ``as_of``, and said where they now give another
    value. Raises FileProblem.
    """
    parts = _Parts(path, opened_zip(path, _bytes_of(path)))
    parts.check_kind()
    styles, content = parts.read("styles.xml"), parts.read("content.xml")
    try:
        reading = _Reading(NumberFormats(styles), progress)
        for found in _elements(content):
            reading.take(*found)
    except _DAMAGE as why:
        reason = " ".join(str(why).split())
        raise FileProblem(f"{path} cannot be opened as a workbook: take a whole copy of it ({reason})") from None
    sheets = [page.sheet(reading.epoch) for page in reading.pages]
    if not sheets:
        raise FileProblem(f"{path} holds no sheet: give a log such as log.ods")
    formulas = {page.title: page.formulas for page in reading.pages}
    hidden = [hidden_note(page.title, page.hidden_rows, page.hidden_columns) for page in reading.pages]
    given = checked(path, sheets, formulas, reading.names, as_of, progress)
    return Input(
        sheets,
        sum(map(len, formulas.values())),
        given.functions,
        given.failed,
        outdated=given.outdated,
        notes=(*given.notes, *(note for note in hidden if note)),
    )


def _bytes_of(path: Path) -> bytes:
    data = read_file(path)
    if not data:
        raise FileProblem(f"{path} is empty: give a log such as log.ods")
    if not data.startswith(b"PK"):
        raise FileProblem(f"{path} is no OpenDocument workbook: open it in LibreOffice and save it as .ods")
    return data


@dataclass(frozen=True)
class _Parts:
    """The parts of the zip file that a workbook is."""

    path: Path
    zip: zipfile.ZipFile

    def read(self, name: str) -> bytes:
        with damage_named(self.path, name):
            try:
                return self.zip.read(name)
            except KeyError:
                raise FileProblem(f"{self.path} is damaged: its part {name} is missing") from None

    def check_kind(self) -> None:
        """Raise FileProblem where this is no OpenDocument workbook, or one with a password."""
        names = self.zip.namelist()
        if "mimetype" not in names or self.read("mimetype").strip() not in MEDIA_TYPES:
            raise FileProblem(
                f"{self.path} is no OpenDocument workbook: where it is one of Excel's, give it the ending .xlsx"
            )
        if MANIFEST in names and b"encryption-data" in self.read(MANIFEST):
            raise FileProblem(f"{self.path} is protected by a password: take it off and save a copy")


def _elements(content: bytes) -> Iterator[tuple[str, etree._Element]]:
    """The elements that make up the sheets, in their order; rows when all of them is there, and then no longer."""
    tags = (_STYLES, _EPOCH, _SHEET, _COLUMN, _ROW, _NAMED_RANGE, _NAMED_EXPRESSION)
    inside = 0
    for event, element in etree.iterparse(io.BytesIO(content), ("start", "end"), tag=tags, resolve_entities=False):
        if element.tag == _SHEET:
            # A table in a cell of a table is none of its sheets.
            inside += 1 if event == "start" else -1
            if event == "start" and inside == 1:
                yield event, element
        elif event == "end" and inside < 2:
            yield event, element
            if element.tag == _ROW:
                element.clear()
                while element.getprevious() is not None:
                    del element.getparent()[0]


@dataclass
class _Page:
    """A sheet on its way."""

    title: str
    cells: list[LogCell] = field(default_factory=list)
    formulas: list[Formula] = field(default_factory=list)
    merged: list[Area] = field(default_factory=list)
    computed: set[Place] = field(default_factory=set)
    column_styles: list[str] = field(default_factory=list)
    rows: int = 0
    """Rows so far, blank ones too."""
    hidden_rows: int = 0
    hidden_columns: int = 0

    def sheet(self, epoch: datetime.datetime) -> Sheet:
        return sheet_of(self.title, self.cells, epoch, self.merged, self.computed)


@dataclass
class _Reading:
    """The sheets so far."""

    formats: NumberFormats
    progress: Progress
    epoch: datetime.datetime = EPOCH_1900
    pages: list[_Page] = field(default_factory=list)
    names: dict[str, str] = field(default_factory=dict)
    """What names are defined to be, as formulas."""
    count: int = 0

    def take(self, event: str, element: etree._Element) -> None:
        if element.tag == _SHEET:
            self.pages.append(_Page(element.get(_NAME, f"Sheet{len(self.pages) + 1}")))
        elif element.tag == _STYLES:
            self.formats.add(element)
        elif element.tag == _EPOCH:
            self.epoch = datetime.datetime.fromisoformat(element.get(f"{_TABLE}date-value", "1899-12-30"))
        elif element.tag == _NAMED_RANGE:
            self.names[element.get(_NAME, "")] = f"[{element.get(f'{_TABLE}cell-range-address', '')}]"
        elif element.tag == _NAMED_EXPRESSION:
            self.names[element.get(_NAME, "")] = element.get(f"{_TABLE}expression", "")
        elif self.pages and element.tag == _COLUMN:
            page, times = self.pages[-1], _times(element.get(_REPEATED), MAX_COLUMNS)
            page.column_styles += [element.get(f"{_TABLE}default-cell-style-name", "")] * times
            page.hidden_columns += times * _is_hidden(element)
        elif self.pages:
            self._take_row(self.pages[-1], element)

    def _take_row(self, page: _Page, row: etree._Element) -> None:
        times = _times(row.get(f"{_TABLE}number-rows-repeated"), MAX_ROWS)
        filled = list(self._filled(page, row))
        if self.count + times * sum(many for _, many, _, _ in filled) > MOST_CELLS:
            raise FileProblem(f"the log is refused: it holds more than {MOST_CELLS:,} filled cells, as no log does")
        page.hidden_rows += times * (_is_hidden(row) and bool(filled))
        for number in range(page.rows + 1, page.rows + 1 + times if filled else 0):
            for first, many, cell, value in filled:
                for column in range(first, first + many):
                    self._take_cell(page, number, column, row, cell, value)
        page.rows += times

    def _filled(self, page: _Page, row: etree._Element) -> Iterator[tuple[int, int, etree._Element, object]]:
        """The first column, number of columns, element and value of cells that are not blank."""
        column = 1
        for cell in row.iterchildren(_CELL, _COVERED):
            times = _times(cell.get(_REPEATED), MAX_COLUMNS)
            if len(cell.attrib) or len(cell):
                value = value_of(cell)
                if not is_blank(value) or cell.get(_FORMULA) is not None:
                    yield column, times, cell, value
            column += times

    def _take_cell(
        self, page: _Page, row: int, column: int, element: etree._Element, cell: etree._Element, value: object
    ) -> None:  # fmt: skip
        self.count += 1
        if self.count % PROGRESS_STEP == 0:
            self.progress(f"reading {page.title}", self.count, self.count)
        found = LogCell(page.title, row, column, value)
        if not isinstance(value, str):
            style = cell.get(_STYLE) or element.get(f"{_TABLE}default-cell-style-name")
            if not style and column <= len(page.column_styles):
                style = page.column_styles[column - 1]
            found.number_format = self.formats.of(style or "")
            if isinstance(value, datetime.timedelta):
                found.value = _time_of_day(value, found.number_format)
        if not is_blank(value):
            page.cells.append(found)
        rows, columns = (_times(cell.get(name), limit) for name, limit in zip(_SPANS, LIMITS, strict=True))
        if rows * columns > 1:
            page.merged.append(Area(row, column, row + rows - 1, column + columns - 1))
        formula = cell.get(_FORMULA)
        if formula is not None:
            rows, columns = (_times(cell.get(name), limit) for name, limit in zip(_MATRIX, LIMITS, strict=True))
            page.formulas.append(Formula(found, formula, rows, columns))
            page.computed.update(Area(row, column, row + rows - 1, column + columns - 1).places())


LIMITS = (MAX_ROWS, MAX_COLUMNS)


def _times(text: str | None, limit: int) -> int:
    return 1 if text is None else max(1, min(int(text), limit))


def _is_hidden(element: etree._Element) -> bool:
    return element.get(f"{_TABLE}visibility", "visible") != "visible"


def value_of(cell: etree._Element) -> object:
    """The value of a cell as its file says, None where it is blank; a time of day as a duration since midnight."""
    kind = cell.get(_KIND)
    if cell.get(_CALCULATED) == "error":
        return CellError(_text_of(cell) or "#VALUE!")
    if kind in ("float", "percentage", "currency"):
        return number_of(cell.get(_NUMBER, "").encode())
    if kind == "string":
        text = cell.get(_STRING)
        return _text_of(cell) if text is None else text
    if kind == "boolean":
        return cell.get(_TRUTH) == "true"
    if kind == "date":
        moment = _moment(cell.get(_DATE, ""))
        return _text_of(cell) if moment is None else moment
    if kind == "time":
        length = _duration(cell.get(_TIME, ""))
        return _text_of(cell) if length is None else length
    return _text_of(cell) or None


def _text_of(cell: etree._Element) -> str:
    """What a cell shows."""
    return "\n".join(_paragraph(paragraph) for paragraph in cell.iterchildren(_PARAGRAPH))


def _paragraph(element: etree._Element) -> str:
    text = element.text or ""
    for child in element:
        if child.tag == _SPACES:
            text += " " * _times(child.get(f"{_TEXT}c"), MAX_COLUMNS)
        elif child.tag in (_TAB, _BREAK):
            text += "\t" if child.tag == _TAB else "\n"
        elif isinstance(child.tag, str) and not child.tag.startswith(_OFFICE):  # an office: element is a comment
            text += _paragraph(child)
        text += child.tail or ""
    return text


def _moment(text: str) -> datetime.datetime | datetime.timedelta | None:
    try:
        moment = datetime.datetime.fromisoformat(text)
    except ValueError:
        return None
    # A time of day without a day is one of the day that is number 0.
    return moment - EPOCH_1900 if moment.date() == EPOCH_1900.date() else moment


def _duration(text: str) -> datetime.timedelta | None:
    match = _DURATION.fullmatch(text)
    if match is None:
        return None
    days, hours, minutes, seconds = (float(part or 0) for part in match.groups()[1:])
    length = datetime.timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    return -length if match["sign"] else length


def _time_of_day(length: datetime.timedelta, number_format: str) -> datetime.time | datetime.timedelta:
    """A time of day, where a duration is shown as one."""
    if number_format != GENERAL and shows_duration(number_format):
        return length
    if datetime.timedelta() <= length < datetime.timedelta(days=1):
        return (datetime.datetime.min + length).time()
    return length
