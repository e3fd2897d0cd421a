"""Text files as logs: delimiter, encoding and decimals found, and a sentence where they are not certain."""

from __future__ import annotations

from pathlib import Path

import pytest

from growcells.cells.errors import CellError
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import read_log
from growcells_workbooks.reading.inputs import read_input

TABLE = "Date,Bed,pH\n2026-11-05,T1,5.8\n"
READ = [["Date", "Bed", "pH"], ["2026-11-05", "T1", 5.8]]


def rows_of(folder: Path, content: str | bytes, name: str = "log.csv") -> tuple[list[list[object]], tuple[str, ...]]:
    """The filled cells of a file row by row, and what is said of it."""
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    given = read_input(path)
    (sheet,) = given.sheets
    assert sheet.title == "log"
    return [[cell.value for cell in row.values()] for row in sheet.rows.values()], given.notes


@pytest.mark.parametrize(
    "content",
    [
        TABLE,
        TABLE.replace(",", ";"),
        TABLE.replace(",", "\t"),
        TABLE.replace("\n", "\r\n"),
        "sep=;\n" + TABLE.replace(",", ";"),
        TABLE.encode("utf-8-sig"),
        TABLE.encode("utf-16"),
    ],
    ids=["comma", "semicolon", "tab", "lines of Windows", "sep", "mark", "UTF-16"],
)
def test_what_is_certain_needs_no_word(tmp_path: Path, content: str | bytes) -> None:
    assert rows_of(tmp_path, content) == (READ, ())


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf_16_without_a_mark(tmp_path: Path, encoding: str) -> None:
    content = "Date,Bed,pH\n" + "2026-11-05,T1,5.8\n" * 9
    assert rows_of(tmp_path, content.encode(encoding)) == ([READ[0], *[READ[1]] * 9], ())


@pytest.mark.parametrize(
    ("content", "read", "note"),
    [
        ("Bed;pH\nT1;5,8\nT2;6,1\n", [["Bed", "pH"], ["T1", "5,8"], ["T2", "6,1"]], ""),
        ('Bed,pH\n"T1, east","5,8"\n', [["Bed", "pH"], ["T1, east", "5,8"]], ""),
        ("Bed,EC\nT1,1.250\n", [["Bed", "EC"], ["T1", 1.25]], ""),
        ("Bed;EC\nT1;1.250\nT2;0.9\n", [["Bed", "EC"], ["T1", 1.25], ["T2", 0.9]], ""),
        (
            "Bed;EC\nT1;1.250\n",
            [["Bed", "EC"], ["T1", "1.250"]],
            'whether numbers such as "1.250" have a decimal point',
        ),
        ("Bed;EC\nT1;1.250\nT2;6,3\n", [["Bed", "EC"], ["T1", "1.250"], ["T2", "6,3"]], ""),
        ("A;B\n1.5;2,5\n", [["A", "B"], [1.5, "2,5"]], "some numbers have a decimal point and some a comma"),
        ("Bed\nT1\n", [["Bed"], ["T1"]], "no delimiter was found"),
        ("a,b;c,d\n1,2;3,4\n", None, "might be it too"),
        ("Töpfe,pH\nT1,6\n".encode("cp1252"), [["Töpfe", "pH"], ["T1", 6]], "Windows-1252"),
        ("Bed,Lot\nT1,007\nT2,1234567890123456\n", [["Bed", "Lot"], ["T1", "007"], ["T2", "1234567890123456"]], ""),
        ("Bed,g\nT1,#N/A\nT2,#DIV/0!\n", [["Bed", "g"], ["T1", CellError("#N/A")], ["T2", CellError("#DIV/0!")]], ""),
        ("Date,At\n5.11.2026,8:30\n,\n", [["Date", "At"], ["5.11.2026", "8:30"]], ""),
        ("Bed,n\nT1,-3\nT2,+.5\nT3,1e3\n", [["Bed", "n"], ["T1", -3], ["T2", 0.5], ["T3", "1e3"]], ""),
        ('Bed,notes\nT1,"two\nlines"\n', [["Bed", "notes"], ["T1", "two\nlines"]], ""),
    ],
)
def test_what_is_read_and_said(
    tmp_path: Path, content: str | bytes, read: list[list[object]] | None, note: str
) -> None:  # fmt: skip
    rows, notes = rows_of(tmp_path, content)
    if read is not None:
        assert rows == read
    assert len(notes) == bool(note)
    assert note in "".join(notes)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is empty"),
        (b" \n \n", "is empty"),
        (b"PK\x03\x04 and more", "is no text but a workbook"),
        (b"a,b\n1,\x00\n", "is no text file"),
        (b"\xff\xfea", "is damaged"),
        (b"a,b\n\x81\n", "save it as CSV UTF-8"),
        (b"a,b\n" + b"x" * 200_000, "cannot be read as rows of cells"),
    ],
)
def test_what_is_no_log_is_one_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    with pytest.raises(FileProblem, match=sentence):
        rows_of(tmp_path, content)


def test_a_log_with_decimal_commas_is_read(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("Datum egal\nDate;Bed;pH;EC mS/cm\n05.11.2026;T1;5,8;1,25\n16.11.2026;T1;6,0;1,3\n", "utf-8")
    log = read_log(path)
    assert [(reading.date.isoformat(), reading.ph, reading.ec) for reading in log.readings] == [
        ("2026-11-05", 5.8, 1.25),
        ("2026-11-16", 6.0, 1.3),
    ]
