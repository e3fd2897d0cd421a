"""The ironcalc engine: a workbook of cells and native formulas, loaded, evaluated, read and changed.

It has no call-backs, so that it never sees a GROW_ call; what does not agree with Excel in it is in
``data/engine_gaps.csv``.
"""

from __future__ import annotations

import datetime
import html
import io
import re
import tempfile
import threading
import zipfile
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import TypeVar

import ironcalc
from lxml import etree

from ..gate import FileProblem
from ..gate.problems import writing_problem
from ..gate.safe_xml import attribute
from .cells import Area, ErrorValue, Value, cell_name
from .sheet_edits import ARRAY_MARK

_ERROR_TYPE = ironcalc.CellType.ErrorValue
NO_FIT, NOT_FOUND, NOT_PROVEN = "#FIT!", "#REF?", "#KIND?"
NOT_COMPUTED = {
    "#CIRC!": "it refers to itself, directly or through other cells",
    "#N/IMPL!": "the engine does not have a part of it",
    "#ERROR!": "the engine cannot read it",
    NO_FIT: "its result is smaller than the cells of its array formula",
    NOT_FOUND: "the engine does not find what a text in it names",
    NOT_PROVEN: "a function in it is not proven equal to Excel for what its cells hold",
}
"""The engine's own errors, which no cell can hold, and what to say of them."""
_STACK_BYTES = 256 * 2**20  # the engine follows references by recursion: twice what a column of 100,000 sums took

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_CONTENT = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>'
_STYLES = (
    f'{_HEAD}<styleSheet xmlns="{_MAIN}"><fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="1"><fill><patternFill patternType="none"/></fill></fills><borders count="1"><border/></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
    '<cellXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
)

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
                path.write_bytes(_package(sheets, shared_strings))
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


_SHEET_DATA = re.compile(rb"<((?:[\w.-]+:)?)sheetData(?:\s[^>]*)?(/?)>")
_STYLE = re.compile(rb"""(<(?:[\w.-]+:)?(?:c|row) [^<>]*?)\ss=(?:"[0-9]*"|'[0-9]*')""")
_ODD = re.compile(
    rb"<!|<\?(?!xml )"
    rb"|<(?:[\w.-]+:)?c(?:\s(?![^<>]*\br=)|/?>)"
    rb"|\st=(?:\"d\"|'d')"
    rb"|<(?:[\w.-]+:)?row(?:\s(?![^<>]*\br=)|>)"
    rb"|>\s+<(?:[\w.-]+:)?[cr]"
)
"""Comments and instructions, cells and rows that do not say where they are, days as text, white space between cells."""
_UNUSUAL = (b"<c>", b"<c/", b"<row>", b"<!", b"<?", b't="d"', b"t='d'", b">\n", b">\r", b">\t", b"> ")
_MAY_BE_EMPTY = (
    b'"/>',
    b"'/>",
    b" />",
    *(sign + b"></c" for sign in (b'"', b"'", b" ", b"\n", b"\r", b"\t")),
    b"> ",
    b">\n",
    b">\r",
    b">\t",
    b'"><v/>',
    b'"><v></v>',
    b"'><v",
    b":c",
)
_EMPTY = re.compile(
    rb"""<(?P<p>(?:[\w.-]+:)?)c\s(?:[^<>]*?)(?:/>|>\s*</(?P=p)c\s*>)"""
    rb"""|<(?P<q>(?:[\w.-]+:)?)c\s(?:(?!\st=)[^<>])*?(?:\st="n"(?:(?!\st=)[^<>])*?)?>"""
    rb"""\s*<(?P=q)v\s*(?:/>|></(?P=q)v>)\s*</(?P=q)c\s*>"""
)
"""Cells with nothing in them, which the engine takes for 0 where they say that they are numbers."""
_PHONETIC = re.compile(rb"<((?:[\w.-]+:)?)rPh\b.*?</\1rPh\s*>", re.DOTALL)


def engine_sheet(data: bytes) -> bytes:
    """The XML of a sheet with nothing but its cells, as the engine's reader takes it."""
    head = data.find(b"<worksheet")
    match = _SHEET_DATA.search(data)
    if match is None:
        return f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'.encode()
    end = data.rfind(b"</sheetData", match.end())
    if head < 0 or end < 0 or match[2]:
        return _plain_sheet(data)
    body = data[match.start() : end]
    if not _is_usual(body) and _ODD.search(data) is not None:
        return _plain_sheet(data)
    if b"rPh" in body:
        body = _PHONETIC.sub(b"", body)
    if b" s=" in body:
        body = _STYLE.sub(rb"\1", body)
    if any(sign in body for sign in _MAY_BE_EMPTY):
        body = _EMPTY.sub(b"", body)
    body = body.replace(b"</f></c>", b"</f><v/></c>")  # the engine complains of each cell without a value
    tag = data[head : data.index(b">", head) + 1]
    return b"%s%s</sheetData></worksheet>" % (tag, body)


def _is_usual(cells: bytes) -> bool:
    """Whether cells are written as nearly all programs do, with nothing odd among them; quick to see."""
    return (
        cells.startswith(b"<sheetData")
        and cells.count(b"<c ") == cells.count(b"<c r=")
        and cells.count(b"<row ") == cells.count(b"<row r=")
        and not any(sign in cells for sign in _UNUSUAL)
    )


