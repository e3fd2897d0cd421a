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
LITRES_IN_GALLON = 3.785411784  # NIST SP 811 Appendix B
GRAMS_IN_POUND = 453.59237  # NIST SP 811 Appendix B
BOX = 45 * 29 * 5 / CUBIC_INCHES_IN_GALLON
METRIC_BOX = 114 * 74 * 13 / 1000 / LITRES_IN_GALLON
OVAL = (math.pi / 4 * 24**2 + (48 - 24) * 24) * 8 / CUBIC_INCHES_IN_GALLON
ROUND = math.pi * 11**2 * 18 / CUBIC_INCHES_IN_GALLON
EXPECTED = {
    "Beds.J6": BOX,
    "Beds.J7": ROUND,  # its diameter is typed as 22 in and its depth as 1 ft 6 in
    "Beds.K6": BOX * 2,
    "Costs.C6": BOX * 2,
    "Costs.D6": BOX * 2 / (5 * GRAMS_IN_POUND) * 14,
    "Feeds.L7": ROUND * 1 + METRIC_BOX * 1,
    "Feeds.M6": 1500 / (BOX * 2 + OVAL * 2),
    "Trial.E14": 68,  # checked by the binomial distribution in test_the_trial_sheet
    "Trial.F23": 180 * 2 / LITRES_IN_GALLON,
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
    assert all(not beds.cell(row, column).value for row in range(10, 31) for column in range(1, 17))


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
    assert (len(log.beds), len(log.readings), len(log.weights)) == (4, 10, 12)
    assert log.count(Fate.UNREADABLE) == 0
    assert log.beds[0].ph_low == 5.5 and log.beds[0].planted == datetime.date(2026, 11, 1)
    assert next(reading for reading in log.readings if reading.notes.startswith("a cell may")).ec == 0.9  # 900 µS/cm
    feed = log.feeds[0]
    assert (feed.scale, feed.use, feed.counted) == (1, 60, DAY)
    assert (log.beds[0].temp_low, log.beds[0].temp_high, log.beds[0].water_ec) == (60, 74, 0.2)


def test_from_starter_to_report(starter: Path, tmp_path: Path) -> None:
    made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
    assert (str(made.week), made.beds, made.readings, made.unreadable) == ("2026-W47", 4, 10, 0)
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
    assert len(book.defined_names) == 6
    book.save(tmp_path / "empty.xlsx")
    done = recalculate(tmp_path / "empty.xlsx", tmp_path / "computed.xlsx")
    assert done.failed == ()
    assert read_log(tmp_path / "computed.xlsx").beds == ()


def test_dropdowns(starter: Path) -> None:
    sheet = load_workbook(starter)["Readings"]
    assert isinstance(sheet, Worksheet)
    lists = {str(rule.sqref): rule.formula1 for rule in sheet.data_validations.dataValidation if rule.type == "list"}
    assert lists == {"B6:B1005": "Beds!$A$6:$A$30"}
    recipe = load_workbook(starter)["Mix"].data_validations.dataValidation[0]
    assert str(recipe.sqref) == "E4" and "Hoagland & Arnon 1" in str(recipe.formula1)


def test_the_trial_sheet(starter: Path) -> None:
    from scipy.stats import binom, f, ncf

    sheet = load_workbook(starter, data_only=True)["Trial"]
    column = {str(row[0].value): row[4].value for row in sheet.iter_rows(min_row=5, max_row=30)}
    needed = column["Beds needed for each"]

    def power(beds: float) -> float:
        limit = f.ppf(0.95, 1, 2 * beds - 2)
        return float(ncf.sf(limit, 1, 2 * beds - 2, beds * (20 / 8) ** 2 / 2))

    assert power(needed) >= 0.8 > power(needed - 1)
    seeds = column["Seeds to sow"]
    low = next(p / 10_000 for p in range(10_000) if binom.sf(16, 20, p / 10_000) > 0.025)  # Clopper & Pearson, 17 of 20
    assert binom.sf(35, seeds, low) >= 0.95 > binom.sf(35, seeds - 1, low)
    texts = [str(row[0].value) for row in sheet.iter_rows(min_row=30)]
    assert any(text.startswith("One-way analysis of variance on 4 bed means") for text in texts)
    assert "Each treatment has two beds or more: the test is on their means." in texts
    base = next(row for row in sheet.iter_rows(min_row=33, max_col=12, values_only=True) if row[0] == "base")
    assert base[3] == pytest.approx(((151 + 148 + 160) / 3 + (142 + 155 + 149) / 3) / 2)


def test_the_mix_sheet(starter: Path) -> None:
    sheet = load_workbook(starter, data_only=True)["Mix"]
    rows = {row[0].value: [cell.value for cell in row[1:5]] for row in sheet.iter_rows(min_row=15, max_row=31)}
    litres = 28 * LITRES_IN_GALLON
    nitrogen = (56 * 0.18 + 35 * 2 * 14.007 / 236.15) * 1000 / litres  # IUPAC atomic weights: Ca(NO3)2.4H2O
    assert rows["N"] == [pytest.approx(nitrogen, rel=1e-4), 150, pytest.approx(nitrogen / 1.5, rel=1e-4), "fine"]
    assert rows["Fe"][0] == 0 and str(rows["Fe"][3]).startswith("absent: no iron")


def test_the_climate_sheet(starter: Path) -> None:
    row = [cell.value for cell in load_workbook(starter, data_only=True)["Climate"][6]]
    celsius = (72 - 32) / 1.8
    pressure = 0.6108 * math.exp(17.27 * celsius / (celsius + 237.3))  # FAO Irrigation and Drainage Paper 56, eq. 11
    assert row[5] == pytest.approx(pressure * (1 - 0.61))
    assert row[9] == pytest.approx(210 * 16 * 3600 / 1e6)


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
            assert book.value("Beds.J10") in ("", None)
            book.write("Beds.I6", [[6]])
            assert book.value("Beds.J6") == pytest.approx(BOX * 6 / 5)
            assert book.value("Costs.D6") == pytest.approx(EXPECTED["Costs.D6"] * 6 / 5)
            book.write("Beds.I6", [["five"]])
            assert "give a number of inches" in str(book.value("Beds.M6"))

    def test_the_trial_and_the_mix_follow_what_is_typed(self, office: RunningOffice, starter: Path) -> None:
        with office.open(starter) as book:
            book.write("Weights.E6", [[181]])  # 151 before
            bed = (181 + 148 + 160) / 3
            rows = {row[0]: row for row in book.read("Trial.A33:L41")}
            assert rows["base"][3] == pytest.approx((bed + (142 + 155 + 149) / 3) / 2)
            assert str(book.value("Trial.A41")).startswith("One-way analysis of variance on 4 bed means")
            before = {row[0]: row[1] for row in book.read("Mix.A14:B31")}
            book.write("Mix.A8", [[112]])  # 56 before: twice the phosphorus
            after = {row[0]: row[1] for row in book.read("Mix.A14:B31")}
            assert after["P"] == pytest.approx(2 * before["P"])

    def test_the_report_opens_with_the_same_values(self, office: RunningOffice, starter: Path, tmp_path: Path) -> None:
        made = build_report(starter, tmp_path / "week.xlsx", as_of=DAY)
        stored = load_workbook(made.output, data_only=True)
        with office.open(made.output) as book:
            for sheet, rows in (("Week", range(6, 10)), ("Doses", range(6, 11)), ("Costs", range(7, 12))):
                for row in rows:
                    seen = book.read(f"{sheet}.A{row}:K{row}")[0]
                    for column, value in enumerate(seen, 1):
                        known = stored[sheet].cell(row, column).value
                        if isinstance(known, (int, float)):
                            assert value == pytest.approx(known), f"{sheet} {row} {column}"
                        elif not isinstance(known, datetime.datetime):
                            assert value in (known, "")
