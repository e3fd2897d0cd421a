"""A log that carries the functions: what its names compute, what form they have, what of the file changes.

What computes here is ironcalc, an engine of its own that reads workbooks and knows LAMBDA.
"""

from __future__ import annotations

import csv
import re
import time
import zipfile
from pathlib import Path
from xml.etree.ElementTree import canonicalize

import pytest
from openpyxl import Workbook
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]

from carried_calls import carried_model, compared, computed, of_liquid
from growcells import CellError, CellFunction, functions
from growcells.cells.arguments import Example
from growcells_workbooks.carrying.carry import carry
from growcells_workbooks.carrying.marks import SHEET, VERSION_NAME
from growcells_workbooks.carrying.native_names import NativeName, carried, names, not_carried, table_cells
from growcells_workbooks.carrying.package_edits import (
    MAIN,
    METADATA,
    marked,
    with_computing,
    with_names,
    without_computing,
)
from growcells_workbooks.carrying.stored_form import (
    DEEPEST,
    LONGEST_FORMULA,
    LONGEST_NAME,
    as_typed,
    depth,
    prefixes,
    stored,
)
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.log_check import check_log
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.recalculation.sheet_xml import scan_sheet
from growcells_workbooks.starter import new_log
from libreoffice import RunningOffice
from recalc_books import change_part
from stand_ins.comparison import assert_shows

TABLE = "gives a table"
COLUMNS = "columns"
NOT_CARRIED = {
    "GROW_STOCK_CHECK": COLUMNS,
    "GROW_PPM_TABLE": TABLE,
    "GROW_BLEND": COLUMNS,
    "GROW_BALANCE": "ppm_table",
    "GROW_GAPS": TABLE,
    "GROW_RECIPE": TABLE,
    "GROW_RECIPE_FIT": TABLE,
    "GROW_EC": "try",
    "GROW_ACID": "acid",
    "GROW_ACID_ADDS": "acid",
    "GROW_BASE": "component_moles",
    "GROW_GROWTH_TABLE": TABLE,
    "GROW_TRIAL_TABLE": TABLE,
    "GROW_TRIAL_P": COLUMNS,
    "GROW_TRIAL_SIZE": "int",
    "GROW_TRIAL_DETECTS": "int",
    "GROW_RATES_TABLE": TABLE,
    "GROW_SHARE_P": COLUMNS,
    "GROW_SHARE_LOW": COLUMNS,
    "GROW_SHARE_HIGH": COLUMNS,
    "GROW_SHARE_SIZE": "ndtri",
    "GROW_CONTROL_SIZE": "enough",
    "GROW_SPLIT_SIZE": "int",
    "GROW_TRIAL_FACTORS": TABLE,
}
"""The functions that a log cannot carry, and a word of what stands in the way of each."""

OLD_FUNCTIONS = frozenset(
    (
        *("ABS", "ACOS", "AND", "COLUMNS", "DATE", "DAY", "ERROR.TYPE", "EXACT", "EXP", "FIND", "IF"),
        *("IFERROR", "INDEX", "INT", "ISBLANK", "ISERROR", "ISNA", "ISNUMBER", "ISODD", "ISTEXT", "LEFT", "LEN"),
        *("LN", "LOG10", "LOWER", "MATCH", "MAX", "MID", "MIN", "NOT", "OR", "RIGHT", "ROUND", "ROWS"),
        *("SQRT", "SUBSTITUTE", "SUM", "TRIM", "TYPE", "UPPER"),
    )
)
"""Functions that Excel has had since 2007 or longer, which take no prefix: ISO/IEC 29500-1, 18.17.7."""

CASES = [(native.function, example) for native in carried().values() for example in native.function.examples]


@pytest.fixture(scope="module")
def examples(tmp_path_factory: pytest.TempPathFactory) -> list[object]:
    """What ironcalc gives for every example of every carried function."""
    model = carried_model(tmp_path_factory.mktemp("examples"))
    return computed(model, [example.formula(function.name) for function, example in CASES])


