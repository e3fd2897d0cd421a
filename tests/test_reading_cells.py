"""Cells read from worksheet parts, beside what openpyxl reads from the same file."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter  # type: ignore[import-untyped]
from openpyxl import load_workbook

from growcells.cells.errors import CellError
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading.inputs.workbook import sheets_of as sheets_of_parts
from growcells_workbooks.reading.model.log_cells import LogCell, Sheet
from growcells_workbooks.recalculation.package import Package
from log_books import ROOFTOP

DATA = Path(__file__).parent / "data"
BOOKS = sorted(path for path in DATA.rglob("*.xlsx"))
HEAD = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
TAIL = "</sheetData></worksheet>"


def sheets_of(path: Path, **replaced: str) -> list[Sheet]:
    """The sheets of a workbook as stored, some with other XML."""
    package = Package(path)
    parts = {sheet: package.read(part) for sheet, part in package.book.sheets.items()}
    return sheets_of_parts(package, {**parts, **{name: xml.encode() for name, xml in replaced.items()}})


def listed(sheet: Sheet) -> list[tuple[str, object]]:
    return [(cell.name, cell.value) for row in sheet.rows.values() for cell in row.values()]


def expected(cell: Any) -> LogCell:
    """What a cell that openpyxl has read is as a cell of a log."""
    if isinstance(cell.value, str):
        return LogCell("", cell.row, cell.column, CellError(cell.value) if cell.data_type == "e" else cell.value)
    return LogCell("", cell.row, cell.column, cell.value, cell.number_format)


@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.name)
def test_all_cells_are_as_openpyxl_reads_them(path: Path) -> None:
    book = load_workbook(path, data_only=True)
    for sheet, theirs in zip(sheets_of(path), book.worksheets, strict=True):
        ours = [cell for row in sheet.rows.values() for cell in row.values()]
        filled = [cell for row in theirs.iter_rows() for cell in row if cell.value is not None and cell.value != ""]
        wanted = [expected(cell) for cell in filled if str(cell.value).strip()]
        assert [(cell.row, cell.column, cell.value, cell.number_format) for cell in ours] == [
            (cell.row, cell.column, cell.value, cell.number_format) for cell in wanted
        ]


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A workbook with a shared text, a date and a duration."""
    path = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Log")
        sheet.write_string(0, 0, "a text")
        sheet.write_datetime(0, 1, datetime.datetime(2026, 11, 5), made.add_format({"num_format": "yyyy-mm-dd"}))
        sheet.write_number(0, 2, 1.25, made.add_format({"num_format": "[h]:mm"}))
    return path


def test_kinds_of_cells(book: Path) -> None:
    cells = (
        '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>in place</t></is></c>'
        '<c r="C1" t="b"><v>1</v></c><c r="D1" t="e"><v>#N/A</v></c><c r="E1" t="str"><f>"x"</f><v>x</v></c>'
        '<c r="F1" s="1"><v>46331</v></c><c r="G1" s="2"><v>1.25</v></c><c r="H1" t="d"><v>2026-11-05</v></c>'
        '<c r="I1"><v>-7</v></c><c r="J1"><v>1.5E-3</v></c><c r="K1" s="1"/><c r="L1" t="str"><v>  </v></c></row>'
    )
    (sheet,) = sheets_of(book, Log=HEAD + cells + TAIL)
    assert dict(listed(sheet)) == {
        "A1": "a text",
        "B1": "in place",
        "C1": True,
        "D1": CellError("#N/A"),
        "E1": "x",
        "F1": datetime.datetime(2026, 11, 5),
        "G1": datetime.timedelta(hours=30),
        "H1": datetime.date(2026, 11, 5),
        "I1": -7,
        "J1": 0.0015,
    }


def test_cells_and_rows_that_do_not_say_where_they_are(book: Path) -> None:
    cells = (
        '<row><c><v>1</v></c><c/><c><v>2</v></c></row><row r="4"><c r="B4"><v>3</v></c></row><row><c><v>4</v></c></row>'
    )
    (sheet,) = sheets_of(book, Log=HEAD + cells + TAIL)
    assert listed(sheet) == [("A1", 1), ("C1", 2), ("B4", 3), ("A5", 4)]


