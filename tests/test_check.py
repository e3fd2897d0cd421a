"""The command check as a person runs it: what it prints, and its exit code."""

from __future__ import annotations

import datetime
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from growcells_workbooks.log_check import FIRST_SHOWN, count_problems, lines_of
from growcells_workbooks.reading import read_log
from log_books import ROOFTOP, write_log
from processes import growcells

DAY = datetime.date(2026, 11, 5)


def written(folder: Path, *rows: list[Any]) -> Path:
    """A log with beds T1 and T2 and these rows of readings."""
    beds = [["Bed", "L in", "W in", "D in", "gallons"], ["T1", 42, 31, 6, 33.8], ["T2", 42, 31, 6, 33.8]]
    return write_log(folder, beds=beds, log=[["Date", "Bed", "pH", "EC mS"], *rows])


def text_of(path: Path, every: bool = False) -> str:
    return "\n".join(" " * line.indent + line.text for line in lines_of(read_log(path), every))


@pytest.fixture(scope="module")
def rooftop(tmp_path_factory: pytest.TempPathFactory) -> subprocess.CompletedProcess[str]:
    return growcells("check", shutil.copy(ROOFTOP, tmp_path_factory.mktemp("check") / "log.xlsx"))


class TestRooftop:
    def test_exit_code(self, rooftop: subprocess.CompletedProcess[str]) -> None:
        assert rooftop.returncode == 1
        assert rooftop.stderr == ""

    @pytest.mark.parametrize(
        "line",
        [
            "  log 2026, headings in row 4: readings, sure",
            "    A4  Date: date, month first",
            "    E4  water °F: temperature [°F]",
            "  log 2026!C80  six",
            '      pH is "six": give a number such as 6.1',
            "  log 2026!A81:C81  2026-11-27 | T9 | 6.1",
            '      "T9" is not in the list of beds',
            "  log 2026: 76 filled rows = 1 in headings + 71 read + 2 not understood + 2 ignored on purpose",
            "802 filled cells = 788 used + 10 ignored on purpose + 4 not understood.",
            "2 problems to look into.",
        ],
    )
    def test_it_says(self, rooftop: subprocess.CompletedProcess[str], line: str) -> None:
        assert line in rooftop.stdout.splitlines()

    def test_it_is_plain_where_it_is_piped(self, rooftop: subprocess.CompletedProcess[str]) -> None:
        assert "\x1b" not in rooftop.stdout
        assert not [line for line in rooftop.stdout.splitlines() if line != line.rstrip()]


def test_a_log_without_problems_is_exit_code_0(tmp_path: Path) -> None:
    done = growcells("check", written(tmp_path, [DAY, "T1", 6.0, 1.8]))
    assert done.returncode == 0
    assert done.stdout.splitlines()[-1] == "No problems."


def test_what_is_out_of_a_plausible_range(tmp_path: Path) -> None:
    path = written(tmp_path, [DAY, "T1", 1.2, 18], [DAY, "T2", 6.0, 1.8], ["soon", "T2", 1.0, 1.8])
    log = read_log(path)
    assert [(doubt.cell, doubt.content) for doubt in log.doubts] == [("C2", "1.2"), ("D2", "18")]
    assert log.readings[0].ph == 1.2
    assert "18 mS/cm is out of the plausible range, 0 to 6 mS/cm" in text_of(path)


def test_what_cannot_be_is_not_used(tmp_path: Path) -> None:
    path = written(tmp_path, [DAY, "T1", 6.0, 1800], [DAY, "T2", 6.1, 1.8])
    assert [reading.ec for reading in read_log(path).readings] == [None, 1.8]
    assert "1800 mS/cm cannot be, 0 to 20 mS/cm can" in text_of(path)


def test_a_failing_formula_with_what_to_type_instead(tmp_path: Path) -> None:
    path = written(tmp_path, [DAY, "T1", 6.0, "=GROW_DOSE(0,2)"])
    assert count_problems(read_log(path)) == 1
    text = text_of(path)
    assert "log!D2  #VALUE!  =GROW_DOSE(0,2)" in text
    assert "volume is zero or blank" in text


def test_many_alike_are_told_in_short(tmp_path: Path) -> None:
    path = written(tmp_path, *([DAY, "T9", 6.0, 1.8] for _ in range(200)))
    text = text_of(path)
    assert text.count("log!A") == FIRST_SHOWN
    assert "195 more in column A, the last in A201" in text
    assert text_of(path, every=True).count("log!A") == 200
    assert "200 problems to look into." in text


def test_a_workbook_that_is_no_log(tmp_path: Path) -> None:
    book = Workbook()
    assert book.active is not None
    book.active.append(["milk", 2])
    book.save(tmp_path / "shopping.xlsx")
    done = growcells("check", tmp_path / "shopping.xlsx")
    assert done.returncode == 1
    assert "no table is known on" in done.stdout


def test_write_map_and_read_by_it(tmp_path: Path) -> None:
    path = written(tmp_path, ["6/11/2026", "T1", 6.0, 1.8])
    assert growcells("check", path).returncode == 1
    done = growcells("check", path, "--write-map")
    assert "log.map.toml" in done.stdout.splitlines()[-1]
    written_map = tmp_path / "log.map.toml"
    text = written_map.read_text("utf-8")
    written_map.write_text(text.replace('dates = ""', 'dates = "day first"'), "utf-8")
    done = growcells("check", path)
    assert done.returncode == 0, done.stdout
    assert "A1  Date: date, day first" in done.stdout
    again = growcells("check", path, "--write-map")
    assert again.returncode == 1 and "exists already" in again.stderr
