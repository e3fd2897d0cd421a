"""growcells export: what was read as tidy tables in fixed units."""

from __future__ import annotations

import builtins
import csv
import datetime
import io
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import xlsxwriter
from openpyxl import load_workbook

from growcells_workbooks.export import FORMATS, FRAMES, export_log
from growcells_workbooks.export.files import file_of
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import GrowLog, Part, read_log
from growcells_workbooks.reading.model import Bed, Feed, Harvest, Reading, Round, Weight
from growcells_workbooks.reading.model.frames import frames_of
from log_books import ROOFTOP, write_log
from processes import growcells

DAY = datetime.date(2026, 11, 25)
SHEETS: dict[str, Any] = {
    "Beds": [["Bed", "Crop", "Feed", "Length in"], ["T1", "basil", "leaf", 40], ["T2", "kale", "leaf", 60]],
    "Log": [
        ["Date", "Time", "Bed", "pH", "EC µS/cm", "Water °F", "Depth in", "Added gal", "Fed oz", "Notes"],
        [datetime.date(2026, 11, 5), datetime.time(8, 30), "T1", 5.8, 1650, 68, 4, 2, 1, "thinned"],
        [datetime.date(2026, 11, 6), None, "T2", None, 1200, None, None, None, None, None],
        [datetime.date(2026, 11, 7), None, "T9", 6.0, None, None, None, None, None, None],
    ],
}
READINGS = ["date", "time", "bed", "crop", "feed", "round", "ph", "ec_ms_cm", "water_c", "depth_cm"]
READINGS += ["water_added_l", "feed_added_g", "notes", "where"]


