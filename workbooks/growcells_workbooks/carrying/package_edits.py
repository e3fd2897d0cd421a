"""What of a workbook's parts changes when it is given the names, and nothing else of them.

Parts, elements and attributes: ISO/IEC 29500-1, 18.2 and 18.9; the property of dynamic arrays: [MS-XLSX] 2.6.13.
"""

from __future__ import annotations

import html
import posixpath
import re
from collections.abc import Iterable, Iterator, Sequence

from growcells import functions

from ..gate import FileProblem
from ..gate.safe_xml import attribute, escaped
from ..recalculation.cells import column_letters
from ..recalculation.sheet_edits import Edit, patched
from ..recalculation.sheet_xml import SheetCell, scan_sheet
from .marks import SHEET
from .native_names import PREFIX, NativeName

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
CONTENT_TYPES = "[Content_Types].xml"
SHEET_PART = "growcells_tables.xml"
METADATA_PART = "metadata.xml"

SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
METADATA_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheetMetadata+xml"

METADATA = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    b'<metadata xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" '
    b'xmlns:xda="http://schemas.microsoft.com/office/spreadsheetml/2017/dynamicarray">'
    b'<metadataTypes count="1"><metadataType name="XLDAPR" minSupportedVersion="120000" copy="1" pasteAll="1" '
    b'pasteValues="1" merge="1" splitFirst="1" rowColShift="1" clearFormats="1" clearComments="1" assign="1" '
    b'coerce="1" cellMeta="1"/></metadataTypes><futureMetadata name="XLDAPR" count="1"><bk><extLst>'
    b'<ext uri="{bdbb8cdc-fa1e-496e-a857-3c3f30c029c3}"><xda:dynamicArrayProperties fDynamic="1" fCollapsed="0"/>'
    b'</ext></extLst></bk></futureMetadata><cellMetadata count="1"><bk><rc t="1" v="0"/></bk></cellMetadata></metadata>'
)
"""The part by which a cell is marked as one whose formula may give several cells, as Excel writes it."""

_CALL = re.compile(r"(?<![\w.])(GROW_\w+)\(", re.IGNORECASE)
_TEXT = re.compile(r'"(?:[^"]|"")*"')


_CELL_TAG = re.compile(rb"<(?:\w+:)?c\b")
_MARKED_TAG = re.compile(rb'<(?:\w+:)?c cm="1"')
_FORMULA_TAG = re.compile(rb"<(?:\w+:)?f\b")


def functions_called(formula: str) -> set[str]:
    """The cell functions that a formula calls."""
    if "GROW_" not in formula.upper():
        return set()
    return {name.upper() for name in _CALL.findall(_TEXT.sub("", formula))} & functions().keys()


def marked(data: bytes, cells: Iterable[SheetCell]) -> bytes:
    """A sheet of these cells with each plain one that calls a function marked as Excel marks it."""
    return patched(data, _marks(data, cells))


def _marks(data: bytes, cells: Iterable[SheetCell]) -> Iterator[Edit]:
    for cell in cells:
        if cell.kind != "normal" or cell.dynamic or cell.formula is None or not functions_called(cell.formula):
            continue
        assert cell.formula_span is not None
        tag = _CELL_TAG.match(data, cell.start)
        formula = _FORMULA_TAG.match(data, cell.formula_span[0])
        assert tag is not None and formula is not None, "the scanner has read these tags"
        yield tag.end(), tag.end(), b' cm="1"'
        yield formula.end(), formula.end(), f' t="array" ref="{cell.name}"'.encode()


def lacks_values(cells: Iterable[SheetCell]) -> bool:
    """Whether a cell that calls a function stores no value or an error."""
    return any((cell.type == "e" or not cell.stored) and functions_called(cell.formula or "") for cell in cells)


