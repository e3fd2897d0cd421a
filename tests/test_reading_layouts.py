"""Logs that lie in other ways than a row for each reading: each layout with its values and its cells counted."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from growcells_workbooks.reading import Fate, GrowLog, read_log
from log_books import BEDS, write_log

D1, D2, D3 = (datetime.date(2026, 11, day) for day in (5, 6, 20))


def log_of(folder: Path, merged: Sequence[str] = (), **sheets: Sequence[Sequence[Any]]) -> GrowLog:
    """The log read from a workbook with these sheets of rows; ``merged`` are areas of its last sheet."""
    log = read_log(write_log(folder, merged, **sheets))
    check_accounts(log, sheets)
    return log


def check_accounts(log: GrowLog, sheets: dict[str, Sequence[Sequence[Any]]]) -> None:
    """Every filled cell that was written is counted once."""
    for title, rows in sheets.items():
        filled = sum(value is not None and str(value).strip() != "" for row in rows for value in row)
        assert sum(log.cells[title].values()) == filled


def found(log: GrowLog, field: str = "ph") -> set[tuple[str, int, float]]:
    """Bed, day of the month and value of each reading that has this field."""
    return {
        (reading.bed, reading.date.day, getattr(reading, field))
        for reading in log.readings
        if getattr(reading, field) is not None
    }


PH = {("T1", 5, 6.0), ("T2", 5, 6.1), ("T1", 6, 6.2), ("T2", 6, 6.3)}
EC = {("T1", 5, 1.1), ("T2", 5, 1.2), ("T1", 6, 1.3), ("T2", 6, 1.4)}

LAYOUTS: dict[str, list[list[Any]]] = {
    "a column for each bed, the quantity in the title": [
        ["pH of the beds"],
        ["Date", "T1", " t2 "],
        [D1, 6.0, 6.1],
        [D2, 6.2, 6.3],
    ],
    "a column for each bed and quantity": [
        ["Date", "T1 pH", "T1 EC mS", "T2 pH", "T2 EC mS"],
        [D1, 6.0, 1.1, 6.1, 1.2],
        [D2, 6.2, 1.3, 6.3, 1.4],
    ],
    "beds over quantities": [
        [None, "T1", None, "T2", None],
        ["Date", "pH", "EC mS", "pH", "EC mS"],
        [D1, 6.0, 1.1, 6.1, 1.2],
        [D2, 6.2, 1.3, 6.3, 1.4],
    ],
    "a column for each date, a row for each bed": [
        ["pH"],
        ["Bed", D1, D2],
        ["T1", 6.0, 6.2],
        ["t2", 6.1, 6.3],
    ],
    "a column for each date, a row for each bed and quantity": [
        ["Bed", "what", D1, D2],
        ["T1", "pH", 6.0, 6.2],
        [None, "EC (mS/cm)", 1.1, 1.3],
        ["T2", "pH", 6.1, 6.3],
        [None, "EC (mS/cm)", 1.2, 1.4],
    ],
    "typed dates across": [
        ["", "", "5 Nov 2026", "6 Nov 2026"],
        ["pH", "T1", 6.0, 6.2],
        ["pH", "T2", 6.1, 6.3],
    ],
    "a date once for its rows": [
        ["Date", "Bed", "pH"],
        [D1, "T1", 6.0],
        [None, "T2", 6.1],
        [D2, "T1", 6.2],
        [None, "T2", 6.3],
    ],
    "a date on a row of its own": [
        ["Date", "Bed", "pH"],
        [D1],
        [None, "T1", 6.0],
        [None, "T2", 6.1],
        [D2],
        [None, "T1", 6.2],
        [None, "T2", 6.3],
    ],
    "a bed once for its rows": [
        ["Bed", "Date", "pH"],
        ["T1", D1, 6.0],
        [None, D2, 6.2],
        ["T2", D1, 6.1],
        [None, D2, 6.3],
    ],
    "a bed on a row of its own": [
        ["Date", "pH"],
        ["T1"],
        [D1, 6.0],
        [D2, 6.2],
        ["T2"],
        [D1, 6.1],
        [D2, 6.3],
    ],
    "a table for each bed, one beside the other": [
        ["T1", None, None, "T2"],
        ["Date", "pH", None, "Date", "pH"],
        [D1, 6.0, None, D1, 6.1],
        [D2, 6.2, None, D2, 6.3],
    ],
    "a table for each bed, one below the other": [
        ["Tub T1"],
        ["Date", "pH"],
        [D1, 6.0],
        [D2, 6.2],
        [],
        ["Tub T2"],
        ["Date", "pH"],
        [D1, 6.1],
        [D2, 6.3],
    ],
    "units in a row below the headings": [
        ["my log"],
        ["Date", "Bed", "pH", "EC"],
        [None, None, None, "mS/cm"],
        [D1, "T1", 6.0, 1.1],
        [D1, "T2", 6.1, 1.2],
        [D2, "T1", 6.2, 1.3],
        [D2, "T2", 6.3, 1.4],
    ],
    "headings in two rows": [
        [None, None, "measured", None, "Added"],
        ["Date", "Bed", "pH", "EC mS", "gal"],
        [D1, "T1", 6.0, 1.1, 2],
        [D1, "T2", 6.1, 1.2, None],
        [D2, "T1", 6.2, 1.3, None],
        [D2, "T2", 6.3, 1.4, None],
    ],
    "no heading over the dates": [
        [None, "Bed", "pH"],
        [D1, "T1", 6.0],
        [D1, "T2", 6.1],
        [D2, "T1", 6.2],
        [D2, "T2", 6.3],
    ],
    "headings not at the edge, rows between": [
        ["a log"],
        [],
        [None, None, "Date", "BED", "PH ", "who"],
        [None, None, D1, "T1", 6.0, "me"],
        [None, None, D1, "T2", 6.1, "me"],
        [],
        [None, None, "vacation"],
        [None, None, D2, "T1", 6.2, "me"],
        [None, None, D2, "T2", 6.3],
        [None, None, "average", None, 6.15],
    ],
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_layouts_of_readings(tmp_path: Path, layout: str) -> None:
    log = log_of(tmp_path, beds=BEDS, log=LAYOUTS[layout])
    assert found(log) == PH
    if any("EC" in str(cell) for row in LAYOUTS[layout] for cell in row):
        assert found(log, "ec") == EC
    assert not [left for left in log.left_out if left.problem]


@pytest.mark.parametrize("layout", ["a column for each bed and quantity", "beds over quantities"])
def test_beds_across_without_a_list_of_beds(tmp_path: Path, layout: str) -> None:
    log = log_of(tmp_path, log=LAYOUTS[layout])
    assert (found(log), found(log, "ec"), log.left_out) == (PH, EC, ())


@pytest.mark.parametrize("names", [("Tub 1", "tub 2"), ("bed A1", "bed A2"), ("tank1", "tank10"), ("T1", "T1b")])
def test_numbered_names_in_headings_are_beds(tmp_path: Path, names: tuple[str, str]) -> None:
    log = log_of(tmp_path, log=[["Date", f"{names[0]} water °F", f"water °F {names[1]}"], [D1, 66, 68]])
    assert found(log, "temperature") == {(names[0], 5, 66), (names[1], 5, 68)}


@pytest.mark.parametrize(
    "headings", [("NO3 ppm", "PO4 ppm"), ("water 1", "water 2"), ("pH 2",), ("pH probe 2", "pH probe 3"), ("T1 pH",)]
)
def test_other_numbers_in_headings_make_no_beds(tmp_path: Path, headings: tuple[str, ...]) -> None:
    log = log_of(tmp_path, log=[["Date", "pH", *headings], [D1, 6.0, *(6.2, 6.4)[: len(headings)]]])
    assert found(log) == {("log", 5, 6.0)}


def test_merged_dates(tmp_path: Path) -> None:
    rows = LAYOUTS["a date once for its rows"]
    assert found(log_of(tmp_path, ["A2:A3", "A4:A5"], beds=BEDS, log=rows)) == PH


def test_merged_names_of_beds_over_columns(tmp_path: Path) -> None:
    rows = LAYOUTS["beds over quantities"]
    assert found(log_of(tmp_path, ["B1:C1", "D1:E1"], beds=BEDS, log=rows), "ec") == EC


def test_a_merged_title_is_one_cell(tmp_path: Path) -> None:
    rows = [["our log of the fall"], *LAYOUTS["a date once for its rows"]]
    log = log_of(tmp_path, ["A1:C1"], beds=BEDS, log=rows)
    assert log.cells["log"][Fate.IGNORED] == 1


def test_one_date_forgotten_is_not_taken_from_above(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH"]]
    rows += [[D1, "T1", 6.0], [D1, "T2", 6.1], [None, "T1", 6.2], [D2, "T2", 6.3], [D2, "T1", 6.2]]
    log = log_of(tmp_path, beds=BEDS, log=rows)
    assert len(log.readings) == 4
    assert [(left.cell, left.problem) for left in log.left_out] == [("B4", True), ("C4", True)]


def test_a_bed_twice_below_a_date_is_asked_about(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH"], [D1, "T1", 6.0], [None, "T2", 6.1], [None, "T1", 6.2]]
    log = log_of(tmp_path, beds=BEDS, log=rows)
    assert found(log) == {("T1", 5, 6.0), ("T2", 5, 6.1)}
    assert [left.cell for left in log.left_out if left.problem] == ["B4", "C4"]


def test_a_date_that_cannot_be_read_takes_its_rows_with_it(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH"], ["soon", "T1", 6.0], [None, "T2", 6.1]]
    log = log_of(tmp_path, beds=BEDS, log=rows)
    assert log.readings == ()
    assert {left.cell for left in log.left_out if left.problem} == {"A2", "B2", "C2", "B3", "C3"}


def test_numbers_that_nothing_names_are_listed(tmp_path: Path) -> None:
    log = log_of(tmp_path, beds=BEDS, log=[["Date", "T1", "T2"], [D1, 6.0, 6.1]])
    assert log.readings == ()
    assert {left.cell for left in log.left_out if left.problem} == {"A2", "B2", "C2"}
    assert "mapping file" in log.left_out[0].reason


def test_beds_side_by_side(tmp_path: Path) -> None:
    rows: list[list[Any]] = [
        ["our beds"],
        ["Bed", "T1", "T2"],
        ["Crop", "basil", "mint"],
        ["Length in", 42, 36],
        ["Width in", 31, 24],
        ["Depth in", "5 in", 6],
        ["color", "blue", "red"],
    ]
    log = log_of(tmp_path, beds=rows)
    assert [(bed.name, bed.crop, bed.length, bed.depth) for bed in log.beds] == [
        ("T1", "basil", 42, 5),
        ("T2", "mint", 36, 6),
    ]
    assert {left.content for left in log.left_out} >= {"blue", "red"}


def test_readings_of_one_bed_with_dates_across(tmp_path: Path) -> None:
    table: list[list[Any]] = [["Date", D1, D2], ["pH", 6.0, 6.2], ["EC mS", 1.1, 1.3], ["water °F", 66, 68]]
    log = log_of(tmp_path, beds=BEDS, T1=table)
    assert found(log) == {("T1", 5, 6.0), ("T1", 6, 6.2)}
    assert found(log, "temperature") == {("T1", 5, 66), ("T1", 6, 68)}


def test_a_sheet_named_after_a_bed_and_more(tmp_path: Path) -> None:
    log = log_of(tmp_path, beds=BEDS, **{"Tub T1 (2026)": [["Date", "pH"], [D1, 6.0]]})
    assert found(log) == {("T1", 5, 6.0)}


def test_two_values_for_a_bed_that_differ_are_told(tmp_path: Path) -> None:
    more: list[list[Any]] = [["Bed", "Crop", "Volume gal"], ["T1", "basil", 31]]
    log = log_of(tmp_path, beds=BEDS, more=more)
    assert log.beds[0].volume == 30
    assert [(left.sheet, left.cell) for left in log.left_out if left.problem] == [("more", "C2")]
    assert "30 in beds!C2" in log.left_out[0].reason


@pytest.mark.parametrize("heading", ["EC ppm", "EC (ppm)", "TDS ppm"])
def test_ppm_without_a_scale_are_asked_about(tmp_path: Path, heading: str) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH", heading], [D1, "T1", 6.0, 900]]
    log = log_of(tmp_path, beds=BEDS, log=rows)
    assert log.readings[0].ec is None
    assert [(left.cell, left.problem) for left in log.left_out] == [("D2", True)]
    assert "meter scale" in log.left_out[0].reason


def test_a_known_table_below_an_unknown_one(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["milk", 2], ["eggs", 12], [], ["Date", "Bed", "pH"], [D1, "T1", 6.0]]
    log = log_of(tmp_path, beds=BEDS, log=rows)
    assert len(log.readings) == 1
    assert log.cells["log"] == {Fate.IGNORED: 2, Fate.UNREADABLE: 2, Fate.HEADING: 3, Fate.READ: 3}


HEADINGS_OF_BEDS = ["Bed", "Crop", "Feed", "Planted", "Plants", "Depth in"]


def test_records_that_hold_words_of_headings_are_no_headings(tmp_path: Path) -> None:
    rows = [[f"Tank {n}", "red lettuce", "The everyday feed for leaves", D1, 24, 9] for n in (1, 2, 3)]
    log = log_of(tmp_path, Beds=[HEADINGS_OF_BEDS, *rows])
    assert [table.heading_row for table in log.tables] == [1]
    assert [(bed.name, bed.plants, bed.depth) for bed in log.beds] == [(f"Tank {n}", 24, 9) for n in (1, 2, 3)]


def test_records_of_nothing_but_words_of_headings_are_no_headings(tmp_path: Path) -> None:
    log = log_of(tmp_path, Beds=[HEADINGS_OF_BEDS[:3], *([f"Tank {n}", "basil", "water feed"] for n in (1, 2))])
    assert [(bed.name, bed.feed) for bed in log.beds] == [("Tank 1", "water feed"), ("Tank 2", "water feed")]


def test_a_date_a_tank_and_a_note_on_the_feed_are_a_reading(tmp_path: Path) -> None:
    diary = [["Date", "Bed", "Notes", "pH"], [D1, "Tank 1", "mixed the feed", None], [D2, "Tank 1", "feed", 6.1]]
    log = log_of(tmp_path, Diary=diary)
    assert [(reading.date, reading.notes) for reading in log.readings] == [(D1, "mixed the feed"), (D2, "feed")]


def test_a_table_right_below_another_keeps_its_headings(tmp_path: Path) -> None:
    log = log_of(tmp_path, Beds=[*BEDS, ["Feed", "Analysis", "g per gal"], ["leaf", "17-7-21", 2.0]])
    assert [(table.kind, table.heading_row) for table in log.tables] == [("beds", 1), ("feeds", 4)]


def test_headings_of_which_only_words_are_known_right_below_a_table(tmp_path: Path) -> None:
    diary = [["Date of visit", "Tank number", "pH reading"], [D1, "T1", 6.0], [D2, "T1", 6.2]]
    log = log_of(tmp_path, Log=[*BEDS, *diary])
    assert found(log) == {("T1", 5, 6.0), ("T1", 6, 6.2)}


def test_a_typed_date_with_a_space_before_it_begins_its_rows(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH", "Notes"], [D1, "T1", 6.0], [None, "T2", 6.1]]
    rows += [[" 20.11.2026", "T1", None, "dry"], [None, "T2", 6.3]]
    assert found(log_of(tmp_path, beds=BEDS, log=rows)) == {("T1", 5, 6.0), ("T2", 5, 6.1), ("T2", 20, 6.3)}


def test_no_date_is_carried_past_a_text_in_its_place(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "pH"], [D1, "T1", 6.0], [None, "T2", 6.1], ["Friday"], [None, "b7", 6.2]]
    log = log_of(tmp_path, log=rows)
    assert found(log) == {("T1", 5, 6.0), ("T2", 5, 6.1)}
    assert [left.cell for left in log.left_out if left.problem] == ["B5", "C5"]


@pytest.mark.parametrize("shown", ["yyyy-mm-dd", "mm-dd-yy"])
def test_how_programs_show_dates_by_themselves_decides_no_order(tmp_path: Path, shown: str) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Date", "Bed", "pH"], [D3, "T1", 6.0], ["6/12/2026", "T1", 6.1], [D3, "T1", 6.0]):
        sheet.append(row)
    for name in ("A2", "A4"):
        sheet[name].number_format = shown
    book.save(tmp_path / "log.xlsx")
    log = read_log(tmp_path / "log.xlsx")
    assert [left.cell for left in log.left_out if left.fate is Fate.UNREADABLE] == ["A3", "B3", "C3"]


@pytest.mark.slow
def test_a_long_log_is_read_with_progress(tmp_path: Path) -> None:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("log")
    sheet.append(["Date", "Bed", "pH", "EC mS"])
    for row in range(20_000):
        sheet.append([D1 + datetime.timedelta(days=row // 20), f"T{row % 20}", 6.1, "1,8 mS"])
    book.save(tmp_path / "log.xlsx")
    steps: list[tuple[str, int, int]] = []
    log = read_log(tmp_path / "log.xlsx", progress=lambda *step: steps.append(step))
    assert len(log.readings) == 20_000
    assert log.cells["log"] == {Fate.HEADING: 4, Fate.READ: 80_000}
    assert {"reading log", "understanding log"} <= {step for step, _, _ in steps}
    assert all(done <= total for _, done, total in steps)


def test_the_time_of_day_is_kept(tmp_path: Path) -> None:
    morning = datetime.datetime(2026, 11, 5, 8, 30)
    typed = ["2026-11-05 14:05", "11/5/2026 7:05 pm", "2026-11-05 12:10 am", "2026-11-05T23:59:58", "2026-11-05"]
    log = log_of(
        tmp_path,
        Beds=BEDS,
        Diary=[["Date", "Bed", "pH"], *([moment, "T1", 6.0] for moment in (morning, *typed, D1))],
    )
    times = ["08:30:00", "14:05:00", "19:05:00", "00:10:00", "23:59:58", "None", "None"]
    assert [str(reading.time) for reading in log.readings] == times
    assert {reading.date for reading in log.readings} == {D1}
    assert log.readings[0].moment == morning


def test_times_in_a_column_of_their_own(tmp_path: Path) -> None:
    clock: list[Any] = [datetime.time(9, 5), "4:10 pm", "early", None]
    log = log_of(tmp_path, Beds=BEDS, Diary=[["Date", "Time", "Bed", "pH"], *([D1, time, "T1", 6.0] for time in clock)])
    assert [str(reading.time) for reading in log.readings] == ["09:05:00", "16:10:00", "None", "None"]
    assert [(left.cell, left.reason) for left in log.left_out] == [("B4", "early is no time of day, such as 8:30")]
