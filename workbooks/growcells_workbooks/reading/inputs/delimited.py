"""The one sheet of a text file with a row in a line: .csv, and the like with other delimiters."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path

from growcells.cells.errors import CellError

from ...gate import FileProblem, read_file
from ..model.log_cells import LogCell, sheet_of
from .given import Input

DELIMITERS = {",": "a comma", ";": "a semicolon", "\t": "a tab"}
SAMPLE_LINES = 200
"""Rows by which the delimiter is found; ours."""
LONGEST_NUMBER = 15
"""Digits beyond which a number is a name such as a bar code, which a float would change (IEC 60559)."""
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_ZIP, _OLE = b"PK\x03\x04", bytes.fromhex("D0CF11E0A1B11AE1")
_DECLARED = re.compile(r"sep=([,;\t])\r?\n")
"""The first line by which Excel is told the delimiter."""
_SEPARATING_COMMA = re.compile(r"(?<!\d),|,(?!\d)")
_NUMBER = re.compile(r"(?=[+-]?\.?\d)[+-]?(?:0|[1-9]\d*)?(?:\.\d+(?:[eE][+-]?\d{1,3})?)?")
_THOUSANDS_OR_THOUSANDTHS = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")
_DECIMAL_COMMA = re.compile(r"[+-]?(?:\d+,(?:\d{1,2}|\d{4,})|0,\d+)")
_ERROR = re.compile(r"#(?:N/A|DIV/0!|VALUE!|REF!|NAME\?|NUM!|NULL!)")


def read_delimited(path: Path) -> Input:
    """The rows of a text file; what is not certain about it is in the notes.

    Texts that can only be one number are numbers; dates, and numbers with a decimal comma, stay the texts that they
    are, for the reader to decide a column as a whole. Raises FileProblem.
    """
    data = read_file(path)
    text, encoding_note = _decoded(path, data)
    declared = _DECLARED.match(text)
    if declared:
        delimiter, delimiter_note = declared[1], ""
        text = text[declared.end() :]
    else:
        delimiter, delimiter_note = _delimiter(text)
    cells, number_note = _cells(path, csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), delimiter)
    notes = (encoding_note, delimiter_note, number_note)
    return Input([sheet_of(path.stem, cells)], notes=tuple(f"{path.name}: {note}" for note in notes if note))


def _decoded(path: Path, data: bytes) -> tuple[str, str]:
    """The text of a file, and what is not certain about its letters. Raises FileProblem where it is no text."""
    if not data.strip():
        raise FileProblem(f"{path} is empty: give a log such as log.csv")
    if data.startswith((_ZIP, _OLE)):
        raise FileProblem(f"{path} is no text but a workbook: give it the ending that it had, such as .xlsx")
    text, note = _letters(path, data)
    if "\0" in text:
        raise FileProblem(f"{path} is no text file: save the log as .csv once more")
    return text, note


def _letters(path: Path, data: bytes) -> tuple[str, str]:
    marked = [encoding for mark, encoding in _MARKS if data.startswith(mark)]
    # Without a mark, every other byte of UTF-16 is 0 where the letters are Latin.
    half = ["utf-16-le"] * (data[1:200:2].count(0) > 50) + ["utf-16-be"] * (data[0:200:2].count(0) > 50)
    for encoding in (*marked, *half, "utf-8"):
        try:
            return data.decode(encoding), ""
        except UnicodeDecodeError:
            if marked:
                raise FileProblem(f"{path} is damaged: it is no {encoding}, as its first bytes say") from None
    try:
        return data.decode("cp1252"), "its letters are read as Windows-1252, since they are no UTF-8: look at the names"
    except UnicodeDecodeError:
        raise FileProblem(f"{path} is in an unknown encoding: save it as CSV UTF-8") from None


def _delimiter(text: str) -> tuple[str, str]:
    """What stands between the fields of a row, and what is not certain about it."""
    fitting: list[tuple[float, int, str]] = []
    for delimiter in DELIMITERS:
        if delimiter == "," and not _SEPARATING_COMMA.search(text, 0, 2**16):
            continue  # every comma stands in a number
        try:
            rows = list(islice(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter), SAMPLE_LINES))
        except csv.Error:
            continue
        widths = [len(row) for row in rows if any(field.strip() for field in row)]
        (width, alike), *_ = Counter(widths).most_common(1) or [(0, 0)]
        if width > 1 and 2 * alike >= len(widths):
            fitting.append((alike / len(widths), width, delimiter))
    if not fitting:
        return ",", "no delimiter was found, so that each line is one cell"
    best = max(fitting)[2]
    others = [DELIMITERS[delimiter] for _, _, delimiter in fitting if delimiter != best]
    if others:
        return best, f"{DELIMITERS[best]} is taken for what stands between its cells; {others[0]} might be it too"
    return best, ""


def _cells(path: Path, rows: Iterator[Sequence[str]], delimiter: str) -> tuple[list[LogCell], str]:
    """The filled cells of rows of fields, and what is not certain about their numbers."""
    cells: list[LogCell] = []
    doubtful: list[LogCell] = []
    points = commas = 0
    for number, row in enumerate(_whole(path, rows), 1):
        for column, field in enumerate(row, 1):
            text = field.strip()
            if not text:
                continue
            cell = LogCell(path.stem, number, column, field)
            cells.append(cell)
            if not (text[0].isdigit() or text[0] in "+-.#"):
                continue
            if _THOUSANDS_OR_THOUSANDTHS.fullmatch(text):
                doubtful.append(cell)
            elif _NUMBER.fullmatch(text) and sum(map(str.isdigit, text)) <= LONGEST_NUMBER:
                cell.value = int(text) if text.lstrip("+-").isdigit() else float(text)
                points += "." in text
            elif _DECIMAL_COMMA.fullmatch(text):
                commas += 1
            elif _ERROR.fullmatch(text):
                cell.value = CellError(text)
    if points and commas:
        return cells, "some numbers have a decimal point and some a comma: each column is read by itself"
    if doubtful and not commas:
        if not points and delimiter != ",":
            return cells, f'whether numbers such as "{doubtful[0].text}" have a decimal point nothing in it tells'
        for cell in doubtful:
            cell.value = float(cell.text)
    return cells, ""


def _whole(path: Path, rows: Iterable[Sequence[str]]) -> Iterator[Sequence[str]]:
    try:
        yield from rows
    except csv.Error as why:
        raise FileProblem(f"{path} cannot be read as rows of cells: {why}") from None
