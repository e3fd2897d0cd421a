"""Tables that look like others: what they hold is read as what it is, or listed; never taken for another thing."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.reading import GrowLog
from growcells_workbooks.reading.mapping import LogMap
from growcells_workbooks.reading.read import read_tables
from growcells_workbooks.reading.records.builder import Builder
from growcells_workbooks.reading.vocabulary.names import Names
from log_pages import Made, Page

DAYS = [datetime.date(2026, 9, day) for day in range(2, 7)]
Rows = Sequence[Sequence[Any]]


def read(rows: Rows, title: str = "log") -> GrowLog:
    """The log of one sheet."""
    page = Page(title)
    for number, row in enumerate(rows, 1):
        for column, value in enumerate(row, 1):
            page.put(number, column, value)
    return read_tables(Made(0, "", [page], []).sheets(), Path("log.xlsx"))


UNREAD: dict[str, tuple[str, Rows, set[str]]] = {
    "days of the week are no beds": (
        "log",
        [["pH T1"], ["Week of", "Mon", "Tue", "Wed"], [DAYS[0], 6.0, 6.1, 6.2], [DAYS[4], 6.0, 6.1, 6.2]],
        {"B3", "C3", "D3"},
    ),
    "the date above days of the week is not that of their first": (
        "pH",
        [["Week of 2026-09-02"], ["Bed", "Mon", "Tue", "Wed"], ["T1", 6.0, 6.1, 6.2], ["T2", 6.0, 6.1, 6.2]],
        {"B3", "C3", "D4"},
    ),
    "the date above days of the week is that of their last": (
        "pH",
        [["Week ending 2026-09-07"], ["Bed", "Mon", "Tue", "Wed"], ["T1", 6.0, 6.1, 6.2], ["T2", 6.0, 6.1, 6.2]],
        {"B3", "C3", "D4"},
    ),
    "days of more than a week stand under one date": (
        "pH",
        [["Week of 2026-09-07"], ["Bed", "Mon", "Tue", "Mon", "Tue"], ["T1", 6.0, None, 6.1, 6.2]],
        {"B3", "D3", "E3"},
    ),
    "a date and another day of the week": (
        "log",
        [["Date", "Day", "Bed", "pH"], [DAYS[0], "Wed", "T1", 6.0], [DAYS[1], "Tue", "T1", 6.1]],
        {"A3", "D3"},
    ),
    "grams of a bed may be feed or harvest": (
        "Harvest",
        [["Date", "T1 (g)", "T2 (g)"], *([day, 500, 600] for day in DAYS)],
        {"B2", "C2"},
    ),
    "lowest and highest of a day are no band": (
        "log",
        [["Date", "Bed", "pH min", "pH max"], *([day, "T1", 5.8, 6.2] for day in DAYS)],
        {"C2", "D2"},
    ),
    "metric is no unit": (
        "log",
        [["Metric units"], ["Date", "Bed", "pH", "Depth"], *([day, "T1", 6.0, 15] for day in DAYS)],
        {"D3"},
    ),
    "texts that give two units": (
        "log",
        [["Depth in cm"], ["depth in inches"], ["Date", "Bed", "pH", "Depth"], *([day, "T1", 6.0, 15] for day in DAYS)],
        {"D4"},
    ),
    "a text beside the table and one above it": (
        "log",
        [["Depth in mm"], ["Date", "Bed", "Depth"], *([day, "T1", 15, None, "Depth in cm"] for day in DAYS)],
        {"C3"},
    ),
    "a salt is no test of water": (
        "log",
        [["Date", "Bed", "pH", "Calcium nitrate g"], *([day, "T1", 6.0, 30] for day in DAYS)],
        {"D2"},
    ),
}


@pytest.mark.parametrize("name", UNREAD)
def test_is_said_to_be_unread(name: str) -> None:
    title, rows, cells = UNREAD[name]
    log = read(rows, title)
    assert cells <= {note.cell for note in log.left_out if note.problem}
    assert not any(reading.feed_added for reading in log.readings)
    assert not any(bed.ph_low for bed in log.beds)


WEEKS: dict[str, tuple[str, Rows]] = {
    "beds down the side": ("pH", [["Week of 2026-09-07"], ["Bed", "Mon", "Tue"], ["T1", 6.0, 6.1], ["T2", 6.2, 6.3]]),
    "measures down the side": (
        "log",
        [
            *(["Week of Sep 7, 2026"], ["Bed", "What", "Monday", "Tuesday"]),
            *(["T1", "pH", 6.0, 6.1], ["T2", "pH", 6.2, 6.3], ["T1", "EC", 1.4, 1.5]),
        ],
    ),
    "days down the side": (
        "log",
        [["Week of 2026-09-07"], ["Day", "T1 pH", "T2 pH"], ["Mon", 6, 6.2], ["Tue", 6.1, 6.3]],
    ),
    "a row for each": (
        "log",
        [
            *(["Week of 2026-09-07"], ["Weekday", "Bed", "pH"]),
            *(["Mon", "T1", 6.0], ["Mon", "T2", 6.2], ["Tue", "T1", 6.1], ["Tue", "T2", 6.3]),
        ],
    ),
}


@pytest.mark.parametrize("name", WEEKS)
def test_days_of_the_week_are_counted_from_the_date_of_their_week(name: str) -> None:
    log = read(WEEKS[name][1], WEEKS[name][0])
    found = {(reading.bed, reading.date.day): reading.ph for reading in log.readings}
    assert found == {("T1", 7): 6.0, ("T2", 7): 6.2, ("T1", 8): 6.1, ("T2", 8): 6.3}
    assert not [note for note in log.left_out if note.problem]


@pytest.mark.parametrize("title", [None, "On hand", "leaf tips burnt"])
def test_a_visit_without_its_day_costs_no_other(title: str | None) -> None:
    titles = ["September 2, 2026", title, "September 4, 2026", DAYS[3]]
    visits = ([[said], ["Bed", "pH", "EC mS"], *([bed, 6.0, 1.2] for bed in ("T1", "T2")), []] for said in titles)
    log = read([row for visit in visits for row in visit])
    assert [reading.date for reading in log.readings] == [DAYS[place] for place in (0, 0, 2, 2, 3, 3)]
    assert {note.cell for note in log.left_out if note.problem} == {"A8", "B8", "C8", "A9", "B9", "C9"}


def test_sun_is_weather_where_no_other_day_stands() -> None:
    down = read([["Date", "Bed", "pH", "Weather"], *([day, "T1", 6.0, "sun"] for day in DAYS)])
    across = read([["T1", *DAYS], ["pH", *(6.0 for _ in DAYS)], ["Weather", *("sun" for _ in DAYS)]])
    assert [reading.date for reading in down.readings] == [reading.date for reading in across.readings] == DAYS


READ: dict[str, tuple[str, Rows, dict[str, Any]]] = {
    "sizes in the unit of the title": (
        "Setup",
        [["Bed sizes (cm)"], ["Bed", "Length", "Width", "Depth"], ["T1", 100, 60, 15]],
        {"length": 100.0, "width": 60.0},
    ),
    "sizes in the unit of the sheet": (
        "Beds in cm",
        [["Bed", "L", "W", "D"], ["T1", 100, 60, 15]],
        {"length": 100.0, "depth": 15.0},
    ),
    "beds across without a heading": (
        "Setup",
        [["", "T1", "T2"], ["Length (in)", 40, 60], ["Width (in)", 25, 25], ["Depth (in)", 6, 6]],
        {"length": 40.0, "width": 25.0},
    ),
}


@pytest.mark.parametrize("name", READ)
def test_sizes_are_read(name: str) -> None:
    title, rows, sizes = READ[name]
    log = read(rows, title)
    bed = log.bed("T1")
    assert bed is not None
    assert {size: getattr(bed, size) for size in sizes} == sizes
    assert log.units["beds.length"] == ("in" if "in)" in str(rows) else "cm")


def test_feeds_that_lie_across_are_feeds() -> None:
    rows = [["Feed", "Leaf A", "Leaf B"], ["Analysis", "17-7-21", "7-9-26"], ["Rate (g/gal)", 2.1, 1.5]]
    assert [(feed.name, feed.analysis, feed.rate) for feed in read(rows).feeds] == [
        ("Leaf A", "17-7-21", 2.1),
        ("Leaf B", "7-9-26", 1.5),
    ]


def test_the_weekday_tells_the_month() -> None:
    log = read([["Date", "Bed", "pH"], ["Fri 9/11/2026", "T1", 6.0]])
    assert [reading.date for reading in log.readings] == [datetime.date(2026, 9, 11)]


def test_what_stands_under_air_is_not_of_the_water() -> None:
    rows = [[None, None, None, "Air"], ["Date", "Bed", "pH", "Temp (F)"], *([day, "T1", 6.0, 80] for day in DAYS)]
    assert not any(reading.temperature for reading in read(rows).readings)


def test_a_bed_that_is_named_is_one_of_the_beds() -> None:
    """Whether or not its row in the list of beds could be read."""
    builder = Builder(LogMap(), Names(["Tub 1", "Tub 2"]))
    assert builder.bed_of("tub-01") == "Tub 1"
    assert [bed.name for bed in builder.beds.values()] == ["Tub 1"]


def test_long_texts_are_quoted_in_short() -> None:
    long = "leaf " * 6000
    beds = [["Bed", "Size"], ["T1", long], ["T2", "40 x 25 x 6 in"]]
    log = read([*beds, [], ["Date", "Bed", "pH", long], [DAYS[0], long, 6.0, 7], [DAYS[1], "T2", long, 8]])
    reasons = [note.reason for note in log.left_out]
    assert len(reasons) > 3
    assert max(len(reason) for reason in reasons) < 200, reasons
