"""Only the values of formulas may change: everything else in the file stays the same, byte for byte."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import openpyxl
import pytest

from growcells_workbooks.recalculation import recalculate, sheet_xml
from growcells_workbooks.recalculation.sheet_xml import scan_sheet
from log_books import ROOFTOP
from recalc_books import (
    assert_only_values_differ,
    change_part,
    converted,
    first_sheet,
    furnished_book,
    pivot_book,
    read_values,
    signed_book,
    without_formula_values,
    write_book,
)
from us_units import CUBIC_INCHES_IN_GALLON

DAY = datetime.date(2026, 11, 20)


def test_the_eye_sees_other_changes(tmp_path: Path) -> None:
    """The comparison itself fails where a style, a formula, another value or another part changes."""
    book = write_book(tmp_path / "a.xlsx", {"A1": 1, "B1": "=A1+1"})
    changes = {
        "style": (b'<c r="B1">', b'<c r="B1" s="0">'),
        "formula": (b"<f>A1+1</f>", b"<f>A1+2</f>"),
        "input": (b'<c r="A1"><v>1</v>', b'<c r="A1"><v>2</v>'),
        "space": (b"</row>", b"</row> "),
    }
    for name, (old, new) in changes.items():
        assert old in first_sheet(book)
        other = change_part(
            book, tmp_path / f"{name}.xlsx", "xl/worksheets/sheet1.xml", lambda data, o=old, n=new: data.replace(o, n)
        )
        with pytest.raises(AssertionError):
            assert_only_values_differ(book, other)
    other = change_part(book, tmp_path / "part.xlsx", "docProps/core.xml", lambda data: data + b"\n")
    with pytest.raises(AssertionError):
        assert_only_values_differ(book, other)
    other = change_part(
        book, tmp_path / "value.xlsx", "xl/worksheets/sheet1.xml", lambda data: data.replace(b"<v>0</v>", b"<v>2</v>")
    )
    assert assert_only_values_differ(book, other) == ["xl/worksheets/sheet1.xml"]


def test_the_rooftop_log(tmp_path: Path) -> None:
    """The existing log comes out whole, with the formula that carries an add-in's prefix computed too."""
    output = tmp_path / "out.xlsx"
    done = recalculate(ROOFTOP, output)
    assert assert_only_values_differ(ROOFTOP, output) == ["xl/worksheets/sheet1.xml"]
    assert done.formulas == 20
    value = read_values(output, "Tubs")
    assert value("G4") == pytest.approx(38 * 21 * 9 / CUBIC_INCHES_IN_GALLON, rel=1e-12)
    assert value("G8") == pytest.approx(52 * 24 * 7 / CUBIC_INCHES_IN_GALLON, rel=1e-12)  # [1]!GROW_VOLUME_BOX
    # The feed of this tub: 2.4 g/gal.
    assert value("H4") == pytest.approx(38 * 21 * 9 / CUBIC_INCHES_IN_GALLON * 2.4, rel=1e-12)
    assert value("G11") == pytest.approx(sum(value(f"G{row}") for row in range(4, 10)), rel=1e-12)
    assert b"<f>[1]!GROW_VOLUME_BOX(D8,E8,F8)</f>" in first_sheet(output)
    with zipfile.ZipFile(ROOFTOP) as old, zipfile.ZipFile(output) as new:
        same = [name for name in old.namelist() if old.read(name) == new.read(name)]
        assert {"xl/charts/chart1.xml", "xl/media/image1.png", "xl/comments1.xml", "xl/workbook.xml"} <= set(same)
        assert len(same) == len(old.namelist()) - 1


def test_a_second_time_changes_nothing(tmp_path: Path) -> None:
    first, second = tmp_path / "first.xlsx", tmp_path / "second.xlsx"
    assert recalculate(ROOFTOP, first).changed > 0
    assert recalculate(first, second).changed == 0
    with zipfile.ZipFile(first) as old, zipfile.ZipFile(second) as new:
        assert [old.read(name) for name in old.namelist()] == [new.read(name) for name in new.namelist()]


