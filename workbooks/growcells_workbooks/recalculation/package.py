"""A workbook as the zip package that it is: what its parts say, and a copy in which only some parts differ.

Part names and relationships: ISO/IEC 29500-2 (packages) and 29500-1, 18.2 (workbook).
"""

from __future__ import annotations

import contextlib
import copy
import posixpath
import re
import xml.parsers.expat
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO
from urllib.parse import unquote

from ..gate import FileProblem, opened_zip, read_workbook_bytes
from ..gate.safe_xml import new_parser, unescaped
from ..gate.zip_parts import check_small, damage_named
from .cells import Area, read_area

_BLOCK = 2**20  # bytes copied at a time
_COMPRESSION = 5  # of 1 to 9: a large sheet takes two thirds of the time of level 6, and 1 % more bytes

_WORKSHEET = "/worksheet"
_SHARED_STRINGS = "sharedStrings"
_STYLES = "styles"
_TABLE = "/table"
_PIVOT_CACHE = "/pivotCacheDefinition"
_DOCUMENT = "/officeDocument"
_SIGNATURES = "/digital-signature/origin"
_PROPERTIES = "/extended-properties"
_MACINTOSH = b"<Application>Microsoft Macintosh Excel</Application>"
_OF_PROPERTIES = 4_096  # bytes of them in which the program is named: it stands at their head
_FIRST_HEADING = re.compile(rb"<HeadingPairs>.*?<vt:lpstr>([^<]*)<", re.DOTALL)
_ENGLISH_HEADINGS = frozenset((b"Worksheets", b"Charts", b"Named Ranges", b"Excel 4.0 Macros"))
"""What Excel in English calls the parts of a workbook in its properties: workbooks that it saved."""
_PLAIN_STYLE = re.compile(rb'<(?:\w+:)?cellStyle\s(?=[^>]*builtinId="0")[^>]*?\bname="([^"]*)"')
_ENGLISH_PLAIN = b"Normal"
"""The name that Excel in English gives the style that all cells begin with: workbooks that it saved."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table (list object) of a sheet; ``area`` has its heading and totals rows in it."""

    sheet: str
    name: str
    area: Area
    columns: tuple[str, ...]
    heading_rows: int
    totals_rows: int


@dataclass
class Book:
    """What the workbook part and the tables say; names are held in upper case, as they are compared."""

    sheets: dict[str, str] = field(default_factory=dict)
    """The part of each worksheet by the sheet's name, in the order of the tabs."""
    names: dict[tuple[str | None, str], str] = field(default_factory=dict)
    """The definition of each defined name by its scope (a sheet's name or None) and its own name."""
    tables: dict[str, Table] = field(default_factory=dict)
    shared_strings: str | None = None
    styles: str | None = None
    starts_1904: bool = False
    iterates: bool = False
    shows_precision: bool = False
    """Whether it computes with numbers as they are shown."""
    computes_on_load: bool = False
    """Whether it says that its stored values have yet to be computed."""
    computes_by_hand: bool = False
    """Whether its formulas are computed only when somebody asks for it."""
    filtered: set[str] = field(default_factory=set)
    """The sheets with a table that has a filter."""
    of_macintosh: bool = False
    """Whether Excel for Mac saved it, whose codes of signs beyond ASCII are other ones."""
    of_other_language: bool = False
    """Whether a program in another language than English saved it, which has other names of days and months."""
    has_pivots: bool = False
    is_signed: bool = False


