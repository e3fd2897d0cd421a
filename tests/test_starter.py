"""The starter log: its formulas, its dropdowns, and the way from it to a report, with LibreOffice and without."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet
from openxml_audit import OpenXmlValidator  # type: ignore[import-untyped]

from growcells import functions
from growcells_workbooks.reading import Fate, read_log
from growcells_workbooks.recalculation import FileProblem, recalculate
from growcells_workbooks.report import build_report
from growcells_workbooks.starter import new_log
from libreoffice import RunningOffice, office

__all__ = ["office"]

DAY = datetime.date(2026, 11, 22)
CUBIC_INCHES_IN_GALLON = 231  # NIST SP 811 Appendix B
GRAMS_IN_POUND = 453.59237  # NIST SP 811 Appendix B
BOX = 45 * 29 * 5 / CUBIC_INCHES_IN_GALLON
ROUND = math.pi * 11**2 * 18 / CUBIC_INCHES_IN_GALLON
EXPECTED = {
    "Beds.J6": BOX,
    "Beds.J7": ROUND,  # its diameter is typed as 22 in and its depth as 1 ft 6 in
    "Beds.K6": BOX * 2,
    "Costs.C6": BOX * 2,
    "Costs.D6": BOX * 2 / (5 * GRAMS_IN_POUND) * 14,
    "Feeds.K7": ROUND * 1,
    "Feeds.L6": 1500 / (BOX * 2),
}


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_log(tmp_path_factory.mktemp("starter") / "log.xlsx", day=DAY)


def cell(path: Path, place: str) -> Any:
    """The stored value of a cell, given as ``Sheet.A1``."""
    sheet, name = place.split(".")
    return load_workbook(path, data_only=True)[sheet][name].value


@pytest.mark.parametrize("place", EXPECTED)
def test_it_opens_with_values(starter: Path, place: str) -> None:
    assert cell(starter, place) == pytest.approx(EXPECTED[place])


def test_no_formula_fails_and_blank_rows_stay_blank(starter: Path, tmp_path: Path) -> None:
    done = recalculate(starter, tmp_path / "again.xlsx")
    assert done.failed == () and done.kept == ()
    assert done.formulas > 200
    assert done.changed == 0
    beds = load_workbook(starter, data_only=True)["Beds"]
    assert all(not beds.cell(row, column).value for row in range(8, 31) for column in range(1, 17))


def test_a_changed_size_changes_dose_and_cost(starter: Path, tmp_path: Path) -> None:
    book = load_workbook(starter)
    book["Beds"]["I6"] = 6
    book.save(tmp_path / "changed.xlsx")
    recalculate(tmp_path / "changed.xlsx", tmp_path / "computed.xlsx")
    assert cell(tmp_path / "computed.xlsx", "Beds.J6") == pytest.approx(BOX * 6 / 5)
    assert cell(tmp_path / "computed.xlsx", "Costs.D6") == pytest.approx(EXPECTED["Costs.D6"] * 6 / 5)


def test_a_wrong_size_is_told_in_its_row(starter: Path, tmp_path: Path) -> None:
    book = load_workbook(starter)
    book["Beds"]["I6"] = "five"
    book.save(tmp_path / "changed.xlsx")
    recalculate(tmp_path / "changed.xlsx", tmp_path / "computed.xlsx")
    assert cell(tmp_path / "computed.xlsx", "Beds.J6") == "#VALUE!"
    assert cell(tmp_path / "computed.xlsx", "Beds.M6").startswith('depth is "five": give a number of inches')


def test_the_reader_knows_every_sheet(starter: Path) -> None:
    log = read_log(starter)
    assert [(table.sheet, table.kind) for table in log.tables] == [
        ("Beds", "beds"),
        ("Targets", "beds"),
        ("Feeds", "feeds"),
        ("Readings", "readings"),
        ("Weights", "weights"),
        ("Costs", "beds"),
    ]
    assert len(log.beds) == 2 and len(log.readings) == 6 and len(log.weights) == 6
    assert log.count(Fate.UNREADABLE) == 0
    assert log.beds[0].ph_low == 5.5 and log.beds[0].planted == datetime.date(2026, 11, 1)
    assert log.readings[3].ec == 0.9  # typed as 900 µS/cm


def test_from_starter_to_report(starter: Path, tmp_path: Path) -> None:
    made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
    assert (str(made.week), made.beds, made.readings, made.unreadable) == ("2026-W47", 2, 6, 0)
    assert made.problems == ()
    row = next(row for row in load_workbook(made.output)["Doses"].iter_rows(values_only=True) if row[0] == "Bed 2")
    assert row[2] == pytest.approx(ROUND)


def test_cleared_examples_leave_an_empty_log_with_its_formulas(starter: Path, tmp_path: Path) -> None:
    book = load_workbook(starter)
    for name, defined in book.defined_names.items():
        assert name.startswith("Examples_")
        for sheet, area in defined.destinations:
            for row in book[sheet][area.replace("$", "")]:
                for one in row if isinstance(row, tuple) else (row,):
                    assert one.data_type != "f"
                    one.value = None
    assert len(book.defined_names) == 5
    book.save(tmp_path / "empty.xlsx")
    done = recalculate(tmp_path / "empty.xlsx", tmp_path / "computed.xlsx")
    assert done.failed == ()
    assert read_log(tmp_path / "computed.xlsx").beds == ()


def test_dropdowns(starter: Path) -> None:
    sheet = load_workbook(starter)["Readings"]
    assert isinstance(sheet, Worksheet)
    lists = {str(rule.sqref): rule.formula1 for rule in sheet.data_validations.dataValidation if rule.type == "list"}
    assert lists == {"B6:B1005": "Beds!$A$6:$A$30"}


def test_the_guide_lists_every_function(starter: Path) -> None:
    column = [row[0].value for row in load_workbook(starter)["Guide"].iter_rows()]
    assert set(functions()) <= set(column)


def test_the_schema_check_passes(starter: Path) -> None:
    result = OpenXmlValidator().validate(starter)
    assert [error.description for error in result.errors if "error" in str(error.severity).lower()] == []


def test_the_same_day_gives_the_same_bytes(starter: Path, tmp_path: Path) -> None:
    assert new_log(tmp_path / "again.xlsx", day=DAY).read_bytes() == starter.read_bytes()


def test_it_does_not_replace_a_file(tmp_path: Path) -> None:
    mine = tmp_path / "log.xlsx"
    mine.write_bytes(b"mine")
    with pytest.raises(FileProblem, match="exists already"):
        new_log(mine)
    assert mine.read_bytes() == b"mine"


class TestLibreOffice:
    def test_values_and_a_changed_size(self, office: RunningOffice, starter: Path) -> None:
        with office.open(starter) as book:
            book.write("Beds.I6", [[5]])
            for place, value in EXPECTED.items():
                assert book.value(place) == pytest.approx(value), place
            assert book.value("Beds.J8") in ("", None)
            book.write("Beds.I6", [[6]])
            assert book.value("Beds.J6") == pytest.approx(BOX * 6 / 5)
            assert book.value("Costs.D6") == pytest.approx(EXPECTED["Costs.D6"] * 6 / 5)
            book.write("Beds.I6", [["five"]])
            assert "give a number of inches" in str(book.value("Beds.M6"))

    def test_the_report_opens_with_the_same_values(self, office: RunningOffice, starter: Path, tmp_path: Path) -> None:
        made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
        stored = load_workbook(made.output, data_only=True)
        with office.open(made.output) as book:
            for sheet, rows in (("Week", range(6, 8)), ("Doses", range(6, 9)), ("Costs", range(7, 10))):
                for row in rows:
                    seen = book.read(f"{sheet}.A{row}:K{row}")[0]
                    for column, value in enumerate(seen, 1):
                        known = stored[sheet].cell(row, column).value
                        if isinstance(known, (int, float)):
                            assert value == pytest.approx(known), f"{sheet} {row} {column}"
                        elif not isinstance(known, datetime.datetime):
                            assert value in (known, "")
