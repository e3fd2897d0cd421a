"""The mapping file: proposed from a log, corrected, and used from then on."""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import GrowLog, map_beside, map_text, put_map, read_log
from log_books import BEDS, ROOFTOP, write_log

READINGS: list[list[Any]] = [
    ["Date", "Tub", "pH", "EC", "strength", "Who"],
    ["6/11/2026", "T1", 6.0, 1.8, 3, "me"],
    ["7/11/2026", "big tank", "6,1", 1.9, 4, "me"],
]


def read_with(path: Path, text: str) -> GrowLog:
    map_beside(path).write_text(text, encoding="utf-8")
    return read_log(path)


def proposed(path: Path) -> dict[str, Any]:
    """The mapping file that is proposed for a log."""
    target = map_beside(path)
    put_map(map_text(read_log(path)), target, overwrite=True)
    content = tomllib.loads(target.read_text("utf-8"))
    target.unlink()
    return content


def test_the_proposal_says_what_was_guessed_and_asks_what_is_not_known(tmp_path: Path) -> None:
    tables = proposed(write_log(tmp_path, beds=BEDS, log=READINGS))["table"]
    assert [(table["sheet"], table["kind"]) for table in tables] == [("beds", "beds"), ("log", "readings")]
    assert tables[1]["dates"] == ""
    assert tables[1]["column"][3:] == [
        {"heading": "EC", "field": "ec", "unit": "mS/cm"},
        {"heading": "strength", "field": ""},
        {"heading": "Who", "field": "ignore"},
    ]


def test_a_corrected_map_settles_dates_units_columns_and_names(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS, log=READINGS)
    log = read_with(
        path,
        """
        [[table]]
        sheet = " LOG"
        kind = "readings"
        dates = "day first"
        column = [
            {heading = "Date", field = "date"}, {heading = "tub", field = "bed"}, {heading = "pH", field = "ph"},
            {heading = "EC", field = "ignore"}, {heading = "strength", field = "ec", unit = "mS/cm"},
            {heading = "Who", field = "notes"},
        ]
        [beds]
        "Big Tank" = "T2"
        """,
    )
    assert [(reading.bed, reading.date, reading.ph, reading.ec, reading.notes) for reading in log.readings] == [
        ("T1", datetime.date(2026, 11, 6), 6.0, 3, "me"),
        ("T2", datetime.date(2026, 11, 7), 6.1, 4, "me"),
    ]
    assert log.tables[1].certainty == "sure"
    assert not [left for left in log.left_out if left.problem]


@pytest.mark.parametrize("sheets", [
    {"beds": BEDS, "log": READINGS},
    {"beds": BEDS, "log": [["pH"], ["Date", "T1", "T2"], [datetime.date(2026, 11, 5), 6.0, 6.1], [], ["EC mS"],
                           ["Date", "T1", "T2"], [datetime.date(2026, 11, 5), 1.0, 1.1]]},
    {"beds": BEDS, "log": [["Bed", "what", datetime.date(2026, 11, 5), datetime.date(2026, 11, 6)],
                           ["T1", "pH", 6.0, 6.2], ["T1", "EC mS", 1.0, 1.2]]},
    {"beds": [["Bed", "T1", "T2"], ["Length in", 42, 36]], "log": READINGS},
    {"beds": BEDS, "log": [["measured", None, "x", "taken"], ["Date", "Tub", "pH", "EC mS"],
                           ["2026-11-05", "T1", 6.0, 1.2]]},
])  # fmt: skip
def test_the_proposal_itself_changes_nothing(tmp_path: Path, sheets: dict[str, list[list[Any]]]) -> None:
    path = write_log(tmp_path, **sheets)
    before = read_log(path)
    put_map(map_text(before), map_beside(path))
    after = read_log(path)
    assert (after.beds, after.readings) == (before.beds, before.readings)
    lost = [[(left.sheet, left.cell) for left in log.left_out if left.problem] for log in (before, after)]
    assert lost[0] == lost[1]


def test_the_proposal_for_the_rooftop_log_changes_nothing(tmp_path: Path) -> None:
    before = read_log(ROOFTOP)
    put_map(map_text(before), tmp_path / "rooftop.toml")
    after = read_log(ROOFTOP, map_path=tmp_path / "rooftop.toml")
    assert (after.beds, after.readings, after.weights) == (before.beds, before.readings, before.weights)


def test_what_the_numbers_of_a_table_are(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS, log=[["Date", "T1", "T2"], [datetime.date(2026, 11, 5), 1800, 1900]])
    table = proposed(path)["table"][1]
    assert table["measured"] == ""
    log = read_with(
        path,
        f'[[table]]\nsheet = "log"\nkind = "readings"\nlayout = "{table["layout"]}"\nmeasured = "ec"\nunit = "µS/cm"',
    )
    assert [(reading.bed, reading.ec) for reading in log.readings] == [("T1", 1800), ("T2", 1900)]
    assert log.units["readings.ec"] == "µS/cm"


def test_the_bed_of_a_sheet(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS, shed=[["Date", "pH"], [datetime.date(2026, 11, 5), 6.0]])
    assert read_log(path).readings == ()
    log = read_with(
        path,
        '[[table]]\nsheet = "shed"\nkind = "readings"\nbed = "T2"\n'
        'column = [{heading = "Date", field = "date"}, {heading = "pH", field = "ph"}]',
    )
    assert [reading.bed for reading in log.readings] == ["T2"]


