"""A copy of a log without growcells functions: what its formulas give, what they cannot, what of the file changes.

What computes here is ironcalc; ``tests/test_conformance.py`` has every example, there and in a bare LibreOffice.
"""

from __future__ import annotations

import datetime
import re
import zipfile
from pathlib import Path

import ironcalc
import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils.datetime import to_excel
from openpyxl.workbook.defined_name import DefinedName
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]

from growcells import CellError, functions
from growcells.cells.errors import ERROR_CODES
from growcells_workbooks.carrying.carry import carry
from growcells_workbooks.carrying.flat_lets import flattened
from growcells_workbooks.carrying.inline import write_out
from growcells_workbooks.carrying.native_names import carried
from growcells_workbooks.carrying.read_texts import ReadTexts
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.recalculation import recalculate
from growcells_workbooks.starter import new_log
from written_out import NOT_WRITTEN_OUT, write_examples

CELLS = {"A1": 34, "B1": 2, "C1": "34 gal", "D1": "17-7-21", "E1": "N", "F1": "kg", "G1": "L", "H1": "five", "I1": "g*"}
"""What the log holds; Z1 is blank."""

ERROR = CellError("#VALUE!")
GIVES = (
    ("GROW_DOSE(A1,B1)", 68),
    ("2^GROW_DOSE(1,B1)", 4),
    ("GROW_DOSE(C1,B1)", 68),
    ('GROW_DOSE("34 gal",B1)', 68),
    ('GROW_DOSE(A1,"2 g/gal",,,"kg")', 0.068),
    ("GROW_DOSE(A1,B1,,,F1)", 0.068),
    ("GROW_DOSE(A1,B1,,,Z1)", 68),
    ("GROW_DOSE(C1,B1,G1)", 68),
    ("GROW_DOSE(A1,B1,G1)", 17.96370),
    ("GROW_DOSE(A1+A1,B1)", 136),
    ("GROW_PPM(GROW_DOSE(A1,B1),A1,D1,E1)", 89.8185),
    ('GROW_PPM(68,A1,D1,"K2O")', 110.9523),
    ('GROW_PPM(68,A1,"17-7-21",E1)', "kept"),
    ('GROW_CONVERT(A1,"gal","L")', 128.7040),
    ('GROW_CONVERT(A1,"gal",G1)', "kept"),
    ('GROW_TARGET("Hoagland & Arnon 1","Ca")', 200),
    ('GROW_DEPTH_FOR(A1,"box",42,31)', 6.032258),
    ("GROW_DOSE(Z1,B1)", ERROR),
    ("GROW_DOSE(H1,B1)", ERROR),
    ("GROW_DOSE(0-A1,B1)", ERROR),
    ("GROW_DOSE(A1,B1,I1)", ERROR),
    ("GROW_DOSE(A1,B1,H1)", ERROR),
    ("GROW_DOSE(NA(),B1)", ERROR),
    ("GROW_DOSE(A1)", ERROR),
    ('GROW_DOSE("34 in",B1)', ERROR),
    ("GROW_DOSE(A1:A2,B1)", "kept"),
    ("GROW_DOSE(several,B1)", "kept"),
    ("GROW_DOSE(SUM(A1:B1),B1)", 72),
    ("GROW_TRIAL_P(A1:A2,B1:B2)", "kept"),
    ('GROW_WHY("GROW_DOSE",A1,B1)', "OK"),
    ('GROW_WHY("GROW_DOSE",Z1,B1)', "an error: growcells, which is not in this copy, says why"),
    ('"GROW_DOSE(A1,B1)"&A1', "GROW_DOSE(A1,B1)34"),
    ("_xlfn.LET(_xlpm.x,GROW_DOSE(A1,B1),_xlpm.x+1)", 69),
)
"""Formulas of the log, and what they give in the copy; "kept" are those that still need growcells."""