def _plain_sheet(data: bytes) -> bytes:
    """The same for a sheet written in an unusual way: cells that do not say where they are, comments, days as text."""
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, remove_comments=True, remove_pis=True))
    except etree.XMLSyntaxError as problem:
        raise FileProblem(f"the workbook is damaged: a sheet of it is no well-formed XML ({problem})") from None
    pieces = [f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData>']
    number = 0
    for row in root.iter("{*}row"):
        number = int(row.get("r") or number + 1)
        hidden = ' hidden="1"' if row.get("hidden") in ("1", "true") else ""
        pieces.append(f'<row r="{number}"{hidden}>')
        column = 0
        for cell in row.iterchildren("{*}c"):
            name = cell.get("r")
            if name is None:
                column += 1
                name = cell_name(number, column)
            else:
                column = _column_of(name)
            pieces.append(_plain_cell(cell, name))
        pieces.append("</row>")
    pieces.append("</sheetData></worksheet>")
    return "".join(pieces).encode()


def _column_of(name: str) -> int:
    column = 0
    for letter in name:
        if letter.isalpha():
            column = column * 26 + ord(letter.upper()) - 64
    return column


def _plain_cell(cell: etree._Element, name: str) -> str:
    kind = cell.get("t", "")
    value = cell.findtext("{*}v")
    formula = cell.find("{*}f")
    inline = cell.find("{*}is")
    if kind == "d" and value:
        try:
            moment = datetime.datetime.fromisoformat(value).replace(tzinfo=None)
        except ValueError:  # a time alone
            try:
                moment = datetime.datetime.combine(datetime.date(1899, 12, 30), datetime.time.fromisoformat(value))
            except ValueError:
                problem = f"the workbook is damaged: {name} is marked as a day and holds {value[:40]!r}"
                raise FileProblem(problem) from None
        value = repr((moment - datetime.datetime(1899, 12, 30)) / datetime.timedelta(days=1))
        kind = "n"
    if formula is None and inline is None and (value is None or (not value and kind in ("", "n"))):
        return ""
    attributes = f' t="{kind}"' if kind else ""
    attributes += ' cm="1"' if cell.get("cm") else ""
    pieces = [f'<c r="{name}"{attributes}>']
    if formula is not None:
        kept = "".join(
            f' {key}="{attribute(str(formula.get(key)))}"' for key in ("t", "ref", "si", "ca") if formula.get(key)
        )
        pieces.append(f"<f{kept}>{attribute(formula.text or '')}</f>")
    if value is not None or formula is not None:
        pieces.append(f"<v>{attribute(value or '')}</v>")
    if inline is not None:
        for phonetic in inline.findall("{*}rPh"):
            inline.remove(phonetic)
        text = "".join(piece.text or "" for piece in inline.iter("{*}t"))
        pieces.append(f'<is><t xml:space="preserve">{attribute(text)}</t></is>')
    pieces.append("</c>")
    return "".join(pieces)


def helper_sheet(cells: Mapping[tuple[int, int], str]) -> bytes:
    """The XML of a sheet with these formulas by row and column; one that begins with ``{`` may give several cells."""
    rows: dict[int, list[str]] = {}
    for (row, column), formula in sorted(cells.items()):
        name = cell_name(row, column)
        if formula.startswith(ARRAY_MARK):
            text = html.escape(formula.removeprefix(ARRAY_MARK), quote=False)
            cell = f'<c r="{name}" cm="1"><f t="array" ref="{name}">{text}</f><v/></c>'
        else:
            cell = f'<c r="{name}"><f>{html.escape(formula, quote=False)}</f><v/></c>'
        rows.setdefault(row, []).append(cell)
    body = "".join(f'<row r="{row}">{"".join(found)}</row>' for row, found in rows.items())
    return f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData>{body}</sheetData></worksheet>'.encode()


def _package(sheets: Mapping[str, bytes], shared_strings: bytes | None) -> bytes:
    """A workbook of these sheets and nothing else, for the engine to load."""
    listed = "".join(
        f'<sheet name="{attribute(name)}" sheetId="{number}" r:id="rId{number}"/>'
        for number, name in enumerate(sheets, 1)
    )
    numbers = range(1, len(sheets) + 1)
    related = "".join(_relation(f"rId{number}", "worksheet", f"worksheets/sheet{number}.xml") for number in numbers)
    related += _relation("rIdT", "styles", "styles.xml")
    typed = "".join(_override(f"worksheets/sheet{number}", "worksheet") for number in numbers)
    typed += _override("workbook", "sheet.main") + _override("styles", "styles")
    if shared_strings is not None:
        related += _relation("rIdS", "sharedStrings", "sharedStrings.xml")
        typed += _override("sharedStrings", "sharedStrings")
    parts = {
        "[Content_Types].xml": f'{_HEAD}<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f"{typed}</Types>",
        "_rels/.rels": f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">'
        f"{_relation('rId1', 'officeDocument', 'xl/workbook.xml')}</Relationships>",
        "xl/workbook.xml": f'{_HEAD}<workbook xmlns="{_MAIN}" xmlns:r="{_RELATIONS}">'
        f"<sheets>{listed}</sheets></workbook>",
        "xl/_rels/workbook.xml.rels": f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">'
        f"{related}</Relationships>",
        "xl/styles.xml": _STYLES,
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as package:
        for part, text in parts.items():
            package.writestr(part, text)
        for number, data in enumerate(sheets.values(), 1):
            package.writestr(f"xl/worksheets/sheet{number}.xml", data)
        if shared_strings is not None:
            package.writestr("xl/sharedStrings.xml", _PHONETIC.sub(b"", shared_strings))
    return buffer.getvalue()


def _relation(number: str, kind: str, target: str) -> str:
    return f'<Relationship Id="{number}" Type="{_RELATIONS}/{kind}" Target="{target}"/>'


def _override(part: str, kind: str) -> str:
    return f'<Override PartName="/xl/{part}.xml" ContentType="{_CONTENT}.{kind}+xml"/>'
