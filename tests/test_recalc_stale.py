"""What is computed anew, what keeps the value that is stored, and what is said to be old."""

from __future__ import annotations

import datetime
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from growcells_workbooks.recalculation import Recalculation, recalculate
from recalc_books import change_part, first_sheet, read_values

Cells = Mapping[str, object]


def write_stored(path: Path, cells: Cells, sheet: str = "S") -> Path:
    """A workbook as a spreadsheet program leaves it: a formula is a pair of its text and the value stored for it."""
    plain = path.with_suffix(".plain.xlsx")
    with xlsxwriter.Workbook(plain) as book:
        page = book.add_worksheet(sheet)
        for cell, value in cells.items():
            if isinstance(value, tuple):
                page.write_formula(cell, value[0], None, value[1])
            else:
                page.write(cell, value)
    return change_part(plain, path, "xl/workbook.xml", lambda data: data.replace(b' fullCalcOnLoad="1"', b""))


def computed(folder: Path, cells: Cells, sheet: str = "S", **options: Any) -> tuple[Recalculation, dict[str, object]]:
    """Recalculate; what was told, and the values of the formulas afterwards."""
    source = write_stored(folder / "in.xlsx", cells, sheet)
    done = recalculate(source, folder / "out.xlsx", overwrite=True, **options)
    value = read_values(folder / "out.xlsx", sheet)
    return done, {cell: value(cell) for cell, given in cells.items() if isinstance(given, tuple)}


# Formulas of Excel, each with the value that Excel stored: the engine, or the one before it, gives another one.
IN_PLACE: dict[str, Cells] = {
    "blanks are not equal": {"A2": 1, "A3": 2, "B2": 1, "C1": ('=COUNTIF(A2:A8,"<>"&B2)', 6)},
    "number formats": {"A1": ('=TEXT(12,"$0 ")', "$12 "), "A2": ('=TEXT(12,"00-00-00-00")', "00-00-00-12")},
    "a formula's text": {"A2": 5, "B2": ("=MONTH(A2)", 1), "C2": ("=_xlfn.FORMULATEXT(B2)", "=MONTH(A2)")},
    "the last reading": {"D1": 5, "D3": 7, "E1": ("=INDEX(D:D,MATCH(9.99E+307,D:D))", 7)},
    "the last text": {"B1": "a", "B4": "c", "E1": ('=MATCH("zzz",B:B)', 4)},
    "hidden rows": {"A1": 1, "A2": 2, "B1": ("=_xlfn.AGGREGATE(9,5,A1:A2)", 1)},
    "a blank in its own row": {"E4": ('=IF(D:D="","blank",D:D)', "blank"), "F4": ('=A:A&"/"&B:B', "/")},
    "lookups": {"A1": ('=LOOKUP("b",{"a","b","c";1,2,3})', 2), "A2": ('=VALUE("1,234")', 1234)},
    "texts of truths": {"A1": ("=LEFT(TRUE,2)", "TR"), "A2": ('=OR("TRUE")', True)},
    "texts of numbers": {"A1": ('=_xlfn.GCD("4",6)', 2), "A2": ('=FLOOR("7",2)', 6)},
    "before March 1900": {"A1": 1, "B1": ("=YEAR(A1)", 1900), "B2": ("=MONTH(A9)", 1), "B3": ("=DAY(A9)", 0)},
    "a circle": {"A1": ("=B1+1", 0), "B1": ("=A1+1", 0), "C1": ("=B1+2", 0), "C2": ("=C1*2+1", 0)},
    "another workbook": {"A1": ("=[1]Prices!A1*2", 6), "A2": ("=A1+1", 7)},
    "a name of another program": {"A1": ("=NoSuchName*2", 41), "A2": ("=A1+1", 42)},
    "a difference that shows an inexact function": {
        "A1": 0.908783313151,  # the distribution is 0.90878331315015
        "B1": ("=_xlfn.NORM.S.DIST(1.3333,1)", 0.908783313151),
        "C1": ("=(B1-A1)*1E9", 0),
    },
    "texts of another language": {
        "A1": 1.5,
        "A2": 46100,
        "B1": ('=A1&" L"', "1,5 L"),
        "B2": ('=TEXT(A2,"mmmm")', "März"),
        "B3": ('=TEXT(A1,"0,0")', "1,5"),
        "B4": ("=CHAR(128)", "Ä"),
        "B5": ('=VALUE("1,5")', 1.5),
    },
    "last digits of a call, and what shows them": {
        "A1": ("=GROW_VOLUME_BOX(40,25,6)", 25.97402597403),  # 25.974025974025974
        "B1": ("=(A1-25.97402597403)*1E9", 0),
        "C1": ('=IF(A1=25.97402597403,"same","other")', "same"),
    },
    "the nearest smaller value before blanks": {
        "A1": 10,
        "A2": 20,
        "A3": 30,
        "B1": ("=MATCH(25,A1:A9)", 2),
        "B2": ("=VLOOKUP(25,A1:A9,1,TRUE)", 20),
        "B3": ("=LOOKUP(99,A1:A9)", 30),
    },
    "a power too large": {"A1": 1e200, "B1": 9, "C1": ("=A1^B1", "#NUM!"), "C2": ("=POWER(A1,B1)*2", "#NUM!")},
    "a power of zero": {"A1": 0, "B1": -1, "C1": ("=A1^B1", "#DIV/0!"), "C2": ("=C1*2^B1", "#DIV/0!")},
    "no such column, and not there": {
        "B1": 5,
        "C1": 6,
        "A1": ("=VLOOKUP(4,B1:C1,0)", "#N/A"),
        "A2": ("=VLOOKUP(7,B1:C1,0)", "#VALUE!"),
    },
    "digits that no program shows, compared": {
        "A1": 2581.4033740601185,  # to the last bits another number
        "B1": ("=FV(0.06/12,10,-200,-500,1)", 2581.4033740601185),
        "B2": ('=_xlfn.IMLOG2("3+4i")', "2.32192809506607+1.33780421255394i"),
        "C1": ('=IF(A1=B1,"same","other")', "same"),
        "C2": ('=IF(B2="2.32192809506607+1.33780421255394i","same","other")', "same"),
    },
    "less exact by an earlier version": {"A1": ("=ERFC(1)", 0.15729926482544476), "A2": ("=A1*1", 0.15729926482544476)},
    "totals among totals": {
        "B3": 1,
        "B4": 2,
        "B5": ("=SUBTOTAL(109,B3:B4)", 3),
        "B6": ("=SUBTOTAL(109,B5,B4,B3,B8,B9,B10)", 3),  # of a form that is not proven
        "B7": ("=SUBTOTAL(9,B3:B4)*2", 6),
        "B8": ("=SUBTOTAL(109,B3:B7)", 3),
    },
    "an amount in the spelling of another language": {"A1": "1,5", "B1": ("=A1*2", 3), "B2": ("=ROUND(A1,0)", 2)},
    "lines of another system": {"A1": ('="one\ntwo"', "one_x000D_two")},
    "a remainder that is all but none": {"A1": 5, "A2": 1e-10, "B1": ("=MOD(A1,A2)", 9.999981783901343e-11)},
    "an angle that is none": {"A1": 36289263867, "B1": ("=SIN(A1)", "#NUM!")},
    "no function that is known": {"A1": ("=NOSUCHFUNCTION(1)", 41), "A2": ("=A1+1", 42)},
}