def test_a_furnished_book(tmp_path: Path) -> None:
    """Charts, pictures, comments, boxes, rules, lists, tables, sparklines, protection and the rest stay."""
    book = furnished_book(tmp_path / "furnished.xlsx")
    output = tmp_path / "out.xlsx"
    done = recalculate(book, output, as_of=DAY)
    assert assert_only_values_differ(book, output) == ["xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"]
    assert [cell.cell for cell in done.failed] == ["J4"]
    assert not done.kept
    value = read_values(output, "log")
    assert value("E2") == pytest.approx(39 * 21 * 9 / CUBIC_INCHES_IN_GALLON)
    assert value("J1") == len("one") + len("three") + len("eleven")
    assert value("J2") == pytest.approx(sum((38 + row) * 21 * 9 / CUBIC_INCHES_IN_GALLON for row in range(1, 21)))
    assert (value("J3"), value("J4"), value("K20")) == (True, "#DIV/0!", 2 * 58)
    assert [value(f"L{row}") for row in (1, 2, 3)] == ["T18", "T19", "T20"]
    assert value("H2") == datetime.datetime(2026, 11, 19)
    assert value("G21") == "high & <dry>"
    # What a reader finds must still be there, not only the bytes.
    sheet = openpyxl.load_workbook(output)["log"]
    assert sheet["A2"].comment is not None
    assert sheet.conditional_formatting and sheet.data_validations.dataValidation and sheet.protection.sheet


@pytest.mark.office
def test_pivot_tables_and_slicers(tmp_path: Path) -> None:
    """A pivot table, its cache and its slicer stay as they are, and it is said that the table shows old values."""
    book = pivot_book(tmp_path / "pivot.xlsx")
    pivots = openpyxl.load_workbook(book)["report"]._pivots  # the hand-made parts are what they are meant to be
    assert [(pivot.name, pivot.cache.recordCount, len(pivot.cache.records.r)) for pivot in pivots] == [("Doses", 3, 3)]
    output = tmp_path / "out.xlsx"
    done = recalculate(book, output)
    assert done.changed == 3
    assert assert_only_values_differ(book, output) == ["xl/worksheets/sheet1.xml"]
    assert [note.split(" show")[0] for note in done.notes] == ["pivot tables"]
    assert recalculate(output).notes == (), "nothing changed, so nothing is old"
    office = tmp_path / "office"
    office.mkdir()
    assert openpyxl.load_workbook(converted(output, office))["report"]._pivots, "LibreOffice still finds the table"


def test_charts_with_stored_values(tmp_path: Path) -> None:
    """What a chart stored of its series stays: programs draw it anew from the cells."""
    book = furnished_book(tmp_path / "furnished.xlsx")
    output = tmp_path / "out.xlsx"
    recalculate(book, output, as_of=DAY)
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(output) as new:
        charts = [name for name in old.namelist() if name.startswith("xl/charts/")]
        assert len(charts) == 2
        for name in charts:
            assert b"<c:strCache>" in old.read(name) and old.read(name) == new.read(name)


def test_a_signed_book(tmp_path: Path) -> None:
    """The signature stays where it is, and it is said that it does not hold for other values."""
    plain = write_book(tmp_path / "plain.xlsx", {"A1": 34, "B1": "=GROW_DOSE(A1,2)"})
    book = signed_book(plain, tmp_path / "signed.xlsx")
    output = tmp_path / "out.xlsx"
    assert "sign it again" in recalculate(book, output).notes[0]
    assert assert_only_values_differ(book, output) == ["xl/worksheets/sheet1.xml"]
    assert recalculate(output).notes == (), "nothing changed, so the signature holds"
    assert recalculate(plain).notes == ()


def test_a_book_with_macros(tmp_path: Path) -> None:
    """A macro part, a custom XML part and printer settings are kept; the macros are bytes, never run."""
    book = furnished_book(tmp_path / "plain.xlsx")
    macros = tmp_path / "macros.xlsm"
    change_part(book, macros, "xl/vbaProject.bin", lambda _: b"\xd0\xcf\x11\xe0 not really macros")
    for part, content in {
        "customXml/item1.xml": b"<my>data</my>",
        "xl/printerSettings/printerSettings1.bin": bytes(range(256)),
    }.items():
        step = change_part(macros, tmp_path / "step.xlsm", part, lambda _, content=content: content)
        step.replace(macros)
    macros = change_part(
        macros,
        tmp_path / "all.xlsm",
        "[Content_Types].xml",
        lambda data: data.replace(b"spreadsheetml.sheet.main+xml", b"ms-excel.sheet.macroEnabled.main+xml").replace(
            b"<Default", b'<Default Extension="bin" ContentType="application/vnd.ms-office.vbaProject"/><Default', 1
        ),
    )
    output = tmp_path / "out.xlsm"
    recalculate(macros, output, as_of=DAY)
    assert_only_values_differ(macros, output)
    with zipfile.ZipFile(output) as package:
        assert package.read("xl/vbaProject.bin").endswith(b"not really macros")