def test_a_sheet_to_pass_over(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS, log=READINGS)
    log = read_with(path, '[[table]]\nsheet = "log"\nkind = "ignore"')
    assert log.readings == ()
    assert [(left.sheet, left.problem) for left in log.left_out] == [("log", False)]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[[table", "no mapping file"),
        ("tables = 3", 'there is "tables"'),
        ('[[table]]\nkind = "beds"', "no sheet is named"),
        ('[[table]]\nsheet = "log"', "no kind is given"),
        ('[[table]]\nsheet = "log"\nkind = "plants"', "give one of beds, feeds"),
        ('[[table]]\nsheet = "log"\nkind = "readings"\ndates = "US"', "day first, month first"),
        ('[[table]]\nsheet = 5\nkind = "readings"', "sheet is 5"),
        ('[[table]]\nsheet = "log"\nkind = "readings"\ncolumn = [{heading = "EC", field = "ec", unit = "gal"}]',
         "table 1, column 1, the unit of ec"),
        ('[[table]]\nsheet = "log"\nkind = "readings"\ncolumn = [{heading = "EC", field = "eg"}]', "give one of date"),
        ("beds = 3", "[beds]"),
        ("table = 3", "[[table]]"),
        ("[beds]\na = 3", "a is 3"),
    ],
)  # fmt: skip
def test_a_wrong_map_is_one_sentence(tmp_path: Path, text: str, sentence: str) -> None:
    path = write_log(tmp_path, beds=BEDS, log=READINGS)
    with pytest.raises(FileProblem) as problem:
        read_with(path, text)
    assert sentence in str(problem.value)
    assert "log.map.toml" in str(problem.value)


def test_a_named_map_must_exist(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS)
    with pytest.raises(FileProblem, match="--write-map"):
        read_log(path, map_path=tmp_path / "none.toml")


def test_a_map_is_not_written_over(tmp_path: Path) -> None:
    path = write_log(tmp_path, beds=BEDS)
    put_map(map_text(read_log(path)), map_beside(path))
    with pytest.raises(FileProblem, match="exists already"):
        put_map(map_text(read_log(path)), map_beside(path))


PPM: list[list[Any]] = [["Date", "Bed", "pH", "PPM"], [datetime.date(2026, 11, 5), "T1", 6.0, 800]]


@pytest.mark.parametrize("line", ["meter_scale = 500", '"meter scale" = 0.5', 'meter_scale = "500"'])
def test_the_scale_of_the_meter(tmp_path: Path, line: str) -> None:
    path = write_log(tmp_path, beds=BEDS, log=PPM)
    assert read_log(path).readings[0].ec is None
    assert read_with(path, line).readings[0].ec == pytest.approx(1.6)


def test_a_scale_that_no_meter_has(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="give 500, 640 or 700"):
        read_with(write_log(tmp_path, beds=BEDS, log=PPM), "meter_scale = 450")


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ('sheet = "diary"\nkind = "readings"', ['the sheet "diary"', '"beds", "log"']),
        (
            'sheet = "log"\nkind = "readings"\n'
            'column = [{heading = "Day", field = "date"}, {heading = "pH", field = "ph"}]',
            ['the columns "Day", "pH"', '"Date", "Bed", "pH", "PPM"'],
        ),
    ],
)
def test_what_a_map_names_must_exist(tmp_path: Path, entry: str, said: list[str]) -> None:
    with pytest.raises(FileProblem) as problem:
        read_with(write_log(tmp_path, beds=BEDS, log=PPM), f"[[table]]\n{entry}")
    assert all(text in str(problem.value) for text in said)


def test_a_map_says_decimals_and_beds_of_columns(tmp_path: Path) -> None:
    rows: list[list[Any]] = [["Date", "left pH", "right pH"], [datetime.date(2026, 11, 5), "6,1", "1.250"]]
    path = write_log(tmp_path, beds=BEDS, log=rows)
    log = read_with(
        path,
        """
        [[table]]
        sheet = "log"
        kind = "readings"
        decimals = "comma"
        column = [
            {heading = "Date", field = "date"},
            {heading = "left pH", field = "ph", bed = "T1"},
            {heading = "right pH", field = "water_added", unit = "mL", bed = "T2"},
        ]
        """,
    )
    assert [(reading.bed, reading.ph, reading.water_added) for reading in log.readings] == [
        ("T1", 6.1, None),
        ("T2", None, 1250),
    ]


FIRST, SECOND = (datetime.date(2026, 1, day) for day in (1, 2))


def twice(heading: str, first: object, second: object) -> list[list[object]]:
    """Two tables of the same headings, one above the other."""
    head: list[object] = ["Date", "Bed", heading]
    return [head, [FIRST, "T1", first], [], head, [SECOND, "T1", second]]


@pytest.mark.parametrize(
    ("rows", "readings"),
    [
        ([["Date", "Bed", "pH / EC mS"], [FIRST, "T1", "6.1 / 1.4"]], 1),
        (twice("pH", 6.1, 6.2), 2),
        (twice("Water temp", 68, 20), 2),  # degrees of two kinds, which their numbers tell
        ([["Metric units"], ["Date", "Bed", "pH", "Depth"], [FIRST, "T1", 6.1, 15]], 1),
    ],
    ids=["several measures", "the same headings", "the same headings over other units", "a unit that nothing tells"],
)
def test_a_proposed_map_changes_nothing(tmp_path: Path, rows: list[list[object]], readings: int) -> None:
    log = write_log(tmp_path, Log=rows)
    alone = read_log(log)
    put_map(map_text(alone), map_beside(log))
    assert len(alone.readings) == readings
    assert read_log(log).readings == alone.readings