UNDECIDED = {"hidden rows": ["B1"]}
"""The formulas of which nothing tells whether the engine's value is the right one, or the stored one."""


@pytest.mark.parametrize("name", IN_PLACE)
def test_a_right_value_stays(tmp_path: Path, name: str) -> None:
    cells = IN_PLACE[name]
    done, values = computed(tmp_path, cells)
    assert values == {cell: given[1] for cell, given in cells.items() if isinstance(given, tuple)}
    assert (done.changed, [cell.cell for cell in done.kept], done.resting) == (0, UNDECIDED.get(name, []), ())


def test_last_digits_stay(tmp_path: Path) -> None:
    """A number that differs in its last digits alone stays where everything is asked for, and with it what shows it."""
    cells = IN_PLACE["last digits of a call, and what shows them"]
    done, values = computed(tmp_path, cells, everything=True)
    assert values == {"A1": 25.97402597403, "B1": 0, "C1": "same"}
    assert (done.changed, done.kept) == (0, ())


def test_what_no_new_value_changes(tmp_path: Path) -> None:
    """A formula that tells of sheets or formulas keeps its value while others change."""
    cells = {"A1": ("=GROW_DOSE(26,2)", 40), "B1": ("=_xlfn.SHEETS()", 7), "C1": ("=_xlfn.ISFORMULA(B1)", False)}
    _, values = computed(tmp_path, cells)
    assert values == pytest.approx({"A1": 52, "B1": 7, "C1": False})


def test_an_empty_text_is_no_blank_cell(tmp_path: Path) -> None:
    """A formula that gives an empty text is computed where it has no value."""
    _, values = computed(tmp_path, {"A1": ('=""', ""), "B1": ("=COUNTA(A1:A2)", ""), "C1": ("=ISBLANK(A1)", "")})
    assert (values["B1"], values["C1"]) == (1, False)


