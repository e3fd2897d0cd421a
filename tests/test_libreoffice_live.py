"""The cell functions in a running LibreOffice Calc: cells and ranges, errors, files, and no way to hurt it.

Bad input goes there in test_bad_input.py, blanks in test_blanks.py.
"""

from __future__ import annotations

import re
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
import xlsxwriter
from openpyxl import Workbook as NewBook

from growcells import CellFunction, functions
from growcells.cells.arguments import Example
from growcells.cells.errors import CellError
from growcells.cells.kinds import is_range
from libreoffice import RunningOffice, Workbook, column_letter
from log_books import ROOFTOP
from stand_ins.comparison import assert_same

EVERY = list(functions().values())
EXAMPLES = [(function, example) for function in EVERY for example in function.examples]
NAMED = [f"{function.name}-{index}" for index, (function, _) in enumerate(EXAMPLES)]

pytestmark = pytest.mark.usefixtures("office")


@pytest.fixture
def book(office: RunningOffice) -> Iterator[Workbook]:
    """An empty workbook."""
    with office.open() as opened:
        yield opened


def lay_out(book: Workbook, example: Example) -> list[str]:
    """Put each argument of an example into cells of its own; gives the references, nothing for what is left out."""
    references, column = [], 1
    for argument in example.arguments:
        rows = argument if is_range(argument) else ((argument,),)
        rows = [row if is_range(row) else (row,) for row in rows]
        first, last = column_letter(column), column_letter(column + len(rows[0]) - 1)
        area = f"{first}1" if not is_range(argument) else f"{first}1:{last}{len(rows)}"
        if argument is None:
            references.append("")
        else:
            book.write(f"{first}1:{last}{len(rows)}", rows)
            references.append(area)
        column += len(rows[0])
    return references


@pytest.mark.parametrize(("function", "example"), EXAMPLES, ids=NAMED)
def test_an_example_from_cells(book: Workbook, function: CellFunction, example: Example) -> None:
    formula = f"={function.name}({','.join(lay_out(book, example))})"
    expected = function.evaluate(example.arguments)
    if is_range(expected):
        area = f"A100:{column_letter(len(expected[0]))}{99 + len(expected)}"
        book.type_array(area, formula)
        assert_same(book.read(area), expected)
    else:
        book.type("A100", formula)
        assert_same(book.value("A100"), expected)


@pytest.mark.parametrize("error", ["1/0", "NA()", "SQRT(-1)"])
def test_an_error_in_a_cell_is_passed_on(book: Workbook, error: str) -> None:
    book.type("A1", f"={error}", "=GROW_DOSE(A1,2)")
    assert book.value("A2") == book.value("A1") and isinstance(book.value("A2"), CellError)


def test_an_error_inside_a_range_makes_the_whole_call_an_error(book: Workbook) -> None:
    """LibreOffice does not hand such a range to an add-in at all."""
    book.write("A1:A3", [[42], [None], [30]])
    book.type("A2", "=1/0")
    book.type_array("B1:B3", "=GROW_DOSE(A1:A3,2)")
    assert all(isinstance(row[0], CellError) for row in book.read("B1:B3"))


def test_iferror_gives_each_row_of_a_range_with_errors_its_own(book: Workbook) -> None:
    book.write("A1:A4", [[42], [None], [None], [30]])
    book.type("A2", "=1/0", "=NA()")
    book.type_array("B1:B4", '=GROW_DOSE(IFERROR(A1:A4,"error"),2)')
    wrong = CellError("#VALUE!")
    assert_same(book.read("B1:B4"), [[84.0], [wrong], [wrong], [60.0]])


