"""The cells of a worksheet that hold formula values, and where they stand in its XML.

The XML is read by expat, which tells the byte at which each element begins, so that values can be edited in place.
Element and attribute names: ISO/IEC 29500-1, 18.3.1.
"""

from __future__ import annotations

import functools
import re
import xml.parsers.expat
from collections.abc import Iterator
from dataclasses import dataclass
from xml.sax.saxutils import unescape

from .safe_files import FileProblem

Value = float | bool | str | None
"""A cell value: number, truth, text, or nothing. Errors are ErrorValue."""

MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384  # Excel specifications and limits

_TAG = re.compile(rb"""<[^>"']*(?:"[^"]*"[^>"']*|'[^']*'[^>"']*)*>""")
# A cell of ASCII text without formula or with an ordinary one, as office programs write it: groups 1 place, 2 type,
# 3 the end of its tag, 4 formula element, 5 formula, 6 value element, 7 value.
_TEXT = rb"(?:[\x20-\x25\x27-;=\x3f-\x7e]|&(?:amp|lt|gt|quot|apos);)*"
_PLAIN = re.compile(
    rb'<c r="([A-Z]{1,3}[1-9][0-9]{0,6})"(?: s="[0-9]+")?(?: t="([A-Za-z]+)")?>()'
    rb"(?:(<f>(%s)</f>)(<v>(%s)</v>)?|<v>%s</v>|<is><t>%s</t></is>)</c>" % (_TEXT, _TEXT, _TEXT, _TEXT)
)
# Where such cells may mean something else: comments, CDATA, instructions, arrays, cells that do not say where they are.
_NOT_PLAIN = re.compile(rb"<!|<\?(?!xml )|array|<c(?! r=)[\s/>]")
_CELL = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")


@dataclass(frozen=True, slots=True)
class ErrorValue:
    """An error as a cell holds it."""

    code: str


@dataclass(frozen=True, slots=True)
class Area:
    """A rectangle of cells, rows and columns counted from 1, both ends in it."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int

    def __contains__(self, place: tuple[int, int]) -> bool:
        row, column = place
        return self.first_row <= row <= self.last_row and self.first_column <= column <= self.last_column

    def has_row(self, row: int) -> bool:
        return self.first_row <= row <= self.last_row

    def places(self) -> Iterator[tuple[int, int]]:
        """Row and column of each cell."""
        for row in range(self.first_row, self.last_row + 1):
            for column in range(self.first_column, self.last_column + 1):
                yield row, column

    @property
    def rows(self) -> int:
        return self.last_row - self.first_row + 1

    @property
    def columns(self) -> int:
        return self.last_column - self.first_column + 1


@dataclass(slots=True)
class SheetCell:
    """A cell that holds a formula, or a value that an array formula in another cell puts into it.

    The spans are byte offsets in the sheet's XML, the end one past the last byte; ``value_span`` is the whole
    ``<v>`` element.
    """

    row: int
    column: int
    start: int
    tag_end: int
    type: str
    dynamic: bool = False
    rich: bool = False
    end: int = 0
    formula: str | None = None
    kind: str = "normal"
    area: Area | None = None
    shared_index: str | None = None
    formula_span: tuple[int, int] | None = None
    value_span: tuple[int, int] | None = None
    inline_span: tuple[int, int] | None = None
    stored: str = ""
    anchor: SheetCell | None = None

    @property
    def place(self) -> tuple[int, int]:
        return self.row, self.column

    @property
    def name(self) -> str:
        return cell_name(self.row, self.column)


def column_letters(column: int) -> str:
    """``A`` for 1, ``AA`` for 27."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@functools.cache