@pytest.mark.parametrize("sheet", ["sheet1", "SHEET1", "Sheet1", "Q1", "It's 5", "Now! (5)"])
def test_names_of_sheets(tmp_path: Path, sheet: str) -> None:
    """Whatever a sheet is called, and however a formula writes its name."""
    quoted = "'" + sheet.replace("'", "''") + "'"
    cells = {
        "A1": 26,
        "B1": (f"={quoted}!A1*2", 52),
        "C1": (f"={quoted.upper()}!A1+1", 27),
        "D1": ("=GROW_DOSE(A1,2)", 0),
        "E1": (f"=GROW_DOSE({quoted.lower()}!A1,2)", 0),
    }
    done, values = computed(tmp_path, cells, sheet)
    assert values == pytest.approx({"B1": 52, "C1": 27, "D1": 52, "E1": 52})
    assert done.changed == 2


def test_what_follows_a_changed_size(tmp_path: Path) -> None:
    """A program that does not calculate has typed another length: all that follows is old, and becomes new."""
    cells = {
        "A1": 60,
        "B1": 20,
        "C1": 10,
        "D1": ("=A1*B1*C1/231", 26),
        "E1": ("=ROUND(D1*2,1)", 52),
        "F1": ('=IF(E1>100,"much","little")', "little"),
        "G1": ("=GROW_VOLUME_BOX(A1,B1,C1)", 26),
        "H1": ("=GROW_DOSE(G1,2)", 52),
        "I1": ("=SUM(H1:H1)", 52),
        "J1": ("=A9*2", 0),
    }
    _, values = computed(tmp_path, cells)
    gallons = 60 * 20 * 10 / 231
    assert values == pytest.approx(
        {"D1": gallons, "E1": round(gallons * 2, 1), "F1": "much", "G1": gallons, "H1": gallons * 2}
        | {"I1": gallons * 2, "J1": 0}
    )


def test_what_cannot_follow_is_old(tmp_path: Path) -> None:
    """A formula that is not computed here, and what rests on it, are listed when what feeds them has changed."""
    cells = {
        "A1": 26,
        "B1": ("=GROW_DOSE(A1,2)", 40),
        "C1": ("=NOSUCHFUNCTION(B1)", 7),
        "D1": ("=C1+1", 8),
        "E1": ("=NOSUCHFUNCTION(A9)", 9),
    }
    done, values = computed(tmp_path, cells)
    assert values == pytest.approx({"B1": 52, "C1": 7, "D1": 8, "E1": 9})
    assert [(cell.cell, cell.why[:9]) for cell in done.kept] == [("C1", "it is old")]
    assert [cell.cell for cell in done.resting] == ["D1"]


BESIDE: dict[str, tuple[Cells, dict[str, object], list[str]]] = {
    # NPV, STDEV and SUMPRODUCT are proven, though not firmly; what is typed is not what the stored values are of.
    "alone, nothing tells": ({"A1": 0.1, "A2": 500, "B1": ("=NPV(A1,A2,A2)", 1)}, {"B1": 1}, ["B1"]),
    "beside one that is stale": (
        {"A1": 0.1, "A2": 500, "A3": 9, "B1": ("=NPV(A1,A2,A2)", 1), "B2": ("=A2+A3", 8), "B3": ("=A3+1", 10)},
        {"B1": 500 / 1.1 + 500 / 1.21, "B2": 509, "B3": 10},
        [],
    ),
    "beside a growcells function": (
        {"A1": 40, "A2": 25, "A3": 6, "B1": ("=STDEV(A1:A3)", 1), "B2": ("=GROW_VOLUME_BOX(A1,A2,A3)", 5)},
        {"B1": 17.039170558842742, "B2": 40 * 25 * 6 / 231},
        [],
    ),
    "not beside what follows a changed cell": (
        {"A1": 4, "A2": 3, "B1": ("=A1*2", 2), "B2": ("=B1+A2", 5), "B3": ("=NPV(A2,A2)", 9)},
        {"B1": 8, "B2": 11, "B3": 9},
        ["B3"],
    ),
    "beside growcells where it was not installed": (
        {"A1": 2, "B1": ("=NPV(A1,A1)", 9), "B2": ("=GROW_DOSE(A1,2)", "#NAME?")},
        {"B1": 9, "B2": 4},
        ["B1"],
    ),
    "beside the clock": (
        {"A1": 2, "B1": ("=TODAY()", 46000), "B2": ("=SUM(OFFSET(A1,0,0))", 3), "C1": ("=A1*1", 2)},
        {"B1": 46344, "B2": 3, "C1": 2},
        ["B2"],
    ),
    "not computed here, beside one that is stale": (
        {"A1": 2, "B1": ("=NOSUCHFUNCTION(A1)", 9), "B2": ("=A1*2", 3), "B3": ("=NOSUCHFUNCTION(2)", 9)},
        {"B1": 9, "B2": 4, "B3": 9},
        ["B1"],
    ),
    "figures in a text, which are the same in all languages": (
        {
            "A1": 46100,
            "A2": 65,
            "B1": ('=TEXT(A1,"yyyy-mm-dd")', "2026-01-01"),
            "B2": ("=CHAR(A2)", "7"),
            "B3": ('=TEXT(A1,"dddd, mmm")', "Friday, Mar"),
            "B4": ('=TEXT(A1,"dddd, mmm")', "Donnerstag, Mrz"),
            "B5": ('=TEXT(A1,"m/d/yyyy")', "19/3/2026"),
        },
        {"B1": "2026-03-19", "B2": "A", "B3": "Thursday, Mar", "B4": "Donnerstag, Mrz", "B5": "19/3/2026"},
        [],
    ),
    "a small result of large numbers": (
        {"A1": 1000, "A2": 999_000, "B1": ("=A1/A2", 0.00100200), "B2": ("=IFERROR((A2-A1)/A2,0)", 0.998)},
        {"B1": 1000 / 999_000, "B2": 998_000 / 999_000},
        [],
    ),
}