@pytest.mark.parametrize(("index", "case"), list(enumerate(CASES)), ids=[case[0].name for case in CASES])
def test_example(examples: list[object], index: int, case: tuple[CellFunction, Example]) -> None:
    value = examples[index]
    if of_liquid(case[0], case[1].arguments):
        assert value == CellError("#VALUE!")
        return
    assert_shows(float(value) if isinstance(value, int) and not isinstance(value, bool) else value, case[1])


def test_what_is_not_carried_and_why() -> None:
    assert not_carried().keys() == NOT_CARRIED.keys()
    for name, why in not_carried().items():
        word = NOT_CARRIED[name]
        assert word in why or (word == COLUMNS and "column" in why + repr(functions()[name].arguments)), (name, why)
    assert len(carried()) >= 45


@pytest.mark.slow
def test_random_calls() -> None:
    """A small run of ``tests/carried_calls.py``."""
    differences, figures = compared(1500, 5, list(carried()))
    assert not differences
    assert figures["values"] > 300
    assert figures["errors"] > 300


RANGES = (
    ("GROW_DOSE({1;2;3},2)", ((2,), (4,), (6,))),
    ("GROW_DOSE({1,2},{2,3})", ((2, 6),)),
    ('GROW_DOSE({1;"two";3},2)', ((2,), CellError("#VALUE!"), (6,))),
    ('GROW_DOSE({1;"";3},{2;"";2})', ((2,), ("",), (6,))),
    ('GROW_PERCENT({"KNO3";"17-7-21"},"K2O")', ((46.5844,), (21,))),
)


@pytest.mark.parametrize(("call", "rows"), RANGES)
def test_a_range_gives_each_row_in_turn(call: str, rows: tuple[object, ...], tmp_path: Path) -> None:
    model = carried_model(tmp_path)
    width = len(rows[0]) if isinstance(rows[0], tuple) else 1
    asked, expected = [], []
    for row, line in enumerate(rows, 1):
        for column, value in enumerate(line if isinstance(line, tuple) else (line,), 1):
            asked.append(f"=INDEX({call},{row},{column})")
            expected.append(value)
    assert width * len(rows) == len(asked)
    for value, wanted in zip(computed(model, asked), expected, strict=True):
        if isinstance(wanted, CellError):
            assert isinstance(value, CellError)
        else:
            assert value == (pytest.approx(wanted, rel=1e-5) if isinstance(wanted, (int, float)) else wanted)


SPECIAL = (
    ("GROW_DOSE(Z1,2)", CellError("#VALUE!")),
    ("GROW_COST(Z1,31.5,10)", CellError("#VALUE!")),
    ("GROW_COST(0,31.5,10)", 0),
    ("GROW_DOSE({1;2;3},{2;2})", CellError("#VALUE!")),
    ("GROW_DOSE(NA(),2)", CellError("#N/A")),
    ("GROW_VOLUME_PIPE(4,40,5)", CellError("#NUM!")),
    ('GROW_PERCENT("unheard of","N")', CellError("#N/A")),
    ("GROW_TRIAL_P(1,2)", CellError("#N/A")),
    ('GROW_WHY("GROW_TRIAL_P",1)', "GROW_TRIAL_P needs growcells, which is not installed where this cell computes"),
    ('GROW_VOLUME_BOX("1.2 m","3 ft 6 in","45 cm",,"L")', 576.072),
)


def test_blanks_errors_and_what_is_not_carried(tmp_path: Path) -> None:
    values = computed(carried_model(tmp_path), [f"={call}" for call, _ in SPECIAL])
    for (call, wanted), value in zip(SPECIAL, values, strict=True):
        assert value == (pytest.approx(wanted) if isinstance(wanted, (int, float)) else wanted), call


def test_limits_of_excel() -> None:
    for name in names():
        assert len(name.formula) <= LONGEST_FORMULA, name.name
        assert depth(name.formula) <= DEEPEST, name.name
        assert len(name.name) <= LONGEST_NAME, name.name
        assert len(name.comment) <= LONGEST_NAME, name.name


