"""The cells of a worksheet that hold formula values, and where they stand in its XML.

The XML is read by expat, which tells the byte at which each element begins, so that values can be edited in place.
Element and attribute names: ISO/IEC 29500-1, 18.3.1.
"""

from __future__ import annotations

import html
import math
import re
import xml.parsers.expat
from collections.abc import Set
from dataclasses import dataclass

from ..gate import FileProblem
from ..gate.safe_xml import new_parser
from .cells import Area, cell_name, place_at, read_area, read_place

_TAG = re.compile(rb"""<[^>"']*(?:"[^"]*"[^>"']*|'[^']*'[^>"']*)*>""")
# An f or a c at the start of a tag, with or without a prefix.
_FORMULA = re.compile(rb"f(?<=[<:]f)[\s/>]")
_CELL = re.compile(rb"c(?<=[<:]c)[\s/>]")

# Cells of ASCII text, without attributes that change what they mean (aca, which LibreOffice writes, does not): one with
# an ordinary formula, and many of any kind in a row, no more than the regular expression may remember without harm.
_SIGNS = r"[\x20-\x25\x27-;=\x3f-\x7e]*+"
_TEXT = rf"{_SIGNS}(?:&(?:amp|lt|gt|quot|apos);{_SIGNS})*"
_VALUE_BEGINS, _VALUE_ENDS, _CELL_ENDS = "<v>", "</v>", "</c>"
_PLAIN_FORMULA = re.compile(
    r'<c r="([A-Z]{1,3})([1-9][0-9]{0,6})"(?: s="[0-9]++")?(?: t="([A-Za-z]++)")?>'
    rf'(<f(?: aca="false")?>({_TEXT})</f>)(?:{_VALUE_BEGINS}({_TEXT}){_VALUE_ENDS})?{_CELL_ENDS}'
)
_PLAIN_CELLS = re.compile(
    (
        r'(?:<c r="[A-Z]{1,3}[1-9][0-9]{0,6}"(?: s="[0-9]++")?(?: t="[A-Za-z]++")?'
        rf'(?:/>|>(?:<f(?: aca="false")?>{_TEXT}</f>(?:<v>{_TEXT}</v>)?|<v>{_TEXT}</v>|<is><t>{_TEXT}</t></is>)</c>))'
        "{1,1000}"
    ).encode()
)
# Where such cells may mean something else: comments, CDATA, instructions, cells that do not say where they are.
_NOT_PLAIN = re.compile(rb"<!|<\?(?!xml )|<c(?! r=)[\s/>]")


@dataclass(slots=True)
class SheetCell:
    """A cell that holds a formula, or a value that an array formula in another cell puts into it.

    ``place`` is its row and column, counted from 1. ``start``, ``tag_end`` (of ``<c …>``), ``end`` and the spans are
    byte offsets in the sheet's XML, each end one past the last byte. ``value_span`` is the whole ``<v>`` element,
    ``stored_span`` what stands between its tags.
    """

    place: tuple[int, int]
    start: int
    tag_end: int
    end: int
    type: str
    formula: str | None = None
    formula_span: tuple[int, int] | None = None
    value_span: tuple[int, int] | None = None
    stored_span: tuple[int, int] | None = None
    stored: str = ""
    inline_span: tuple[int, int] | None = None
    kind: str = "normal"
    area: Area | None = None
    shared_index: str | None = None
    dynamic: bool = False
    rich: bool = False
    anchor: SheetCell | None = None
    """The array formula that fills the cell."""
    mark_span: tuple[int, int] | None = None
    """An element for a formula with none in it, which Excel puts into cells that an array formula fills."""

    @property
    def name(self) -> str:
        return cell_name(*self.place)

    @property
    def has_value(self) -> bool:
        """Whether a value is stored; openpyxl writes an empty element where there is none."""
        return self.value_span is not None and (self.type != "n" or number_in(self.stored) is not None)


def number_in(text: str) -> float | None:
    """The number that a text stores, None where it is none that a cell may have."""
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else None