@pytest.mark.parametrize("name", BESIDE)
def test_what_a_stale_formula_tells_of_those_beside_it(tmp_path: Path, name: str) -> None:
    cells, wanted, kept = BESIDE[name]
    done, values = computed(tmp_path, cells, as_of=datetime.date(2026, 11, 18))
    assert values == pytest.approx(wanted)
    assert [cell.cell for cell in done.kept] == kept


def test_last_digits_that_come_to_light_row_by_row(tmp_path: Path) -> None:
    """As of a loan that is paid off: a row all but agrees with its stored value where the row above has its own."""
    rows = 99
    cells: dict[str, object] = {"A1": -5e-13, "B1": ("=A1+6E-13", -5e-13)}
    cells |= {f"B{row}": (f"=B{row - 1}+6E-13", -5e-13) for row in range(2, rows)}
    done, values = computed(tmp_path, cells)
    assert not done.failed and values["B1"] == values["B30"] == -5e-13


def test_an_array_of_which_the_first_cell_is_the_same(tmp_path: Path) -> None:
    """It is not taken for right because of that cell."""
    with xlsxwriter.Workbook(tmp_path / "plain.xlsx") as book:
        page = book.add_worksheet("S")
        page.write_column("A1", [1, 2, 7])
        page.write_array_formula("B1:B3", "{=A1:A3*2}", None, 2)
        page.write_column("B2", [4, 6])
        page.write_formula("C1", "=A3+1", None, 4)
    source = change_part(
        tmp_path / "plain.xlsx",
        tmp_path / "in.xlsx",
        "xl/workbook.xml",
        lambda data: data.replace(b' fullCalcOnLoad="1"', b""),
    )
    done = recalculate(source, tmp_path / "out.xlsx")
    value = read_values(tmp_path / "out.xlsx")
    assert ([value(f"B{row}") for row in (1, 2, 3)], value("C1"), done.kept) == ([2, 4, 14], 8, ())


def test_what_rests_on_a_value_of_which_nothing_tells_is_told(tmp_path: Path) -> None:
    cells = {"A1": 0.1, "A2": 500, "B1": ("=NPV(A1,A2,A2)", 1), "B2": ("=B1+A2", 2), "C1": ("=B2*2", 4)}
    done, values = computed(tmp_path, cells)
    assert values == {"B1": 1, "B2": 501, "C1": 1002}
    assert [cell.cell for cell in done.kept] == ["B1"]
    assert {(cell.cell, cell.rests_on) for cell in done.resting} == {("B2", "S!B1"), ("C1", "S!B1")}