@pytest.mark.office
@pytest.mark.parametrize("way", ["xlsx", "ods and back"])
def test_books_that_libreoffice_saved(tmp_path: Path, way: str) -> None:
    """The same with files whose XML LibreOffice wrote, from the furnished book and from the rooftop log."""
    for number, source in enumerate((furnished_book(tmp_path / "furnished.xlsx"), ROOFTOP)):
        folder = tmp_path / str(number)
        folder.mkdir()
        if way != "xlsx":
            source = converted(source, folder, "ods")
        saved = converted(source, folder)
        output = tmp_path / f"out{number}.xlsx"
        done = recalculate(saved, output, as_of=DAY)
        assert done.formulas >= 20
        assert_only_values_differ(saved, output)


def test_a_book_that_openpyxl_saved(tmp_path: Path) -> None:
    """openpyxl writes formulas without values: the value is put in, and nothing else."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "S"
    sheet["A1"], sheet["B1"], sheet["B2"] = 34, "=GROW_DOSE(A1,2)", '="a"&A1'
    source = tmp_path / "source.xlsx"
    book.save(source)
    assert b"<f>GROW_DOSE(A1,2)</f><v" in first_sheet(source)
    output = tmp_path / "out.xlsx"
    recalculate(source, output)
    assert_only_values_differ(source, output)
    value = read_values(output)
    assert (value("B1"), value("B2")) == (pytest.approx(68), "a34")


def test_cells_found_quickly_and_slowly(tmp_path: Path) -> None:
    """Cells as nearly all programs write them are found in a quick way; it finds what the XML parser finds."""
    odd = "".join(
        f'<c r="A{row}"{rest}'
        for row, rest in enumerate(
            (
                "><f>1&lt;2</f><v>1</v></c>",
                ' s="1" t="str"><f>"a&amp;b"&amp;"&quot;&apos;&gt;"</f><v>a&amp;b"\'&gt;</v></c>',
                ' t="str"><f>"é"</f><v>é</v></c>',
                ' t="e"><f>1/0</f><v></v></c>',
                '><f t="shared" ref="A5:A6" si="0">B5</f><v>0</v></c>',
                '><f t="shared" si="0"/><v>0</v></c>',
                "><f>2</f></c>",
                ' s="0" t="n"><f aca="false">2*2</f><v>4</v></c>',  # as LibreOffice writes it
                "><f></f><v>2</v></c>",
                "><f/><v>2</v></c>",
                "><f>&#50;+1</f><v>3</v></c>",
                ' cm="1"><f>2</f><v>2</v></c>',
                "/>",
                ' t="inlineStr"><is><t>x &lt;</t></is></c>',
                ' t="inlineStr"><f>1</f><is><t>x</t></is></c>',
                "><v>7</v></c>",
                ' t="s" s="3"><v>0</v></c>',
            ),
            1,
        )
    )
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    sheets = [f'<worksheet xmlns="{main}"><sheetData><row r="1">{odd}</row></sheetData></worksheet>'.encode()]
    for book in (ROOFTOP, furnished_book(tmp_path / "furnished.xlsx")):
        with zipfile.ZipFile(book) as package:
            sheets += [package.read(name) for name in package.namelist() if name.startswith("xl/worksheets/sheet")]
    mixed = f'<worksheet xmlns="{main}" xmlns:x="{main}"><sheetData><row r="1"><c r="A1"><f>1</f><v>1</v></c>{{}}'
    mixed += "</row></sheetData></worksheet>"
    sheets.append(mixed.format('<x:c r="B1"><x:f>2</x:f><x:v>2</x:v></x:c>').encode())
    sheets.append(mixed.format('<x:c r="B1"><f>2</f><v>2</v></x:c>').encode())
    sheets.append(sheets[-1].replace(b"</sheetData>", b'</sheetData><c r="B9"><f>1</f><v>1</v></c>'))
    quick = 0
    for sheet in sheets:
        slow = scan_sheet(sheet.replace(b"</worksheet>", b"<!-- parsed --></worksheet>"))
        assert scan_sheet(sheet) == slow
        quick += len(sheet_xml._plain_cells(sheet)[0])
    assert len(scan_sheet(sheets[0])) == 13
    assert quick > 25, "some must have been found quickly"


@pytest.mark.parametrize(
    "sheet",
    [
        '<!-- <c r="A1"><f>1</f><v>0</v></c> -->',
        '<c r="A2"><f><![CDATA[1</f><v>0</v></c><c r="A1"><f>]]></f></c>',
        '<?note <c r="A1"><f>1</f><v>0</v></c> ?>',
    ],
)
def test_what_only_looks_like_a_cell(sheet: str) -> None:
    """In comments, CDATA and instructions there are no cells."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    data = f'<worksheet xmlns="{main}"><sheetData><row r="1">{sheet}</row></sheetData></worksheet>'.encode()
    assert "A1" not in [cell.name for cell in scan_sheet(data)]


