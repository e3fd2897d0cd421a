"""The filled cells of a worksheet part.

openpyxl reads the strings and styles of the workbook and every cell that is out of the ordinary; the ordinary ones,
nearly all, are read here, which takes a third of the time. Element and attribute names: ISO/IEC 29500-1, 18.3.1.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import cache, lru_cache
from typing import Any
from xml.etree.ElementTree import Element, iterparse

from openpyxl.cell.read_only import ReadOnlyCell
from openpyxl.utils.datetime import from_excel
from openpyxl.worksheet._reader import WorkSheetParser
from openpyxl.xml.constants import SHEET_MAIN_NS

from growcells.errors import CellError

from ..recalculation.sheet_xml import column_number
from .cells import LogCell

ROW, VALUE = (f"{{{SHEET_MAIN_NS}}}{tag}" for tag in ("row", "v"))
MOST_DATES = 10_000
"""Serial numbers that are kept as the dates they are: the days of 27 years."""


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
        def date(serial: str) -> object:
            return from_excel(number_of(serial), workbook.epoch)

        self.number_format, self.date = number_format, date
        self.dates = frozenset(workbook._date_formats)
        self.durations = frozenset(workbook._timedelta_formats)

    def rows(self, title: str, part: bytes) -> Iterator[list[LogCell]]:
        """The cells of a worksheet part that are not blank, row by row."""
        for _, element in iterparse(io.BytesIO(part)):
            if element.tag == ROW:
                cells = self._row(title, element)
                yield [cell for cell in cells if not isinstance(cell.value, str) or cell.value.strip()]
                element.clear()

    def _row(self, title: str, row: Element) -> Iterator[LogCell]:
        names = [cell.get("r") for cell in row]
        if row.get("r") is None or None in names:
            for given in self.parser.parse_row(row)[1]:
                yield from self._given(title, given)
            return
        self.parser.row_counter = int(row.get("r", ""))
        for name, cell in zip(names, row, strict=True):
            ordinary = self._ordinary(title, name or "", cell)
            if ordinary:
                yield ordinary
            else:
                yield from self._given(title, self.parser.parse_cell(cell))

    def _ordinary(self, title: str, name: str, cell: Element) -> LogCell | None:
        """A number, date or shared string written as usual; None for all others."""
        text = cell[-1].text if len(cell) and cell[-1].tag == VALUE else None
        if not text:
            return None
        kind, style = cell.get("t", "n"), int(cell.get("s", 0))
        letters = name.rstrip("0123456789")
        row, column = int(name[len(letters) :]), column_number(letters)
        if kind == "s":
            return LogCell(title, row, column, self.strings[int(text)])
        if kind != "n" or style in self.durations:
            return None
        if style not in self.dates:
            return LogCell(title, row, column, number_of(text), self.number_format(style))
        try:
            return LogCell(title, row, column, self.date(text), self.number_format(style))
        except (OverflowError, ValueError):
            return None

    def _given(self, title: str, given: dict[str, Any]) -> Iterator[LogCell]:
        """A cell that openpyxl has read, unless it is empty."""
        row, column, value = given["row"], given["column"], given["value"]
        if isinstance(value, str):
            yield LogCell(title, row, column, CellError(value) if given["data_type"] == "e" else value)
        elif value is not None:
            yield LogCell(title, row, column, value, self.number_format(given["style_id"]))


def number_of(text: str) -> float:
    """A number as a file holds it; whole ones as int."""
    return int(text) if text.lstrip("-").isdecimal() else float(text)