def unmarked(data: bytes) -> bytes:
    """A sheet without the marks that ``marked`` set."""
    edits: list[Edit] = []
    for cell in scan_sheet(data):
        if not cell.dynamic or cell.kind != "array" or cell.formula is None or not functions_called(cell.formula):
            continue
        assert cell.formula_span is not None
        tag = _MARKED_TAG.match(data, cell.start)
        written = f' t="array" ref="{cell.name}"'.encode()
        place = data.find(written, cell.formula_span[0], cell.formula_span[0] + 40 + len(written))
        if tag is not None and place >= 0:
            end = tag.end()
            edits += [(end - len(b' cm="1"'), end, b""), (place, place + len(written), b"")]
    return patched(data, edits)


def is_carried_name(name: str) -> bool:
    """Whether a defined name is one that growcells gives a log."""
    return name.upper().startswith(PREFIX) or name.upper() in functions()


_DEFINED = re.compile(rb"<(?:\w+:)?definedName\b([^>]*)>.*?</(?:\w+:)?definedName>", re.DOTALL)
_NAME_OF = re.compile(rb"""\bname\s*=\s*["']([^"']*)["']""")


def without_names(workbook: bytes) -> bytes:
    """The workbook part without the names that growcells gave it."""

    def kept(match: re.Match[bytes]) -> bytes:
        name = _NAME_OF.search(match[1])
        ours = name is not None and is_carried_name(html.unescape(name[1].decode())) and b"localSheetId" not in match[1]
        return b"" if ours else match[0]

    return re.sub(rb"<(?:\w+:)?definedNames\s*>\s*</(?:\w+:)?definedNames>", b"", _DEFINED.sub(kept, workbook))


_BEFORE_NAMES = ("sheets", "functionGroups", "externalReferences")
"""What stands before the names: the sequence of CT_Workbook."""


def with_names(workbook: bytes, names: Iterable[NativeName]) -> bytes:
    """The workbook part with names added."""
    prefix = _prefix(workbook)
    written = b"".join(_defined_name(prefix, name) for name in names)
    closing = b"</%sdefinedNames>" % prefix
    if closing in workbook:
        return workbook.replace(closing, written + closing, 1)
    ends = [match.end() for tag in _BEFORE_NAMES for match in _whole(workbook, prefix + tag.encode())]
    place = max(ends)
    opening = b"<%sdefinedNames>" % prefix
    return workbook[:place] + opening + written + closing + workbook[place:]


def _whole(data: bytes, tag: bytes) -> Iterator[re.Match[bytes]]:
    return re.finditer(rb"<%s\b[^>]*/>|</%s>" % (tag, tag), data)


def _prefix(workbook: bytes) -> bytes:
    """``x:`` where the elements of the part are written so."""
    match = re.search(rb"<((?:\w+:)?)sheets\b", workbook)
    if match is None:
        raise FileProblem("the workbook is damaged: its list of sheets is missing")
    return match[1]


def _defined_name(prefix: bytes, name: NativeName) -> bytes:
    comment = f' comment="{attribute(name.comment)}"' if name.comment else ""
    hidden = ' hidden="1"' if name.hidden else ""
    opening = b"<%sdefinedName" % prefix + f' name="{name.name}"{comment}{hidden}>'.encode()
    return opening + escaped(name.formula) + b"</%sdefinedName>" % prefix


_COMPUTE = b' fullCalcOnLoad="1"'
"""That a program computes all formulas when it opens the workbook: ISO/IEC 29500-1, 18.2.2."""


def with_computing(workbook: bytes) -> bytes:
    """The workbook part with the wish that all formulas be computed when it is opened: some stored #NAME? before."""
    prefix = _prefix(workbook)
    settings = re.search(rb"<%scalcPr\b[^>]*>" % prefix, workbook)
    if settings is None:
        place = workbook.index(b"</%sdefinedNames>" % prefix) + len(b"</%sdefinedNames>" % prefix)
        return workbook[:place] + b"<%scalcPr%s/>" % (prefix, _COMPUTE) + workbook[place:]
    if b"fullCalcOnLoad" in settings[0]:
        return workbook
    place = settings.start() + len(b"<%scalcPr" % prefix)
    return workbook[:place] + _COMPUTE + workbook[place:]


