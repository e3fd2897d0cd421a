"""Whole workbooks have the same values here as in LibreOffice with the extension, cell by cell.

Where they differ, the difference is in DIFFERENT with its reason, and DIFFERENT holds no others.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from growcells import CellFunction, functions
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.starter import new_log
from libreoffice import RunningOffice
from log_books import ROOFTOP
from test_recalc_native import agree

Values = dict[tuple[str, str], object]
"""The stored value of each cell by its sheet and name."""

TRUE_IS_ONE = (
    "LibreOffice hands TRUE over as 1, which nobody can tell from a number; right is that it is refused, as here"
)
BLANK_IS_ZERO = (
    "LibreOffice hands a single blank cell over as 0, a real value for this argument; right is a blank, as here"
)
ERROR_FIRST = (
    "LibreOffice makes a call with an error among its arguments that error; right is what growcells says, as here"
)
TRUTH_AS_TEXT = "LibreOffice joins a truth to a text as 1; right is TRUE, as Excel has it and here"
DIFFERENT = {
    "=GROW_DOSE(TRUE,2)": TRUE_IS_ONE,
    "=GROW_EC_25(Beds!H7,20)": TRUE_IS_ONE,
    "=GROW_TDS(Beds!H7,500)": TRUE_IS_ONE,
    '=IF(ISERROR(A19),"failed",A19&"")': TRUE_IS_ONE,
    '=IF(ISERROR(A31),"failed",A31&"")': TRUTH_AS_TEXT,
    '=IF(ISERROR(A32),"failed",A32&"")': TRUTH_AS_TEXT,
    '=GROW_WHY("GROW_VOLUME_BOX",Beds!B4,Beds!C4,Beds!D4)': BLANK_IS_ZERO,
    "=GROW_CONVERT(None, 'gal', 'L')": BLANK_IS_ZERO,
    "=GROW_MMOL(None, 'N')": BLANK_IS_ZERO,
    "=GROW_MEQ(None, 'Ca')": BLANK_IS_ZERO,
    "=GROW_COST(None, 31.5, 10, 'g', 'lb')": BLANK_IS_ZERO,
    "=GROW_FILLS_LEFT(None, 65)": BLANK_IS_ZERO,
    "=GROW_REORDER(None, 650, 2, '2026-11-16')": BLANK_IS_ZERO,
    "=GROW_REORDER(2600, 650, None, '2026-11-16')": BLANK_IS_ZERO,
    "=GROW_SPLIT_SIZE(10, None, 4, 2, 3)": BLANK_IS_ZERO,
    "=GROW_GERM_LOW(None, 20)": BLANK_IS_ZERO,
    "=GROW_GERM_HIGH(None, 20)": BLANK_IS_ZERO,
    "=GROW_DOSE(Beds!D2:D8,Beds!F2:F8)": ERROR_FIRST,
    "=GROW_DOSE(34,Beds!F2:F8)": ERROR_FIRST,
    "=IFERROR(GROW_DOSE(34,Beds!F2:F8),0)": ERROR_FIRST,
    '=GROW_WHY("GROW_DOSE",Beds!D2:D8,Beds!F2:F8)': ERROR_FIRST,
    '=LEN(GROW_WHY("GROW_DOSE",Beds!B7,Beds!F7))': ERROR_FIRST,
    "=GROW_DOSE(GROW_VOLUME_BOX(Beds!B7,Beds!C7,Beds!D7),Beds!F7)": ERROR_FIRST,
}
"""Why the two differ, by formula; the calls with a truth among their arguments, which are many, apart."""

# The rows of the sheet "Beds" that the formulas of MIXED read.
BEDS: tuple[tuple[object, ...], ...] = (
    ("bed", "length", "width", "depth", "feed", "rate", "day", "EC"),
    ("A", 42, 31, 6, "17-7-21", 2, datetime.date(2026, 3, 2), 1.4),
    ("B", "4 ft", "31 in", "1/2 ft", "17-7-21", "2.4 g/gal", datetime.date(2026, 3, 9), "1600 µS/cm"),
    ("C", 42, None, 6, "none", 0, "2026-03-16", 0),
    ("D", "five", 31, 6, "7-9-26 Mg 4", 2, None, None),
    ("E", "120 cm", "1,2 m", 5.5, "KNO3", "a lot", 46100, "1.6 mS"),
    ("F", -3, 31, 6, None, "=NA()", "=1/0", True),
    ("G", "=B2*2", '=C2&" in"', '=IF(TRUE,"",1)', "=E2", "=F2/2", "=G2+7", "=H2+0.1"),
)
ROWS = range(2, len(BEDS) + 1)

# Formulas for each row of Beds; # stands for the row.
IN_EACH_ROW = (
    "=GROW_VOLUME_BOX(Beds!B#,Beds!C#,Beds!D#)",
    '=GROW_VOLUME_BOX(Beds!B#,Beds!C#,Beds!D#,"in","L")',
    "=IFERROR(GROW_VOLUME_BOX(Beds!B#,Beds!C#,Beds!D#),-1)",
    "=ROUND(GROW_VOLUME_BOX(Beds!B#,31,6),1)",
    "=GROW_DOSE(GROW_VOLUME_BOX(Beds!B#,Beds!C#,Beds!D#),Beds!F#)",
    '=GROW_DOSE("34 gal",Beds!F#)',
    "=GROW_DOSE(34,Beds!F#)*2+1",
    '=IF(ISERROR(GROW_DOSE(34,Beds!F#)),"no",GROW_DOSE(34,Beds!F#))',
    '=GROW_PPM(10,5,Beds!E#,"N")',
    '=GROW_PERCENT(Beds!E#,"K")',
    "=GROW_DAYS_SINCE(Beds!G#,DATE(2026,6,1))",
    '=GROW_DAYS_SINCE(Beds!G#,"2026-06-01")',
    "=GROW_REORDER(100,10,2,Beds!G#)",
    "=GROW_REORDER(100,10,2,Beds!G#)-Beds!$G$2",
    "=GROW_EC_25(Beds!H#,20)",
    "=GROW_TDS(Beds!H#,500)",
    "=GROW_WEIGH(Beds!B#,0.5)",
    '=GROW_CONVERT(Beds!D#,"in","cm")',
    '=GROW_WHY("GROW_VOLUME_BOX",Beds!B#,Beds!C#,Beds!D#)',
    '=LEN(GROW_WHY("GROW_DOSE",Beds!B#,Beds!F#))',
    "=SUM(GROW_DOSE(34,2),Beds!F#)",
    "=GROW_DOSE(34,Beds!F#)>68",
    '="dose "&TEXT(GROW_DOSE(34,2),"0.0")&" g of "&Beds!E#',
    "=GROW_VOLUME_PIPE(4,Beds!B#,Beds!D#)",
    "=GROW_STOCK(Beds!F#,100,5)",
    "=GROW_VPD(24.5,Beds!H#/2)",
)

# Single formulas: ranges, arrays, names, nested calls.
ALONE = (
    "=SUM(GROW_DOSE(34,2),GROW_DOSE(10,2))",
    "=GROW_COST_HEAD(Beds!F2:F3,36)",
    "=GROW_COST_HEAD({12.5;4;1.5},36)",
    "=GROW_DOSE(SUM(Beds!D2:D4),2)",
    '=GROW_DOSE(VLOOKUP("A",Beds!A2:H8,2,FALSE),2)',
    '=GROW_DOSE(INDEX(Beds!B2:B8,MATCH("B",Beds!A2:A8,0)),1)',
    "=GROW_DOSE(MAX(Beds!D2:D6),MIN(Beds!D2:D6))",
    "=IF(GROW_DOSE(34,2)>50,GROW_DOSE(34,1),GROW_DOSE(34,3))",
    "=CHOOSE(2,GROW_DOSE(1,1),GROW_DOSE(2,2))",
    "=GROW_DOSE(BedGallons,2)",
    "=GROW_DOSE(OneVolume,Beds!F2)",
    '=GROW_DOSE("34 gal","2 g/gal","gal")',
    "=GROW_DOSE(34,)",
    "=GROW_DOSE()",
    "=GROW_DOSE(34,2,,,)",
    '=GROW_DOSE(34,2,,,"kg")',
    "=GROW_DOSE(1E300,1E300)",
    '=GROW_DOSE("","")',
    "=GROW_DOSE(TRUE,2)",
    "=GROW_DOSE(#N/A,2)",
    "=GROW_VERSION()",
    '=GROW_WHY("GROW_NOSUCH",1)',
    '=GROW_WHY("GROW_DOSE",34,2)',
    "=GROW_BLEND(Beds!D2:D3,Beds!E2:E3)",
    "=GROW_BALANCE(Water!A2:B6)",
    "=GROW_EC(Water!A2:B6)",
    "=SUMPRODUCT(GROW_DOSE(Beds!D2:D6,2))",
    "=SUM(GROW_COST_HEAD(Beds!D2:D4,1),1)",
    "=-GROW_DOSE(34,2)^2",
    "=GROW_DOSE(34,2)%",
    "=ISNUMBER(GROW_DOSE(34,2))",
    '=ISERROR(GROW_DOSE("five",2))',
    '=IFERROR(GROW_DOSE(34,NA()),"none")',
    "=GROW_GERM_LOW(17,20)",
    "=GROW_SEEDS_TO_SOW(36,GROW_GERM_LOW(17,20),0.95)",
)

ROUNDED = "=ROUND(GROW_DOSE(Beds!D2:D4,2),0)"

# Array formulas: the formula, its rows and columns.
ARRAYS = (
    ("=GROW_VOLUME_BOX(Beds!B2:B8,Beds!C2:C8,Beds!D2:D8)", 7, 1),
    ("=GROW_DOSE(Beds!D2:D8,Beds!F2:F8)", 7, 1),
    ("=GROW_DOSE(34,Beds!F2:F8)", 9, 1),
    ("=GROW_DOSE(Beds!D2:D8,TRANSPOSE(Beds!D2:D4))", 7, 3),
    (ROUNDED, 3, 1),
    ("=IFERROR(GROW_DOSE(34,Beds!F2:F8),0)", 7, 1),
    ("=SUM(GROW_DOSE(Beds!D2:D6,2))", 1, 1),
    ("=SUM(IFERROR(GROW_VOLUME_BOX(Beds!B2:B8,Beds!C2:C8,Beds!D2:D8),0))", 1, 1),
    ('=GROW_PPM_TABLE({60;40},100,{"7-9-26 Mg 4";"13.3-0-0 Ca 17"},,"g","L")', 14, 4),
    ("=GROW_GAPS(Water!A2:B6,Water!D2:E6)", 12, 6),
    ('=GROW_RECIPE(Water!D2:E6,Water!G2:G6,"100 L")', 14, 6),
    ("=GROW_TRIAL_TABLE(Trial!B2:B13,Trial!A2:A13)", 12, 10),
    ("=GROW_GROWTH_TABLE(Trial!B2:B13,Trial!A2:A13,Trial!C2:C13)", 12, 8),
    ('=GROW_WHY("GROW_DOSE",Beds!D2:D8,Beds!F2:F8)', 7, 1),
)


def variants(function: CellFunction) -> Iterator[tuple[object, ...]]:
    """The first example's arguments, then with a blank, a zero, a text, an error, a truth and a text for each."""
    example = function.examples[0].arguments
    yield example
    for index in range(len(example)):
        for odd in (None, 0, "five", "#N/A", True, "1 e3", -1):
            yield (*example[:index], odd, *example[index + 1 :])