def rows_in(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as opened:
        return list(csv.DictReader(opened))


def log_of(**held: Any) -> GrowLog:
    """A log that holds this and nothing else."""
    nothing: dict[str, Any] = dict.fromkeys(("beds", "feeds", "readings", "weights", "tables", "left_out"), ())
    return GrowLog(Path("log.xlsx"), "", **{**nothing, "units": {}, "money": "", "rows": {}, **held})


def test_columns_are_those_that_were_promised(tmp_path: Path) -> None:
    done = export_log(write_log(tmp_path, **SHEETS), tmp_path / "out", as_of=DAY)
    assert [path.name for path in done.rows] == [f"{name}.csv" for name in FRAMES]
    heads = {path.stem: next(csv.reader(path.read_text("utf-8").splitlines())) for path in done.rows}
    assert heads["readings"] == READINGS
    assert heads["left_out"] == ["sheet", "cell", "content", "reason"]
    assert heads["harvests"] == ["date", "bed", "round", "heads", "mass_g", "income", "why"]
    assert heads["rounds"] == ["round", "bed", "crop", "feed", "planted", "ended"]
    assert done.rows[tmp_path / "out" / "harvests.csv"] == 0, "a file is written even when it has no rows"


def test_units_are_fixed_and_what_is_not_known_is_blank(tmp_path: Path) -> None:
    export_log(write_log(tmp_path, **SHEETS), tmp_path / "out", as_of=DAY)
    first, second, *_ = rows_in(tmp_path / "out" / "readings.csv")
    assert (first["date"], first["time"], first["bed"], first["notes"]) == ("2026-11-05", "08:30:00", "T1", "thinned")
    # NIST SP 811, appendix B: 2.54 cm, 3.785411784 L, 28.349523125 g; 68 °F is 20 °C.
    for name, value in (
        *(("ec_ms_cm", 1.65), ("water_c", 20.0), ("depth_cm", 10.16), ("water_added_l", 7.570823568)),
        *(("feed_added_g", 28.349523125), ("ph", 5.8)),
    ):
        assert float(first[name]) == pytest.approx(value, rel=1e-11), name
    assert first["where"] == "Log!A2"
    assert [name for name in READINGS if second[name]] == ["date", "bed", "ec_ms_cm", "where"]
    left = rows_in(tmp_path / "out" / "left_out.csv")
    assert any((row["sheet"], row["content"]) == ("Log", "T9") for row in left)


@pytest.mark.parametrize("form", FORMATS)
def test_every_format_holds_the_same(tmp_path: Path, form: str) -> None:
    done = export_log(ROOFTOP, tmp_path, as_of=DAY, form=form)
    frames = frames_of(read_log(ROOFTOP, DAY), DAY, FRAMES)
    assert {path.stem: rows for path, rows in done.rows.items()} == {name: len(frame) for name, frame in frames.items()}
    read = {"csv": pd.read_csv, "parquet": pd.read_parquet, "xlsx": pd.read_excel}[form]
    for path in done.rows:
        frame, found = frames[path.stem], read(path)
        assert list(found.columns) == list(frame.columns)
        for name in frame.columns:
            theirs, ours = found[name], frame[name]
            assert list(theirs.isna()) == list(ours.isna()), (path, name)
            if ours.dtype.kind == "M":
                assert list(pd.to_datetime(theirs).dropna()) == list(ours.dropna())
            elif ours.dtype.kind == "f":
                assert list(theirs.dropna()) == pytest.approx(list(ours.dropna()), rel=1e-12)
            else:
                assert list(map(str, theirs.dropna())) == list(map(str, ours.dropna()))


def test_a_text_that_looks_like_a_formula_stays_a_text() -> None:
    rows = FRAMES["readings"].listed(log_of(readings=(Reading("T1", DAY, ph=5.8, notes="=1+1"),)), DAY)
    sheet = load_workbook(io.BytesIO(file_of(rows, FRAMES["readings"], "xlsx"))).active
    assert sheet is not None
    cell = sheet.cell(2, READINGS.index("notes") + 1)
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_a_csv_file_has_texts_as_the_log_has_them(tmp_path: Path) -> None:
    """Other programs read them so; that a spreadsheet program would compute them is said."""
    texts = ["=1+1", "+1", "-2+3", "@SUM(1)", "\t=1+1"]
    log = tmp_path / "log.xlsx"
    readings = [[f"2026-11-{day}", "T1", 6, text] for day, text in enumerate(texts, 16)]
    with xlsxwriter.Workbook(log, {"strings_to_formulas": False}) as book:
        for title, rows in (("Beds", SHEETS["Beds"]), ("Log", [["Date", "Bed", "pH", "Notes"], *readings])):
            sheet = book.add_worksheet(title)
            for number, row in enumerate(rows):
                sheet.write_row(number, 0, row)
    done = growcells("export", log, "--output", tmp_path / "csv")
    assert done.returncode == 0 and "5 texts in the csv files would be computed" in done.stdout
    assert [row["notes"] for row in rows_in(tmp_path / "csv" / "readings.csv")] == [text.strip() for text in texts]
    plain = growcells("export", log, "--output", tmp_path / "xlsx", "--format", "xlsx")
    assert plain.returncode == 0 and "would be computed" not in plain.stdout
    sheet = load_workbook(tmp_path / "xlsx" / "readings.xlsx").active
    assert sheet is not None
    cells = [sheet.cell(row, READINGS.index("notes") + 1) for row in range(2, len(texts) + 2)]
    assert [(cell.value, cell.data_type) for cell in cells] == [(text.strip(), "s") for text in texts]


def test_mixes_liquids_rounds_plants_and_harvests() -> None:
    parts = [
        Part("base", "17-7-21", 2.0, price=9.0, cells={"product": "Feeds!B2"}),
        Part("liquid", "7-9-26", 5.0, package=1.0, units={"rate": "mL/gal", "package": "L"}),
    ]
    log = log_of(
        beds=(Bed("T1", "basil"),),
        feeds=(Feed("leaf", parts),),
        rounds=(Round("T1", 1, crop="basil", planted=datetime.date(2026, 11, 1), sheet="Plan", row=2, column=1),),
        weights=(Weight("T1", "leaf", "1", None, True), Weight("T1", "leaf", "2", 3.0)),
        harvests=(
            Harvest("T1", DAY, heads=12, price=1.5, price_per="head", round=1),
            Harvest("T1", DAY, mass=2.0, price=8.0, price_per="lb"),
            Harvest("T1", DAY, heads=12, price=1.5, price_per="bunch"),
            Harvest("T1", DAY, heads=12, price=1.5, price_per="head", culls=1.0),
            Harvest("T1", DAY, heads=12, income=20.0, price=1.5, price_per="head"),
            Harvest("T1"),
        ),
        units={"feeds.rate": "g/gal", "weights.mass": "oz", "harvests.mass": "lb"},
    )
    frames = log.frames(DAY)
    feeds = frames["feeds"]
    assert list(feeds["part"]) == [1, 2]
    assert feeds["rate_g_l"][0] == pytest.approx(2 / 3.785411784)
    assert feeds["rate_ml_l"][1] == pytest.approx(5 / 3.785411784)
    assert feeds["package_ml"][1] == 1000
    assert feeds["rate_g_l"].isna()[1] and feeds["rate_ml_l"].isna()[0]
    assert list(frames["beds"]["round"]) == [1]
    assert list(frames["rounds"]["planted"]) == [pd.Timestamp(2026, 11, 1)]
    assert frames["plants"]["mass_g"][1] == pytest.approx(3 * 28.349523125)
    assert list(frames["plants"]["died"]) == [True, False]
    harvests = frames["harvests"]
    assert harvests["income"].fillna(-1).tolist() == [18.0, 16.0, -1, -1, 20.0, -1]
    assert harvests["mass_g"][1] == pytest.approx(907.18474)
    assert harvests.isna().iloc[5].tolist() == [True, False, True, True, True, True, True]


def test_an_empty_log_has_every_table_with_its_types() -> None:
    full, empty = log_of(readings=(Reading("T1", DAY, ph=5.8),)).frames(DAY), log_of().frames(DAY)
    assert full.keys() == empty.keys() < FRAMES.keys()
    assert list(empty["readings"].dtypes) == list(full["readings"].dtypes)


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    export_log(ROOFTOP, tmp_path)
    before = (tmp_path / "beds.csv").read_bytes()
    with pytest.raises(FileProblem, match="exists already"):
        export_log(ROOFTOP, tmp_path)
    export_log(ROOFTOP, tmp_path, overwrite=True)
    assert (tmp_path / "beds.csv").read_bytes() == before


def test_a_log_is_never_its_own_table(tmp_path: Path) -> None:
    log = tmp_path / "readings.csv"
    log.write_text("Date,Bed,pH\n2026-11-05,T1,5.8\n")
    with pytest.raises(FileProblem, match="is the log itself"):
        export_log(log, tmp_path, overwrite=True)
    assert log.read_text() == "Date,Bed,pH\n2026-11-05,T1,5.8\n"


def test_parquet_without_its_package_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    imported = builtins.__import__

    def without(name: str, *rest: Any, **named: Any) -> Any:
        if name.partition(".")[0] == "pyarrow":
            raise ImportError
        return imported(name, *rest, **named)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(
        FileProblem, match=r"need the package pyarrow: install it with pip install 'growcells\[parquet\]'"
    ):
        export_log(ROOFTOP, tmp_path, form="parquet")


@pytest.mark.parametrize(("arguments", "code"), [((), 0), (("--format", "odd"), 2), (("--as-of", "2026-11-25"), 0)])
def test_command(tmp_path: Path, arguments: tuple[str, ...], code: int) -> None:
    """A log with something left out is no failure."""
    done = growcells("export", str(ROOFTOP), "--output", str(tmp_path / "out"), *arguments)
    assert done.returncode == code, done.stderr
    assert (tmp_path / "out" / "left_out.csv").is_file() is (code == 0)