def without_computing(workbook: bytes) -> bytes:
    """The workbook part without that wish, where it stands as ``with_computing`` writes it: before all else."""
    alone = re.sub(rb"<(?:\w+:)?calcPr%s/>" % _COMPUTE, b"", workbook)
    return re.sub(rb"(<(?:\w+:)?calcPr)%s" % _COMPUTE, rb"\1", alone)


def table_sheet(tables: Sequence[tuple[tuple[object, ...], ...]]) -> bytes:
    """The hidden sheet: its tables side by side, a column free between them."""
    height = max(map(len, tables))
    rows = []
    for number in range(height):
        cells = []
        column = 0
        for table in tables:
            for place, value in enumerate(table[number] if number < len(table) else ()):
                cells.append(_cell(f"{column_letters(column + place + 1)}{number + 1}", value))
            column += max(map(len, table)) + 1
        rows.append(f'<row r="{number + 1}">'.encode() + b"".join(cells) + b"</row>")
    return (
        b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        + f'<worksheet xmlns="{MAIN}"><sheetData>'.encode()
        + b"".join(rows)
        + b"</sheetData></worksheet>"
    )


def _cell(place: str, value: object) -> bytes:
    if isinstance(value, (int, float)):
        return f'<c r="{place}"><v>{value!r}</v></c>'.encode()
    if not value:
        return b""
    return (
        f'<c r="{place}" t="inlineStr"><is><t xml:space="preserve">'.encode() + escaped(str(value)) + b"</t></is></c>"
    )


def rels_of(part: str) -> str:
    """The part with the relationships of a part."""
    folder, name = posixpath.split(part)
    return posixpath.join(folder, "_rels", f"{name}.rels")


def with_relationship(rels: bytes, kind: str, target: str) -> tuple[bytes, str]:
    """A relationships part with one more, and its id."""
    taken = set(re.findall(rb"""\bId\s*=\s*["']([^"']*)["']""", rels))
    number = next(f"rIdGrowcells{count}" for count in range(1, 100) if f"rIdGrowcells{count}".encode() not in taken)
    added = f'<Relationship Id="{number}" Type="{OFFICE}/{kind}" Target="{target}"/>'.encode()
    return rels.replace(b"</Relationships>", added + b"</Relationships>", 1), number


def without_relationship(rels: bytes, target: bytes) -> bytes:
    """A relationships part without those to a part."""
    return re.sub(
        rb"""<Relationship\b[^>]*\bTarget\s*=\s*["'](?:[^"']*/)?%s["'][^>]*/>""" % re.escape(target), b"", rels
    )


def with_content_type(types: bytes, part: str, kind: str) -> bytes:
    """The list of content types with one more part."""
    added = f'<Override PartName="/{part}" ContentType="{kind}"/>'.encode()
    return types.replace(b"</Types>", added + b"</Types>", 1)


def without_content_type(types: bytes, part: str) -> bytes:
    """The list of content types without a part."""
    return re.sub(rb'<Override\b[^>]*\bPartName="/%s"[^>]*/>' % re.escape(part.encode()), b"", types)


def with_sheet(workbook: bytes, relation: str) -> bytes:
    """The workbook part with the hidden sheet behind the others."""
    prefix = _prefix(workbook)
    listed = re.search(rb"<%ssheets\b.*?</%ssheets>" % (prefix, prefix), workbook, re.DOTALL)
    assert listed is not None
    numbers = [int(number) for number in re.findall(rb"""\bsheetId\s*=\s*["'](\d{1,9})["']""", listed[0])]
    number = max(numbers, default=0) + 1
    told = f' name="{SHEET}" sheetId="{number}" state="veryHidden" r:id="{relation}" xmlns:r="{OFFICE}"/>'
    added = b"<%ssheet" % prefix + told.encode()
    place = listed.end() - len(b"</%ssheets>" % prefix)
    return workbook[:place] + added + workbook[place:]


def without_sheet(workbook: bytes) -> bytes:
    """The workbook part without the hidden sheet."""
    return re.sub(rb"""<(?:\w+:)?sheet\b[^>]*\bname\s*=\s*["']%s["'][^>]*/>""" % SHEET.encode(), b"", workbook)
