"""New workbooks: what is put into their cells comes out of them again, and texts of logs stay texts."""

from __future__ import annotations

import datetime
import io
import zipfile

import pytest
from lxml import etree
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from growcells.cells.kinds import LONGEST_TEXT
from growcells_workbooks.gate.safe_xml import unescaped
from growcells_workbooks.sheets.cell_writer import CellWriter, Computed, Content
from growcells_workbooks.sheets.print_setup import A4, set_up_print
from growcells_workbooks.sheets.styles import Painter, Style
from growcells_workbooks.sheets.workbook_files import Book, workbook_bytes

DAY = datetime.date(2026, 11, 22)
TEXTS = (
    *("=1+1", "+1", "-1", "@SUM(A1)", "{=1+1}", "17-7-21", "1e999", "  spaces  ", "two\nlines", "&amp; <b>"),
    *("https://example.org", "mailto:a@example.org", "internal:Sheet!A1", "external:c:\\x.xlsx"),
    *("<r>", "</r>", "<r>a</r>", "<r><t>a</t></r>", "<r>_x0041_</r>", "<r>\r</r>"),
    *("_x003D_1+1", "_x0041_x0042_", "_x0041_x0042_x0043_", "_x005F_x0041_", "__x0041__", "_x00zz_"),
    *("é ☐ 水 🌱", "a\rb", "<r>é&_x0041_x0042_</r>"),
)
"""As they stand in a cell, so that the file has to give each back letter by letter."""


def written(*values: Content, style: Style | None = None) -> bytes:
    """A workbook with these values below each other."""
    book = Book()
    cells = CellWriter(book.add_worksheet("Log"), Painter(book))
    for row, value in enumerate(values, 1):
        cells.put(row, 1, value)
        if style:
            cells.paint(row, 1, style)
    cells.finish()
    return workbook_bytes(book, DAY)


def sheet_of(content: bytes) -> Worksheet:
    """The sheet of a workbook."""
    sheet = load_workbook(io.BytesIO(content)).active
    assert isinstance(sheet, Worksheet)
    return sheet


def texts_of(content: bytes) -> list[str]:
    """The shared strings of a workbook, escapes decoded."""
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        root = etree.fromstring(package.read("xl/sharedStrings.xml"))
    return [unescaped("".join(text.text or "" for text in item.iter("{*}t"))) for item in root]


@pytest.mark.parametrize("style", [None, Style()])
def test_a_text_stays_the_text_that_it_is(style: Style | None) -> None:
    content = written(*TEXTS, style=style)
    assert texts_of(content) == list(TEXTS)
    sheet = sheet_of(content)
    assert [sheet.cell(row, 1).data_type for row in range(1, len(TEXTS) + 1)] == ["s"] * len(TEXTS)
    for row, text in enumerate(TEXTS, 1):
        assert sheet.cell(row, 1).quotePrefix == (text[0] in "=+-@") and not sheet.cell(row, 1).hyperlink


def test_a_text_is_cut_where_no_cell_holds_more() -> None:
    texts = ["a" * 40_000, "_x0041_x0042_" * 4_000, "<r>" + "&" * 40_000]
    assert texts_of(written(*texts)) == [text[:LONGEST_TEXT] for text in texts]


def test_what_no_workbook_holds_is_a_space() -> None:
    assert texts_of(written("a\x19b", "\ud800", "\uffff!")) == ["a b", " ", " !"]


@pytest.mark.parametrize(
    ("value", "held", "kind"),
    [
        (6.25, 6.25, "n"),
        (1 / 3, 0.3333333333333333, "n"),
        (-12, -12, "n"),
        (1e300, 1e300, "n"),
        (True, True, "b"),
        (datetime.date(2026, 11, 22), 46348, "n"),
        (datetime.date(1900, 2, 28), 59, "n"),
        (datetime.datetime(2026, 11, 22, 6), 46348.25, "n"),
        (datetime.time(18), 0.75, "n"),
        (float("nan"), "=#NUM!", "f"),
        (float("inf"), "=#NUM!", "f"),
        (Computed("=SUM(A1:A2)", 3.0), "=SUM(A1:A2)", "f"),
        (None, None, "n"),
        ("", None, "n"),
    ],
)
def test_a_value_stays_the_value_that_it_is(value: Content, held: object, kind: str) -> None:
    cell = sheet_of(written(value, style=Style())).cell(1, 1)
    assert (cell.value, cell.data_type) == (held, kind)


@pytest.mark.parametrize(("value", "stored"), [(0.1 + 0.2, 0.1 + 0.2), ("1 < 2", "1 < 2"), ("", None)])
def test_a_formula_has_its_value(value: float | str, stored: object) -> None:
    book = load_workbook(io.BytesIO(written(Computed("=A2+A3", value))), data_only=True)
    assert book["Log"]["A1"].value == stored


def test_the_same_content_gives_the_same_bytes_of_a_day() -> None:
    content = written(*TEXTS)
    assert content == written(*TEXTS)
    moment = datetime.datetime.combine(DAY, datetime.time())
    properties = load_workbook(io.BytesIO(content)).properties
    assert properties.created == properties.modified == moment
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        assert {part.date_time for part in package.infolist()} == {(1980, 1, 1, 0, 0, 0)}


@pytest.mark.parametrize("height", [3.0, 12.75, 15.0, 16.0, 12.666666666666666])
def test_a_row_is_as_high_as_it_was_made(height: float) -> None:
    """Also where that is what rows are anyway: LibreOffice takes a height of its own for rows that have none."""
    book = Book()
    cells = CellWriter(book.add_worksheet("Log"), Painter(book))
    cells.set_height(1, height)
    cells.column_widths[1] = 9.6
    cells.finish()
    sheet = sheet_of(workbook_bytes(book, DAY))
    assert sheet.row_dimensions[1].height == pytest.approx(height)
    assert sheet.column_dimensions["A"].width == pytest.approx(9.6, abs=1 / 256)
    assert sheet.row_dimensions[2].height is None


@pytest.mark.parametrize("name", ["plain", "R&G", "&[Picture]", "&P of &N", "_x0041_x", "_x0041_", "é & ü", "n&" * 200])
def test_a_footer_shows_the_name_of_the_log(name: str) -> None:
    book = Book()
    set_up_print(book.add_worksheet("Log"), landscape=False, paper=A4, footer=name)
    footer = sheet_of(workbook_bytes(book, DAY)).oddFooter
    assert footer is not None and footer.left is not None and footer.right is not None
    shown = str(footer.left.text).replace("&&", "&")
    assert shown == name if len(name) < 100 else shown.endswith("…") and name.startswith(shown[:-1])
    assert footer.right.text == "page &P of &N"
