"""The demo: its invented log, the tank that grows, and the doses before and after."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from growcells_workbooks.demo import Demo, run
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.reading import Fate, read_log
from report_books import report_book, rows_of
from us_units import CUBIC_INCHES_IN_GALLON

pytestmark = pytest.mark.slow  # each test makes the demo

TOTE = 11 / 6 * (24 * 16 + 21 * 13.5 + 4 * 22.5 * 14.75)  # prismatoid formula [in³]


@pytest.fixture(scope="module")
def said() -> list[str]:
    return []


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory, said: list[str]) -> Demo:
    return run(tmp_path_factory.mktemp("demo") / "new folder", said.append)


def test_old_and_new_doses(demo: Demo) -> None:
    by_bed = {change.bed: change for change in demo.doses}
    raft = by_bed["Raft 2"]
    assert raft.old_dose == pytest.approx(60 * 30 * 9 / CUBIC_INCHES_IN_GALLON * 2)
    assert raft.new_dose == pytest.approx(72 * 30 * 9 / CUBIC_INCHES_IN_GALLON * 2)
    assert by_bed["Tote"].new_dose == pytest.approx(TOTE / CUBIC_INCHES_IN_GALLON * 2)
    assert by_bed["Barrel"].new_volume == pytest.approx(math.pi * 11**2 * 28 / CUBIC_INCHES_IN_GALLON)
    assert [change.bed for change in demo.doses if change.changed] == ["Raft 2"]


def test_both_logs_open_with_their_values(demo: Demo) -> None:
    for path, length in ((demo.log, 60), (demo.changed_log, 72)):
        row = [cell.value for cell in report_book(path, data_only=True)["Tanks"][5]]
        assert row[3] == length
        assert row[6] == pytest.approx(length * 30 * 9 / CUBIC_INCHES_IN_GALLON)


def test_the_log_says_that_it_is_invented(demo: Demo) -> None:
    log = read_log(demo.log)
    assert "invented" in log.title
    assert len(log.readings) == 48
    assert [left.content for left in log.left_out if left.fate is Fate.UNREADABLE] == ["about 6"]


def test_the_report_is_of_the_longer_tank(demo: Demo) -> None:
    assert (str(demo.report.week), demo.report.beds, demo.report.readings) == ("2026-W12", 4, 16)
    rows = rows_of(report_book(demo.report.output), "Doses")
    assert next(row for row in rows if row[0] == "Raft 2")[2] == pytest.approx(72 * 30 * 9 / CUBIC_INCHES_IN_GALLON)


def test_it_says_what_it_does(demo: Demo, said: list[str]) -> None:
    assert len(said) == 4
    assert "invented" in said[0]


def test_the_same_files_each_time(demo: Demo, tmp_path: Path) -> None:
    again = run(tmp_path, lambda line: None)
    for first, second in ((demo.log, again.log), (demo.changed_log, again.changed_log)):
        assert first.read_bytes() == second.read_bytes()
    assert demo.report.output.read_bytes() == again.report.output.read_bytes()


def test_it_replaces_files_only_when_told(demo: Demo) -> None:
    with pytest.raises(FileProblem, match="exists already"):
        run(demo.log.parent, lambda line: None)
    run(demo.log.parent, lambda line: None, overwrite=True)


def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(FileProblem, match="cannot be made"):
        run(tmp_path / "file" / "demo", lambda line: None)
    with pytest.raises(FileProblem, match="is a file: give the name of a folder"):
        run(tmp_path / "file", lambda line: None)
