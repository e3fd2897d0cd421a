"""Reading grow logs: the rooftop log by counts made by hand, and small logs with one untidiness each."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import Fate, GrowLog, read_log
from log_books import BEDS, ROOFTOP, write_log


def log_of(folder: Path, **sheets: Sequence[Sequence[Any]]) -> GrowLog:
    """The log read from a workbook with these sheets of rows."""
    return read_log(write_log(folder, **sheets))


def readings_log(folder: Path, *rows: Sequence[Any], heading: Sequence[Any] = ("Date", "Bed", "pH")) -> GrowLog:
    return log_of(folder, beds=BEDS, readings=[heading, *rows])


def left(log: GrowLog, fate: Fate) -> dict[str, str]:
    """Cells left out with this fate: place to content."""
    return {f"{out.sheet}!{out.cell}": out.content for out in log.left_out if out.fate is fate}


@pytest.fixture(scope="module")
def rooftop() -> GrowLog:
    return read_log(ROOFTOP)


class TestRooftop:
    """Expected figures were counted in the file by hand."""

    def test_tables(self, rooftop: GrowLog) -> None:
        assert [(table.sheet, table.kind, table.heading_row) for table in rooftop.tables] == [
            ("Tubs", "beds", 3),
            ("Feeds", "feeds", 3),
            ("log 2026", "readings", 4),
            ("weights", "weights", 1),
        ]
        assert all(column.field for table in rooftop.tables for column in table.columns)

    def test_counts(self, rooftop: GrowLog) -> None:
        assert len(rooftop.beds) == 6
        assert len(rooftop.feeds) == 3
        assert len(rooftop.readings) == 71
        assert len(rooftop.weights) == 48
        assert sum(weight.dead for weight in rooftop.weights) == 2

    def test_week_47_has_24_readings(self, rooftop: GrowLog) -> None:
        week = [reading for reading in rooftop.readings if reading.date.isocalendar()[:2] == (2026, 47)]
        assert len(week) == 24
        assert {reading.date.day for reading in week} == {16, 18, 20, 22}

    def test_dates_are_month_first(self, rooftop: GrowLog) -> None:
        by_row = {reading.row: reading.date for reading in rooftop.readings}
        assert by_row[17] == datetime.date(2026, 11, 6)
        assert by_row[35] == datetime.date(2026, 11, 12)
        assert by_row[5] == datetime.date(2026, 11, 2)

    def test_what_could_not_be_read_or_was_ignored(self, rooftop: GrowLog) -> None:
        assert left(rooftop, Fate.UNREADABLE) == {
            "log 2026!C80": "six",
            "log 2026!A81": "2026-11-27",
            "log 2026!B81": "T9",
            "log 2026!C81": "6.1",
        }
        assert left(rooftop, Fate.IGNORED) == {
            "Tubs!A1": "Quillow Street rooftop garden - fall tubs (invented data)",
            "Tubs!F11": "total",
            "Tubs!G11": "206.350649350649",
            "Tubs!H11": "385.137662337662",
            "Tubs!A13": "=> T3 leaks a little at the drain, keep an eye on it",
            "Feeds!A1": "what we buy",
            "log 2026!A1": "Daily-ish readings. EC pen calibrated 11/1",
            "log 2026!A79": "week of Thanksgiving: no readings Thu/Fri",
            "log 2026!A80": "2026-11-27",
            "log 2026!B80": "T2",
        }

    def test_every_filled_row_is_accounted_for(self, rooftop: GrowLog) -> None:
        assert {sheet: sum(rows.values()) for sheet, rows in rooftop.rows.items()} == {
            "Tubs": 10,
            "Feeds": 5,
            "log 2026": 76,
            "weights": 49,
        }
        assert rooftop.count(Fate.READ) == 6 + 3 + 71 + 48
        assert rooftop.count(Fate.UNREADABLE) == 2
        assert (rooftop.counts.filled, rooftop.counts.not_understood) == (802, 4)

    def test_cells_with_units_and_spaces(self, rooftop: GrowLog) -> None:
        by_row = {reading.row: reading for reading in rooftop.readings}
        assert by_row[6].ec == 1.13
        assert by_row[21].ph == 5.9
        assert by_row[22].bed == "T1"
        assert by_row[40].bed == "T6"

    def test_notes_stay_text(self, rooftop: GrowLog) -> None:
        notes = {reading.row: reading.notes for reading in rooftop.readings if reading.notes}
        assert notes[23] == "=> aphids on the edge"
        assert notes[42] == "@noon reading"
        assert notes[45] == "+ moved lamp"

    def test_formulas_are_computed_not_read_from_the_stored_zeros(self, rooftop: GrowLog) -> None:
        volumes = {bed.name: bed.volume for bed in rooftop.beds}
        assert volumes["T1"] == pytest.approx(38 * 21 * 9 / 231)  # NIST SP 811: 231 in³ are a gallon
        assert volumes["T5"] == pytest.approx(52 * 24 * 7 / 231)  # typed with the prefix of an add-in
        doses = {bed.name: bed.dose for bed in rooftop.beds}
        assert doses["T6"] == pytest.approx(52 * 24 * 7.25 / 231 * 2)

    def test_units(self, rooftop: GrowLog) -> None:
        assert rooftop.units["readings.temperature"] == "°F"
        assert rooftop.units["readings.ec"] == "mS/cm"
        assert rooftop.units["feeds.rate"] == "g/gal"
        assert rooftop.money == "$0.00"

    def test_the_file_is_not_touched(self) -> None:
        before = ROOFTOP.read_bytes()
        read_log(ROOFTOP)
        assert ROOFTOP.read_bytes() == before


class TestDates:
    @pytest.mark.parametrize(
        ("typed", "expected"),
        [
            (["6/11/2026", "13/11/2026"], ["2026-11-06", "2026-11-13"]),
            (["11/6/2026", "11/13/2026"], ["2026-11-06", "2026-11-13"]),
            (["6.11.26", "13.11.26"], ["2026-11-06", "2026-11-13"]),
            (["6 Nov 2026", "Nov 7, 2026"], ["2026-11-06", "2026-11-07"]),
            (["Friday 6 November 2026", "2026-11-07 08:30"], ["2026-11-06", "2026-11-07"]),
            ([46332, 46333], ["2026-11-06", "2026-11-07"]),
            (
                [datetime.date(2026, 11, 5), "6/11/2026", datetime.date(2026, 11, 7)],
                ["2026-11-05", "2026-11-06", "2026-11-07"],
            ),
            (
                [datetime.date(2026, 11, 5), "11/6/2026", datetime.date(2026, 11, 7)],
                ["2026-11-05", "2026-11-06", "2026-11-07"],
            ),
        ],
    )
    def test_order_is_decided_by_the_column(self, tmp_path: Path, typed: list[object], expected: list[str]) -> None:
        log = readings_log(tmp_path, *([date, "T1", 6.0] for date in typed))
        assert [reading.date.isoformat() for reading in log.readings] == expected

    def test_a_date_that_nothing_decides_is_asked_for(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["6/11/2026", "T1", 6.0], ["7/11/2026", "T1", 6.0])
        found = left(log, Fate.UNREADABLE)
        assert (found["readings!A2"], found["readings!A3"]) == ("6/11/2026", "7/11/2026")
        assert "2026-06-11 or 2026-11-06" in log.left_out[0].reason
        assert log.readings == ()

    def test_no_such_day(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["31/11/2026", "T1", 6.0])
        assert left(log, Fate.UNREADABLE) == {"readings!A2": "31/11/2026", "readings!B2": "T1", "readings!C2": "6"}


class TestUnits:
    def test_a_cell_with_another_unit_is_converted(self, tmp_path: Path) -> None:
        rows: list[list[Any]] = [["2026-11-06", "T1", 68], ["2026-11-07", "T1", "20 °C"]]
        log = readings_log(tmp_path, *rows, heading=["Date", "Bed", "water °F"])
        assert [reading.temperature for reading in log.readings] == [68, 68]

    def test_microsiemens_in_the_heading(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", 1850], heading=["Date", "Bed", "EC (µS/cm)"])
        assert log.readings[0].ec == 1850
        assert log.units["readings.ec"] == "µS/cm"

    @pytest.mark.parametrize(
        ("heading", "value", "field", "unit"),
        [("EC", 1850, "ec", "µS/cm"), ("EC", 1.85, "ec", "mS/cm"), ("Temp", 67, "temperature", "°F"),
         ("Temp", 19, "temperature", "°C"), ("EC", "1.85 mS/cm", "ec", "mS/cm")],
    )  # fmt: skip
    def test_a_heading_without_unit(self, tmp_path: Path, heading: str, value: object, field: str, unit: str) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", value], heading=["Date", "Bed", heading])
        assert log.units[f"readings.{field}"] == unit

    def test_decimal_commas_by_column(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", "6,1"], ["2026-11-07", "T1", "5,85"])
        assert [reading.ph for reading in log.readings] == [6.1, 5.85]

    def test_a_comma_in_notes_says_nothing_of_numbers(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", 6.1, "0,5 gal lost"], heading=["Date", "Bed", "pH", "Notes"])
        assert log.tables[1].decimals == ""

    def test_a_comma_among_points_is_not_guessed(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", "6.1"], ["2026-11-07", "T1", "5,85"])
        assert left(log, Fate.UNREADABLE) == {"readings!C3": "5,85"}

    @pytest.mark.parametrize("value", ["six", 61, -6, True, "6 g"])
    def test_what_is_no_ph(self, tmp_path: Path, value: object) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", value])
        assert list(left(log, Fate.UNREADABLE)) == ["readings!C2"]
        assert log.readings == ()

    def test_one_bad_cell_does_not_lose_the_row(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", "six", 1.8], heading=["Date", "Bed", "pH", "EC mS"])
        assert log.readings[0].ph is None
        assert log.readings[0].ec == 1.8
        assert left(log, Fate.UNREADABLE) == {"readings!C2": "six"}

    def test_a_dash_is_nothing_measured_and_is_listed(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", "-", 1.8], heading=["Date", "Bed", "pH", "EC mS"])
        assert log.readings[0].ph is None
        assert left(log, Fate.IGNORED) == {"readings!C2": "-"}


class TestTables:
    def test_two_tables_side_by_side(self, tmp_path: Path) -> None:
        rows: list[list[Any]] = [
            ["Bed", "Crop", "Volume gal", None, "Feed", "Analysis", "g/gal"],
            ["T1", "basil", 30, None, "A", "17-7-21", 2],
            ["T2", "basil", 30, None, "B", "17-7-21", 1],
        ]
        log = log_of(tmp_path, all=rows)
        assert [bed.name for bed in log.beds] == ["T1", "T2"]
        assert [(feed.name, feed.rate) for feed in log.feeds] == [("A", 2), ("B", 1)]

    def test_two_tables_one_above_the_other(self, tmp_path: Path) -> None:
        rows: list[list[Any]] = [*BEDS, [], ["Date", "Bed", "pH"], ["2026-11-06", "T1", 6.0], ["2026-11-06", "T3", 6.0]]
        log = log_of(tmp_path, all=rows)
        assert len(log.readings) == 1
        assert left(log, Fate.UNREADABLE) == {"all!A7": "2026-11-06", "all!B7": "T3", "all!C7": "6"}

    def test_one_sheet_a_bed(self, tmp_path: Path) -> None:
        table: list[list[Any]] = [["Date", "pH"], ["2026-11-06", 6.0]]
        log = log_of(tmp_path, beds=BEDS, T1=table, T2=table, shed=table)
        assert [reading.bed for reading in log.readings] == ["T1", "T2"]
        assert list(left(log, Fate.UNREADABLE)) == ["shed!A2", "shed!B2"]

    def test_beds_without_a_list_are_those_of_the_readings(self, tmp_path: Path) -> None:
        rows: list[list[Any]] = [["Date", "Tank", "pH"], ["2026-11-06", "North", 6.0], ["2026-11-06", " north", 6.1]]
        log = log_of(tmp_path, log=rows)
        assert [bed.name for bed in log.beds] == ["North"]
        assert len(log.readings) == 2

    def test_a_bed_described_in_two_tables(self, tmp_path: Path) -> None:
        costs: list[list[Any]] = [["Bed", "Feed", "Dose g"], ["t1", "A", 68]]
        log = log_of(tmp_path, beds=BEDS, costs=costs)
        assert [(bed.name, bed.volume, bed.feed, bed.dose) for bed in log.beds] == [
            ("T1", 30, "A", 68),
            ("T2", 30, "", None),
        ]

    def test_a_workbook_without_tables(self, tmp_path: Path) -> None:
        log = log_of(tmp_path, shopping=[["milk", 2], ["eggs", 12]])
        assert log.tables == ()
        assert log.count(Fate.UNREADABLE) == 2

    def test_a_failing_formula_is_listed_with_what_to_do(self, tmp_path: Path) -> None:
        beds: list[list[Any]] = [["Bed", "Crop", "Volume gal"], ["T1", "basil", '=GROW_VOLUME_BOX(38,"wide",9)']]
        log = log_of(tmp_path, beds=beds)
        assert log.beds[0].volume is None
        assert left(log, Fate.UNREADABLE) == {"beds!C2": "#VALUE!"}
        assert 'width is "wide": give a number of inches' in log.left_out[0].reason


class TestRows:
    def test_a_weight_without_a_mass_and_one_that_is_none(self, tmp_path: Path) -> None:
        weights = [["Treatment", "Plant", "Fresh g"], ["A", 1, 63.5], ["A", 2, None], ["A", 3, "heavy"], ["B", 4, "-"]]
        log = log_of(tmp_path, weights=weights)
        assert [(weight.plant, weight.mass) for weight in log.weights] == [("1", 63.5)]
        assert {out.cell: out.reason.partition(":")[0] for out in log.left_out} == {
            "A3": "no weight in this row",
            "B3": "no weight in this row",
            **dict.fromkeys(("A4", "B4", "A5", "B5"), "nothing else in its row could be read"),
            "C4": 'mass is "heavy"',
            "C5": '"-" is taken for nothing measured',
        }

    def test_a_row_in_columns_that_are_not_used(self, tmp_path: Path) -> None:
        log = readings_log(
            tmp_path, ["2026-11-06", "T1", 6.0], [None, None, None, 3, 4], heading=["Date", "Bed", "pH", "Mood", "Sky"]
        )
        assert [(out.cell, out.reason) for out in log.left_out if out.cell == "D3"] == [
            ("D3", "stands only in columns that are not used")
        ]

    def test_an_error_where_a_text_stands(self, tmp_path: Path) -> None:
        log = readings_log(tmp_path, ["2026-11-06", "T1", 6.0, "=NA()"], heading=["Date", "Bed", "pH", "Notes"])
        assert log.readings[0].notes == ""
        assert left(log, Fate.UNREADABLE) == {"readings!D2": "#N/A"}

    def test_notes_on_a_bed_in_two_tables(self, tmp_path: Path) -> None:
        beds = [["Bed", "Crop", "Notes"], ["T1", "basil", "leaks"]]
        more = [["Bed", "Volume gal", "Notes"], ["T1", 30, "by the door"]]
        assert log_of(tmp_path, beds=beds, more=more).beds[0].notes == "leaks; by the door"

    def test_readings_that_name_no_bed_are_of_the_only_one(self, tmp_path: Path) -> None:
        beds = [["Bed", "Crop", "Volume gal"], ["T1", "basil", 30]]
        log = log_of(tmp_path, beds=beds, diary=[["Date", "pH"], ["2026-11-06", 6.0]])
        assert [reading.bed for reading in log.readings] == ["T1"]

    def test_a_price_with_its_currency_in_the_heading(self, tmp_path: Path) -> None:
        log = log_of(tmp_path, feeds=[["Feed", "Analysis", "Price ($)", "Bag lb"], ["A", "16-7-19", 31.5, 10]])
        assert [(feed.price, feed.package) for feed in log.feeds] == [(31.5, 10)]

    @pytest.mark.parametrize("time", ["25:10", "8:75", 1e9])
    def test_what_is_no_time_of_day(self, tmp_path: Path, time: object) -> None:
        log = readings_log(tmp_path, ["2026-11-06", time, "T1", 6.0], heading=["Date", "Time", "Bed", "pH"])
        assert log.readings[0].time is None
        assert list(left(log, Fate.IGNORED)) == ["readings!B2"]

    @pytest.mark.parametrize("date", [5, 1e9, -3])
    def test_a_number_that_is_no_date_of_today(self, tmp_path: Path, date: float) -> None:
        log = readings_log(tmp_path, [date, "T1", 6.0])
        assert list(left(log, Fate.UNREADABLE)) == ["readings!A2", "readings!B2", "readings!C2"]
        assert log.readings == ()


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="does not exist"):
        read_log(tmp_path / "none.xlsx")
