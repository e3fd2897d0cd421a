"""Writing new workbooks: text that stays text, the same bytes for the same content, and whole files only."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from types import MappingProxyType

from lxml import etree
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.writer.excel import ExcelWriter
from openpyxl.xml.constants import SHEET_MAIN_NS
from openpyxl.xml.functions import tostring

from growcells.cells.kinds import LONGEST_TEXT

from ..gate import FileProblem, check_new_file, write_whole
from ..gate.safe_xml import escaped, literal, writable

ZIP_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest time a zip entry can bear (APPNOTE.TXT 4.4.6); every part bears it, so that equal content is equal."""
CORE_PROPERTIES = "docProps/core.xml"
STYLES = "xl/styles.xml"
SHEETS = "xl/worksheets/sheet"
SHARED_STRINGS = "xl/sharedStrings.xml"
STRINGS_CONTENT = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
STRINGS_TYPE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings"
"""How a package names its shared strings (ISO/IEC 29500-1, 12.3.15)."""
FONT_PARTS = (
    *("b", "i", "strike", "condense", "extend", "outline", "shadow", "u"),
    *("vertAlign", "sz", "color", "name", "family", "charset", "scheme"),
)
"""The order of CT_Font in the schema of ISO/IEC 29500-1."""
_TEXT_CELL = re.compile(r' t="inlineStr"><is><t(?: xml:space="preserve")?>([^<]*)</t></is></c>')
_FORMULA_CELL = re.compile(r'(<c r="([A-Z]+[0-9]+)"[^<>]*)>(<f>[^<]*</f>)<v ?(?:/|></v)></c>')
"""Cells with a text or a formula, as openpyxl writes them: in half of the time in which lxml finds them."""


def put_text(cell: Cell, text: str) -> None:
    """Put a text into a cell so that no program takes it for a formula, not even when the cell is edited.

    An empty text leaves the cell blank.
    """
    cell.value = writable(text)[:LONGEST_TEXT] or None
    if cell.value is None:
        return
    cell.data_type = "s"
    if text[:1] in ("=", "+", "-", "@"):
        cell.quotePrefix = True


def check_new_workbook(path: Path, overwrite: bool) -> None:
    """Raise FileProblem where a new .xlsx file cannot be written here, before any work is done."""
    if path.suffix.lower() != ".xlsx":
        raise FileProblem(f"{path} is not the name of a new workbook: end it in .xlsx")
    check_new_file(path, overwrite)


Stored = Mapping[tuple[str, str], float | str]
"""The values of formulas, by the title of their sheet and the name of their cell."""


def workbook_bytes(book: Workbook, day: datetime.date, stored: Stored = MappingProxyType({})) -> bytes:
    """The file of a workbook, dated to a day; the same content gives the same bytes.

    ``stored`` gives the values that formulas have: openpyxl itself leaves them out, and a program that does not
    compute would show nothing.
    """
    moment = datetime.datetime.combine(day, datetime.time())
    book.properties.created = moment
    saved = io.BytesIO()
    with zipfile.ZipFile(saved, "w") as stored_only:  # as book.save does, which packs each part for nothing
        ExcelWriter(book, stored_only).write_data()
    # Saving stamps the clock's time on the workbook, whatever its properties say.
    book.properties.modified = moment
    with zipfile.ZipFile(saved) as source:
        parts = {name: source.read(name) for name in source.namelist()}
    parts[CORE_PROPERTIES] = tostring(book.properties.to_tree())
    parts[STYLES] = fonts_in_order(parts[STYLES])
    share_texts(parts)
    store_values(parts, [sheet.title for sheet in book.worksheets], stored)
    for name in [name for name in parts if name == SHARED_STRINGS or name.startswith(SHEETS)]:
        parts[name] = serialized(etree.fromstring(parts[name]))
    return packed(parts)