class Package:
    """An opened .xlsx or .xlsm file; raises FileProblem for what is none or could harm."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._edited: dict[str, bytes] = {}
        self._removed: set[str] = set()
        self.content = read_workbook_bytes(path)
        self._zip = opened_zip(path, self.content)
        self.book = self._read_book()

    def read(self, part: str) -> bytes:
        """The unpacked bytes of a part, as edited."""
        if part in self._edited:
            return self._edited[part]
        with damage_named(self.path, part):
            try:
                return self._zip.read(part)
            except KeyError:
                raise FileProblem(f"{self.path} is damaged: its part {part} is missing") from None

    def edit(self, part: str, data: bytes) -> None:
        """Give a part other bytes, or add one, in what is read from now on and in copies; the file stays as it is."""
        self._edited[part] = data
        self._removed.discard(part)

    def remove(self, part: str) -> None:
        """Leave a part out of copies."""
        self._edited.pop(part, None)
        self._removed.add(part)

    def parts(self) -> list[str]:
        """The names of all parts, in the order of the file."""
        known = self._zip.namelist()
        added = [part for part in self._edited if part not in self._zip.NameToInfo]
        return [part for part in (*known, *added) if part not in self._removed]

    def write_copy(self, target: BinaryIO, changed: Mapping[str, bytes]) -> None:
        """Write the package, as edited and with the bytes of some parts replaced, all else as it was, to ``target``."""
        new_parts = {**self._edited, **changed}
        with zipfile.ZipFile(target, "w") as new:
            new.comment = self._zip.comment
            for part in self._zip.infolist():
                if part.filename in self._removed:
                    continue
                entry = copy.copy(part)
                if part.filename in new_parts:
                    new.writestr(entry, new_parts[part.filename], compresslevel=_COMPRESSION)
                else:
                    with new.open(entry, "w") as sink:
                        for block in self._blocks(part):
                            sink.write(block)
                entry.external_attr = part.external_attr  # zipfile fills in rights where there are none
            for name in sorted(new_parts.keys() - self._zip.NameToInfo.keys()):
                # Without a time, so that the same workbook gives the same bytes.
                new.writestr(zipfile.ZipInfo(name), new_parts[name], zipfile.ZIP_DEFLATED, _COMPRESSION)

    def _blocks(self, part: zipfile.ZipInfo) -> Iterator[bytes]:
        """The content of a part, piece by piece."""
        with damage_named(self.path, part.filename):
            source = self._zip.open(part)
        with source:
            while True:
                with damage_named(self.path, part.filename):
                    block = source.read(_BLOCK)
                if not block:
                    return
                yield block

    def relationships(self, part: str) -> list[tuple[str, str, str]]:
        """Id, type and target part of each internal relationship of a part ('' for the package itself)."""
        folder, name = posixpath.split(part)
        rels = posixpath.join(folder, "_rels", f"{name}.rels")
        if rels not in self._zip.NameToInfo:
            return []
        found: list[tuple[str, str, str]] = []

        def start(tag: str, attributes: dict[str, str]) -> None:
            if tag == "Relationship" and attributes.get("TargetMode") != "External":
                target = unquote(attributes.get("Target", ""))
                target = target[1:] if target.startswith("/") else posixpath.normpath(posixpath.join(folder, target))
                found.append((attributes.get("Id", ""), attributes.get("Type", ""), target))

        self._parse(rels, start)
        return found

    def _parse(
        self,
        part: str,
        start: Callable[[str, dict[str, str]], None],
        end: Callable[[str, str], None] | None = None,
    ) -> None:
        """Read a small XML part: ``start`` is told each element's local name and attributes, ``end`` name and text."""
        text: list[str] = []
        parser = new_parser()

        def start_element(name: str, attributes: dict[str, str]) -> None:
            text.clear()
            start(name.rpartition("}")[2], {key.rpartition("}")[2]: value for key, value in attributes.items()})

        def end_element(name: str) -> None:
            if end is not None:
                end(name.rpartition("}")[2], "".join(text))
            text.clear()

        parser.StartElementHandler = start_element
        parser.EndElementHandler = end_element
        parser.CharacterDataHandler = text.append
        if part in self._zip.NameToInfo:
            check_small(self.path, self._zip.NameToInfo[part])
        try:
            parser.Parse(self.read(part), True)
        except xml.parsers.expat.ExpatError as why:
            raise FileProblem(f"{self.path} is damaged: its part {part} is no well-formed XML ({why})") from None

    def _read_book(self) -> Book:
        related = self.relationships("")
        workbook = self.workbook_part = self._workbook_part(related)
        targets = {number: (kind, target) for number, kind, target in self.relationships(workbook)}
        properties = self._properties(related)
        book = Book(
            has_pivots=any(kind.endswith(_PIVOT_CACHE) for kind, _ in targets.values()),
            is_signed=any(kind.endswith(_SIGNATURES) for _, kind, _ in related),
            of_macintosh=_MACINTOSH in properties,
        )
        self._read_workbook_part(workbook, targets, book)
        if not book.sheets:
            raise FileProblem(f"{self.path} holds no worksheet: give a workbook such as log.xlsx")
        parts = {kind.rpartition("/")[2]: target for kind, target in reversed(targets.values())}
        book.shared_strings, book.styles = parts.get(_SHARED_STRINGS), parts.get(_STYLES)
        book.of_other_language = self._is_of_other_language(properties, book.styles)
        for sheet, part in book.sheets.items():
            for _, kind, target in self.relationships(part):
                if kind.endswith(_TABLE):
                    table = self._read_table(sheet, target)
                    if b"filterColumn" in self.read(target):
                        book.filtered.add(sheet)
                    book.tables[table.name.upper()] = table
        return book

    def _properties(self, related: Sequence[tuple[str, str, str]]) -> bytes:
        """The properties that name the program, nothing where they cannot be read."""
        parts = (part for _, kind, part in related if kind.endswith(_PROPERTIES) and part in self._zip.NameToInfo)
        with contextlib.suppress(FileProblem):
            return b"".join(self.read(part)[:_OF_PROPERTIES] for part in parts)
        return b""

    def _is_of_other_language(self, properties: bytes, styles: str | None) -> bool:
        """Whether what a program names in its own language is not named in English."""
        heading = _FIRST_HEADING.search(properties)
        if heading is not None and heading[1] not in _ENGLISH_HEADINGS:
            return True
        if styles is None or styles not in self._zip.NameToInfo:
            return False
        with contextlib.suppress(FileProblem):
            plain = _PLAIN_STYLE.search(self.read(styles))
            return plain is not None and plain[1] != _ENGLISH_PLAIN
        return False

    def shared_texts(self) -> list[str]:
        """The texts that cells share, by their number."""
        texts: list[str] = []
        pieces: list[str] = []

        def start(tag: str, attributes: dict[str, str]) -> None:
            if tag == "si":
                pieces.clear()

        def end(tag: str, text: str) -> None:
            if tag == "t":
                pieces.append(text)
            elif tag == "rPh":
                pieces.pop()
            elif tag == "si":
                texts.append("".join(pieces))

        if self.book.shared_strings:
            self._parse(self.book.shared_strings, start, end)
        return texts

    def _workbook_part(self, related: Sequence[tuple[str, str, str]]) -> str:
        """The name of the part that lists the sheets, by the relationships of the package."""
        documents = [target for _, kind, target in related if kind.endswith(_DOCUMENT)]
        if not documents:
            kind = "an OpenDocument file" if "mimetype" in self._zip.NameToInfo else "some other kind of zip file"
            raise FileProblem(f"{self.path} is {kind}, not an Excel workbook: save it as .xlsx")
        if documents[0].endswith(".bin"):
            raise FileProblem(f"{self.path} is a binary workbook (.xlsb): save it as .xlsx")
        return documents[0]

    def _read_workbook_part(self, workbook: str, targets: Mapping[str, tuple[str, str]], book: Book) -> None:
        """Take sheets, names and settings from the workbook part; ``targets`` are the parts related to it by id."""
        tabs: list[str] = []
        name: dict[str, str] = {}

        def start(tag: str, attributes: dict[str, str]) -> None:
            if tag == "sheet":
                title = attributes.get("name", "")
                tabs.append(title)
                kind, target = targets.get(attributes.get("id", ""), ("", ""))
                if kind.endswith(_WORKSHEET):
                    book.sheets[title] = target
            elif tag == "workbookPr" and "date1904" in attributes:
                book.starts_1904 = attributes["date1904"] in ("1", "true")
            elif tag == "calcPr":
                book.iterates = attributes.get("iterate") in ("1", "true")
                book.shows_precision = attributes.get("fullPrecision") in ("0", "false")
                book.computes_on_load = attributes.get("fullCalcOnLoad") in ("1", "true")
                book.computes_by_hand = attributes.get("calcMode") == "manual"
            elif tag == "definedName":
                name.clear()
                name.update(attributes)

        def end(tag: str, text: str) -> None:
            if tag == "definedName" and "name" in name:
                number = name.get("localSheetId", "")
                known = number.isdecimal() and len(number) < 6 and int(number) < len(tabs)
                scope = tabs[int(number)] if known else None
                book.names[scope, name["name"].upper()] = text

        self._parse(workbook, start, end)

    def _read_table(self, sheet: str, part: str) -> Table:
        found: dict[str, str] = {}
        columns: list[str] = []

        def start(tag: str, attributes: dict[str, str]) -> None:
            if tag == "table":
                found.update(attributes)
            elif tag == "tableColumn":
                columns.append(unescaped(attributes.get("name", "")))

        self._parse(part, start)
        return Table(
            sheet,
            found.get("displayName", found.get("name", "")),
            read_area(found.get("ref", "A1")),
            tuple(columns),
            int(found.get("headerRowCount", "1") != "0"),
            int(found.get("totalsRowCount", "0") != "0"),
        )