class _Scanner:
    """The expat handlers for one sheet."""

    def __init__(self, data: bytes, also: Set[tuple[int, int]], has_formulas: bool) -> None:
        self.data = data
        self.also = also
        self.has_formulas = has_formulas
        self.cells: list[SheetCell] = []
        self.parser = new_parser()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start_root
        self.row = self.column = 0
        self.cell_start = 0
        self.cell_attributes: dict[str, str] = {}
        self.cell: SheetCell | None = None
        self.part_start = 0
        self.text: list[str] = []
        self.arrays: list[SheetCell] = []

    def tag_end(self, start: int) -> int:
        match = _TAG.match(self.data, start)
        assert match is not None, "expat has read this tag"
        return match.end()

    def start_root(self, name: str, attributes: dict[str, str]) -> None:
        space, bracket, local = name.rpartition("}")
        if local != "worksheet":
            raise FileProblem(f"the workbook is damaged: a sheet of it is a <{local[:30]}>, not a <worksheet>")
        self.row_tag, self.c, self.f, self.v, self.inline = (
            f"{space}{bracket}{tag}" for tag in ("row", "c", "f", "v", "is")
        )
        # Where no cell is looked for, that the sheet is well-formed is all there is to know.
        self.parser.StartElementHandler = self.start if self.has_formulas or self.also else None

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == self.c:
            if "r" not in attributes:
                before = self.cell_attributes.get("r")
                self.column = (self.column if before is None else read_place(before)[1]) + 1
            self.cell_attributes = attributes
            self.cell_start = self.parser.CurrentByteIndex
            if self.arrays:
                self.look_for_array()
            if self.also and self.cell is None and self.place() in self.also:
                self.take_cell()
        elif name == self.v or name == self.inline:
            self.part_start = self.parser.CurrentByteIndex
            self.text.clear()
        elif name == self.f:
            self.start_formula(attributes)
        elif name == self.row_tag:
            number = attributes.get("r")
            self.row = self.row + 1 if number is None else read_place(f"A{number}")[0]
            self.column = 0
            self.cell_attributes = {}
            if self.arrays:
                self.arrays = [array for array in self.arrays if array.area and array.area.last_row >= self.row]

    def take_cell(self) -> SheetCell:
        """Begin to keep the cell whose tag was read last."""
        attributes, start = self.cell_attributes, self.cell_start
        self.cell = SheetCell(self.place(), start, self.tag_end(start), 0, attributes.get("t", "n"))
        self.cell.dynamic, self.cell.rich = "cm" in attributes, "vm" in attributes
        self.cells.append(self.cell)
        self.parser.EndElementHandler = self.end
        self.parser.CharacterDataHandler = self.text.append
        return self.cell

    def place(self) -> tuple[int, int]:
        """Row and column of the cell whose tag was read last."""
        name = self.cell_attributes.get("r")
        return read_place(cell_name(self.row, self.column) if name is None else name)

    def look_for_array(self) -> None:
        place = self.place()
        anchor = next((array for array in self.arrays if array.area and array.area.has(*place)), None)
        if anchor is not None:
            self.take_cell().anchor = anchor

    def start_formula(self, attributes: dict[str, str]) -> None:
        self.text.clear()
        self.part_start = self.parser.CurrentByteIndex
        if not self.cell_start:
            raise FileProblem("the workbook is damaged: a formula stands in no cell")
        cell = self.cell or self.take_cell()
        between = self.data[cell.tag_end - 2 : self.part_start]
        if between.startswith(b"/>") or between[2:].strip():
            raise FileProblem(f"the workbook is damaged: a formula near {cell.name} stands at a wrong place")
        cell.kind = attributes.get("t", "normal")
        cell.shared_index = attributes.get("si")
        if cell.kind == "array":
            cell.area = read_area(attributes.get("ref", cell.name))
            self.arrays.append(cell)

    def end(self, name: str) -> None:
        cell = self.cell
        assert cell is not None, "this handler is set while a cell is kept"
        text = "".join(self.text)
        self.text.clear()
        if name == self.c:
            self.cell = None
            self.parser.EndElementHandler = self.parser.CharacterDataHandler = None
            cell.end = self.closing_end(cell.start, cell.tag_end)
            return
        if name not in (self.f, self.v, self.inline):
            return
        tag_end = self.tag_end(self.part_start)
        span = (self.part_start, self.closing_end(self.part_start, tag_end))
        if name == self.f and cell.anchor is not None and cell.kind == "normal" and not text.strip():
            cell.mark_span = span
        elif name == self.f:
            cell.formula, cell.formula_span = text, span
        elif name == self.v:
            cell.stored, cell.value_span = text, span
            if tag_end < span[1]:
                cell.stored_span = (tag_end, self.parser.CurrentByteIndex)
        else:
            cell.inline_span = span

    def closing_end(self, start: int, tag_end: int) -> int:
        """One past the element that ends at the parser's place and whose tag is at ``start``."""
        if self.data[tag_end - 2 : tag_end] == b"/>":
            return tag_end
        return self.data.index(b">", self.parser.CurrentByteIndex) + 1  # a closing tag has no attributes


