"""Workbooks for the tests of recalculation, and an independent eye on what may differ between two of them."""

from __future__ import annotations

import io
import re
import struct
import subprocess
import zipfile
import zlib
from collections.abc import Callable, Mapping
from pathlib import Path

import openpyxl
import xlsxwriter

from growcells_addin.libreoffice.program import clean_environment, profile_options
from libreoffice import needed_office

SECONDS_FOR_OFFICE = 180


def write_book(path: Path, cells: Mapping[str, object], **options: object) -> Path:
    """A workbook with these cells on the sheet "S"; a text that begins with = is a formula."""
    with xlsxwriter.Workbook(path, options) as book:
        sheet = book.add_worksheet("S")
        for cell, value in cells.items():
            if isinstance(value, str) and value.startswith("="):
                sheet.write_formula(cell, value)
            elif isinstance(value, bool):
                sheet.write_boolean(cell, value)
            else:
                sheet.write(cell, value)
    return path


def read_values(path: Path, sheet: str = "S") -> Callable[[str], object]:
    """The stored values of a sheet's cells, as openpyxl reads them."""
    worksheet = openpyxl.load_workbook(path, data_only=True)[sheet]
    return lambda cell: worksheet[cell].value


def change_part(source: Path, target: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    """A copy of a workbook in which one part is changed, or added where it is not there."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            data = old.read(entry)
            new.writestr(entry, change(data) if entry.filename == part else data)
        if part not in old.namelist():
            new.writestr(part, change(b""))
    return target


def flip_byte(source: Path, target: Path, part: str) -> Path:
    """A copy of a workbook with a byte changed in the packed data of one part, so that its checksum is wrong."""
    data = bytearray(source.read_bytes())
    with zipfile.ZipFile(source) as package:
        entry = package.getinfo(part)
    data[entry.header_offset + 30 + len(entry.filename) + entry.compress_size // 2] ^= 0xFF
    target.write_bytes(data)
    return target


def first_sheet(path: Path) -> bytes:
    """The XML of the first worksheet."""
    with zipfile.ZipFile(path) as package:
        return package.read("xl/worksheets/sheet1.xml")


def assert_only_values_differ(before: Path, after: Path) -> list[str]:
    """Fail where two workbooks differ in more than the values of formulas; gives the parts that differ at all.

    The order, names, times and attributes of the zip entries count too. Written with regular expressions, not with
    the scanner that is tested.
    """
    with zipfile.ZipFile(before) as old, zipfile.ZipFile(after) as new:
        assert new.testzip() is None
        assert new.comment == old.comment
        differing = []
        for left, right in zip(old.infolist(), new.infolist(), strict=True):
            for what in ("filename", "date_time", "compress_type", "external_attr", "comment", "create_system"):
                assert getattr(left, what) == getattr(right, what), (left.filename, what)
            was, now = old.read(left), new.read(right)
            if was != now:
                differing.append(left.filename)
                assert left.filename.startswith("xl/worksheets/"), left.filename
                assert without_formula_values(was) == without_formula_values(now), left.filename
    return differing


_CELL = re.compile(rb"<((?:\w+:)?)c\b([^>]*?)(?:/>|>(.*?)</(?:\w+:)?c\s*>)", re.DOTALL)
_ARRAY = re.compile(rb"""<(?:\w+:)?f\b[^>]*\bt=["']array["'][^>]*>""")


def without_formula_values(sheet: bytes) -> bytes:
    """A sheet's XML without the type and value of each cell that holds a formula or is filled by an array formula."""
    filled: set[bytes] = set()
    for tag in _ARRAY.findall(sheet):
        area = re.search(rb"""\bref=["']([^"']*)["']""", tag)
        assert area is not None
        for row in openpyxl.utils.cell.rows_from_range(area[1].decode()):
            filled.update(cell.encode() for cell in row)

    def strip(match: re.Match[bytes]) -> bytes:
        prefix, attributes, inner = match[1], match[2], match[3] or b""
        name = re.search(rb"""\br=["']([^"']*)["']""", attributes)
        if not re.search(rb"<(?:\w+:)?f\b", inner) and (name is None or name[1] not in filled):
            return match[0]
        attributes = re.sub(rb"""\s+t=(?:"[^"]*"|'[^']*')""", b"", attributes)
        inner = re.sub(rb"<(?:\w+:)?v\b[^>]*?(?:/>|>.*?</(?:\w+:)?v\s*>)", b"", inner, flags=re.DOTALL)
        inner = re.sub(rb"<(?:\w+:)?is\b.*?</(?:\w+:)?is\s*>", b"", inner, flags=re.DOTALL)
        return b"<" + prefix + b"c" + attributes.rstrip() + b">" + inner + b"</c>"

    return _CELL.sub(strip, sheet)


def converted(source: Path, folder: Path, kind: str = "xlsx") -> Path:
    """The workbook as LibreOffice loads, recalculates and saves it."""
    target = folder / source.with_suffix(f".{kind}").name
    assert target != source
    subprocess.run(
        [
            str(needed_office().soffice),
            *profile_options(folder / "profile"),
            "--headless",
            "--norestore",
            "--convert-to",
            kind,
            "--outdir",
            str(folder),
            str(source),
        ],
        check=True,
        timeout=SECONDS_FOR_OFFICE,
        capture_output=True,
        env=clean_environment(),
    )
    assert target.exists()
    return target


def picture() -> bytes:
    """A small PNG picture: one green pixel (W3C PNG specification, 5.2 and 11.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\x00\x20\xa0\x20"))
        + chunk(b"IEND", b"")
    )


def furnished_book(path: Path) -> Path:
    """A workbook with most of what a log may carry, formulas of every kind among it."""
    with xlsxwriter.Workbook(path) as book:
        log, feeds, plot = book.add_worksheet("log"), book.add_worksheet("Feeds & more"), book.add_chartsheet("plot")
        bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
        log.write_row(0, 0, ["tub", "length", "width", "depth", "volume", "dose", "flag", "day"], bold)
        for row in range(1, 21):
            log.write_row(row, 0, [f"T{row}", 38 + row, 21, 9])
            log.write_formula(row, 4, f"=GROW_VOLUME_BOX(B{row + 1},C{row + 1},D{row + 1})")
            log.write_formula(row, 5, f"=[1]!GROW_DOSE(E{row + 1},'Feeds & more'!$B$2)")
            log.write_formula(row, 6, f'=IF(F{row + 1}>70,"high & <dry>","ok")')
            log.write_formula(row, 7, f"=TODAY()-{row}", day)
        log.write_formula("J1", "=SUM(Doses[grams])")
        log.write_formula("J2", "=SUM(AllVolumes)")
        log.write_formula("J3", "=E2>30")
        log.write_formula("J4", "=1/0")
        log.write_array_formula("K1:K20", "{=B2:B21*2}")
        log.write_dynamic_array_formula("L1:L3", "=_xlfn._xlws.FILTER(A2:A21,B2:B21>55)")
        log.write_rich_string("M1", bold, "half ", "bold")
        log.write_comment("A2", "grew slowly", {"author": "somebody"})
        log.data_validation("C2:C21", {"validate": "list", "source": ["20", "21"]})
        log.conditional_format("F2:F21", {"type": "3_color_scale"})
        log.conditional_format("E2:E21", {"type": "formula", "criteria": "=$E2>35", "format": bold})
        log.insert_image("N2", "dot.png", {"image_data": io.BytesIO(picture())})
        log.insert_textbox("N9", "a note in a box")
        log.insert_button("N14", {"macro": "nothing", "caption": "press"})
        log.add_sparkline("O2", {"range": "log!E2:E21"})
        log.autofilter("A1:H21")
        log.freeze_panes(1, 1)
        log.set_column("C:C", None, None, {"hidden": True})
        log.merge_range("A24:D24", "merged")
        log.protect("", {"select_locked_cells": True})
        log.set_header("&L&G", {"image_left": "dot.png", "image_data_left": io.BytesIO(picture())})
        log.write_url("A26", "https://example.org/", string="more")
        feeds.add_table(
            "A1:B4",
            {
                "name": "Doses",
                "columns": [{"header": "feed"}, {"header": "grams", "formula": "=LEN(Doses[@feed])"}],
                "data": [["one"], ["three"], ["eleven"]],
            },
        )
        feeds.outline_settings()
        book.define_name("AllVolumes", "=log!$E$2:$E$21")
        for sheet in (log, plot):
            chart = book.add_chart({"type": "line"})
            chart.add_series({"categories": "=log!$A$2:$A$21", "values": "=log!$F$2:$F$21"})
            if sheet is log:
                log.insert_chart("N20", chart)
            else:
                plot.set_chart(chart)
        book.set_properties({"title": "invented", "comments": "made for a test"})
        book.set_custom_property("kept", "yes")
    return path


_RELATED = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_MICROSOFT = "http://schemas.microsoft.com/office"


def with_parts(
    source: Path,
    target: Path,
    parts: Mapping[str, tuple[str, str]],
    related: Mapping[str, tuple[tuple[str, str], ...]],
    changes: Mapping[str, Callable[[str], str]],
) -> Path:
    """A copy of a workbook with more parts.

    ``parts`` gives the content type and the text of each, ``related`` the type and target of the relationships that a
    .rels part gets, ``changes`` what happens to the text of parts that are there.
    """
    with zipfile.ZipFile(source) as old:
        texts = {name: old.read(name) for name in old.namelist()}
    overrides = "".join(f'<Override PartName="/{name}" ContentType="{kind}"/>' for name, (kind, _) in parts.items())
    texts["[Content_Types].xml"] = texts["[Content_Types].xml"].replace(b"</Types>", overrides.encode() + b"</Types>")
    for rels, wanted in related.items():
        empty = b'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"></Relationships>'
        added = "".join(
            f'<Relationship Id="rIdX{number}" Type="{kind}" Target="{where}"/>'
            for number, (kind, where) in enumerate(wanted, 1)
        )
        end = b"</Relationships>"
        texts[rels] = texts.get(rels, empty).replace(end, added.encode() + end)
    for name, change in changes.items():
        before = texts[name].decode()
        texts[name] = change(before).encode()
        assert texts[name] != before.encode(), name
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in texts.items():
            new.writestr(name, data)
        for name, (_, text) in parts.items():
            new.writestr(name, text)
    return target


def pivot_book(path: Path) -> Path:
    """A workbook with a pivot table, its cache, and a slicer, made by hand after ISO/IEC 29500-1, 18.10, and
    [MS-XLSX] 2.4.38 for the slicer."""
    plain = path.with_name("plain-pivot.xlsx")
    with xlsxwriter.Workbook(plain) as book:
        log, report = book.add_worksheet("log"), book.add_worksheet("report")
        log.write_row(0, 0, ["bed", "dose"])
        for row, bed in enumerate(("A", "B", "A"), 1):
            log.write(row, 0, bed)
            log.write_formula(row, 1, f"=GROW_DOSE({10 * row},2)")
        report.write_row(2, 0, ["bed", "Sum of dose"])
        for row, (bed, dose) in enumerate((("A", 1), ("B", 2), ("Grand Total", 3)), 3):
            report.write_row(row, 0, [bed, dose])
    cache = (
        f'<pivotCacheDefinition xmlns="{_MAIN}" xmlns:r="{_RELATED}" r:id="rIdX1" recordCount="3">'
        '<cacheSource type="worksheet"><worksheetSource ref="A1:B4" sheet="log"/></cacheSource><cacheFields count="2">'
        '<cacheField name="bed" numFmtId="0"><sharedItems count="2"><s v="A"/><s v="B"/></sharedItems></cacheField>'
        '<cacheField name="dose" numFmtId="0"><sharedItems containsSemiMixedTypes="0" containsString="0" '
        'containsNumber="1" minValue="0" maxValue="2"/></cacheField></cacheFields></pivotCacheDefinition>'
    )
    records = (
        f'<pivotCacheRecords xmlns="{_MAIN}" count="3"><r><x v="0"/><n v="1"/></r><r><x v="1"/><n v="2"/></r>'
        '<r><x v="0"/><n v="0"/></r></pivotCacheRecords>'
    )
    table = (
        f'<pivotTableDefinition xmlns="{_MAIN}" name="Doses" cacheId="7" dataCaption="Values" applyNumberFormats="0" '
        'applyBorderFormats="0" applyFontFormats="0" applyPatternFormats="0" applyAlignmentFormats="0" '
        'applyWidthHeightFormats="1"><location ref="A3:B6" firstHeaderRow="1" firstDataRow="1" firstDataCol="1"/>'
        '<pivotFields count="2"><pivotField axis="axisRow" showAll="0"><items count="3"><item x="0"/><item x="1"/>'
        '<item t="default"/></items></pivotField><pivotField dataField="1" showAll="0"/></pivotFields>'
        '<rowFields count="1"><field x="0"/></rowFields><rowItems count="3"><i><x/></i><i><x v="1"/></i><i t="grand">'
        '<x/></i></rowItems><colItems count="1"><i/></colItems><dataFields count="1"><dataField name="Sum of dose" '
        'fld="1" baseField="0" baseItem="0"/></dataFields></pivotTableDefinition>'
    )
    slicers = f'xmlns="{_MICROSOFT}/spreadsheetml/2009/9/main"'
    slicer_cache = (
        f'<slicerCacheDefinition {slicers} name="Slicer_bed" sourceName="bed"><pivotTables><pivotTable tabId="2" '
        'name="Doses"/></pivotTables><data><tabular pivotCacheId="7"><items count="2"><i x="0" s="1"/><i x="1" s="1"/>'
        "</items></tabular></data></slicerCacheDefinition>"
    )
    slicer = f'<slicers {slicers}><slicer name="bed" cache="Slicer_bed" caption="bed" rowHeight="241300"/></slicers>'
    return with_parts(
        plain,
        path,
        {
            "xl/pivotCache/pivotCacheDefinition1.xml": (f"{_TYPES}.pivotCacheDefinition+xml", cache),
            "xl/pivotCache/pivotCacheRecords1.xml": (f"{_TYPES}.pivotCacheRecords+xml", records),
            "xl/pivotTables/pivotTable1.xml": (f"{_TYPES}.pivotTable+xml", table),
            "xl/slicerCaches/slicerCache1.xml": ("application/vnd.ms-excel.slicerCache+xml", slicer_cache),
            "xl/slicers/slicer1.xml": ("application/vnd.ms-excel.slicer+xml", slicer),
        },
        {
            "xl/_rels/workbook.xml.rels": (
                (f"{_RELATED}/pivotCacheDefinition", "pivotCache/pivotCacheDefinition1.xml"),
                (f"{_MICROSOFT}/2007/relationships/slicerCache", "slicerCaches/slicerCache1.xml"),
            ),
            "xl/pivotCache/_rels/pivotCacheDefinition1.xml.rels": (
                (f"{_RELATED}/pivotCacheRecords", "pivotCacheRecords1.xml"),
            ),
            "xl/pivotTables/_rels/pivotTable1.xml.rels": (
                (f"{_RELATED}/pivotCacheDefinition", "../pivotCache/pivotCacheDefinition1.xml"),
            ),
            "xl/worksheets/_rels/sheet2.xml.rels": (
                (f"{_RELATED}/pivotTable", "../pivotTables/pivotTable1.xml"),
                (f"{_MICROSOFT}/2007/relationships/slicer", "../slicers/slicer1.xml"),
            ),
        },
        {
            "xl/workbook.xml": lambda text: text.replace(
                "</workbook>",
                '<pivotCaches><pivotCache cacheId="7" r:id="rIdX1"/></pivotCaches><extLst><ext '
                f'uri="{{BBE1A952-AA13-448e-AADC-164F8A28A991}}" xmlns:x14="{_MICROSOFT}/spreadsheetml/2009/9/main">'
                '<x14:slicerCaches><x14:slicerCache r:id="rIdX2"/></x14:slicerCaches></ext></extLst></workbook>',
            ),
            "xl/worksheets/sheet2.xml": lambda text: text.replace(
                "</worksheet>",
                f'<extLst><ext uri="{{A8765BA9-456A-4dab-B4F3-ACF838C121DE}}" xmlns:x14="{_MICROSOFT}/spreadsheetml/'
                '2009/9/main"><x14:slicerList><x14:slicer r:id="rIdX2"/></x14:slicerList></ext></extLst></worksheet>',
            ),
        },
    )


def signed_book(source: Path, target: Path) -> Path:
    """A copy of a workbook with the parts of a digital signature: ISO/IEC 29500-2, 13. What it signs is not in it."""
    types = "application/vnd.openxmlformats-package.digital-signature"
    related = "http://schemas.openxmlformats.org/package/2006/relationships/digital-signature"
    signature = '<Signature xmlns="http://www.w3.org/2000/09/xmldsig#" Id="made-for-a-test"/>'
    return with_parts(
        source,
        target,
        {
            "_xmlsignatures/origin.sigs": (f"{types}-origin", ""),
            "_xmlsignatures/sig1.xml": (f"{types}-xmlsignature+xml", signature),
        },
        {
            "_rels/.rels": ((f"{related}/origin", "_xmlsignatures/origin.sigs"),),
            "_xmlsignatures/_rels/origin.sigs.rels": ((f"{related}/signature", "sig1.xml"),),
        },
        {},
    )