def log_of(path: Path, formulas: list[str]) -> Path:
    """A log with the cells above and formulas in column K."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for place, value in CELLS.items():
        sheet[place].value = value
    for row, formula in enumerate(formulas, 1):
        sheet.cell(row, 11).value = f"={formula}"
    book.defined_names["several"] = DefinedName("several", attr_text="Sheet!$A$1:$A$2")
    book.save(path)
    return path


def shown(path: Path, rows: int) -> list[object]:
    """What the cells of column K show in ironcalc."""
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    values = [model.get_cell_value(0, row, 11) for row in range(1, rows + 1)]
    return [ERROR if value in ERROR_CODES else value for value in values]


def test_what_formulas_give(tmp_path: Path) -> None:
    log = log_of(tmp_path / "log.xlsx", [formula for formula, _ in GIVES])
    before = log.read_bytes()
    done = write_out(log, tmp_path / "copy.xlsx")
    kept = {int(re.search(r"!K(\d+): ", line)[1]) for line in done.kept}  # type: ignore[index]
    assert kept == {row for row, (_, value) in enumerate(GIVES, 1) if value == "kept"}
    for (formula, expected), value in zip(GIVES, shown(tmp_path / "copy.xlsx", len(GIVES)), strict=True):
        if expected != "kept":
            assert value == (pytest.approx(expected, rel=1e-5) if isinstance(expected, (int, float)) else expected), (
                formula
            )
    assert log.read_bytes() == before


def test_what_is_not_written_out_and_why(tmp_path: Path) -> None:
    """Each function has an example that is, or stands in the list of those with none."""
    cases = [(native.function, example) for native in carried().values() for example in native.function.examples]
    write_examples(tmp_path / "examples.xlsx", cases)
    done = write_out(tmp_path / "examples.xlsx", tmp_path / "copy.xlsx")
    reasons = {int(re.search(r"!A(\d+): ", line)[1]): line for line in done.kept}  # type: ignore[index]
    written = {function.name for row, (function, _) in enumerate(cases, 1) if row not in reasons}
    assert {name for name in carried() if functions()[name].examples} - written == NOT_WRITTEN_OUT.keys()


@pytest.mark.slow
def test_the_starter_gives_what_it_gives_with_growcells(tmp_path: Path) -> None:
    """All cells of a starter log that are written out show what the log itself shows."""
    log = new_log(tmp_path / "log.xlsx")
    done = write_out(log, tmp_path / "copy.xlsx")
    kept = {line.split(": ")[0] for line in done.kept}
    assert len(kept) < 10
    # ironcalc takes a blank cell that openpyxl wrote with a type for a zero.
    with zipfile.ZipFile(tmp_path / "copy.xlsx") as copy, zipfile.ZipFile(tmp_path / "blanks.xlsx", "w") as package:
        for part in copy.namelist():
            package.writestr(part, copy.read(part).replace(b' t="n"/>', b"/>"))
    model = ironcalc.load_from_xlsx(str(tmp_path / "blanks.xlsx"), "en", "UTC", "en")
    model.evaluate()
    formulas, values = load_workbook(log), load_workbook(log, data_only=True)
    compared = 0
    for number, sheet in enumerate(formulas):
        for row in sheet.iter_rows():
            for cell in row:
                called = (
                    isinstance(cell.value, str)
                    and "GROW_" in cell.value
                    and not re.search("GROW_(WHY|TRIAL)", cell.value)
                )
                if called and f"{sheet.title}!{cell.coordinate}" not in kept:
                    expected = values[sheet.title][cell.coordinate].value
                    assert cell.row and cell.column
                    value = model.get_cell_value(number, cell.row, cell.column)
                    if isinstance(expected, datetime.datetime):
                        expected = to_excel(expected)  # type: ignore[no-untyped-call]
                    assert value == (pytest.approx(expected) if isinstance(expected, float) else expected or ""), cell
                    compared += 1
    assert compared > 200


def test_the_rest_of_the_file_stays(tmp_path: Path) -> None:
    log = log_of(tmp_path / "log.xlsx", ["GROW_DOSE(C1,B1)", "A1+1"])
    carry(log, tmp_path / "carried.xlsx")
    write_out(log, tmp_path / "copy.xlsx")
    write_out(tmp_path / "carried.xlsx", tmp_path / "again.xlsx")
    parts = []
    for name in ("log.xlsx", "copy.xlsx", "again.xlsx"):
        with zipfile.ZipFile(tmp_path / name) as package:
            parts.append({part: package.read(part) for part in package.namelist()})
    plain, copy, again = parts
    assert copy == again  # the functions that a log carries are taken out
    assert b"GROW_" not in b"".join(copy.values())
    changed = {part for part in plain if plain[part] != copy[part]}
    assert changed <= {
        *("xl/workbook.xml", "xl/_rels/workbook.xml.rels", "[Content_Types].xml", "xl/worksheets/sheet1.xml")
    }
    assert not recalculate(tmp_path / "copy.xlsx", tmp_path / "computed.xlsx").failed


@pytest.mark.slow
def test_what_is_written_is_a_valid_workbook(tmp_path: Path) -> None:
    write_out(new_log(tmp_path / "log.xlsx"), tmp_path / "copy.xlsx")
    assert not OpenXmlValidator().validate(tmp_path / "copy.xlsx").errors


def test_of_texts_that_differ_in_capitals_alone_none_is_looked_up() -> None:
    texts = ReadTexts(["1 ms", "1 MS", "g?", "2 h"])
    argument = functions()["GROW_DLI"].arguments[1]
    texts.number(functions()["GROW_DLI"], argument, None, "", "A1")
    assert ("DLI.hours||2 h", 2.0) in texts.table()
    clash = ReadTexts([])
    clash.rows = {"unit|mS": 1.0, "unit|MS": 2.0, "unit|g": 3.0}
    assert clash.table() == (("unit|g", 3.0),)


FLAT = (
    ("_xlpm.a+1", "_xlpm.a+1"),
    ("_xlfn.LET(_xlpm.a,1,_xlfn.LET(_xlpm.b,2,_xlpm.a+_xlpm.b))", "_xlfn.LET(_xlpm.a,1,_xlpm.b,2,((_xlpm.a+_xlpm.b)))"),
    (
        "_xlfn.LET(_xlpm.a,1,_xlfn.LET(_xlpm.a,2,_xlpm.a)+_xlpm.a)",
        "_xlfn.LET(_xlpm.a,1,_xlpm.a2_,2,((_xlpm.a2_)+_xlpm.a))",
    ),
    ("IF('a, (b'!A1,\")\",_xlfn.LET(_xlpm.a,1,_xlpm.a))", "_xlfn.LET(_xlpm.a,1,IF('a, (b'!A1,\")\",(_xlpm.a)))"),
)


@pytest.mark.parametrize(("formula", "flat"), FLAT)
def test_one_let_names_all(formula: str, flat: str) -> None:
    assert flattened(formula) == flat


def test_a_formula_longer_than_one_can_be_is_kept(tmp_path: Path) -> None:
    log = log_of(tmp_path / "log.xlsx", ["+".join(["GROW_VOLUME_PIPE(C1,C1,B1)"] * 60)])
    done = write_out(log, tmp_path / "copy.xlsx")
    assert done.kept == ("Sheet!K1: written out it is longer than a formula can be",)


def test_other_files_are_refused(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="no Excel workbook"):
        write_out(tmp_path / "log.ods", tmp_path / "copy.ods")