def test_each_row_of_a_range_has_its_own_value_or_error(book: Workbook) -> None:
    book.write("A1:C5", [[42, 31, 6], ["wide", 31, 6], [None, None, None], ["1 m", "50 cm", "20 cm"], [42, 31, -6]])
    book.type_array("D1:D5", "=GROW_VOLUME_BOX(A1:A5,B1:B5,C1:C5)")
    shown = [row[0] for row in book.read("D1:D5")]
    box = functions()["GROW_VOLUME_BOX"]
    assert shown[0] == pytest.approx(box(42, 31, 6)) and shown[3] == pytest.approx(box("1 m", "50 cm", "20 cm"))
    assert (shown[1], shown[2], shown[4]) == (CellError("#VALUE!"), "", CellError("#NUM!"))
    book.type("E1", "=SUM(D1,D4)", "=SUMPRODUCT(GROW_DOSE(A1:A1,{1,2}))")
    assert book.value("E1") == pytest.approx(box(42, 31, 6) + box("1 m", "50 cm", "20 cm"))
    assert book.value("E2") == pytest.approx(42 * 3)


def test_a_result_is_a_plain_value_in_a_larger_formula(book: Workbook) -> None:
    book.write("A1:A3", [[42], [31], [6]])
    book.name_range("tub", "$Sheet1.$A$1:$A$3")
    formulas = {
        "=GROW_DOSE(GROW_VOLUME_BOX(A1,A2,A3),2)": 42 * 31 * 6 / 231 * 2,
        "=ROUND(GROW_DOSE(34,2)*2+1,0)": 137.0,
        '=IF(GROW_DOSE(34,2)>50,"much","little")': "much",
        '=GROW_DOSE(34,2)&" g"': "68 g",
        "=GROW_VOLUME_BOX(INDEX(tub,1),INDEX(tub,2),INDEX(tub,3))": 42 * 31 * 6 / 231,
        "=INDEX(GROW_DOSE({34;10},2),2,1)": 20.0,
        "=GROW_DOSE(34,2,,,)": 68.0,
        "=SUM(GROW_DOSE({34;10},2))": 88.0,
        "=VLOOKUP(GROW_DOSE(34,2),{50,1;60,2},2,TRUE)": 2.0,
    }
    book.type("B1", *formulas)
    for (shown,), (formula, expected) in zip(book.read(f"B1:B{len(formulas)}"), formulas.items(), strict=True):
        assert shown == (pytest.approx(expected) if isinstance(expected, float) else expected), formula