SHEETS = {
    "prefixed names": (
        b'<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:sheetData><x:row r="1">'
        b'<x:c r="A1"><x:v>2</x:v></x:c><x:c r="B1" t="str"><x:f>A1*3</x:f></x:c></x:row></x:sheetData></x:worksheet>',
        b'<x:c r="B1"><x:f>A1*3</x:f><x:v>6</x:v></x:c>',
    ),
    "single quotes, odd order, comments": (
        b"<?xml version='1.0' encoding='UTF-8'?>\r\n<!-- <f>not a formula</f> --><worksheet "
        b"xmlns='http://schemas.openxmlformats.org/spreadsheetml/2006/main'>\n<sheetData><row r='1'>\n "
        b"<c t='s' s='0' r='B1' ><f >1&lt;2</f ><v >0</v ></c >\n<c r='C1'/></row></sheetData></worksheet>",
        b"<c t=\"b\" s='0' r='B1' ><f >1&lt;2</f ><v >1</v ></c >",
    ),
    "no places": (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row><c><v>4</v></c>'
        b"<c><f>A1+1</f></c></row></sheetData></worksheet>",
        b"<c><f>A1+1</f><v>5</v></c>",
    ),
    "an empty value": (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1" t="str"><f>1+1</f><v/></c></row></sheetData></worksheet>',
        b'<c r="A1"><f>1+1</f><v>2</v></c>',
    ),
    "an inline string as result": (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1" t="inlineStr"><f>1+1</f><is><t>old</t></is></c></row></sheetData></worksheet>',
        b'<c r="A1"><f>1+1</f><v>2</v></c>',
    ),
    "an array that fills empty cells": (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1"><f t="array" ref="A1:B2">{1,2;"x",TRUE}</f></c><c r="B1" s="0"/></row><row r="2"><c r="A2" s="0"/>'
        b'<c r="B2"><v>7</v></c></row></sheetData></worksheet>',
        b'<c r="B1" s="0"><v>2</v></c></row><row r="2"><c r="A2" s="0" t="str"><v>x</v></c>'
        b'<c r="B2" t="b"><v>1</v></c>',
    ),
    "a number as it was": (
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1"><f>0.1+0.2</f><v>0.3</v></c><c r="B1" t="n"><f>1E3</f><v>1.0E3</v></c></row></sheetData>'
        b"</worksheet>",
        b'<c r="A1"><f>0.1+0.2</f><v>0.3</v></c><c r="B1" t="n"><f>1E3</f><v>1.0E3</v></c>',
    ),
}


@pytest.mark.parametrize("name", SHEETS)
def test_ways_to_write_a_sheet(tmp_path: Path, name: str) -> None:
    """XML as other programs may write it."""
    sheet, expected = SHEETS[name]
    plain = write_book(tmp_path / "plain.xlsx", {"A1": 1})
    source = change_part(plain, tmp_path / "source.xlsx", "xl/worksheets/sheet1.xml", lambda _: sheet)
    output = tmp_path / "out.xlsx"
    recalculate(source, output)
    assert expected in first_sheet(output)
    assert without_formula_values(first_sheet(output)) == without_formula_values(sheet)
