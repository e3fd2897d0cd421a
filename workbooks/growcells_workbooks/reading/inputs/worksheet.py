"""The cells of a worksheet part: place, stored value, number format.

lxml reads them; numbers and shared strings written as office programs write them, nearly all cells of a log, are found
by their shape beforehand, in half of the time. Element and attribute names: ISO/IEC 29500-1, 18.3.1.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator, Sequence, Set
from functools import cache, lru_cache
from itertools import chain
from typing import NamedTuple

from lxml import etree

from growcells.cells.errors import CellError

from ...gate.safe_xml import unescaped
from ...recalculation.cells import column_number, place_at, read_place
from ...recalculation.days import EPOCH_1900, EPOCH_1904
from .log_cells import LogCell, Place
from .serials import GENERAL, duration_of, moment_of, shows_date, shows_duration

NAMESPACE = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_SPACE = f"{{{NAMESPACE}}}"
_CELL, _VALUE, _INLINE, _TEXT, _RUN = (f"{_SPACE}{name}" for name in ("c", "v", "is", "t", "r"))
MOST_DATES = 10_000
"""Serial numbers that are kept as the dates they are: the days of 27 years."""
MOST_VALUES = 10_000
"""Numbers of a style that are kept as what they are read as: a log holds few that differ."""
_ORDINARY = re.compile(
    rb'<c r="([A-Z]{1,3})([1-9][0-9]{0,6})"(?: s="([0-9]+)")?(?: t="(?:n|(s))")?>'
    rb"(?:<f[^<>]*(?:/>|>[^<]*</f>))?<v>([-+.0-9Ee]+)</v></c>"
)
"""Groups: letters and number of its place, style, ``s`` for a shared string, value."""
_EMPTY_ROW = re.compile(rb"<row [^<>]*></row>")
"""What is left of a row all of whose cells are ordinary."""
_PLACELESS = re.compile(rb"<(?:row|c)(?! r=)[\s/>]")
_ESCAPED = re.compile(r"\\.")


class Look(NamedTuple):
    """How the numbers of a style are read and shown."""

    read: Callable[[float], object]
    number_format: str


def xml_elements(data: bytes, tag: str) -> Iterator[etree._Element]:
    """The elements of this name, one after the other, with what is in them; nothing is kept of those before."""
    for _, element in etree.iterparse(io.BytesIO(data), tag=_SPACE + tag, resolve_entities=False):
        yield element
        element.clear()
        parent = element.getparent()
        while parent is not None and element.getprevious() is not None:
            del parent[0]


def text_of(element: etree._Element) -> str:
    """The text of a shared or inline string, without how it is pronounced."""
    parts = [element.findtext(_TEXT, "")]
    parts += [run.findtext(_TEXT, "") for run in element.iterchildren(_RUN)]
    return unescaped("".join(parts))


def is_blank(value: object) -> bool:
    """Whether a cell of this value looks empty."""
    return value is None or (isinstance(value, str) and not value.strip())


MOST_FIGURES = 15
"""Figures of a number that a spreadsheet keeps (Excel specifications and limits)."""


def number_of(text: bytes) -> float:
    """A number as a file holds it; whole ones as int, up to the figures that a spreadsheet keeps."""
    return int(text) if len(text) <= MOST_FIGURES and text.lstrip(b"-").isdigit() else float(text)


class WorksheetReader:
    """Reads the worksheet parts of a workbook with these strings and number formats (by style)."""

    def __init__(self, strings: Sequence[str], number_formats: Sequence[str], starts_1904: bool) -> None:
        self.epoch = EPOCH_1904 if starts_1904 else EPOCH_1900
        self._strings = strings

        @lru_cache(MOST_DATES)
        def moment(serial: float) -> object:
            try:
                return moment_of(serial, self.epoch)
            except (OverflowError, ValueError):  # a number that only looks like a date
                return serial

        def duration(serial: float) -> object:
            try:
                return duration_of(serial)
            except OverflowError:
                return serial

        @cache
        def look(number_format: str) -> Look:
            plain = _ESCAPED.sub("", number_format)
            if shows_duration(plain):
                return Look(duration, number_format)
            return Look(moment if shows_date(plain) else _unchanged, number_format)

        @cache
        def look_of_style(style: bytes) -> Look:
            return look(number_formats[int(style)] if number_formats else GENERAL)

        @lru_cache(MOST_VALUES)
        def value_of(style: bytes | None, text: bytes) -> tuple[object, str]:
            read, number_format = look_of_style(style or b"0")
            return read(number_of(text)), number_format

        self._look, self._look_of_style, self._value_of = look, look_of_style, value_of

    def shown_as(self, value: object, number_format: str) -> object:
        """A value as a cell of this number format has it: a number is a date where it is shown as one."""
        if type(value) is float:
            return self._look(number_format).read(int(value) if value.is_integer() else value)
        return value

    def cells(self, title: str, part: bytes, filled: Set[Place] = frozenset()) -> Iterator[LogCell]:
        """The cells of a worksheet part that are not blank, or that formulas have filled, in no order."""
        ordinary, rest = self._ordinary(title, part)
        return chain(ordinary, self._others(title, rest, filled))

    def _ordinary(self, title: str, part: bytes) -> tuple[list[LogCell], bytes]:
        """The numbers, dates and shared strings written as usual, and the part without them."""
        start, end = part.find(b"<sheetData>"), part.rfind(b"</sheetData>")
        # What looks like a cell in a comment or an instruction is none.
        if not 0 <= start < end or b"<!" in part or part.find(b"<?", 1) > 0:
            return [], part
        found: list[LogCell] = []
        put, value_of, strings = found.append, self._value_of, self._strings
        blank = {place for place, string in enumerate(strings) if is_blank(string)}

        @cache
        def column_of(letters: bytes) -> int:
            return column_number(letters.decode())

        def take(match: re.Match[bytes]) -> bytes:
            letters, row, style, is_string, text = match.groups()
            if is_string:
                place = int(text)
                if place not in blank:
                    put(LogCell(title, int(row), column_of(letters), strings[place]))
            else:
                value, number_format = value_of(style, text)
                put(LogCell(title, int(row), column_of(letters), value, number_format))
            return b""

        rest = part[:start] + _ORDINARY.sub(take, part[start:end]) + part[end:]
        # Cells that do not say where they are can only be counted where all of them still stand.
        return ([], part) if _PLACELESS.search(rest) else (found, _EMPTY_ROW.sub(b"", rest))

    def _others(self, title: str, part: bytes, filled: Set[Place]) -> Iterator[LogCell]:
        row = 0
        for element in xml_elements(part, "row"):
            number = element.get("r")
            row = row + 1 if number is None else place_at("A", number)[0]
            column = 0
            for cell in element.iterchildren(_CELL):
                name = cell.get("r")
                place = (row, column + 1) if name is None else read_place(name)
                column = place[1]
                look = self._look_of_style(cell.get("s", "0").encode())
                value = self._value(cell, look)
                if place in filled or not is_blank(value):
                    # Of the number format a text takes nothing, unless a formula makes a number of it.
                    number_format = GENERAL if isinstance(value, str) and place not in filled else look.number_format
                    yield LogCell(title, *place, value, number_format)

    def _value(self, cell: etree._Element, look: Look) -> object:
        kind, text = cell.get("t", "n"), cell.findtext(_VALUE)
        if kind == "inlineStr":
            inline = cell.find(_INLINE)
            return None if inline is None else text_of(inline)
        if not text:
            return None
        match kind:
            case "s":
                return self._strings[int(text)]
            case "str":
                return unescaped(text)
            case "b":
                return text in ("1", "true")
            case "e":
                return CellError(text)
            case "d":
                return _iso_moment(text)
            case _:
                return look.read(number_of(text.encode()))


def _iso_moment(text: str) -> object:
    """A date or time as strict workbooks write it, which few programs do."""
    from openpyxl.utils.datetime import from_ISO8601

    return from_ISO8601(text)  # type: ignore[no-untyped-call]


def _unchanged(number: float) -> object:
    return number
