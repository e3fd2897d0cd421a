"""The command as a person types it: output, sentences, exit codes."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest

from growcells import functions
from log_books import ROOFTOP
from processes import COMMAND, ENVIRONMENT, growcells
from report_books import report_book

pytestmark = pytest.mark.slow  # each test starts the command

COMMANDS = ["demo", "new", "clear-examples", "recalc", "report", "check", "export", "functions", "install", "uninstall"]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A copy of a log that growcells did not make."""
    return Path(shutil.copy(ROOFTOP, tmp_path / "log.xlsx"))


def test_without_arguments_it_says_what_to_do_first() -> None:
    done = growcells()
    assert done.returncode == 0
    assert "growcells demo" in done.stdout


@pytest.mark.parametrize("command", COMMANDS)
def test_help_has_an_example(command: str) -> None:
    done = growcells(command, "--help", cold=True)
    assert done.returncode == 0
    assert f"Example: growcells {command}" in done.stdout


@pytest.mark.parametrize(
    "arguments",
    [
        *(("nothing",), ("recalc",), ("recalc", "a.xlsx", "--nothing"), ("install", "abacus"), ("functions", "X")),
        *(("check", "a.xlsx", "--as-of", day) for day in ("today", "0001-01-01", "1900-12-31", "9999-01-01")),
    ],
)
def test_wrong_usage_is_exit_code_2(arguments: tuple[str, ...]) -> None:
    done = growcells(*arguments)
    assert done.returncode == 2
    assert done.stderr and "Traceback" not in done.stderr


def test_a_report_is_read_by_a_mapping_file(log: Path) -> None:
    mapping = log.with_name("mine.toml")
    mapping.write_text('[beds]\n"T9" = "T1"\n', "utf-8")
    text_of = {}
    for name, chosen in (("without", ()), ("with", ("--map", mapping))):
        output = log.with_name(f"{name}.xlsx")
        done = growcells("report", log, "--output", output, "--as-of", "2026-11-22", *chosen)
        assert done.returncode == 0, done.stderr
        cells = (cell for sheet in report_book(output) for row in sheet.iter_rows() for cell in row)
        text_of[name] = "\n".join(str(cell.value) for cell in cells)
    complaint = '"T9" is not in the list of beds'
    assert complaint in text_of["without"] and complaint not in text_of["with"]


@pytest.mark.parametrize("command", ["recalc", "report", "check", "clear-examples"])
def test_a_missing_file_is_one_sentence(command: str, tmp_path: Path) -> None:
    done = growcells(command, "nowhere.xlsx", folder=tmp_path)
    assert done.returncode == 1
    assert done.stderr.strip().splitlines() == ["growcells: nowhere.xlsx does not exist: check the name and the folder"]


CONTROLS = "".join(map(chr, (*range(1, 10), *range(11, 32), *range(127, 160)))) + "\u2028\u2029"
"""What may stand in a name of a file here but breaks a line or is obeyed by a terminal."""


def test_names_are_told_without_what_a_terminal_obeys(tmp_path: Path) -> None:
    done = growcells("check", f"{CONTROLS}\n.xlsx", folder=tmp_path)
    assert done.stderr.count("\n") == 1 and not set(done.stderr) & set(CONTROLS)
    assert r"\x1b" in done.stderr and r"\x1d" in done.stderr and r"\n" in done.stderr


def test_texts_of_a_log_are_told_without_what_a_terminal_obeys(tmp_path: Path) -> None:
    lines = ["Date,Bed,pH", "2026-11-20,bed a,6.1", "2026-11-21,bed a,\x1b[31mred\x9b2J"]
    tmp_path.joinpath("log.csv").write_text("\n".join(lines), "utf-8")
    told = growcells("check", "log.csv", folder=tmp_path).stdout
    assert r"\x1b[31mred\x9b2J" in told and not set(told) & set(CONTROLS)


def test_functions_are_listed_and_found() -> None:
    listed = growcells("functions").stdout
    assert all(name in listed for name in functions())
    found = growcells("functions", "--search", "bucket").stdout
    assert "GROW_VOLUME_BUCKET" in found and "GROW_DOSE(" not in found
    assert "Formula: volume × rate." in growcells("functions", "grow_dose").stdout


@pytest.mark.skipif(os.name != "posix", reason="NOT TESTED: a terminal of 80 columns needs a POSIX system")
@pytest.mark.parametrize(
    "arguments", [[], ["functions"], ["functions", "GROW_PPM"], ["functions", "nitrogen"], ["recalc", "nowhere.xlsx"]]
)
def test_no_word_is_broken_on_a_terminal(arguments: list[str]) -> None:
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    environment = {**ENVIRONMENT, "TERM": "dumb"}  # without colours and bars
    environment.pop("COLUMNS", None)
    process = subprocess.Popen([*COMMAND, *arguments], env=environment, stdin=theirs, stdout=theirs, stderr=theirs)
    os.close(theirs)
    shown = b""
    with contextlib.suppress(OSError):  # how Linux tells that the other side has closed
        while piece := os.read(ours, 4096):
            shown += piece
    process.wait(60)
    os.close(ours)
    lines = shown.decode().splitlines()
    assert lines and max(map(len, lines)) <= 80
    piped = growcells(*arguments)
    assert " ".join(shown.decode().split()) == " ".join((piped.stdout + piped.stderr).split())