def packed(parts: Mapping[str, bytes]) -> bytes:
    """A zip file of these parts without a trace of the clock or the machine."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            entry = zipfile.ZipInfo(name, ZIP_EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0
            package.writestr(entry, data)
    return file.getvalue()


def share_texts(parts: dict[str, bytes]) -> None:
    """Move the texts of all sheets into the table of shared strings, where every reader of xlsx looks for them.

    openpyxl writes them into the cells, which is as valid, but not every program on a phone knows it.
    """
    texts: dict[str, int] = {}
    uses = 0

    def shared(match: re.Match[str]) -> str:
        nonlocal uses
        uses += 1
        return f' t="s"><v>{texts.setdefault(match[1], len(texts))}</v></c>'

    for name in [name for name in parts if name.startswith(SHEETS)]:
        above, begin, rest = parts[name].decode().partition("<sheetData>")
        cells, end, below = rest.rpartition("</sheetData>")
        parts[name] = "".join((above, begin, _TEXT_CELL.sub(shared, literal(cells)), end, below)).encode()
    table = "".join(f'<si><t xml:space="preserve">{text}</t></si>' for text in texts)
    counts = f'count="{uses}" uniqueCount="{len(texts)}"'
    parts[SHARED_STRINGS] = f'<sst xmlns="{SHEET_MAIN_NS}" {counts}>{table}</sst>'.encode()
    add_if_missing(parts, "[Content_Types].xml", "Override", PartName=f"/{SHARED_STRINGS}", ContentType=STRINGS_CONTENT)
    add_if_missing(
        parts,
        "xl/_rels/workbook.xml.rels",
        "Relationship",
        Id="rIdTexts",
        Type=STRINGS_TYPE,
        Target=f"/{SHARED_STRINGS}",
    )


def store_values(parts: dict[str, bytes], titles: Sequence[str], stored: Stored) -> None:
    """Put the values of formulas beside them."""
    of_sheets: dict[str, dict[str, float | str]] = {}
    for (sheet, cell), value in stored.items():
        of_sheets.setdefault(sheet, {})[cell] = value
    for number, title in enumerate(titles, 1):
        if title in of_sheets:
            name, put = f"{SHEETS}{number}.xml", partial(_with_value, of_sheets[title])
            parts[name] = _FORMULA_CELL.sub(put, parts[name].decode()).encode()


def _with_value(values: Mapping[str, float | str], cell: re.Match[str]) -> str:
    """A cell with a formula and the value that it has."""
    begin, place, formula = cell.groups()
    value = values[place]
    if isinstance(value, str):
        return f'{begin} t="str">{formula}<v>{escaped(literal(writable(value))).decode()}</v></c>'
    return f"{begin}>{formula}<v>{value!r}</v></c>"


def add_if_missing(parts: dict[str, bytes], part: str, element: str, **attributes: str) -> None:
    """Add an element to the root of a part unless the part already names the shared strings."""
    root = etree.fromstring(parts[part])
    if not any(SHARED_STRINGS in value for child in root for value in child.attrib.values()):
        etree.SubElement(root, f"{{{root.nsmap[None]}}}{element}", attributes)
        parts[part] = serialized(root)


def serialized(root: etree._Element) -> bytes:
    """A part of the package as bytes."""
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)


def fonts_in_order(styles: bytes) -> bytes:
    """The styles part with what describes a font in the order that the schema wants; openpyxl has its own."""
    root = etree.fromstring(styles)
    for font in root.iter(f"{{{SHEET_MAIN_NS}}}font"):
        font[:] = sorted(font, key=lambda part: FONT_PARTS.index(etree.QName(part).localname))
    return serialized(root)


def save_workbook(book: Workbook, path: Path, day: datetime.date, stored: Stored = MappingProxyType({})) -> None:
    """Write a workbook, dated to a day, with the values of its formulas, whole or not at all. Raises FileProblem."""
    write_whole(path, workbook_bytes(book, day, stored))
