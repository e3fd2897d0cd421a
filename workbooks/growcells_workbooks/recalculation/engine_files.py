"""The workbook that the engine loads: sheets of nothing but cells, written as its reader takes them."""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Iterable, Mapping
from operator import itemgetter
from typing import TYPE_CHECKING

from ..gate import FileProblem
from ..gate.safe_xml import attribute
from .cells import cell_name, column_number
from .days import day_number
from .references import engine_name
from .sheet_edits import ARRAY_MARK, SharedFormula

if TYPE_CHECKING:
    from lxml import etree

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
_EMPTY_USUALLY = (
    b'"/>',
    b"'/>",
    b" />",
    *(sign + b"></c" for sign in (b'"', b"'", b" ", b"\n", b"\r", b"\t")),
    b'"><v/>',
    b'"><v></v>',
    b"'><v",
)
"""What is in a sheet with empty cells that is written as nearly all programs do, and, with the rest, in any such."""
_MAY_BE_EMPTY = (*_EMPTY_USUALLY, b"> ", b">\n", b">\r", b">\t", b":c")
_EMPTY = re.compile(
    rb"""<(?P<p>(?:[\w.-]+:)?)c\s(?:[^<>]*?)(?:/>|>\s*</(?P=p)c\s*>)"""
    rb"""|<(?P<q>(?:[\w.-]+:)?)c\s(?:(?!\st=)[^<>])*?(?:\st="n"(?:(?!\st=)[^<>])*?)?>"""
    rb"""\s*<(?P=q)v\s*(?:/>|></(?P=q)v>)\s*</(?P=q)c\s*>"""
)
"""Cells with nothing in them, which the engine takes for 0 where they say that they are numbers."""
_RARE = b"!?'\n\r\t"
"""The bytes in those that few sheets have in them."""
_PHONETIC = re.compile(rb"<((?:[\w.-]+:)?)rPh\b.*?</\1rPh\s*>", re.DOTALL)


def engine_sheet(data: bytes, days_before: int) -> bytes:
    """The XML of a sheet with nothing but its cells, as the engine's reader takes it.

    ``days_before`` is how many days the workbook's calendar begins after that of 1900.
    """
    head = data.find(b"<worksheet")
    match = _SHEET_DATA.search(data)
    if match is None:
        return f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData/></worksheet>'.encode()
    end = data.rfind(b"</sheetData", match.end())
    if head < 0 or end < 0 or match[2]:
        return _plain_sheet(data, days_before)
    body = data[match.start() : end]
    is_usual = _is_usual(body)
    if not is_usual and _ODD.search(data) is not None:
        return _plain_sheet(data, days_before)
    if b"rPh" in body:
        body = _PHONETIC.sub(b"", body)
    if b" s=" in body:
        body = _STYLE.sub(rb"\1", body)
    if _has_any(body, _EMPTY_USUALLY if is_usual else _MAY_BE_EMPTY):
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
        and not _has_any(cells, _UNUSUAL)
    )


def _has_any(cells: bytes, signs: Iterable[bytes]) -> bool:
    """Whether one of some signs is among cells; a single byte is found ten times as quickly as several."""
    absent = [byte for byte in _RARE if byte not in cells]
    return any(sign in cells for sign in signs if not any(byte in sign for byte in absent))


def _plain_sheet(data: bytes, days_before: int) -> bytes:
    """The same for a sheet written in an unusual way: cells that do not say where they are, comments, days as text."""
    from lxml import etree  # which takes as long to import as a small log to compute, and few sheets need it

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
                column = column_number(name.rstrip("0123456789").upper())
            pieces.append(_plain_cell(cell, name, days_before))
        pieces.append("</row>")
    pieces.append("</sheetData></worksheet>")
    return "".join(pieces).encode()


def _plain_cell(cell: etree._Element, name: str, days_before: int) -> str:
    kind = cell.get("t", "")
    value = cell.findtext("{*}v")
    formula = cell.find("{*}f")
    inline = cell.find("{*}is")
    if kind == "d" and value:
        try:
            value = repr(day_number(value) - days_before)
        except ValueError:
            problem = f"the workbook is damaged: {name} is marked as a day and holds {value[:40]!r}"
            raise FileProblem(problem) from None
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


def helper_sheet(cells: Mapping[tuple[int, int], str | SharedFormula]) -> bytes:
    """The XML of a sheet with these formulas by row and column; one that begins with ``{`` may give several cells."""
    rows: dict[int, list[str]] = {}
    for (row, column), formula in sorted(cells.items(), key=itemgetter(0)):
        name = cell_name(row, column)
        if isinstance(formula, SharedFormula):
            cell = formula.cell(name)
        elif formula.startswith(ARRAY_MARK):
            text = html.escape(formula.removeprefix(ARRAY_MARK), quote=False)
            cell = f'<c r="{name}" cm="1"><f t="array" ref="{name}">{text}</f><v/></c>'
        else:
            cell = f'<c r="{name}"><f>{html.escape(formula, quote=False)}</f><v/></c>'
        rows.setdefault(row, []).append(cell)
    body = "".join(f'<row r="{row}">{"".join(found)}</row>' for row, found in rows.items())
    return f'{_HEAD}<worksheet xmlns="{_MAIN}"><sheetData>{body}</sheetData></worksheet>'.encode()


def package_of(sheets: Mapping[str, bytes], shared_strings: bytes | None) -> bytes:
    """A workbook of these sheets and nothing else, for the engine to load."""
    listed = "".join(
        f'<sheet name="{attribute(engine_name(name))}" sheetId="{number}" r:id="rId{number}"/>'
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
