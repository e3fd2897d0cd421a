"""Workbooks in the .ods format, written by hand: OpenDocument 1.3 (ISO/IEC 26300)."""

from __future__ import annotations

import datetime
import html
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

MEDIA_TYPE = "application/vnd.oasis.opendocument.spreadsheet"
MANIFEST = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
NAMES = {
    "office": "urn:oasis:names:tc:opendocument:xmlns:office:1.0",
    "table": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
    "text": "urn:oasis:names:tc:opendocument:xmlns:text:1.0",
    "of": "urn:oasis:names:tc:opendocument:xmlns:of:1.2",
    "style": "urn:oasis:names:tc:opendocument:xmlns:style:1.0",
    "number": "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0",
    "calcext": "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
}
_SPACES = " ".join(f'xmlns:{short}="{name}"' for short, name in NAMES.items())


def ods_cell(value: object, attributes: str = "") -> str:
    """A cell element; ``attributes`` are more of them, such as ``table:formula="of:=1+1"``."""
    space = f" {attributes}" if attributes else ""
    if value is None:
        return f"<table:table-cell{space}/>"
    if isinstance(value, bool):
        typed, text = f'office:value-type="boolean" office:boolean-value="{str(value).lower()}"', str(value).upper()
    elif isinstance(value, (int, float)):
        typed, text = f'office:value-type="float" office:value="{value!r}"', str(value)
    elif isinstance(value, datetime.date):
        typed, text = f'office:value-type="date" office:date-value="{value.isoformat()}"', value.isoformat()
    else:
        typed, text = 'office:value-type="string"', html.escape(str(value))
    return f"<table:table-cell{space} {typed}><text:p>{text}</text:p></table:table-cell>"


def ods_row(cells: Iterable[str], attributes: str = "") -> str:
    """A row element of cell elements."""
    return f"<table:table-row {attributes}>{''.join(cells)}</table:table-row>"


def write_ods_parts(path: Path, tables: str, styles: str = "", after: str = "", **parts: bytes) -> Path:
    """A workbook of table elements; ``styles`` are automatic, ``after`` stands behind the tables."""
    listed = "".join(
        f'<manifest:file-entry manifest:full-path="{name}" manifest:media-type="{kind}"/>'
        for name, kind in (("/", MEDIA_TYPE), ("content.xml", "text/xml"), ("styles.xml", "text/xml"))
    )
    files: dict[str, str | bytes] = {
        "content.xml": f'<office:document-content {_SPACES} office:version="1.3"><office:automatic-styles>{styles}'
        f"</office:automatic-styles><office:body><office:spreadsheet>{tables}{after}</office:spreadsheet></office:body>"
        "</office:document-content>",
        "styles.xml": f'<office:document-styles {_SPACES} office:version="1.3"/>',
        "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{MANIFEST}" manifest:version="1.3">{listed}'
        "</manifest:manifest>",
        **parts,
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("mimetype", MEDIA_TYPE, zipfile.ZIP_STORED)
        for name, data in files.items():
            file.writestr(name, data)
    return path


def write_ods(path: Path, sheets: Mapping[str, Iterable[Sequence[object]]]) -> Path:
    """A workbook of rows of values."""
    tables = "".join(
        f'<table:table table:name="{html.escape(title)}">{"".join(ods_row(map(ods_cell, row)) for row in rows)}'
        "</table:table>"
        for title, rows in sheets.items()
    )
    return write_ods_parts(path, tables)