def test_the_function_wizard_knows_every_text(office: RunningOffice) -> None:
    # LibreOffice learns what arguments there are when it first loads the component.
    office.evaluate(["=GROW_VERSION()"])
    known = {entry["name"]: entry for entry in office.ask("descriptions")}
    assert list(sorted(known)) == sorted(function.name for function in EVERY)
    for function in EVERY:
        entry = known[function.name]
        assert entry["help"] == f"{function.family}: {function.help}"
        assert entry["category"] == 11  # com.sun.star.sheet.FunctionCategory.ADDIN
        assert [argument["name"] for argument in entry["arguments"]] == [
            argument.name for argument in function.arguments
        ]
        for shown, argument in zip(entry["arguments"], function.arguments, strict=True):
            assert shown["help"].removeprefix("Required: ") == argument.help
            assert shown["optional"]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A copy of the rooftop log, whose formulas were saved with the value 0."""
    return Path(shutil.copyfile(ROOFTOP, tmp_path / "log.xlsx"))


def tubs(book: Workbook) -> list[list[object]]:
    """Volume, dose and ppm of each tub."""
    return [list(row) for row in book.read("Tubs.G4:I9")]


def expected_tubs(book: Workbook) -> list[list[object]]:
    """The same computed in Python from the sizes and feeds that the log holds."""
    feeds = {row[0]: row for row in book.read("Feeds.A4:F6")}
    known = functions()
    expected: list[list[object]] = []
    for mix, length, width, depth in book.read("Tubs.C4:F9"):
        volume = known["GROW_VOLUME_BOX"](length, width, depth)
        dose = known["GROW_DOSE"](volume, feeds[mix][5])
        expected.append([volume, dose, known["GROW_PPM"](dose, volume, feeds[mix][2], "N")])
    return expected


def test_a_log_is_computed_when_it_opens(office: RunningOffice, log: Path) -> None:
    """Its stored values are all 0, and one formula carries the reference that an Excel add-in leaves."""
    with office.open(log) as book:
        assert_same(tubs(book), expected_tubs(book))
        assert book.value("Tubs.G11") == pytest.approx(sum(row[0] for row in tubs(book)))  # type: ignore[misc]
        assert book.state == {"changed": False, "undo": False}


def test_a_changed_size_changes_the_dose(office: RunningOffice, log: Path) -> None:
    with office.open(log) as book:
        before = tubs(book)
        book.write("Tubs.F4", [[10]])
        after = tubs(book)
        assert after[0][1] == pytest.approx(before[0][1] * 10 / 9) and after[1:] == before[1:]  # type: ignore[operator]
        assert_same(after, expected_tubs(book))
        book.write("Tubs.F4", [["23 cm"]])
        assert_same(tubs(book), expected_tubs(book))


@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_a_saved_log_holds_names_and_values(office: RunningOffice, log: Path, ending: str) -> None:
    saved = log.with_name(f"saved.{ending}")
    with office.open(log) as book:
        book.write("Tubs.F4", [["23 cm"]])
        expected = tubs(book)
        book.save(saved)
    with office.open(saved) as again:
        assert_same(tubs(again), expected)
        again.write("Tubs.F5", [[4.5]])
        assert_same(tubs(again), expected_tubs(again))
    if ending == "xlsx":
        formulas = re.findall(r"<f[^>]*>([^<]*)</f>", part(saved, "xl/worksheets/sheet1.xml"))
        ours = [formula for formula in formulas if "GROW" in formula.upper()]
        assert len(ours) == 18 and all(re.match(r"GROW_(VOLUME_BOX|DOSE|PPM)\(", formula) for formula in ours)


def part(file: Path, name: str) -> str:
    """The text of a part of an Open XML or OpenDocument file."""
    with zipfile.ZipFile(file) as archive:
        return archive.read(name).decode()


def test_values_stored_in_an_xlsx_survive_for_readers(office: RunningOffice, tmp_path: Path) -> None:
    """Errors, also those inside an array, are saved as error values and read back."""
    with office.open() as book:
        book.write("A1:A3", [[34], ["x"], [-1]])
        book.type_array("B1:B3", "=GROW_DOSE(A1:A3,2)")
        book.type("C1", "=GROW_DOSE(A3,2)", '=GROW_PERCENT("17-7-21","Xx")', "=GROW_DOSE(A1,2)")
        expected = book.read("B1:C3")
        book.recalculate()
        assert book.read("B1:C3") == expected
        for ending in ("xlsx", "ods"):
            book.save(tmp_path / f"errors.{ending}")
    assert [cell.code for row in expected for cell in row if isinstance(cell, CellError)] == [
        "#NUM!",
        "#VALUE!",
        "#N/A",
        "#NUM!",
    ]
    for ending in ("xlsx", "ods"):
        with office.open(tmp_path / f"errors.{ending}") as book:
            assert book.read("B1:C3") == expected
    sheet = part(tmp_path / "errors.xlsx", "xl/worksheets/sheet1.xml")
    assert set(re.findall(r't="e"><f[^>]*>[^<]*</f><v>([^<]*)</v>', sheet)) == {"#NUM!", "#N/A"}


def test_array_formulas_with_the_reference_of_an_addin_are_mended(office: RunningOffice, log: Path) -> None:
    mended = log.with_name("array.xlsx")
    with zipfile.ZipFile(log) as source, zipfile.ZipFile(mended, "w") as target:
        for item in source.infolist():
            content = source.read(item)
            if item.filename == "xl/worksheets/sheet1.xml":
                old, new = b"<f>[1]!GROW_VOLUME_BOX(D8,E8,F8)</f>", b"[1]!GROW_VOLUME_BOX(D8:D9,E8:E9,F8:F9)"
                assert old in content
                content = content.replace(old, b'<f t="array" ref="G8:G9">' + new + b"</f>")
                content = content.replace(b"<f>GROW_VOLUME_BOX(D9,E9,F9)</f>", b"")
            target.writestr(item, content)
    with office.open(mended) as book:
        assert_same(tubs(book), expected_tubs(book))
        assert book.formulas("Tubs.G9:G9")[0][0].startswith("{=")


def test_a_workbook_without_our_functions_is_left_alone(office: RunningOffice, tmp_path: Path) -> None:
    """LibreOffice shows stored values of such files, and still does."""
    book = NewBook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"], sheet["A2"] = 5, "=A1*2"
    sheet["A3"] = "a note on GROW_DOSE"
    book.save(tmp_path / "plain.xlsx")
    stale = tmp_path / "stale.xlsx"
    with zipfile.ZipFile(tmp_path / "plain.xlsx") as source, zipfile.ZipFile(stale, "w") as target:
        for item in source.infolist():
            content = source.read(item)
            if item.filename == "xl/worksheets/sheet1.xml":
                assert (
                    b"<f>A1*2</f><v></v>" in content or b"<f>A1*2</f><v/>" in content or b"<f>A1*2</f><v />" in content
                )
                content = re.sub(rb"(<f>A1\*2</f>)<v ?/>|(<f>A1\*2</f>)<v></v>", rb"<f>A1*2</f><v>77</v>", content)
            if item.filename == "docProps/app.xml":
                content = re.sub(
                    rb"<Application>.*?</Application>", b"<Application>Microsoft Excel</Application>", content
                )
            target.writestr(item, content)
    with office.open(stale) as opened:
        assert opened.value("A2") == 77.0
        opened.write("A1", [[6]])
        assert opened.value("A2") == 12.0


HIDDEN = {
    "first cell": ("One", "A1", "=GROW_DOSE(34,2)", ()),
    "another sheet": ("Two", "C9", "=GROW_DOSE(34,2)", ()),
    "last cell": ("Two", "XFD1048576", "=GROW_DOSE(34,2)", ()),
    "within others": ("One", "C9", "=IF(1,grow_dose(34,2),0)", ()),
    "after others": ("One", "B251", "=GROW_DOSE(34,2)", [f"=A{row}*2" for row in range(1, 251)]),
    "among others": ("One", "B120", "=GROW_DOSE(34,2)", [f"=A{row}*2" for row in range(1, 251)]),
    "after many that differ": ("Two", "B501", "=GROW_DOSE(34,2)", [f"=A{row}*{row}" for row in range(1, 501)]),
    "an array": ("One", "B120", "{=SUM(GROW_DOSE({10;24},2))}", [f"=A{row}*2" for row in range(1, 251)]),
}
"""A sheet and a cell, the formula there whose value is 68, and other formulas down column B."""


@pytest.mark.parametrize("where", HIDDEN)
def test_a_call_is_found_wherever_it_stands(office: RunningOffice, tmp_path: Path, where: str) -> None:
    """All stored values are 5, and the program that is named in the file is one whose values LibreOffice keeps."""
    sheet, cell, formula, others = HIDDEN[where]
    with xlsxwriter.Workbook(tmp_path / "stale.xlsx") as book:
        sheets = {name: book.add_worksheet(name) for name in ("One", "Two")}
        for row, other in enumerate(others):
            sheets[sheet].write_formula(row, 1, other, None, 5)
        if formula.startswith("{"):
            sheets[sheet].write_array_formula(f"{cell}:{cell}", formula, None, 5)
        else:
            sheets[sheet].write_formula(cell, formula, None, 5)
    with office.open(tmp_path / "stale.xlsx") as opened:
        assert opened.value(f"{sheet}.{cell}") == 68
        if others:
            assert opened.value(f"{sheet}.B2") == 0


NOT_OURS = {
    "a sheet": ("=Grow_log!A1*3", []),
    "a sheet whose name looks like a call": ("='GROW_DOSE(2)'!A1*3", []),
    "a name": ("=grow_days*3", []),
    "a text": ('=LEN("as in GROW_DOSE(A1,2)")', []),
    "a function of others": ("=GROW_NOTHING(A1)", []),
    "a function of Excel": ("=SUM(GROWTH(A1:A3,A1:A3))", []),
    "a sheet, among many formulas that differ": ("=A1*3", [f"=Grow_log!A{row}*{row}" for row in range(1, 701)]),
}
"""Formulas in which our letters stand for something else, and other formulas beside them."""


@pytest.mark.parametrize("what", NOT_OURS)
def test_what_is_only_named_like_a_call_is_left_alone(office: RunningOffice, tmp_path: Path, what: str) -> None:
    formula, others = NOT_OURS[what]
    with xlsxwriter.Workbook(tmp_path / "stale.xlsx") as book:
        sheet = book.add_worksheet("One")
        for name in ("Grow_log", "GROW_DOSE(2)"):
            book.add_worksheet(name)
        book.define_name("grow_days", "=One!$A$1")
        sheet.write("A1", 34)
        sheet.write_formula("B2", formula, None, 5)
        for row, other in enumerate(others):
            sheet.write_formula(row, 2, other, None, 5)
    with office.open(tmp_path / "stale.xlsx") as opened:
        assert opened.value("B2") == 5


WAYS: dict[str, dict[str, object]] = {
    "as it is": {},
    "read only": {"ReadOnly": True},
    "as a template": {"AsTemplate": True},
    "without its macros": {"MacroExecutionMode": 0},
    "repaired": {"RepairPackage": True},
    "with a password": {"Password": "secret"},
}
FORMULAS = {"a call": "=GROW_DOSE(34,2)", "a call as an add-in file leaves it": "=[1]!GROW_DOSE(34,2)"}


@pytest.mark.parametrize("state", ["open", "protected", "protected with a password", "hidden", "very hidden"])
@pytest.mark.parametrize("formula", FORMULAS)
@pytest.mark.parametrize("way", WAYS)
def test_it_is_computed_however_it_is_opened(
    office: RunningOffice, tmp_path: Path, way: str, formula: str, state: str
) -> None:
    log = tmp_path / "stale.xlsx"
    with xlsxwriter.Workbook(log) as book:
        book.add_worksheet("First")
        sheet = book.add_worksheet("One")
        sheet.write_formula("B2", FORMULAS[formula], None, 5)
        if state.startswith("protected"):
            # LibreOffice shows an error for this array whatever is installed.
            sheet.write_array_formula("C2:C2", "{=SUM([1]!GROW_DOSE(34,2))}", None, 5)
            sheet.protect("secret" if state.endswith("password") else "")
        elif state != "open":
            (sheet.hide if state == "hidden" else sheet.very_hidden)()
        chart = book.add_chart({"type": "line"})
        chart.add_series({"values": "=One!$B$2:$B$3"})
        book.worksheets()[0].insert_chart("D2", chart)
    if "Password" in WAYS[way]:
        ooxml = pytest.importorskip("msoffcrypto.format.ooxml", reason="NOT TESTED: msoffcrypto-tool is not there")
        with log.open("rb") as plain, (tmp_path / "locked.xlsx").open("wb") as locked:
            ooxml.OOXMLFile(plain).encrypt(str(WAYS[way]["Password"]), locked)
        log = tmp_path / "locked.xlsx"
    with office.open(log, **WAYS[way]) as opened:
        assert opened.value("One.B2") == 68
        assert opened.state == {"changed": False, "undo": False}


@pytest.mark.parametrize("ending", ["xlsx", "xls", "ods", "ots", "fods"])
def test_a_call_survives_every_format(office: RunningOffice, tmp_path: Path, ending: str) -> None:
    with office.open() as book:
        book.type("A1", "=34", "=GROW_DOSE(A1,2)")
        book.save(tmp_path / f"saved.{ending}")
    with office.open(tmp_path / f"saved.{ending}") as again:
        assert again.value("A2") == 68
        again.type("A1", "=17")
        assert again.value("A2") == 34


def test_ten_thousand_bad_calls_leave_it_well(office: RunningOffice) -> None:
    with office.open() as book:
        book.write("A1:A2", [["wrong"], [None]])
        book.type("B1", "=GROW_VOLUME_BOX($A$1,ROW(),5)")
        book.type("C1", "=GROW_PERCENT(ROW(),$A$2)")
        book.fill_down("B1:C5000")
        seconds = book.recalculate()
        shown = book.read("B4990:C5000")
        assert all(isinstance(cell, CellError) for row in shown for cell in row)
    assert office.alive
    assert office.evaluate(["=GROW_DOSE(34,2)"]) == [pytest.approx(68.0)]
    print(f"\n10,000 bad calls took LibreOffice {seconds:.2f} s")
