"""A small run of the fuzz test, and proof that it finds what it looks for. The long one: tests/fuzz_workbooks.py."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from log_books import ROOFTOP
from processes import ENVIRONMENT, PROJECT
from recalc_books import change_part

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="NOT TESTED: commands run beside copies of the process"),
]
if sys.platform == "linux":
    import fuzz_workbooks
    from copied_commands import Done, NoEnd, done
    from fuzz_workbooks import CALLS, Case
    from mutated_workbooks import Seeds

GOOD = 0, "", "", 0.1, 10**8


def test_mutants() -> None:
    """In a process of its own, which is copied for each run and so must have no threads."""
    command = [
        sys.executable,
        PROJECT / "tests" / "fuzz_workbooks.py",
        "--runs",
        "150",
        "--seed",
        "7",
        "--workers",
        "1",
    ]
    ended = subprocess.run(command, env=ENVIRONMENT, capture_output=True, encoding="utf-8")
    print("\n" + ended.stdout)
    assert ended.returncode == 0, ended.stdout + ended.stderr
    assert "150 runs, 0 faults" in ended.stdout
    for call in CALLS:
        assert f"\n{call.command}, " in f"\n{ended.stdout}"
    assert " done " in ended.stdout and " refused " in ended.stdout


@pytest.fixture(scope="module")
def seeds(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Seeds]:
    yield Seeds.made(tmp_path_factory.mktemp("seeds"))


def test_a_run_can_be_repeated(seeds: Seeds) -> None:
    """The mutant of a number is always the same, and that of another number another."""
    first, again, other = (Case.made(Random(f"1/{number}"), seeds) for number in (5, 5, 6))
    assert first == again != other


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        ({}, ""),
        ({"code": 1, "complaint": "growcells: log.xlsx is damaged\n"}, ""),
        ({"code": None}, "no end"),
        ({"code": -6}, "exit code -6"),
        ({"code": 2, "complaint": "Usage: growcells\n"}, "exit code 2"),
        ({"complaint": "growcells: a warning\n"}, "exit code 0"),
        ({"code": 1, "complaint": "Traceback (most recent call last):\n..."}, "Traceback"),
        ({"code": 1, "complaint": "growcells: check stopped, by a fault of growcells itself\n"}, "fault of growcells"),
        ({"code": 1, "complaint": "growcells: one\nand two\n"}, "no sentence"),
        ({"processor": 21.0}, "takes 21 s"),
        ({"memory": 2 * 10**9}, "takes 2000 MB"),
    ],
)
def test_faults_of_an_end(change: dict[str, object], fault: str) -> None:
    found = list(fuzz_workbooks.faults_of_end(replace(Done(*GOOD), **change)))  # type: ignore[arg-type]
    assert bool(found) == bool(fault) and fault in "; ".join(found)


def test_a_command_without_an_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def wait() -> None:
        while True:
            pass

    monkeypatch.setattr("copied_commands.command_line", wait)
    assert done(["check"], tmp_path, 0.1).code is None
    assert issubclass(NoEnd, BaseException) and not issubclass(NoEnd, Exception)


CALL = {call.arguments: call for call in CALLS} if sys.platform == "linux" else {}
OLD, NEW = {"log.csv": b"old"}, {"log.csv": b"new"}


@pytest.mark.parametrize(
    ("call", "refused", "after", "fault"),
    [
        ("check LOG", False, OLD, ""),
        ("check LOG", False, NEW, "changed"),
        ("check LOG", False, {}, "gone"),
        ("check LOG", False, {**OLD, ".log.csv.x.part": b""}, "left behind"),
        ("export LOG --output tables", False, {**OLD, "tables/beds.csv": b""}, ""),
        ("export LOG --output tables", True, {**OLD, "tables/beds.csv": b""}, "refused, and"),
        ("recalc LOG --in-place", True, NEW, "refused, and"),
        ("check LOG --all --write-map", False, {**OLD, "log.map.toml": b""}, ""),
    ],
)
def test_faults_of_files(call: str, refused: bool, after: dict[str, bytes], fault: str) -> None:
    case = Case(CALL[call], "cells", "log.csv", OLD)
    found = list(fuzz_workbooks.faults_of_files(case, refused, after))
    assert len(found) == bool(fault) and all(fault in sentence for sentence in found)


def test_a_lost_log_is_found() -> None:
    """In place a command keeps the old log beside the new one, and writes a whole package."""
    old = ROOFTOP.read_bytes()
    case = Case(CALL["recalc LOG --in-place"], "cells", "log.xlsx", {"log.xlsx": old})
    backup = {"log.backup-20261120-120000.xlsx": old}
    assert list(fuzz_workbooks.faults_of_files(case, False, {"log.xlsx": old, **backup})) == []
    assert "old log" in " ".join(fuzz_workbooks.faults_of_files(case, False, {"log.xlsx": old}))
    assert "no whole package" in " ".join(fuzz_workbooks.faults_of_files(case, False, {"log.xlsx": b"PK", **backup}))


@pytest.mark.parametrize(
    ("part", "old", "new", "faults"),
    [
        ("xl/worksheets/sheet1.xml", b"</f><v>0</v>", b"</f><v>39</v>", 0),
        ("xl/worksheets/sheet1.xml", b"<v>38</v>", b"<v>39</v>", 1),
        ("xl/workbook.xml", b"lastEdited", b"firstEdited", 1),
    ],
)
def test_changes_are_found(tmp_path: Path, part: str, old: bytes, new: bytes, faults: int) -> None:
    """The value of a formula may change, an input and other parts may not."""
    output = change_part(ROOFTOP, tmp_path / "out.xlsx", part, lambda data: data.replace(old, new))
    found = fuzz_workbooks.faults_of_copy(ROOFTOP.read_bytes(), output.read_bytes(), whole_xml=True)
    assert len(list(found)) == faults