def test_rows_that_do_not_say_where_they_are_begin_anew_on_each_sheet(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "log.xlsx") as made:
        for name in ("One", "Two"):
            made.add_worksheet(name).write_string(0, 0, "a text")
    xml = f"{HEAD}<row><c><v>1</v></c></row>{TAIL}"
    assert [listed(sheet) for sheet in sheets_of(tmp_path / "log.xlsx", One=xml, Two=xml)] == [[("A1", 1)]] * 2


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        ('<!-- <c r="A1"><v>1</v></c> --><c r="B1"><v>2</v></c>', [("B1", 2)]),
        ('<?note <c r="A1"><v>1</v></c>?><c r="B1"><v>2</v></c>', [("B1", 2)]),
        ('<c r="A1"><f>1+1</f><v>2</v></c><c r="B1"><f t="shared" si="0"/><v>3</v></c>', [("A1", 2), ("B1", 3)]),
        ('<c s="1" r="A1"><v>46331</v></c><c r="B1" t="n"><v>2</v></c>', [("A1", "2026-11-05"), ("B1", 2)]),
        ('<c r="A1"><v>1</v></c><c><v>2</v></c>', [("A1", 1), ("B1", 2)]),
        ('<c r="A1" t="s"><v>1</v></c><c r="B1"><v> 2 </v></c>', [("B1", 2)]),
    ],
    ids=["comment", "instruction", "formulas", "attributes in another order", "no place", "blank text"],
)
def test_cells_written_in_other_ways(tmp_path: Path, cells: str, expected: list[tuple[str, object]]) -> None:
    path = tmp_path / "log.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("Log")
        sheet.write_string(0, 0, "a text")
        sheet.write_string(0, 1, "  ")
        sheet.write_datetime(0, 2, datetime.datetime(2026, 11, 5), made.add_format({"num_format": "yyyy-mm-dd"}))
    (read,) = sheets_of(path, Log=f'{HEAD}<row r="1">{cells}</row>{TAIL}')
    shown = [(name, f"{value:%Y-%m-%d}" if isinstance(value, datetime.date) else value) for name, value in listed(read)]
    assert shown == expected


def test_rows_and_cells_out_of_order_are_all_there(book: Path) -> None:
    cells = '<row r="3"><c r="B3"><v>1</v></c><c r="A3"><v>2</v></c></row>'
    cells += '<row r="2"><c r="A2"><v>3</v></c></row><row r="3"><c r="C3"><v>4</v></c></row>'
    (sheet,) = sheets_of(book, Log=HEAD + cells + TAIL)
    assert listed(sheet) == [("A2", 3), ("A3", 2), ("B3", 1), ("C3", 4)]


@pytest.mark.parametrize(
    "cell", ['<c r="A1" t="s"><v>99</v></c>', '<c r="A1"><v>six</v></c>', '<c r="A1" s="99"><v>6</v></c>']
)
def test_damage_is_one_sentence(book: Path, cell: str) -> None:
    with pytest.raises(FileProblem, match="cannot be opened as a workbook"):
        sheets_of(book, Log=f'{HEAD}<row r="1">{cell}</row>{TAIL}')


def test_damage_in_the_styles_is_one_sentence(tmp_path: Path) -> None:
    """It shows only where they are unpacked."""
    data = bytearray(ROOFTOP.read_bytes())
    with zipfile.ZipFile(ROOFTOP) as package:
        entry = package.getinfo("xl/styles.xml")
    begin = entry.header_offset + 30 + len(entry.filename)
    data[begin : begin + 40] = bytes(40)
    (tmp_path / "log.xlsx").write_bytes(data)
    with pytest.raises(FileProblem, match="cut short in its part xl/styles") as caught:
        sheets_of(tmp_path / "log.xlsx")
    assert "\n" not in str(caught.value)
