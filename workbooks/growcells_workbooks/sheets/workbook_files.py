"""Files of new workbooks: the same bytes for the same content, and whole files only."""

from __future__ import annotations

import datetime
import html
import io
import re
from pathlib import Path

from xlsxwriter import Workbook

from ..gate import FileProblem, check_new_file, write_whole
from ..gate.safe_xml import literal, writable
from .styles import FACE

OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
    "default_format_properties": {"font_name": FACE, "font_size": 10, "font_scheme": "none"},
    "default_row_height": 20.001,
}
"""Texts stay texts; column widths are counted in digits of our own face.

Rows are 15 points [20 pixels] high. XlsxWriter leaves out of the file what is exactly as high as all others, and
LibreOffice would then take a height of its own: hence a little more.
"""
_MISREAD = re.compile("^<r>|_x[0-9A-Fa-f]{4}_x[0-9A-Fa-f]{4}_")
"""Texts that XlsxWriter would take for its own XML, and of which it would not escape every part."""


class Book(Workbook):
    """A new workbook. All texts of cells stay what they are."""

    def __init__(self) -> None:
        self.file = io.BytesIO()
        super().__init__(self.file, OPTIONS)

    def _prepare_sst_string_data(self) -> None:
        super()._prepare_sst_string_data()
        texts = self.str_table.string_array
        self.str_table.string_array = [_run(text) if _MISREAD.search(text) else text for text in texts]


def _run(text: str) -> str:
    """A text as the XML of a cell with one run of letters (ISO/IEC 29500-1, 18.4.4), which XlsxWriter hands on.

    It would escape every ``_x0041_`` in it once more, and a reference to the sign ``_`` is none.
    """
    held = html.escape(literal(text), quote=False).replace("_", "&#95;")
    return f'<r><t xml:space="preserve">{held}</t></r>'


def check_new_workbook(path: Path, overwrite: bool) -> None:
    """Raise FileProblem where a new .xlsx file cannot be written here, before any work is done."""
    if path.suffix.lower() != ".xlsx":
        raise FileProblem(f"{path} is not the name of a new workbook: end it in .xlsx")
    check_new_file(path, overwrite)


def workbook_bytes(book: Book, day: datetime.date, **properties: str) -> bytes:
    """The file of a workbook, dated to a day, with such properties as ``title``; the same content, the same bytes."""
    moment = datetime.datetime.combine(day, datetime.time())
    book.set_properties({"created": moment, **{name: writable(text) for name, text in properties.items()}})
    book.close()
    return book.file.getvalue()


def save_workbook(book: Book, path: Path, day: datetime.date) -> None:
    """Write a workbook, dated to a day, whole or not at all. Raises FileProblem."""
    write_whole(path, workbook_bytes(book, day))
