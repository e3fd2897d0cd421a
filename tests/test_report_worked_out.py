"""What the report works out where the log itself has no formulas: by hand, from sizes, rates and labels as typed."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from growcells_workbooks.report import Report, build_report
from growcells_workbooks.sheets.print_setup import A4
from log_books import write_log
from report_books import cells_of, report_book, row_of, sheet_of, texts_of
from us_units import CUBIC_INCHES_IN_GALLON, LITRES_IN_GALLON

DAY = datetime.date(2026, 11, 20)
BEDS: list[list[Any]] = [
    ["Bed", "Crop", "Feed", "Shape", "Length in", "Width in", "Water in", "Rate g/gal"],
    ["Crate", "lettuce", "A", None, 42, 31, 6, None],
    ["Drum", "lettuce", "A", "round", 24, None, 30, None],
    ["Trough", "lettuce", "A", "Oval", 60, 30, 20, 3],
    ["Pond", "lettuce", "B", "heart", 60, 30, 20, None],
    ["Pot", "lettuce", None, None, 12, None, 10, None],
]
FEEDS: list[list[Any]] = [["Feed", "Analysis", "g/gal"], ["A", "16-7-19", 2], ["B", None, 2]]
READINGS: list[list[Any]] = [
    ["Date", "Bed", "pH", "EC mS/cm"],
    *([DAY, bed, 6.0, 1.5] for bed in ("Crate", "Drum", "Trough", "Pond", "Pot")),
]
VOLUMES = {
    "Crate": 42 * 31 * 6 / CUBIC_INCHES_IN_GALLON,
    "Drum": math.pi / 4 * 24**2 * 30 / CUBIC_INCHES_IN_GALLON,
    # straight sides and half circles at the ends
    "Trough": ((60 - 30) * 30 + math.pi / 4 * 30**2) * 20 / CUBIC_INCHES_IN_GALLON,
}
RATES = {"Crate": 2, "Drum": 2, "Trough": 3}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Report:
    folder = tmp_path_factory.mktemp("worked_out")
    return build_report(write_log(folder, Beds=BEDS, Feeds=FEEDS, Log=READINGS), folder / "w.xlsx", as_of=DAY)


@pytest.fixture(scope="module")
def book(made: Report) -> Workbook:
    return report_book(made.output, data_only=True)


@pytest.mark.parametrize("bed", VOLUMES)
def test_volumes_and_doses_from_sizes_and_rates(book: Workbook, bed: str) -> None:
    row = row_of(book, "Doses", bed)
    assert row[2] == pytest.approx(VOLUMES[bed])
    assert row[3:5] == [RATES[bed], pytest.approx(VOLUMES[bed] * RATES[bed])]


@pytest.mark.parametrize("bed", ["Pond", "Pot"])
def test_no_volume_where_shape_or_sizes_do_not_give_one(book: Workbook, bed: str) -> None:
    assert row_of(book, "Doses", bed)[2] is None and row_of(book, "Doses", bed)[4] is None


def test_a_shape_that_is_not_known_is_a_problem(made: Report) -> None:
    assert made.problems == (
        'the full fill of Pond: the shape of Pond is "heart", which is not one of box, round, oval',
    )


def test_it_is_said_what_was_worked_out_and_with_what(book: Workbook) -> None:
    texts = texts_of(book, "Method")
    told = [text for text in texts if "is not in the log and was worked out here with" in text]
    assert {text.replace(" is not in the log and was worked out here", "") for text in told} == {
        "The volume of Crate with GROW_VOLUME_BOX.",
        "The volume of Drum with GROW_VOLUME_ROUND.",
        "The volume of Trough with GROW_VOLUME_OVAL.",
        "The dose of Crate, Drum and Trough with GROW_DOSE.",
        "The N of Crate, Drum and Trough with GROW_PPM.",
    }
    assert {"GROW_VOLUME_BOX", "GROW_VOLUME_ROUND", "GROW_VOLUME_OVAL"} <= set(texts)


def test_nutrients_of_a_feed_at_its_rate(book: Workbook) -> None:
    assert row_of(book, "Nutrients", "N   nitrogen")[2] == pytest.approx(2 * 0.16 / LITRES_IN_GALLON * 1000)
    texts = texts_of(book, "Nutrients")
    assert "B: the log gives no analysis." in texts


def test_a_dose_of_the_log_that_is_not_volume_times_rate_is_no_formula(tmp_path: Path) -> None:
    beds = [["Bed", "Crop", "Feed", "Volume gal", "Dose g"], ["T1", "basil", "A", 30, 50], ["T2", "basil", "A", 30, 60]]
    log = write_log(tmp_path, Beds=beds, Feeds=FEEDS, Log=[["Date", "Bed", "pH"], [DAY, "T1", 6.0]])
    book = report_book(build_report(log, tmp_path / "w.xlsx", as_of=DAY).output)
    assert row_of(book, "Doses", "T1")[4] == 50
    assert str(row_of(book, "Doses", "T2")[4]).startswith("=")


def test_litres_and_grams_a_litre(tmp_path: Path) -> None:
    beds = [["Bed", "Crop", "Feed", "Volume L", "Dose g"], ["T1", "basil", "A", 100, 80]]
    feeds = [["Feed", "Analysis", "g/L"], ["A", "16-7-19", 0.8]]
    log = write_log(tmp_path, Beds=beds, Feeds=feeds, Log=[["Date", "Bed", "pH"], [DAY, "T1", 6.0]])
    book = report_book(build_report(log, tmp_path / "w.xlsx", as_of=DAY).output)
    assert str(row_of(book, "Doses", "T1")[4]).startswith("=")
    assert row_of(book, "Nutrients", "N   nitrogen")[2] == pytest.approx(0.8 * 0.16 * 1000)


@pytest.mark.parametrize("added", [[], ["added L"]])
def test_a_log_in_centimetres_measures_water_in_litres(tmp_path: Path, added: list[str]) -> None:
    beds = [["Bed", "Crop", "Length cm", "Width cm", "Water cm"], ["T1", "basil", 150, 80, 25]]
    log = write_log(tmp_path, Beds=beds, Log=[["Date", "Bed", "pH", *added], [DAY, "T1", 6.0, *(20 for _ in added)]])
    book = report_book(build_report(log, tmp_path / "w.xlsx", as_of=DAY).output)
    assert row_of(book, "Doses", "Bed")[2] == "tank full\n[L]"
    assert row_of(book, "Doses", "T1")[2] == pytest.approx(150 * 80 * 25 / 1000)
    assert sheet_of(book, "Doses").page_setup.paperSize == A4


@pytest.mark.parametrize(("unit", "shown"), [("g", "#,##0"), ("kg", "#,##0.0##")])
def test_kilograms_are_shown_to_the_gram(tmp_path: Path, unit: str, shown: str) -> None:
    feeds = [["Feed", "Analysis", "g/gal", f"On hand {unit}"], ["A", "16-7-19", 2, 0.3]]
    log = write_log(tmp_path, Feeds=feeds, Log=[["Date", "Bed", "pH"], [DAY, "T1", 6.0]])
    book = report_book(build_report(log, tmp_path / "w.xlsx", as_of=DAY).output)
    cells = next(row for row in cells_of(book, "Costs") if row[0].value == "A")
    assert (cells[3].value, cells[3].number_format) == (0.3, shown)


def test_odd_readings_are_on_the_sheet_of_checks(tmp_path: Path) -> None:
    rows = [["Date", "Bed", "pH"], [DAY - datetime.timedelta(days=1), "T1", 6.0], [DAY, "T1", 7.5]]
    book = report_book(build_report(write_log(tmp_path, Log=rows), tmp_path / "w.xlsx", as_of=DAY).output)
    assert [value for value in row_of(book, "Checks", "T1") if value] == ["T1", "Log, row 3", "pH went from 6 to 7.5"]
    assert not sheet_of(book, "Checks").print_title_rows, "headings over rows of another table"


@pytest.mark.parametrize(
    ("heading", "number_format", "shown"),
    [
        ("Price $", "General", "$12.60"),
        ("Price EUR", "General", "EUR 12.60"),
        ("Price", "[$€-407] #,##0.00", "€ 12.60"),
        ("Price", '#,##0.00 "kr"', "12.60 kr"),
        ("Price", "General", "12.60 in the log's currency"),
    ],
)
def test_money_is_written_as_the_log_writes_it(tmp_path: Path, heading: str, number_format: str, shown: str) -> None:
    beds = [["Bed", "Crop", "Feed", "Volume gal", "Dose g"], ["T1", "basil", "A", 30, 60]]
    feeds = [["Feed", "Analysis", "g/gal", heading, "Package g"], ["A", "16-7-19", 2, 21, 100]]
    rows = [["Date", "Bed", "pH", "Feed added g"], [DAY, "T1", 6.0, 60]]
    log = write_log(tmp_path, Beds=beds, Feeds=feeds, Log=rows)
    book = report_book(log)
    book["Feeds"]["D2"].number_format = number_format
    book.save(log)
    made = report_book(build_report(log, tmp_path / "w.xlsx", as_of=DAY).output)
    assert any(f"The feed cost {shown} in the week" in text for text in texts_of(made, "Week"))