def has_formulas(data: bytes) -> bool:
    """Whether a worksheet part holds formulas; raises FileProblem where it is in an encoding that hides them."""
    if b"\0" in data[:4]:  # the first signs of UTF-16, which needs no declaration
        raise FileProblem("the workbook is refused: a sheet of it is in UTF-16, and only UTF-8 is read")
    return _FORMULA.search(data) is not None


def scan_sheet(data: bytes, also: Set[tuple[int, int]] = frozenset()) -> list[SheetCell]:
    """The cells of a worksheet part that hold formula values, in the order of the file; raises FileProblem.

    Where cells are to be edited that hold none, ``also`` names them by row and column.
    """
    calculates = has_formulas(data)
    plain, rest = _plain_cells(data) if calculates and not also else ([], data)
    scanner = _Scanner(data, also, calculates)
    try:
        scanner.parser.Parse(rest, True)
    except xml.parsers.expat.ExpatError as problem:
        raise FileProblem(f"the workbook is damaged: a sheet of it is no well-formed XML ({problem})") from None
    cells = plain + scanner.cells
    if plain and scanner.cells:
        cells.sort(key=lambda cell: cell.start)
    if len({cell.place for cell in cells}) < len(cells):
        raise FileProblem("the workbook is damaged: a sheet of it holds two formulas for one cell")
    return cells


def _plain_cells(data: bytes) -> tuple[list[SheetCell], bytes]:
    """The formula cells written as nearly all are, and the sheet without the cells so written, the others in place.

    Only for speed: the parser finds the same cells, ten times as slowly. Where there are arrays, it has to see the
    cells that they fill.
    """
    start, end = data.find(b"<sheetData>"), data.rfind(b"</sheetData>")
    if start < 0 or end < 0 or b"array" in data or _NOT_PLAIN.search(data):
        return [], data
    if _CELL.search(data, 0, start) or _CELL.search(data, end):  # damaged, for the parser to tell
        return [], data
    rest = _PLAIN_CELLS.sub(b"", data[start:end])
    if _CELL.search(rest):  # what else there is has to be found at its place
        rest = _PLAIN_CELLS.sub(lambda match: b" " * len(match[0]), data[start:end])
    text = data.decode("latin-1")  # a sign for each byte: its bytes beyond ASCII stand in no cell that is found
    return [_plain_cell(match) for match in _PLAIN_FORMULA.finditer(text, start, end)], data[:start] + rest + data[end:]


def _plain_cell(match: re.Match[str]) -> SheetCell:
    """The formula cell that _PLAIN_FORMULA has found."""
    letters, number, kind, _, formula, stored = match.groups()
    (start, end), formula_span = match.span(), match.span(4)
    tag_end, formula_end = formula_span
    value_end = end - len(_CELL_ENDS)
    return SheetCell(
        place_at(letters, number),
        start,
        tag_end,
        end,
        kind or "n",
        html.unescape(formula) if "&" in formula else formula,
        formula_span,
        None if stored is None else (formula_end, value_end),
        None if stored is None else (formula_end + len(_VALUE_BEGINS), value_end - len(_VALUE_ENDS)),
        html.unescape(stored) if stored and "&" in stored else stored or "",
    )
