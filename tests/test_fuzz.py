"""A small run of the fuzz test, and proof that it finds what it looks for. The long one: tests/fuzz_workbooks.py."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import pytest

import fuzz_workbooks
from fuzz_workbooks import fuzz
from growcells_workbooks.gate import FileProblem
from growcells_workbooks.recalculation import Recalculation
from log_books import ROOFTOP
from mutated_workbooks import mutant, seed_books
from recalc_books import change_part


@pytest.mark.slow
def test_two_hundred_mutants() -> None:
    figures = fuzz(runs=200, seed=7, workers=1)
    print("\n" + "\n".join(figures.lines()))
    assert figures.faults == []
    assert sum(figures.ends.values()) == 200
    ends = {end for _, end in figures.ends}
    assert ends == {"done", "refused"}, "mutants must be of both kinds"
    commands = {what.partition(",")[0] for what, _ in figures.ends}
    assert commands == set(fuzz_workbooks.COMMANDS)


def test_a_run_can_be_repeated(tmp_path: Path) -> None:
    """The mutant of a number is always the same, and that of another number another."""
    books = seed_books(tmp_path)
    first, again, other = (mutant(Random(f"1/{number}"), books, ["1+1"]) for number in (5, 5, 6))
    assert first == again != other


def faults_with(monkeypatch: pytest.MonkeyPatch, command: Callable[..., Iterator[str]]) -> str:
    """The fault that a run finds where each command is another."""
    monkeypatch.setattr(fuzz_workbooks, "COMMANDS", dict.fromkeys(fuzz_workbooks.COMMANDS, command))
    return fuzz_workbooks.one_run(1, 1, [ROOFTOP.read_bytes()], ["1+1"]).fault


def test_faults_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that do wrong, each in a way of its own."""

    def raising(source: Path, *_: object) -> Iterator[str]:
        raise KeyError("x")

    def changing(source: Path, *_: object) -> Iterator[str]:
        source.write_bytes(b"PK")
        raise FileProblem("refused")

    def littering(source: Path, *_: object) -> Iterator[str]:
        source.with_suffix(".part").write_bytes(b"PK")
        raise FileProblem("refused")

    def stammering(source: Path, *_: object) -> Iterator[str]:
        raise FileProblem("Traceback\n...")

    assert "KeyError" in faults_with(monkeypatch, raising)
    assert "changed though it was refused" in faults_with(monkeypatch, changing)
    assert "left behind" in faults_with(monkeypatch, littering)
    assert "no sentence" in faults_with(monkeypatch, stammering)


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
    source, output = ROOFTOP, tmp_path / "out.xlsx"
    change_part(source, output, part, lambda data: data.replace(old, new))
    done = Recalculation(source, output, None, 1, 1, (), (), (), ())
    assert len(list(fuzz_workbooks.faults_of_result(done, source.read_bytes(), whole_xml=True))) == faults


def hang(seed: int, pipe: fuzz_workbooks.multiprocessing.connection.Connection) -> None:
    """A process that does one run and no more."""
    pipe.send(None)
    while pipe.recv() is not None:
        time.sleep(1000)


def die(seed: int, pipe: fuzz_workbooks.multiprocessing.connection.Connection) -> None:
    """A process that dies at its first run."""
    pipe.send(None)
    pipe.recv()
    os.kill(os.getpid(), signal.SIGABRT)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="NOT TESTED: signals of POSIX systems")
@pytest.mark.parametrize(("work", "end"), [(die, "died"), (hang, "hung")])
def test_crashes_and_hangs_are_found(monkeypatch: pytest.MonkeyPatch, work: object, end: str) -> None:
    """A process that dies or does not answer counts, and another takes over."""
    monkeypatch.setattr(fuzz_workbooks, "work", work)
    monkeypatch.setattr(fuzz_workbooks, "SECONDS", 2 if end == "hung" else 60)
    figures = fuzz(runs=2, seed=1, workers=1)
    assert [fault.end for fault in figures.faults] == [end, end]


def test_memory_growth() -> None:
    """The figure is the slope after the first runs, whatever single runs take."""
    mebibyte = 2**20
    assert fuzz_workbooks.memory_growth([100 * mebibyte] * 300) is None, "too few runs to tell"
    flat = [50 * mebibyte] * 200 + [100 * mebibyte, 100 * mebibyte, 400 * mebibyte] * 300
    assert fuzz_workbooks.memory_growth(flat) == 0
    growing = [number * mebibyte // 10 for number in range(2200)]
    assert fuzz_workbooks.memory_growth(growing) == pytest.approx(100, rel=0.02)