def test_recalc_writes_a_new_file_and_then_refuses_to_replace_it(log: Path) -> None:
    before = log.read_bytes()
    done = growcells("recalc", log.name, folder=log.parent)
    assert done.returncode == 0, done.stderr
    computed = log.with_name("log.computed.xlsx")
    tubs = openpyxl.load_workbook(computed, data_only=True)["Tubs"]
    assert tubs["G4"].value == pytest.approx(38 * 21 * 9 / 231)
    assert log.read_bytes() == before
    again = growcells("recalc", log.name, folder=log.parent)
    assert again.returncode == 1 and "exists already" in again.stderr


def test_no_library_s_warning_is_shown(log: Path) -> None:
    """Here of a number that is formatted as a date and is none."""
    book = report_book(log)
    book["Tubs"]["K4"] = 1e30
    book["Tubs"]["K4"].number_format = "yyyy-mm-dd"
    book.save(log)
    assert growcells("check", log).stderr == ""


def test_recalc_in_place_keeps_a_backup(log: Path) -> None:
    before = log.read_bytes()
    assert growcells("recalc", log, "--in-place").returncode == 0
    backups = list(log.parent.glob("log.backup-*.xlsx"))
    assert [backup.read_bytes() for backup in backups] == [before]
    assert log.read_bytes() != before


@pytest.mark.slow
def test_a_new_log_its_examples_and_how_to_be_rid_of_them(tmp_path: Path) -> None:
    done = growcells("new", "log.xlsx", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "growcells clear-examples log.xlsx --in-place" in done.stdout
    cleared = growcells("clear-examples", "log.xlsx", folder=tmp_path)
    assert cleared.returncode == 0, cleared.stderr
    assert "Feeds 3, Beds 4" in cleared.stdout and "Written: log.cleared.xlsx" in cleared.stdout
    again = growcells("clear-examples", "log.cleared.xlsx", folder=tmp_path)
    assert again.returncode == 1 and "holds no example rows" in again.stderr
    empty = growcells("new", "empty.xlsx", "--empty", folder=tmp_path)
    assert empty.returncode == 0 and "clear-examples" not in empty.stdout
    for name, bed in (("log", "Bed 1"), ("log.cleared", None), ("empty", None)):
        assert report_book(tmp_path / f"{name}.xlsx")["Beds"]["A6"].value == bed


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("log", "log is not the name of a new workbook: end it in .xlsx"),
        ("log.ods", "log.ods is not the name of a new workbook: end it in .xlsx"),
        ("folder.xlsx", "folder.xlsx is a folder: give the name of a file in it, such as folder.xlsx/log.xlsx"),
        ("mine.xlsx", "mine.xlsx exists already: give another name, or allow to replace it with --overwrite"),
        ("nowhere/log.xlsx", "nowhere does not exist: make that folder first"),
    ],
)
def test_a_wrong_name_for_a_new_log_is_one_sentence(tmp_path: Path, name: str, sentence: str) -> None:
    (tmp_path / "folder.xlsx").mkdir()
    (tmp_path / "mine.xlsx").write_text("mine")
    done = growcells("new", name, folder=tmp_path)
    assert (done.returncode, done.stderr.replace(os.sep, "/")) == (1, f"growcells: {sentence}\n")
    assert (tmp_path / "mine.xlsx").read_text() == "mine"


@pytest.mark.parametrize("target", ["mine.oxt", "nowhere/growcells.oxt"])
def test_an_extension_that_cannot_be_written_is_one_sentence(tmp_path: Path, target: str) -> None:
    (tmp_path / "mine.oxt").write_text("mine")
    done = growcells("install", "libreoffice", "--file", target, folder=tmp_path)
    assert done.returncode == 1 and len(done.stderr.splitlines()) == 1
    assert (tmp_path / "mine.oxt").read_text() == "mine"


def test_a_file_given_as_the_folder_of_reports_is_told_the_right_option(log: Path) -> None:
    done = growcells("report", log.name, "--out", "week.xlsx", folder=log.parent)
    assert done.returncode == 2
    assert done.stderr.strip() == "growcells: --out takes a folder: for one report give --output week.xlsx"
    assert sorted(path.name for path in log.parent.iterdir()) == ["log.xlsx"]