FORM = list(csv.DictReader((Path(__file__).parent / "data" / "excel-form.csv").open(encoding="utf-8", newline="")))
"""What workbooks hold that Excel saved, white space left out that people typed: names, calling cells, metadata."""


@pytest.mark.parametrize("fact", FORM, ids=[fact["kind"] for fact in FORM])
def test_the_form_is_that_of_workbooks_that_excel_saved(fact: dict[str, str], tmp_path: Path) -> None:
    kind, saved = fact["kind"], fact["saved"]
    if kind == "formula":
        assert stored(fact["typed"]) == saved
        assert as_typed(saved) == fact["typed"]
    elif kind == "name":
        name = NativeName(fact["name"], stored(fact["typed"]), fact["comment"])
        assert with_names(b"<workbook><sheets/></workbook>", [name]).count(saved.encode()) == 1
    elif kind == "cell":
        ours = saved.replace(fact["typed"], "GROW_DOSE(A5,2)")
        plain = re.sub(r' cm="1"| t="array" ref="[A-Z0-9]+"', "", ours)
        sheet = f'<worksheet xmlns="{MAIN}"><sheetData><row r="{fact["name"][1:]}">{{}}</row></sheetData></worksheet>'
        data = sheet.format(plain).encode()
        assert canonicalize(marked(data, scan_sheet(data))) == canonicalize(sheet.format(ours))
    elif kind == "metadata":
        assert METADATA.endswith(saved.encode())
    else:
        assert computed(carried_model(tmp_path), [f"={fact['typed']}"]) == [saved]


def test_names_keep_to_that_form() -> None:
    """LAMBDA, LET and later functions bear ``_xlfn.``, what they name ``_xlpm.``, and an optional parameter is
    ``_xlop.`` in the list without brackets and ``_xlpm.`` in the body."""
    known = {name.name for name in names()} | OLD_FUNCTIONS
    for name in names():
        for place in re.findall(rf"{SHEET}[^,)]*", name.formula):
            assert place in table_cells().values(), name.name
            assert re.fullmatch(rf"{SHEET}!\$[A-Z]+\$1:\$[A-Z]+\$\d+", place)
        formula = re.sub(r'"(?:[^"]|"")*"', '""', name.formula)
        for function in set(re.findall(r"([\w.]+)\(", formula)):
            plain = re.sub(r"^_xlfn\.(?:_xlws\.)?", "", function)
            if plain in prefixes():
                assert function == prefixes()[plain] + plain, name.name
            else:
                assert plain in known or plain.startswith("_xl")
        assert not re.search(r"[\[\]]", formula), name.name
        optional = set(re.findall(r"_xlop\.(\w+)", formula))
        assert all(formula.count(f"_xlop.{one},") == 1 for one in optional), name.name
        formula = formula.replace(f"{SHEET}!", "")
        assert not re.search(r"(?<![\w.!$])[a-z]\w*", re.sub(r"_xl(?:fn|pm|op|ws)\.(?:_xlws\.)?\w*", "", formula)), (
            name.name
        )