def test_no_stored_value(tmp_path: Path) -> None:
    """Nothing is computed from a cell that has no value and cannot be computed."""
    cells = {"A1": ("=NOSUCHFUNCTION(1)", ""), "B1": ("=SUM(A1:A2)", ""), "C1": ("=1+1", "")}
    source = write_stored(tmp_path / "plain.xlsx", cells)
    source = change_part(
        source, tmp_path / "in.xlsx", "xl/worksheets/sheet1.xml", lambda data: data.replace(b' t="str"', b"")
    )
    done = recalculate(source, tmp_path / "out.xlsx")
    value = read_values(tmp_path / "out.xlsx")
    assert [value(cell) for cell in ("A1", "B1", "C1")] == [None, None, 2]
    assert [cell.cell for cell in done.kept] == ["A1", "B1"]


@pytest.mark.parametrize("stored", ["NaN", "INF", "1E999", "-inf"])
def test_a_stored_number_that_is_none(tmp_path: Path, stored: str) -> None:
    """It stays in the file as it is, and nothing is computed from it."""
    source = write_stored(tmp_path / "plain.xlsx", {"A1": ("=NOSUCHFUNCTION(1)", 41), "B1": ("=A1+1", "")})
    sheet = "xl/worksheets/sheet1.xml"
    source = change_part(source, tmp_path / "in.xlsx", sheet, lambda data: data.replace(b"41", stored.encode()))
    done = recalculate(source, tmp_path / "out.xlsx")
    assert "A1" in [cell.cell for cell in done.kept]
    with zipfile.ZipFile(tmp_path / "out.xlsx") as out:
        assert f"<v>{stored}</v>".encode() in out.read(sheet)


def test_everything(tmp_path: Path) -> None:
    """With all formulas asked for, a stored value that no rule calls old is computed as well."""
    cells = {"A1": 4, "B1": ("=SQRT(A1)", 3), "C1": ("=NOSUCHFUNCTION(1)", 41)}
    _, values = computed(tmp_path, cells)
    assert values["C1"] == 41
    done, values = computed(tmp_path, cells, everything=True)
    assert values == {"B1": 2, "C1": 41}
    assert [cell.cell for cell in done.kept] == ["C1"]


def test_a_workbook_computed_by_hand(tmp_path: Path) -> None:
    """Its formulas are old on purpose until somebody asks for them."""
    source = write_stored(tmp_path / "plain.xlsx", {"A1": 4, "B1": ("=A1*2", 3)})
    source = change_part(
        source,
        tmp_path / "in.xlsx",
        "xl/workbook.xml",
        lambda data: data.replace(b"<calcPr ", b'<calcPr calcMode="manual" '),
    )
    assert recalculate(source).changed == 0
    assert recalculate(source, everything=True).changed == 1


def test_days_of_strict_open_xml(tmp_path: Path) -> None:
    """They are written as days: one that is right stays as it is, and one that is old becomes a number."""
    cells = {
        "A1": 37237,
        "B1": ("=A1+2", 37239),
        "B2": ("=A1+0.5", 37237.5),
        "B3": ("=A1+9", 1),
        "C1": ("=YEAR(B1)", 1),
    }
    source = write_stored(tmp_path / "plain.xlsx", cells)

    def as_days(data: bytes) -> bytes:
        for cell, number, day in (
            ("A1", b"37237", b"2001-12-12"),
            ("B1", b"37239", b"2001-12-14"),
            ("B2", b"37237.5", b"2001-12-12T12:00:00"),
            ("B3", b"1", b"1899-12-31"),
        ):
            found = rb'<c r="%s">((?:<f>[^<]*</f>)?)<v>%s</v>' % (cell.encode(), re.escape(number))
            data, count = re.subn(found, rb'<c r="%s" t="d">\1<v>%s</v>' % (cell.encode(), day), data)
            assert count == 1, cell
        return data

    source = change_part(source, tmp_path / "in.xlsx", "xl/worksheets/sheet1.xml", as_days)
    done = recalculate(source, tmp_path / "out.xlsx")
    assert (done.changed, done.kept) == (2, ())
    written = first_sheet(tmp_path / "out.xlsx")
    assert b'<c r="B1" t="d"><f>A1+2</f><v>2001-12-14</v>' in written
    assert b'<c r="B2" t="d"><f>A1+0.5</f><v>2001-12-12T12:00:00</v>' in written
    assert b"<f>A1+9</f><v>37246</v>" in written
    assert b"<f>YEAR(B1)</f><v>2001</v>" in written


def test_what_is_not_computed_is_told_though_nothing_shows_that_it_is_old(tmp_path: Path) -> None:
    done, _ = computed(tmp_path, {f"A{row}": ("=[1]Prices!A1*2", 6) for row in range(1, 8)})
    assert (done.changed, done.kept) == (0, ())
    assert any("7 formulas not computed here" in note and "S!A5, 2 more" in note for note in done.notes)