def column_number(letters: str) -> int:
    """1 for ``A``, 27 for ``AA``."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def cell_name(row: int, column: int) -> str:
    """``B3`` for row 3, column 2."""
    return f"{column_letters(column)}{row}"


def read_place(name: str) -> tuple[int, int]:
    """Row and column of ``B3``; raises FileProblem for what is no cell."""
    match = _CELL.fullmatch(name)
    if match:
        row, column = int(match[2]), column_number(match[1])
        if row <= MAX_ROWS and column <= MAX_COLUMNS:
            return row, column
    raise FileProblem(f'the workbook is damaged: "{name[:30]}" is not the name of a cell')


def read_area(text: str) -> Area:
    """The area that ``B3:C9`` or ``B3`` names; raises FileProblem for what is none."""
    first, _, last = text.partition(":")
    (top, left), (bottom, right) = read_place(first), read_place(last or first)
    return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))


def refuse_document_type(name: str, *_: object) -> None:
    """Raise FileProblem: no office program writes a document type, and entities in one are an old attack."""
    raise FileProblem(f"the workbook is refused: a part of it declares a document type ({name}), as no workbook needs")


class _Scanner:
    """The expat handlers for one sheet."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.cells: list[SheetCell] = []
        self.parser = xml.parsers.expat.ParserCreate(namespace_separator="}")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.start_root
        self.parser.StartDoctypeDeclHandler = refuse_document_type
        self.parser.XmlDeclHandler = refuse_other_encodings
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
        self.parser.StartElementHandler = self.start

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if name == self.c:
            if "r" not in attributes:
                before = self.cell_attributes.get("r")
                self.column = (self.column if before is None else read_place(before)[1]) + 1
            self.cell_attributes = attributes
            self.cell_start = self.parser.CurrentByteIndex
            if self.arrays:
                self.look_for_array()
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
        row, column = self.place()
        self.cell = SheetCell(row, column, start, self.tag_end(start), attributes.get("t", "n"))
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
        anchor = next((array for array in self.arrays if array.area and place in array.area), None)
        if anchor is not None:
            self.take_cell().anchor = anchor

    def start_formula(self, attributes: dict[str, str]) -> None:
        self.text.clear()
        self.part_start = self.parser.CurrentByteIndex
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
        span = (self.part_start, self.closing_end(self.part_start, self.tag_end(self.part_start)))
        if name == self.f:
            cell.formula, cell.formula_span = text, span
        elif name == self.v:
            cell.stored, cell.value_span = text, span
        else:
            cell.inline_span = span

    def closing_end(self, start: int, tag_end: int) -> int:
        """One past the element that ends at the parser's place and whose tag is at ``start``."""
        if self.data[tag_end - 2 : tag_end] == b"/>":
            return tag_end
        return self.data.index(b">", self.parser.CurrentByteIndex) + 1  # a closing tag has no attributes


def scan_sheet(data: bytes) -> list[SheetCell]:
    """The cells of a worksheet part that hold formula values, in the order of the file; raises FileProblem."""
    plain, rest = _plain_cells(data)
    scanner = _Scanner(data)
    try:
        scanner.parser.Parse(rest, True)
    except xml.parsers.expat.ExpatError as problem:
        raise FileProblem(f"the workbook is damaged: a sheet of it is no well-formed XML ({problem})") from None
    cells = sorted(plain + scanner.cells, key=lambda cell: cell.start) if plain else scanner.cells
    if len({cell.place for cell in cells}) < len(cells):
        raise FileProblem("the workbook is damaged: a sheet of it holds two formulas for one cell")
    return cells


def _plain_cells(data: bytes) -> tuple[list[SheetCell], bytes]:
    """The formula cells written as nearly all are, and the sheet with all cells so written blanked out.

    Only for speed: the parser finds the same cells, ten times as slowly.
    """
    start, end = data.find(b"<sheetData>"), data.rfind(b"</sheetData>")
    if start < 0 or end < 0 or _NOT_PLAIN.search(data):
        return [], data
    cells = []
    rest = bytearray(data)
    for match in _PLAIN.finditer(data, start, end):
        first, last = match.span()
        rest[first:last] = b" " * (last - first)
        if match[4] is not None:
            cells.append(_plain_cell(match))
    return cells, bytes(rest)


def _plain_cell(match: re.Match[bytes]) -> SheetCell:
    """The formula cell that _PLAIN has found."""
    name, kind, _, _, formula, _, value = match.groups()
    row, column = read_place(name.decode())
    return SheetCell(
        row,
        column,
        match.start(),
        match.end(3),
        kind.decode() if kind else "n",
        end=match.end(),
        formula=unescaped(formula.decode()),
        formula_span=match.span(4),
        value_span=None if value is None else match.span(6),
        stored=unescaped(value.decode()) if value else "",
    )


def refuse_other_encodings(version: str, encoding: str | None, standalone: int) -> None:
    """Raise FileProblem for XML in another encoding than UTF-8, the only one that office programs write."""
    if (encoding or "utf-8").lower() not in ("utf-8", "utf8", "us-ascii"):
        raise FileProblem(f"the workbook is refused: a part of it is in {encoding}, and only UTF-8 is read")


def unescaped(text: str) -> str:
    """The text that an XML reader sees."""
    return unescape(text, {"&quot;": '"', "&apos;": "'"}) if "&" in text else text