def test_a_local_name_is_none_that_excel_takes_for_a_cell() -> None:
    with pytest.raises(ValueError, match="Excel takes it for a cell"):
        stored("LAMBDA(b1,b1)")


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A starter log, and the same with the functions."""
    folder = tmp_path_factory.mktemp("logs")
    new_log(folder / "plain.xlsx")
    carry(folder / "plain.xlsx", folder / "carried.xlsx")
    return folder / "plain.xlsx", folder / "carried.xlsx"


def parts(path: Path) -> dict[str, bytes]:
    """The parts of a workbook."""
    with zipfile.ZipFile(path) as package:
        return {name: package.read(name) for name in package.namelist()}


def test_only_names_sheet_metadata_and_marks_change(logs: tuple[Path, Path]) -> None:
    before, after = map(parts, logs)
    added = after.keys() - before.keys()
    assert added == {"xl/metadata.xml", "xl/worksheets/growcells_tables.xml"}
    for name, content in before.items():
        if name.startswith("xl/worksheets/sheet"):
            mark = rb'<c cm="1"( [^>]*><f) t="array" ref="[A-Z]+\d+"'
            assert re.sub(mark, rb"<c\1", after[name]) == content
        elif name not in ("xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml"):
            assert after[name] == content, name
    assert re.search(rb'<sheet name="growcells_tables" [^>]*state="veryHidden"', after["xl/workbook.xml"])


def test_renewed_it_is_the_same_and_removed_it_is_as_it_was(logs: tuple[Path, Path], tmp_path: Path) -> None:
    plain, carrying = logs
    carry(carrying, tmp_path / "again.xlsx")
    assert parts(tmp_path / "again.xlsx") == parts(carrying)
    carry(carrying, tmp_path / "removed.xlsx", remove=True)
    assert parts(tmp_path / "removed.xlsx") == parts(plain)


def test_the_same_log_gives_the_same_bytes(
    logs: tuple[Path, Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(time, "time", lambda: 1_700_000_000.0)
    carry(logs[0], tmp_path / "again.xlsx")
    assert (tmp_path / "again.xlsx").read_bytes() == logs[1].read_bytes()


@pytest.mark.parametrize("number", [b"x", b"", b"9" * 5000])
def test_sheets_whose_numbers_are_none(logs: tuple[Path, Path], tmp_path: Path, number: bytes) -> None:
    log = tmp_path / "log.xlsx"
    change_part(logs[0], log, "xl/workbook.xml", lambda data: re.sub(rb'sheetId="\d+"', b'sheetId="%s"' % number, data))
    carry(log, tmp_path / "carried.xlsx")
    assert b'sheetId="1"' in parts(tmp_path / "carried.xlsx")["xl/workbook.xml"]


def test_names_of_others_stay_and_those_that_another_program_changed_are_healed(tmp_path: Path) -> None:
    book = Workbook()
    assert book.active is not None
    book.active["A1"] = "=GROW_DOSE(34,2)"
    book.save(tmp_path / "log.xlsx")
    carry(tmp_path / "log.xlsx", tmp_path / "carried.xlsx")
    content = parts(tmp_path / "carried.xlsx")
    changed = content["xl/workbook.xml"].replace(b"_xlfn.LAMBDA", b"lambda")
    mine = b'<definedName name="Mine">Sheet!$A$1</definedName></definedNames>'
    content["xl/workbook.xml"] = changed.replace(b"</definedNames>", mine)
    with zipfile.ZipFile(tmp_path / "saved.xlsx", "w") as package:
        for name, part in content.items():
            package.writestr(name, part)
    carry(tmp_path / "saved.xlsx", tmp_path / "healed.xlsx")
    healed = parts(tmp_path / "healed.xlsx")["xl/workbook.xml"]
    assert b"lambda" not in healed
    assert healed.count(b'name="GROW_DOSE"') == healed.count(b'name="Mine"') == healed.count(b"<definedNames>") == 1
    assert healed.count(b'name="growcells_tables"') == 1


WORKBOOK = b"<workbook><sheets/><definedNames></definedNames>%s</workbook>"
SETTINGS = (
    (b"", b'<calcPr fullCalcOnLoad="1"/>'),
    (b'<calcPr calcId="191029"/>', b'<calcPr fullCalcOnLoad="1" calcId="191029"/>'),
    (b'<calcPr calcId="1" fullCalcOnLoad="1"/>', b'<calcPr calcId="1" fullCalcOnLoad="1"/>'),
)


@pytest.mark.parametrize(("before", "after"), SETTINGS)
def test_it_is_computed_when_opened(before: bytes, after: bytes) -> None:
    assert with_computing(WORKBOOK % before) == WORKBOOK % after
    assert without_computing(WORKBOOK % after) == WORKBOOK % before


def test_the_order_of_computing_that_excel_stored_goes(tmp_path: Path) -> None:
    book = Workbook()
    assert book.active is not None
    book.active["A1"] = "=GROW_DOSE(34,2)"
    book.save(tmp_path / "log.xlsx")
    content = parts(tmp_path / "log.xlsx")
    related = b'<Relationship Id="rId99" Type="x/calcChain" Target="calcChain.xml"/></Relationships>'
    content["xl/_rels/workbook.xml.rels"] = content["xl/_rels/workbook.xml.rels"].replace(b"</Relationships>", related)
    typed = b'<Override PartName="/xl/calcChain.xml" ContentType="x"/></Types>'
    content["[Content_Types].xml"] = content["[Content_Types].xml"].replace(b"</Types>", typed)
    content["xl/calcChain.xml"] = b'<calcChain><c r="A1" i="1"/></calcChain>'
    with zipfile.ZipFile(tmp_path / "excel.xlsx", "w") as package:
        for name, part in content.items():
            package.writestr(name, part)
    carry(tmp_path / "excel.xlsx", tmp_path / "carried.xlsx")
    after = parts(tmp_path / "carried.xlsx")
    assert not any(b"calcChain" in part for part in (*after.values(), *(name.encode() for name in after)))


def test_what_is_written_is_a_valid_workbook(logs: tuple[Path, Path]) -> None:
    found = OpenXmlValidator().validate(logs[1])
    assert not found.errors


def test_recalculation_and_check_pass_over_the_names(logs: tuple[Path, Path]) -> None:
    plain, carrying = (recalculate(log) for log in logs)
    assert (carrying.formulas, carrying.changed, carrying.failed) == (plain.formulas, 0, plain.failed)
    plain_check, carried_check = (check_log(log) for log in logs)
    assert [line.text for line in carried_check.lines[1:]] == [line.text for line in plain_check.lines[1:]]


def test_check_says_that_the_names_are_older(logs: tuple[Path, Path], tmp_path: Path) -> None:
    content = parts(logs[1])
    old = re.sub(rb'(name="%s"[^>]*>)[^<]*' % VERSION_NAME.encode(), rb'\1"0.0.1"', content["xl/workbook.xml"])
    with zipfile.ZipFile(tmp_path / "old.xlsx", "w") as package:
        for name, part in content.items():
            package.writestr(name, old if name == "xl/workbook.xml" else part)
    told = [line.text for line in check_log(tmp_path / "old.xlsx").lines]
    assert any("growcells 0.0.1" in line and "growcells carry renews them" in line for line in told)


@pytest.mark.slow
def test_ten_thousand_calling_cells_take_two_seconds(tmp_path: Path) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("log")
    for row in range(1, 10_001):
        sheet.append([row, 2, f"=GROW_DOSE(A{row},B{row})"])
    book.save(tmp_path / "log.xlsx")
    start = time.process_time()
    done = carry(tmp_path / "log.xlsx", tmp_path / "carried.xlsx")
    assert done.calling_cells == 10_000
    assert time.process_time() - start < 2


def test_only_workbooks_of_excel_carry_functions(tmp_path: Path) -> None:
    log = tmp_path / "log.ods"
    log.write_bytes(b"PK")
    with pytest.raises(FileProblem, match="no Excel workbook"):
        carry(log)


def test_it_opens_in_libreoffice(office: RunningOffice, logs: tuple[Path, Path], tmp_path: Path) -> None:
    """With the extension the same cells compute through it, and a save keeps the names, which carry heals."""
    with office.open(logs[1]) as book:
        book.save(tmp_path / "saved.xlsx")
    carry(tmp_path / "saved.xlsx", tmp_path / "healed.xlsx")
    healed = parts(tmp_path / "healed.xlsx")["xl/workbook.xml"]
    for name in names():
        assert healed.count(f'name="{name.name}"'.encode()) == 1, name.name
    assert healed.count(SHEET.encode() + b'"') == 1
    done = recalculate(tmp_path / "healed.xlsx")
    assert not done.changed
