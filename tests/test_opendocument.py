"""Logs in the .ods format: cells as LibreOffice stores them, and stored values that are no longer so."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
import xlsxwriter  # type: ignore[import-untyped]

from growcells.cells.errors import CellError
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.log_check import count_problems, lines_of
from growcells_workbooks.reading import read_log
from growcells_workbooks.reading.inputs import Input, opendocument, read_input
from growcells_workbooks.reading.inputs.log_cells import Sheet
from libreoffice import RunningOffice
from log_books import ROOFTOP
from ods_books import ods_cell, ods_row, write_ods, write_ods_parts

Moment, Span = datetime.datetime, datetime.timedelta
ERROR = 'office:value-type="string" office:string-value="" calcext:value-type="error"'


def given_by(folder: Path, rows: str, styles: str = "", after: str = "") -> Input:
    """What a file of one sheet gives, whose rows are written as XML."""
    table = f'<table:table table:name="Log">{rows}</table:table>'
    return read_input(write_ods_parts(folder / "log.ods", table, styles, after))


def listed(sheet: Sheet) -> dict[str, object]:
    return {cell.name: cell.value for row in sheet.rows.values() for cell in row.values()}


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ('<table:table-cell office:value-type="float" office:value="-7"/>', -7),
        ('<table:table-cell office:value-type="percentage" office:value="0.125"/>', 0.125),
        ('<table:table-cell office:value-type="currency" office:currency="EUR" office:value="9.5"/>', 9.5),
        ('<table:table-cell office:value-type="date" office:date-value="2026-11-05"/>', Moment(2026, 11, 5)),
        (
            '<table:table-cell office:value-type="date" office:date-value="2026-11-05T08:30:00"/>',
            Moment(2026, 11, 5, 8, 30),
        ),
        ('<table:table-cell office:value-type="time" office:time-value="PT08H30M00S"/>', datetime.time(8, 30)),
        ('<table:table-cell office:value-type="time" office:time-value="PT00H00M00S"/>', datetime.time()),
        ('<table:table-cell office:value-type="time" office:time-value="PT30H15M00S"/>', Span(hours=30, minutes=15)),
        ('<table:table-cell office:value-type="boolean" office:boolean-value="true"/>', True),
        (
            '<table:table-cell office:value-type="string"><text:p>a</text:p><text:p>b</text:p></table:table-cell>',
            "a\nb",
        ),
        (
            '<table:table-cell office:value-type="string"><office:annotation><text:p>note</text:p></office:annotation>'
            '<text:p>a<text:s text:c="2"/><text:span>b</text:span><text:tab/>c</text:p></table:table-cell>',
            "a  b\tc",
        ),
        (f"<table:table-cell {ERROR}><text:p>#N/A</text:p></table:table-cell>", CellError("#N/A")),
        (f"<table:table-cell {ERROR}><text:p>Err:508</text:p></table:table-cell>", CellError("Err:508")),
    ],
)
def test_kinds_of_cells(tmp_path: Path, cell: str, value: object) -> None:
    (sheet,) = given_by(tmp_path, ods_row([cell])).sheets
    assert listed(sheet) == {"A1": value}


def test_cells_and_rows_that_stand_for_many(tmp_path: Path) -> None:
    rows = (
        ods_row([ods_cell("x", 'table:number-columns-repeated="3"'), ods_cell(None), ods_cell(1)])
        + ods_row([ods_cell(None)], 'table:number-rows-repeated="1000000"')
        + ods_row([ods_cell(2)], 'table:number-rows-repeated="2"')
    )
    (sheet,) = given_by(tmp_path, rows).sheets
    assert listed(sheet) == {"A1": "x", "B1": "x", "C1": "x", "E1": 1, "A1000002": 2, "A1000003": 2}


def test_a_file_that_unpacks_to_more_cells_than_any_log_is_refused(tmp_path: Path) -> None:
    many = ods_row([ods_cell(1, 'table:number-columns-repeated="16384"')], 'table:number-rows-repeated="1048576"')
    with pytest.raises(FileProblem, match="more than 5,000,000 filled cells"):
        given_by(tmp_path, many)


def test_the_filled_cells_of_all_rows_count_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opendocument, "MOST_CELLS", 6)
    row = ods_row([ods_cell(1, 'table:number-columns-repeated="3"')])
    assert len(listed(given_by(tmp_path, row * 2).sheets[0])) == 6
    with pytest.raises(FileProblem, match="more than 6 filled cells"):
        given_by(tmp_path, row * 3)


def test_merged_and_hidden(tmp_path: Path) -> None:
    spans = 'table:number-columns-spanned="2" table:number-rows-spanned="2"'
    rows = (
        '<table:table-column table:visibility="collapse"/>'
        + ods_row([ods_cell("a", spans), "<table:covered-table-cell/>", ods_cell(1)])
        + ods_row([ods_cell(None), ods_cell(None), ods_cell(2)], 'table:visibility="filter"')
    )
    given = given_by(tmp_path, rows)
    (sheet,) = given.sheets
    assert {place: cell.name for place, cell in sheet.merged.items()} == {(1, 2): "A1", (2, 1): "A1", (2, 2): "A1"}
    assert given.notes == ("1 row and 1 column of Log are hidden; they are read like the others",)


DATE_STYLE = (
    '<number:date-style style:name="D"{}><number:day number:style="long"/><number:text>.</number:text>'
    '<number:month number:style="long"/><number:text>.</number:text><number:year number:style="long"/>'
    '</number:date-style><style:style style:name="c" style:family="table-cell" style:data-style-name="D"/>'
)


@pytest.mark.parametrize(
    ("styles", "value", "number_format"),
    [
        (DATE_STYLE.format(""), datetime.date(2026, 11, 5), "dd.mm.yyyy"),
        (DATE_STYLE.format(' number:automatic-order="true"'), datetime.date(2026, 11, 5), "mm-dd-yy"),
        (
            '<number:currency-style style:name="D"><number:currency-symbol>$</number:currency-symbol><number:number '
            'number:decimal-places="2" number:min-integer-digits="1" number:grouping="true"/></number:currency-style>'
            '<style:style style:name="c" style:family="table-cell" style:data-style-name="D"/>',
            4.5,
            '"$"#,##0.00',
        ),
        ("", 4.5, "General"),
    ],
)
@pytest.mark.parametrize("where", ["cell", "row", "column"])
def test_number_formats(tmp_path: Path, styles: str, value: object, number_format: str, where: str) -> None:
    named = {
        "cell": "table:style-name",
        "row": "table:default-cell-style-name",
        "column": "table:default-cell-style-name",
    }
    style = f'{named[where]}="c"' if styles else ""
    rows = f"<table:table-column {style if where == 'column' else ''}/>" + ods_row(
        [ods_cell(value, style if where == "cell" else "")], style if where == "row" else ""
    )
    (sheet,) = given_by(tmp_path, rows, styles).sheets
    assert sheet.rows[1][1].number_format == number_format


def call(formula: str, stored: object, extra: str = "") -> str:
    return ods_cell(stored, f'table:formula="of:={formula}" {extra}')


BOX = "GROWCELLS.FUNCTIONS.GROWVOLUMEBOX"
GALLONS = 40 * 25 * 6 / 231
"""A box of 40 × 25 × 6 in; the US gallon has 231 in³ (NIST Handbook 44, appendix C)."""


@pytest.mark.parametrize(
    ("formula", "stored", "now"),
    [
        (f"{BOX}([.A1];[.B1];[.C1])", GALLONS, None),
        (f"{BOX}([.A1];[.B1];[.C1])", round(GALLONS, 12), None),
        (f"{BOX}([.A1];[.B1];[.C1])", 30.5, f"{GALLONS:.15g}"),
        (f"{BOX}([.$A$1];[$Log.B1];[$'Log'.C1])*2", 30.5, f"{2 * GALLONS:.15g}"),
        (f"IF([.A1]&gt;3;{BOX}(40;25;&quot;6 in&quot;);0)", 7, f"{GALLONS:.15g}"),
        (f"SUM({BOX}(size;25;6);0)", GALLONS, None),
        ("GROW_VOLUME_BOX([.A1];[.B1];[.C1])", 1, f"{GALLONS:.15g}"),
        (f"{BOX}([.A1];[.B1];-1)", 5, "#NUM!"),
        (f"{BOX}([.A1];[.B1];[.Z9])", 5, "#VALUE!"),
        ("&quot;GROW_DOSE(1;2)&quot;", "GROW_DOSE(1;2)", None),
        ("SUM([.A1:.B1])", 1, None),
    ],
)
def test_stored_values_that_are_no_longer_so_are_said(
    tmp_path: Path, formula: str, stored: object, now: str | None
) -> None:
    names = (
        '<table:named-expressions><table:named-range table:name="size" table:base-cell-address="$Log.$A$1" '
        'table:cell-range-address="$Log.$A$1"/></table:named-expressions>'
    )
    row = ods_row([ods_cell(40), ods_cell(25), ods_cell(6), call(formula, stored)])
    given = given_by(tmp_path, row, after=names)
    assert [(cell.cell, cell.now) for cell in given.outdated] == ([] if now is None else [("D1", now)])
    assert given.sheets[0].computed == {(1, 4)}
    assert given.sheets[0].rows[1][4].value == stored, "what is stored is what is read"


@pytest.mark.parametrize(
    "formula",
    [
        f"{BOX}(['file:///other.ods'#$Log.A1];2;3)",
        f"{BOX}(unknown;2;3)",
        f"{BOX}(ORG.LIBREOFFICE.RAWSUBTRACT(3;1);2;3)",
    ],
)
def test_what_cannot_be_computed_anew_is_counted(tmp_path: Path, formula: str) -> None:
    given = given_by(tmp_path, ods_row([call(formula, 5)]))
    assert given.outdated == ()
    assert given.notes == (
        "1 of 1 formulas with growcells functions cannot be computed here: they have the values that LibreOffice "
        "stored",
    )


def test_errors_get_to_know_why(tmp_path: Path) -> None:
    def cell(formula: str, code: str) -> str:
        return f'<table:table-cell table:formula="of:={formula}" {ERROR}><text:p>{code}</text:p></table:table-cell>'

    given = given_by(tmp_path, ods_row([cell(f"{BOX}(-1;2;3)", "#NUM!"), cell("1/0", "#DIV/0!")]))
    assert [(failed.cell, failed.formula, failed.why[:20]) for failed in given.failed] == [
        ("A1", "=GROW_VOLUME_BOX(-1,2,3)", "length is -1, below "),
        ("B1", "=1/0", "LibreOffice stored t"),
    ]
    assert given.formulas == 2
    assert given.functions == ("GROW_VOLUME_BOX",)


def test_check_says_it(tmp_path: Path) -> None:
    heads = ods_row(map(ods_cell, ("Bed", "Length in", "Width in", "Depth in", "gal")))
    size = [*map(ods_cell, ("T1", 40, 25, 6)), call(f"{BOX}([.B2];[.C2];[.D2])", 30.5)]
    table = f'<table:table table:name="Beds">{heads}{ods_row(size)}</table:table>'
    log = read_log(write_ods_parts(tmp_path / "log.ods", table))
    assert log.beds[0].volume == 30.5
    assert count_problems(log) == 1
    text = "\n".join(line.text for line in lines_of(log))
    assert "Beds!E2  30.5  =GROW_VOLUME_BOX(B2,C2,D2)" in text
    assert f"it is {GALLONS:.15g} now" in text


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda path: path.write_bytes(b""), "is empty"),
        (lambda path: path.write_bytes(b"Bed,pH"), "is no OpenDocument workbook"),
        (lambda path: path.write_bytes(ROOFTOP.read_bytes()), "give it the ending .xlsx"),
        (lambda path: path.write_bytes(path.read_bytes()[:-40]), "is damaged or cut short"),
        (lambda path: write_ods_parts(path, "<table:table"), "cannot be opened as a workbook"),
        (lambda path: write_ods_parts(path, ""), "holds no sheet"),
        (
            lambda path: write_ods_parts(
                path, "", **{"META-INF/manifest.xml": b"<manifest:encryption-data/>"}
            ),
            "protected by a password",
        ),
    ],
)  # fmt: skip
def test_what_is_no_log_is_one_sentence(tmp_path: Path, change: object, sentence: str) -> None:
    path = write_ods(tmp_path / "log.ods", {"Log": [["Bed"]]})
    assert callable(change)
    change(path)
    with pytest.raises(FileProblem, match=sentence) as caught:
        read_input(path)
    assert "\n" not in str(caught.value)


def test_a_log_saved_by_libreoffice_is_read_as_the_workbook_that_it_came_from(
    tmp_path: Path, office: RunningOffice
) -> None:
    source, saved = tmp_path / "kinds.xlsx", tmp_path / "kinds.ods"
    with xlsxwriter.Workbook(source) as book:
        sheet = book.add_worksheet("My log's")
        for row, shown in enumerate(("yyyy-mm-dd", "dd/mm/yyyy", "dd.mm.yyyy hh:mm", "d-mmm-yy h:mm:ss AM/PM")):
            sheet.write_datetime(
                row, 0, Moment(2026, 11, 5, 8, 30, 15 * (row > 2)), book.add_format({"num_format": shown})
            )
        numbers = (
            (0.35, "hh:mm"),
            (1.25, "[h]:mm"),
            (0.12, "0.0%"),
            (1234.5, '"$"#,##0.00'),
            (46331, "mm-dd-yy"),
            (7, ""),
        )
        for row, (number, shown) in enumerate(numbers):
            sheet.write_number(row, 1, number, book.add_format({"num_format": shown} if shown else {}))
        sheet.write_column(0, 2, ["two\nlines  and   spaces", " lead", "a & <b>"])
        sheet.merge_range("E1:F3", "merged")
        sheet.set_row(9, None, None, {"hidden": True})
        sheet.write("A10", "hidden")
        sheet.write("XFD1", "edge")
        sheet.write_comment("A10", "a comment")
        sheet.write_rich_string("C20", "rich ", book.add_format({"bold": True}), "text")
        book.add_worksheet("Two").write_formula("A1", "=GROW_VOLUME_BOX(40,25,6)", None, GALLONS)
    with office.open(source) as opened:
        opened.save(saved)
    expected, found = read_input(source), read_input(saved)
    assert found.notes == expected.notes
    assert (found.functions, found.formulas, found.outdated) == (("GROW_VOLUME_BOX",), 1, ())
    for theirs, ours in zip(expected.sheets, found.sheets, strict=True):
        assert ours.title == theirs.title
        assert ours.computed == theirs.computed
        assert ours.merged.keys() == theirs.merged.keys()
        for row, cells in theirs.rows.items():
            for column, cell in cells.items():
                other = ours.rows[row][column]
                assert (
                    other.value == pytest.approx(cell.value, rel=1e-14)
                    if type(cell.value) is float
                    else other.value == cell.value
                )
                assert other.number_format == cell.number_format
        assert sum(map(len, ours.rows.values())) == sum(map(len, theirs.rows.values()))


def test_the_existing_log_saved_as_ods_is_read_the_same(tmp_path: Path, office: RunningOffice) -> None:
    with office.open(ROOFTOP) as opened:
        opened.save(tmp_path / "log.ods")
    log, same = read_log(ROOFTOP), read_log(tmp_path / "log.ods")
    assert same.readings == log.readings
    assert same.weights == log.weights
    assert same.left_out == log.left_out
    assert same.outdated == ()
    assert [bed.volume for bed in same.beds] == pytest.approx([bed.volume for bed in log.beds], rel=1e-14)
