"""The filled cells of a worksheet part.

Numbers, dates and shared strings written as office programs write them, nearly all cells of a log, are found in the
XML by their shape; openpyxl reads the rest of it, and the strings and styles of the workbook. That takes a quarter of
the time that openpyxl takes for all. Element and attribute names: ISO/IEC 29500-1, 18.3.1.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from typing import Any
from xml.etree.ElementTree import iterparse

from openpyxl.cell.read_only import ReadOnlyCell
from openpyxl.utils.datetime import from_excel
from openpyxl.worksheet._reader import WorkSheetParser
from openpyxl.xml.constants import SHEET_MAIN_NS

from growcells.cells.errors import CellError

from ..recalculation.cells import column_number
from .cells import LogCell

ROW = f"{{{SHEET_MAIN_NS}}}row"
MOST_DATES = 10_000
"""Serial numbers that are kept as the dates they are: the days of 27 years."""

_ORDINARY = re.compile(
    rb'<c r="([A-Z]{1,3})([1-9][0-9]{0,6})"(?: s="([0-9]+)")?(?: t="(?:n|(s))")?>'
    rb"(?:<f[^<>]*(?:/>|>[^<]*</f>))?<v>([-+.0-9Ee]+)</v></c>"
)
"""Groups: letters and number of its place, style, ``s`` for a shared string, value."""
_PLACELESS = re.compile(rb"<(?:row|c)(?! r=)[\s/>]")


class PartReader:
    """Reads the worksheet parts of a workbook that openpyxl has opened read-only, for values."""

    def __init__(self, workbook: Any) -> None:
        sheet = workbook.worksheets[0]
        self.strings: list[str] = sheet._shared_strings
        # Typed as Any: the stubs of openpyxl do not take an Element of the standard library for one.
        self.parser: Any = WorkSheetParser(
            io.BytesIO(), self.strings, True, workbook.epoch, workbook._date_formats, workbook._timedelta_formats
        )

        @cache
        def number_format(style: int) -> str:
            return ReadOnlyCell(sheet, 1, 1, None, style_id=style).number_format or "General"

        @lru_cache(MOST_DATES)
        def date(serial: bytes) -> object:
            return from_excel(number_of(serial), workbook.epoch)

        @cache
        def look(style_id: bytes | None) -> tuple[Callable[[bytes], object] | None, str]:
            """How a number of a style is read, None where openpyxl has to, and the format in which it is shown."""
            style = int(style_id or 0)
            if style in workbook._timedelta_formats:
                return None, ""
            return date if style in workbook._date_formats else number_of, number_format(style)

        self.number_format, self.look = number_format, look

    def cells(self, title: str, part: bytes) -> Iterator[LogCell]:
        """The cells of a worksheet part that are not blank, in no order."""
        ordinary, rest = self._ordinary(title, part)
        yield from ordinary
        self.parser.row_counter = 0
        for _, element in iterparse(io.BytesIO(rest)):
            if element.tag == ROW:
                if len(element):
                    for given in self.parser.parse_row(element)[1]:
                        yield from self._given(title, given)
                element.clear()

    def _ordinary(self, title: str, part: bytes) -> tuple[list[LogCell], bytes]:
        """The numbers, dates and shared strings written as usual, and the part without them."""
        start, end = part.find(b"<sheetData>"), part.rfind(b"</sheetData>")
        # What looks like a cell in a comment or an instruction is none.
        if not 0 <= start < end or b"<!" in part or part.find(b"<?", 1) > 0:
            return [], part
        found: list[LogCell] = []
        strings, look = self.strings, self.look

        def take(match: re.Match[bytes]) -> bytes:
            letters, row, style, is_string, text = match.groups()
            column = column_number(letters.decode())
            if is_string:
                string = strings[int(text)]
                if string.strip():
                    found.append(LogCell(title, int(row), column, string))
                return b""
            read, number_format = look(style)
            if read is None:
                return match[0]
            try:
                value = read(text)
            except (OverflowError, ValueError):
                return match[0]
            found.append(LogCell(title, int(row), column, value, number_format))
            return b""

        rest = part[:start] + _ORDINARY.sub(take, part[start:end]) + part[end:]
        # Cells that do not say where they are can only be counted where all of them still stand.
        return ([], part) if _PLACELESS.search(rest) else (found, rest)

    def _given(self, title: str, given: dict[str, Any]) -> Iterator[LogCell]:
        """A cell that openpyxl has read, unless it is blank."""
        row, column, value = given["row"], given["column"], given["value"]
        if isinstance(value, str):
            if value.strip():
                yield LogCell(title, row, column, CellError(value) if given["data_type"] == "e" else value)
        elif value is not None:
            yield LogCell(title, row, column, value, self.number_format(given["style_id"]))


def number_of(text: bytes) -> float:
    """A number as a file holds it; whole ones as int."""
    return int(text) if text.lstrip(b"-").isdigit() else float(text)