def write_inputs(book: openpyxl.Workbook) -> None:
    """The sheets that formulas read, and names for some of their cells."""
    beds, water, trial = book.create_sheet("Beds"), book.create_sheet("Water"), book.create_sheet("Trial")
    for row in BEDS:
        beds.append(row)
    ions = (("NO3-N", 210), ("P", "31 ppm"), ("K", 235), ("Ca", 200), ("Mg", 48.6))
    wanted = (("N", 180), ("P", 40), ("K", 200), ("Ca", 150), ("Mg", 40))
    salts = ("KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "MgSO4.7H2O", "NH4NO3")
    water.append(["", "", "", "", "", "", "salt"])
    for ion, want, salt in zip(ions, wanted, salts, strict=True):
        water.append([*ion, None, *want, None, salt])
    trial.append(["group", "mass", "day"])
    for number in range(12):
        mass = "dead" if number == 7 else None if number == 9 else 4 + number * 7 % 5 / 3
        trial.append([f"p{number % 3 + 1}", mass, datetime.date(2026, 3, 2 + 7 * (number // 4))])
    names = openpyxl.workbook.defined_name.DefinedName
    book.defined_names["BedGallons"] = names("BedGallons", attr_text="34")
    book.defined_names["OneVolume"] = names("OneVolume", attr_text="Beds!$D$2")


def write_formulas(book: openpyxl.Workbook) -> dict[tuple[str, str], str]:
    """All formulas, each on a sheet of its kind; gives them by their cells."""
    placed: dict[tuple[str, str], str] = {}

    def place(sheet: Worksheet, name: str, formula: str) -> None:
        sheet[name] = formula
        placed[sheet.title, name] = formula

    rows, alone = book.create_sheet("Rows"), book.create_sheet("Alone")
    for row in ROWS:
        for column, formula in enumerate(IN_EACH_ROW, 1):
            place(rows, f"{get_column_letter(column)}{row}", formula.replace("#", str(row)))
    for row, formula in enumerate(ALONE, 1):
        place(alone, f"A{row}", formula)
        place(alone, f"B{row}", f'=IF(ISERROR(A{row}),"failed",A{row}&"")')
    arrays, row = book.create_sheet("Arrays"), 1
    for formula, height, width in ARRAYS:
        area = f"A{row}:{get_column_letter(width)}{row + height - 1}"
        for line in arrays[area] if height * width > 1 else ():
            for cell in line:
                cell.value = 0  # openpyxl writes no cells of an array but the first
                placed[arrays.title, cell.coordinate] = formula
        arrays[f"A{row}"] = ArrayFormula(area, formula)
        placed[arrays.title, f"A{row}"] = formula
        row += height + 1
    write_variants(book, placed)
    return placed


def write_variants(book: openpyxl.Workbook, placed: dict[tuple[str, str], str]) -> None:
    """Calls of every function of single values, its arguments in the cells to the right."""
    sheet, row = book.create_sheet("Variants"), 1
    for name, function in functions().items():
        if function.is_table or any(argument.whole for argument in function.arguments) or name == "GROW_WHY":
            continue
        for arguments in variants(function):
            for column, value in enumerate(arguments, 2):
                sheet.cell(row, column, "=NA()" if value == "#N/A" else value)
            given = ",".join(f"{get_column_letter(column)}{row}" for column in range(2, len(arguments) + 2))
            sheet[f"A{row}"] = f"={name}({given})"
            placed[sheet.title, f"A{row}"] = f"={name}{arguments}"
            row += 1


def stored(path: Path) -> Values:
    """The stored values of all cells of a workbook."""
    book = openpyxl.load_workbook(path, data_only=True)
    return {
        (sheet.title, cell.coordinate): cell.value for sheet in book.worksheets for row in sheet.rows for cell in row
    }


def in_office(running: RunningOffice, source: Path, target: Path) -> Values:
    """The values of a workbook that LibreOffice opens, computes anew and saves."""
    with running.open(source) as book:
        book.recalculate()
        book.save(target)
    return stored(target)


def differences(here: Values, there: Values) -> dict[tuple[str, str], tuple[object, object]]:
    """The cells whose values are not the same, numbers to 1e-9 of themselves."""
    return {
        place: (here.get(place), there.get(place))
        for place in sorted(here.keys() | there.keys())
        if not agree(here.get(place), there.get(place))
    }


def test_many_formulas(office: RunningOffice, tmp_path: Path) -> None:
    """Every function with good and odd arguments, among native formulas, in ranges, arrays and names."""
    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    write_inputs(book)
    placed = write_formulas(book)
    source = tmp_path / "log.xlsx"
    book.save(source)
    done = recalculate(source, tmp_path / "here.xlsx")
    here, there = stored(tmp_path / "here.xlsx"), in_office(office, source, tmp_path / "there.xlsx")
    differ = differences(here, there)
    print(f"\n{done.formulas} formulas, {len(placed)} cells, {len(differ)} differ")
    for place, pair in differ.items():
        print(place, placed.get(place), pair)
    # ROUND of a whole range is what no value that Excel stored proves: such an array formula is kept.
    assert {cell.formula for cell in done.kept} == {ROUNDED}
    differ = {place: pair for place, pair in differ.items() if placed.get(place) != ROUNDED}
    with_a_truth = {formula for formula in placed.values() if "True" in formula}
    assert with_a_truth and all(formula.startswith("=GROW_") for formula in with_a_truth)
    assert {placed.get(place, str(place)) for place in differ} - with_a_truth == set(DIFFERENT)


@pytest.mark.parametrize("log", ["rooftop", "starter"])
def test_logs(office: RunningOffice, tmp_path: Path, log: str) -> None:
    """The existing log that growcells did not make, and the one that it makes: every cell of every sheet."""
    today = datetime.date.today()
    source = ROOFTOP if log == "rooftop" else new_log(tmp_path / "starter.xlsx", day=today)
    done = recalculate(source, tmp_path / "here.xlsx", as_of=today)
    here, there = stored(tmp_path / "here.xlsx"), in_office(office, source, tmp_path / "there.xlsx")
    print(f"\n{log}: {done.formulas} formulas, {sum(value is not None for value in here.values())} cells")
    assert done.formulas >= 20 and done.kept == ()
    assert differences(here, there) == {}


def saved_by_libreoffice(running: RunningOffice, path: Path) -> Path:
    """A workbook whose formulas were typed in LibreOffice, and that LibreOffice saved."""
    with running.open() as book:
        book.write("A1:C1", [["length", "width", "depth"]])
        book.write("A2:C5", [[42, 31, 6], ["4 ft", "31 in", 6], [None, 31, 6], ["five", 31, 6]])
        book.type("D2", *(f"=GROW_VOLUME_BOX(A{row},B{row},C{row})" for row in range(2, 6)))
        book.type("E2", *(f'=IFERROR(GROW_DOSE(D{row},2),"no volume")' for row in range(2, 6)))
        book.type(
            "F2", "=SUM(E2:E5)", "=SUMPRODUCT(LEN(A2:A5))", "=DATE(2026,3,2)+7", '=TEXT(D2,"0.0")&" gal"', "=D2>34"
        )
        book.type_array("G2:G5", "=GROW_VOLUME_BOX(A2:A5,B2:B5,C2:C5)")
        book.type_array("A10:D14", '=GROW_PPM_TABLE({60;40},100,{"7-9-26 Mg 4";"13.3-0-0 Ca 17"},,"g","L")')
        book.save(path)
    return path


def written_with_spills(path: Path) -> Path:
    """A workbook that XlsxWriter wrote, with dynamic-array formulas."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("log")
        for row, size in enumerate(((42, 31, 6), ("4 ft", "31 in", 6), (38, 21, 9)), 1):
            sheet.write_row(row, 0, size)
        sheet.write_dynamic_array_formula("D2:D4", "=GROW_VOLUME_BOX(A2:A4,B2:B4,C2:C4)")
        sheet.write_dynamic_array_formula("E2:E4", "=GROW_DOSE(D2:D4,2)*1")
        sheet.write_dynamic_array_formula("F2:F4", "=_xlfn._xlws.SORT(D2:D4,1,-1)")
        sheet.write_dynamic_array_formula("G2:G3", "=_xlfn._xlws.FILTER(D2:D4,D2:D4>29)")
        sheet.write_dynamic_array_formula("H2:H5", "=_xlfn.SEQUENCE(4)*2")
        sheet.write_dynamic_array_formula("I2", "=_xlfn.LET(_xlpm.v,GROW_DOSE(34,2),_xlpm.v*2)")
        sheet.write_formula("J2", "=SUM(D2:D4)-SUM(F2:F4)")
        sheet.write_dynamic_array_formula(
            "A10:D14", '=GROW_PPM_TABLE({60;40},100,{"7-9-26 Mg 4";"13.3-0-0 Ca 17"},,"g","L")'
        )
    return path


@pytest.mark.parametrize("origin", ["LibreOffice", "XlsxWriter"])
def test_round_trip(office: RunningOffice, tmp_path: Path, origin: str) -> None:
    """LibreOffice, offline, LibreOffice: all values stay equal."""
    source = tmp_path / "source.xlsx"
    if origin == "LibreOffice":
        saved_by_libreoffice(office, source)
    else:
        written_with_spills(source)
    first = in_office(office, source, tmp_path / "first.xlsx")
    done = recalculate(tmp_path / "first.xlsx", tmp_path / "second.xlsx")
    second = stored(tmp_path / "second.xlsx")
    third = in_office(office, tmp_path / "second.xlsx", tmp_path / "third.xlsx")
    print(f"\n{origin}: {done.formulas} formulas, {sum(value is not None for value in second.values())} cells")
    assert done.kept == () and done.formulas >= 8
    assert differences(first, second) == {}
    assert differences(second, third) == {}
    table = [value for (_, cell), value in second.items() if openpyxl.utils.cell.coordinate_to_tuple(cell)[0] >= 10]
    assert any(isinstance(value, float) and value > 0 for value in table), "the table must hold values"
