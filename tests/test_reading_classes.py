"""Classes of what people write: each is read right or asked about, never taken for another."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.reading import GrowLog
from growcells_workbooks.reading.model import Reading
from growcells_workbooks.reading.read import read_tables
from log_pages import Page, sheet_of

D1, D2 = datetime.date(2026, 11, 5), datetime.date(2026, 11, 6)
Rows = Sequence[Sequence[Any]]


def log_of(**sheets: Rows) -> GrowLog:
    """The log read from these sheets of rows."""
    pages = []
    for title, rows in sheets.items():
        page = Page(title.replace("_", " "))
        for row, cells in enumerate(rows, 1):
            for column, value in enumerate(cells, 1):
                page.put(row, column, value)
        pages.append(sheet_of(page))
    return read_tables(pages, Path("log.xlsx"))


def lost(log: GrowLog) -> list[str]:
    """The cells that are listed as not understood."""
    return [left.cell for left in log.left_out if left.problem]


def fixed(log: GrowLog, reading: Reading, name: str) -> float | None:
    """A value of a reading in its fixed unit."""
    value = getattr(reading, name)
    if value is None or name == "ph":
        return value  # type: ignore[no-any-return]
    slope, offset = log.fixed(f"readings.{name}")
    return float(value * slope + offset)


@pytest.mark.parametrize(
    ("heading", "typed", "name", "expected"),
    [
        ("PPM (500)", 800, "ec", 1.6),
        ("TDS 700", 700, "ec", 1.0),
        ("ppm 700 scale", 1400, "ec", 2.0),
        ("EC ppm (0.5)", 500, "ec", 1.0),
        ("PPM", 800, "ec", None),
        ("TDS", 800, "ec", None),
        ("EC", "800 ppm", "ec", None),
        ("CF", 16, "ec", 1.6),
        ("EC uS/cm", 1600, "ec", 1.6),
        ("Temp F", 68, "temperature", 20),
        ("Temp", "68F", "temperature", 20),
        ("deg F", 68, "temperature", 20),
        ("Water temp (C)", 20, "temperature", 20),
        ("Air temp F", 80, "temperature", None),
        ("Water (in)", 10, "depth", 25.4),
        ("Water (gal)", 10, "water_added", 37.85411784),
        ("Water (°F)", 68, "temperature", 20),
        ("Top up (L)", "13,5", "water_added", 13.5),
        ("pH reading", 6.1, "ph", 6.1),
        ("What was the pH?", 6.1, "ph", 6.1),
        ("Target pH", 6.0, "ph", None),
        ("pH before", 6.8, "ph", None),
        ("Conductivty (mS/cm)", 1.8, "ec", 1.8),
        ("EC mS", 1800, "ec", None),
    ],
)
def test_headings_and_units(heading: str, typed: object, name: str, expected: float | None) -> None:
    log = log_of(log=[["Date", "Bed", "Depth (in)", heading], [D1, "T1", 8, typed]])
    values = [value for reading in log.readings if (value := fixed(log, reading, name)) is not None]
    if name == "depth":
        values = [value for value in values if value != pytest.approx(8 * 2.54)]
    if expected is not None and name != "depth":
        assert values == [pytest.approx(expected)]
    elif expected is None:
        assert values == []
        assert "D2" in [left.cell for left in log.left_out]


@pytest.mark.parametrize("where", [["Meter scale", 500], ["meter scale: 500"], ["Our pen is on the 500 scale"]])
def test_the_scale_of_the_meter_in_the_log(where: list[Any]) -> None:
    log = log_of(setup=[where], log=[["Date", "Bed", "pH", "PPM"], [D1, "T1", 6.1, 800]])
    assert [reading.ec for reading in log.readings] == [pytest.approx(1.6)]


def test_two_scales_say_nothing() -> None:
    log = log_of(setup=[["Meter scale", 500], ["old meter scale", 700]], log=[["Date", "Bed", "PPM"], [D1, "T1", 800]])
    assert not log.readings and "C2" in lost(log)


@pytest.mark.parametrize(
    ("column", "expected", "unread"),
    [
        (["13,0", "6,3", "6.3"], [13.0, 6.3, 6.3], []),
        (["13,0", "6,3", "1.250"], [13.0, 6.3], ["C4"]),
        (["13,0", "1.250,5"], [13.0, 1250.5], []),
        (["13.5", "1,250"], [13.5, 1250.0], []),
        (["13.5", "12.5", "5,85"], [13.5, 12.5], ["C4"]),
        (["1 250", "1 300"], [1250.0, 1300.0], []),
    ],
)
def test_decimals_of_a_column(column: list[str], expected: list[float], unread: list[str]) -> None:
    rows: list[list[Any]] = [
        ["Date", "Bed", "Water added (mL)"],
        *([D1, f"T{n}", text] for n, text in enumerate(column)),
    ]
    log = log_of(log=rows)
    assert [reading.water_added for reading in log.readings] == expected
    assert [cell for cell in lost(log) if cell.startswith("C")] == unread


def test_a_reading_in_another_unit_among_others_is_listed() -> None:
    log = log_of(
        log=[["Date", "Bed", "EC µS"], *([D1, f"T{n}", value] for n, value in enumerate((1800, 1750, 1.8, 1700)))]
    )
    assert [reading.ec for reading in log.readings] == [1800, 1750, 1700]
    assert lost(log) == ["C4"]


def test_a_column_without_a_unit_in_a_metric_log_is_asked_about() -> None:
    log = log_of(log=[["Date", "Bed", "Depth", "Water added (L)"], [D1, "T1", 20, 5]])
    assert (log.readings[0].depth, log.readings[0].water_added) == (None, 5)
    assert lost(log) == ["C2"]


def test_heads_and_totals_are_harvests_and_single_plants_weights() -> None:
    log = log_of(
        harvest=[["Harvested on", "Bed", "Heads", "Total weight", "Price a head"], [D2, "T1", 12, 960, 2.5]],
        weights=[["Bed", "Mix", "Plant", "Fresh g"], ["T1", "A", 1, 80]],
        plan=[["Bed", "Crop", "Planted", "Harvest by"], ["T1", "basil", D1, D2]],
    )
    assert [(h.bed, h.date, h.heads, h.mass, h.price, h.price_per) for h in log.harvests] == [
        ("T1", D2, 12, 960, 2.5, "head")
    ]
    assert [(weight.plant, weight.mass) for weight in log.weights] == [("1", 80)]
    assert [(known.began, known.expected) for known in log.rounds] == [(D1, D2)]


def test_the_newest_planting_that_has_begun_rules() -> None:
    first, second = datetime.date(2026, 9, 1), datetime.date(2026, 11, 1)
    log = log_of(
        plan=[["Bed", "Crop", "Feed", "Transplanted"], ["T1", "basil", "A", first], ["T1", "kale", "B", second]],
        log=[["Date", "Bed", "pH"], [datetime.date(2026, 10, 1), "T1", 6.1], [D1, "T1", 6.2]],
    )
    assert [(reading.round, reading.crop, reading.feed) for reading in log.readings] == [
        (1, "basil", "A"),
        (2, "kale", "B"),
    ]
    for day, crop in ((datetime.date(2026, 10, 31), "basil"), (second, "kale")):
        (bed,) = log.on(day).beds
        assert bed.crop == crop
    assert not lost(log)


def test_a_feed_of_parts() -> None:
    log = log_of(
        feeds=[
            ["Feed", "Part", "Analysis", "Rate g/gal"],
            ["leaf", "base", "7-9-26", 2.0],
            ["leaf", "calcium nitrate", "Ca(NO3)2.4H2O", 1.5],
            [None, "Epsom salt", "MgSO4.7H2O", 0.8],
            ["plain", "all in one", "17-7-21", 2.2],
        ]
    )
    assert {feed.name: [(part.product, part.rate) for part in feed.parts] for feed in log.feeds} == {
        "leaf": [("base", 2.0), ("calcium nitrate", 1.5), ("Epsom salt", 0.8)],
        "plain": [("all in one", 2.2)],
    }
    assert (log.feeds[0].rate, log.feeds[1].rate) == (None, 2.2)


def test_parts_in_columns_and_liquids() -> None:
    log = log_of(
        feeds=[["Feed", "Part A mL/gal", "Part B mL/gal"], ["two", 5, 4]],
        more=[["Feed", "Analysis", "g/gal", "Bag lb"], ["dry", "17-7-21", 2, 5]],
    )
    two, dry = log.feeds
    assert [(part.product, part.rate, part.units) for part in two.parts] == [
        ("Part A", 5, {"rate": "mL/gal"}),
        ("Part B", 4, {"rate": "mL/gal"}),
    ]
    assert (dry.rate, dry.package, dry.only.units) == (2, 5, {})


def test_what_stands_below_a_gap_and_does_not_fit_is_listed() -> None:
    log = log_of(log=[["Date", "Bed", "pH"], [D1, "T1", 6.1], [], ["Shopping"], ["milk", 2], ["eggs", 12]])
    assert len(log.readings) == 1
    assert {"B5", "B6"} <= set(lost(log))


def test_sizes_in_one_cell_and_bands() -> None:
    log = log_of(
        beds=[["Bed", "Size", "pH range", "EC range (mS/cm)"], ["T1", "40 x 25 x 6 in", "5.8-6.2", "1.2 - 1.8"]]
    )
    (bed,) = log.beds
    assert (bed.length, bed.width, bed.depth) == (40, 25, 6)
    assert (bed.ph_low, bed.ph_high, bed.ec_low, bed.ec_high) == (5.8, 6.2, 1.2, 1.8)


def test_a_band_that_begins_above_its_end_is_none() -> None:
    """One of its ends is wrong; in one cell they may stand in any order, and each end may have a unit of its own."""
    beds: list[list[Any]] = [
        ["Bed", "pH low", "pH high", "EC low (µS/cm)", "EC high (mS/cm)", "Temp range (°F)"],
        ["T1", 6.2, 5.8, 1200, 1.8, "75-60"],
        ["T2", 5.8, 6.2, 1900, 1.8, "60-75"],
    ]
    log = log_of(beds=beds)
    one, two = log.beds
    assert (one.ph_low, one.ph_high, one.ec_low, one.ec_high) == (None, None, 1200, 1.8)
    assert (two.ph_low, two.ph_high, two.ec_low, two.ec_high) == (5.8, 6.2, None, None)
    assert (one.temp_low, one.temp_high) == (two.temp_low, two.temp_high) == (60, 75)
    assert lost(log) == ["B2", "C2", "D3", "E3"]


@pytest.mark.parametrize("text", ["5.8", "about 6", "5.8 6.2 6.5", "5.8 to 6.2 in"])
def test_a_band_in_one_cell_that_is_not_understood_is_known_to_be_there(text: str) -> None:
    log = log_of(beds=[["Bed", "pH range", "Crop"], ["T1", text, "basil"], ["T2", "5.8-6.2", "basil"]])
    assert lost(log) == ["B2"]
    assert [bed.failed for bed in log.beds] == [{"ph_low", "ph_high"}, set()]


def test_the_scale_in_a_heading_names_no_bed() -> None:
    beds: list[list[Any]] = [["Tub", "L cm", "W cm"], *([f"Tub {n}", 80, 60] for n in range(1, 6))]
    rows: list[list[Any]] = [["Date", "ppm (0.5)", "pH"], [D1, 800, 6.1]]
    log = log_of(**{"beds": beds, "Tub 1": rows})
    assert [reading.bed for reading in log.readings] == ["Tub 1"]
    assert log.readings[0].ec == pytest.approx(1.6)


def test_a_mass_that_may_be_of_a_plant_or_of_a_bed_is_asked_about() -> None:
    log = log_of(log=[["Date", "Bed", "Weight (g)"], [D1, "T1", 960]], plan=[["Bed", "Crop"], ["T1", "basil"]])
    assert (log.weights, log.harvests) == ((), ())
    assert {"A2", "C2"} <= set(lost(log))
    assert any("single plants or whole beds" in left.reason for left in log.left_out)


@pytest.mark.parametrize(("sheet", "weights", "harvests"), [("Harvest", 0, 1), ("Plant weights", 1, 0)])
def test_the_name_of_a_sheet_says_whose_masses_they_are(sheet: str, weights: int, harvests: int) -> None:
    rows: list[list[Any]] = [["Date", "Bed", "Weight (g)"], [D1, "T1", 960]]
    log = log_of(**{sheet: rows, "plan": [["Bed", "Crop"], ["T1", "basil"]]})
    assert (len(log.weights), len(log.harvests)) == (weights, harvests)


def test_units_below_headings_below_titles() -> None:
    heads: list[list[Any]] = [
        ["Daily readings"],
        ["pen calibrated"],
        ["Date", "Bed", "Top up", "Temp"],
        [None, None, "quarts", "°C"],
    ]
    log = log_of(log=[*heads, [D1, "T1", 20, 20.1], [None, "T2", 23, 24.5]])
    assert [fixed(log, reading, "water_added") for reading in log.readings] == [
        pytest.approx(20 * 0.946352946),
        pytest.approx(23 * 0.946352946),
    ]


HEADS: list[Any] = ["Date", "pH", "EC mS/cm"]
NORTH: list[list[Any]] = [[D1, 6.1, 1.6], [D2, 6.2, 1.7]]
SOUTH: list[list[Any]] = [[D1, 5.8, 1.8], [D2, 5.9, 1.9]]
OF_EACH = {("North", D1, 6.1), ("North", D2, 6.2), ("South", D1, 5.8), ("South", D2, 5.9)}
NAMED_BY_PLACE: dict[str, Rows] = {
    "titles": [["North"], HEADS, *NORTH, [], ["South"], HEADS, *SOUTH],
    "titles with more words": [["North readings"], HEADS, *NORTH, [], ["South readings"], HEADS, *SOUTH],
    "sections": [HEADS, ["North"], *NORTH, ["South"], *SOUTH],
    "side by side": [
        ["North", None, None, "South"],
        [*HEADS, *HEADS],
        *([*left, *right] for left, right in zip(NORTH, SOUTH, strict=True)),
    ],
    "beside a word for a bed": [
        ["Bed:", "North", None, None, "Bed:", "South"],
        [*HEADS, None, *HEADS],
        *([*left, None, *right] for left, right in zip(NORTH, SOUTH, strict=True)),
    ],
    "over gaps": [
        [None, "North", None, None, "South"],
        ["Date", "pH", "EC mS/cm", None, "pH", "EC mS/cm"],
        *([*left, None, *right[1:]] for left, right in zip(NORTH, SOUTH, strict=True)),
    ],
    "corners": [
        ["North", D1, D2],
        ["pH", 6.1, 6.2],
        ["EC mS/cm", 1.6, 1.7],
        [],
        ["South", D1, D2],
        ["pH", 5.8, 5.9],
        ["EC mS/cm", 1.8, 1.9],
    ],
    "down the side": [
        ["Date", D1, D2],
        ["North"],
        ["pH", 6.1, 6.2],
        ["EC mS/cm", 1.6, 1.7],
        ["South"],
        ["pH", 5.8, 5.9],
        ["EC mS/cm", 1.8, 1.9],
    ],
    "beside the measures": [
        ["Date", "North pH", "North EC", "South pH", "South EC"],
        *([*left, *right[1:]] for left, right in zip(NORTH, SOUTH, strict=True)),
    ],
    "dates over the beds": [
        ["Bed", "pH", "EC mS/cm"],
        [D1],
        ["North", 6.1, 1.6],
        ["South", 5.8, 1.8],
        [D2],
        ["North", 6.2, 1.7],
        ["South", 5.9, 1.9],
    ],
    "a date over each block": [
        [D1],
        ["Bed", "pH"],
        ["North", 6.1],
        ["South", 5.8],
        [],
        ["Date:", D2],
        ["Bed", "pH"],
        ["North", 6.2],
        ["South", 5.9],
    ],
    "ditto marks": [
        ["Date", "Bed", "pH"],
        [D1, "North", 6.1],
        ['"', "South", 5.8],
        [D2, "North", 6.2],
        ['"', "South", 5.9],
    ],
    "a table to grow on": [
        ["Logged", "Table", "pH"],
        [D1, "North", 6.1],
        [D1, "South", 5.8],
        [D2, "North", 6.2],
        [D2, "South", 5.9],
    ],
}


@pytest.mark.parametrize("rows", NAMED_BY_PLACE.values(), ids=NAMED_BY_PLACE)
def test_names_that_nobody_lists_name_beds_by_where_they_stand(rows: Rows) -> None:
    log = log_of(log=rows)
    assert {(reading.bed, reading.date, reading.ph) for reading in log.readings} == OF_EACH
    assert lost(log) == []


OF_SEVERAL: dict[str, Rows] = {
    "a column nobody knows": [["Date", "Xyz", "pH"], *([day, bed, 6.1] for day in (D1, D2) for bed in "QRS")],
    "notes among rows of the same days": [HEADS, *NORTH, ["moved the pump to the other side"], *SOUTH],
    "tables of the same days": [HEADS, *NORTH, [], [], [], HEADS, *SOUTH],
    "measures again": [["Date", "pH", "EC mS/cm", "pH", "EC mS/cm"], [D1, 6.1, 1.6, 5.8, 1.8]],
}


@pytest.mark.parametrize(
    ("sheet", "case"),
    [*(("log", case) for case in OF_SEVERAL), ("Herbs", "tables of the same days"), ("Herbs", "measures again")],
)
def test_readings_of_several_beds_are_not_pooled_under_the_name_of_a_sheet(sheet: str, case: str) -> None:
    rows = OF_SEVERAL[case]
    log = log_of(**{sheet: rows})
    assert not log.readings
    assert lost(log)


def test_a_second_reading_under_one_date_above_is_listed() -> None:
    log = log_of(log=[[D1], ["Bed", "pH"], ["T1", 6.1], ["T2", 5.8], ["T1", 6.3]])
    assert {(reading.bed, reading.ph) for reading in log.readings} == {("T1", 6.1), ("T2", 5.8)}
    assert "B5" in lost(log)


def test_letters_over_measures_name_beds() -> None:
    log = log_of(log=[["Date", "pH", "pH", "pH"], [None, "A", "B", "C"], [D1, 6.1, 5.8, 5.9]])
    assert {(reading.bed, reading.ph) for reading in log.readings} == {("A", 6.1), ("B", 5.8), ("C", 5.9)}


@pytest.mark.parametrize(("heading", "typed", "expected"), [("500 ppm scale", 800, 1.6), ("ppm x 700", 700, 1.0)])
def test_scales_that_begin_with_a_number_or_stand_behind_a_sign(heading: str, typed: int, expected: float) -> None:
    (reading,) = (log := log_of(log=[["Date", "Bed", heading], [D1, "T1", typed]])).readings or [None]
    assert reading is None or fixed(log, reading, "ec") == expected
    assert reading is not None or lost(log) == ["C2"]


def test_a_month_in_a_title_does_not_turn_a_date_round() -> None:
    rows: list[list[Any]] = [[f"10/{day:02}/26", "T1", 6.1] for day in (3, 9, 15, 21)]
    log = log_of(log=[["meter calibrated 1 March"], [], ["Date", "Bed", "pH"], *rows])
    assert [reading.date.month for reading in log.readings] == [10] * len(rows)


def test_a_unit_in_brackets_is_no_part_of_a_name() -> None:
    log = log_of(log=[["Date", "Added (L) #1", "Added (L) #2", "Temp (F) T3"], [D1, 16, 8, 68]])
    found = {(reading.bed, fixed(log, reading, "water_added")) for reading in log.readings if reading.water_added}
    assert found <= {("#1", 16), ("#2", 8)}
    assert not any(reading.bed.startswith(("L", "F")) for reading in log.readings)
