"""Recalculation of .ods logs: what is refused without LibreOffice, and what a LibreOffice of the test run computes."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from growcells_addin.libreoffice.program import PROFILE_VARIABLE, PROGRAM_VARIABLE
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading.inputs import read_input
from growcells_workbooks.through_office import recalculate_opendocument
from libreoffice import RunningOffice, needed_office
from ods_books import ods_cell, ods_row, write_ods, write_ods_parts
from processes import growcells

GALLONS = 40 * 25 * 6 / 231
"""A box of 40 × 25 × 6 in; the US gallon has 231 in³ (NIST Handbook 44, appendix C)."""


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with a call of a growcells function, a formula that rests on it, and one that fails; all stored wrong."""
    formulas = (
        ("GROWCELLS.FUNCTIONS.GROWVOLUMEBOX([.A1];[.B1];[.C1])", 1),
        ("[.D1]*2", 1),
        ("GROWCELLS.FUNCTIONS.GROWDOSE(-1;2)", 1),
    )
    cells = [ods_cell(stored, f'table:formula="of:={formula}"') for formula, stored in formulas]
    row = ods_row([*map(ods_cell, (40, 25, 6)), *cells])
    return write_ods_parts(tmp_path / "log.ods", f'<table:table table:name="Log">{row}</table:table>')


def stored(path: Path) -> list[object]:
    (sheet,) = read_input(path).sheets
    return [cell.value for cell in sheet.rows[1].values()]


def test_a_day_of_its_own_is_refused(log: Path) -> None:
    with pytest.raises(FileProblem, match="leave out --as-of"):
        recalculate_opendocument(log, as_of=datetime.date(2026, 11, 25))


def test_without_libreoffice_it_is_one_sentence(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    monkeypatch.setenv(PROGRAM_VARIABLE, str(tmp_path))
    with pytest.raises(FileProblem, match=r"is computed by LibreOffice, and it was not\. LibreOffice was not found"):
        recalculate_opendocument(log, tmp_path / "computed.ods")
    assert not (tmp_path / "computed.ods").exists()


@pytest.mark.parametrize(("name", "sentence"), [("log.csv", "holds no formulas"), ("log.txt", "holds no formulas")])
def test_a_text_file_has_nothing_to_compute(tmp_path: Path, name: str, sentence: str) -> None:
    (tmp_path / name).write_text("Bed,pH\nT1,5.8\n")
    done = growcells("recalc", tmp_path / name)
    assert done.returncode == 1
    assert sentence in done.stderr


@pytest.mark.parametrize("name", ["computed.xlsx", "computed"])
def test_a_copy_is_of_the_same_kind(log: Path, tmp_path: Path, name: str) -> None:
    with pytest.raises(FileProblem, match=r"\.ods"):
        recalculate_opendocument(log, tmp_path / name)


@pytest.mark.office
def test_without_the_functions_it_is_one_sentence(
    log: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    needed_office()
    monkeypatch.setenv(PROFILE_VARIABLE, str(tmp_path / "profile"))
    before = log.read_bytes()
    with pytest.raises(FileProblem, match="growcells install libreoffice puts them there"):
        recalculate_opendocument(log, in_place=True)
    assert log.read_bytes() == before
    assert list(tmp_path.glob("*backup*")) == []


@pytest.mark.office
def test_a_log_without_them_needs_no_extension(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    needed_office()
    monkeypatch.setenv(PROFILE_VARIABLE, str(tmp_path / "profile"))
    row = ods_row([ods_cell(2), ods_cell(1, 'table:formula="of:=[.A1]*3"')])
    log = write_ods_parts(tmp_path / "log.ods", f'<table:table table:name="Log">{row}</table:table>')
    done = recalculate_opendocument(log, tmp_path / "computed.ods")
    assert (done.formulas, done.changed, done.failed) == (1, 1, ())
    assert stored(tmp_path / "computed.ods") == [2, 6]
    assert not (tmp_path / "profile" / ".lock").exists(), "LibreOffice has ended as it should"


def test_an_open_libreoffice_computes_and_stays_open(
    log: Path, office: RunningOffice, monkeypatch: pytest.MonkeyPatch
) -> None:  # fmt: skip
    monkeypatch.setenv(PROFILE_VARIABLE, str(office.profile))
    before = log.read_bytes()
    done = recalculate_opendocument(log, in_place=True)
    assert (done.formulas, done.changed) == (3, 3)
    assert [(cell.cell, cell.code) for cell in done.failed] == [("F1", "#NUM!")]
    assert stored(log)[3:5] == pytest.approx([GALLONS, 2 * GALLONS])
    assert done.backup is not None and done.backup.read_bytes() == before
    assert office.alive
    with office.open() as book:
        book.write("A1", [[7]])
        assert book.value("A1") == 7
    again = recalculate_opendocument(log, log.with_name("again.ods"))
    assert again.changed == 0


def test_a_file_that_is_no_workbook_is_refused_before_libreoffice_sees_it(tmp_path: Path) -> None:
    path = write_ods(tmp_path / "log.ods", {"Log": [["Bed"]]})
    path.write_bytes(path.read_bytes()[:-30])
    with pytest.raises(FileProblem, match="is damaged or cut short"):
        recalculate_opendocument(path, tmp_path / "computed.ods")
