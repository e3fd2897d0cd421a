"""Times of two things measured in turn, and what is to be said of them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import timeit
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import NamedTuple

PROJECT = Path(__file__).resolve().parent.parent.parent
SOURCES = [str(PROJECT / folder) for folder in ("functions", "addin", "workbooks")]
LAUNCHER = Path(__file__).with_name("launcher.py")
MILLISECONDS = 1000.0


class NotMeasured(Exception):
    """Why something cannot be measured here."""


@dataclass(frozen=True)
class Size:
    """How much is measured."""

    rounds: int
    """Of what takes less than a second."""
    long_rounds: int
    """Of what takes seconds."""
    openings: int
    """Of a workbook that is opened."""
    plain_rows: int
    """Rows of a workbook without functions of ours."""
    calls: int
    """Of the slower of two statements."""
    slow_calls: int
    """Of a function that solves equations, in a round."""
    slow_rounds: int
    cells: int
    """Formula cells of one function in LibreOffice."""
    log_rows: int
    """Rows of a log with five formulas in each."""
    carried_rows: int
    days: int
    """Days of a log of readings."""
    range_rows: int
    growth: tuple[int, int, int]
    """Rows at which time and memory are measured."""


FULL = Size(9, 3, 20, 78_000, 5_000, 20, 40, 20_000, 20_000, 5_000, 365, 100_000, (20_000, 60_000, 100_000))
QUICK = Size(2, 1, 2, 50, 20, 1, 2, 200, 50, 20, 5, 1_000, (50, 100, 200))


class Seconds(NamedTuple):
    """The times of each round [s]."""

    measured: list[float]
    reference: list[float]


class Kind(Enum):
    """How two times are compared."""

    TIMES = "×"
    MORE = "ms more"
    MILLISECONDS = "ms"
    FASTER = "× faster"

    def figure(self, measured: float, reference: float) -> float:
        """The figure for two times [s]."""
        if self is Kind.MILLISECONDS:
            return measured * MILLISECONDS
        if self is Kind.MORE:
            return (measured - reference) * MILLISECONDS
        return measured / reference if self is Kind.TIMES else reference / measured


@dataclass(frozen=True)
class Goal:
    """What a figure is to reach."""

    kind: Kind
    limit: float

    def __str__(self) -> str:
        bound = "at least" if self.kind is Kind.FASTER else "at most"
        return f"{bound} {self.limit:g} {self.kind.value}"

    def is_reached(self, figure: float) -> bool:
        """Whether the figure is good enough."""
        return figure >= self.limit if self.kind is Kind.FASTER else figure <= self.limit


@dataclass(frozen=True)
class Benchmark:
    """A line of the table."""

    name: str
    what: str
    against: str
    goal: Goal
    measure: Callable[[Size], Seconds]


@dataclass(frozen=True)
class Outcome:
    """A benchmark with what was measured: the least seconds, which other programs added least to, and their figure."""

    benchmark: Benchmark
    seconds: Seconds

    @property
    def measured(self) -> float:
        return min(self.seconds.measured)

    @property
    def reference(self) -> float:
        return min(self.seconds.reference)

    @property
    def figure(self) -> float:
        return self.benchmark.goal.kind.figure(self.measured, self.reference)

    @property
    def spread(self) -> tuple[float, float]:
        """The lowest and the highest figure of a single round."""
        figures = [self.benchmark.goal.kind.figure(*pair) for pair in zip(*self.seconds, strict=True)]
        return min(figures), max(figures)

    @property
    def is_reached(self) -> bool:
        return self.benchmark.goal.is_reached(self.figure)


def in_turn(rounds: int, measured: Callable[[], float], reference: Callable[[], float]) -> Seconds:
    """Seconds that two things tell of themselves, in turn, so that what else the machine does falls on both."""
    pairs = [(measured(), reference()) for _ in range(rounds)]
    return Seconds([first for first, _ in pairs], [second for _, second in pairs])


def clocked(action: Callable[[], object]) -> Callable[[], float]:
    """The action, telling the seconds that it took."""

    def run() -> float:
        begin = time.perf_counter()
        action()
        return time.perf_counter() - begin

    return run


def worked(action: Callable[[], object]) -> Callable[[], float]:
    """The action, telling the seconds that processors worked for the programs that it ran to their end."""

    def run() -> float:
        begin = os.times()
        action()
        end = os.times()
        return end.children_user + end.children_system - begin.children_user - begin.children_system

    return run


def statements(size: Size, measured: str, reference: str, names: Mapping[str, object]) -> Seconds:
    """Processor seconds of one run of each of two statements, which see ``names``.

    Both are run so often that they take as long; the processor's time is not that of other programs.
    """
    for statement in (measured, reference):
        processor_seconds(statement, names, 1)  # imports what it needs
    once = [processor_seconds(statement, names, size.calls) for statement in (measured, reference)]
    often = [max(1, round(size.calls * max(once) / seconds)) for seconds in once]
    return in_turn(
        size.rounds,
        lambda: processor_seconds(measured, names, often[0]),
        lambda: processor_seconds(reference, names, often[1]),
    )


def processor_seconds(statement: str, names: Mapping[str, object], times: int) -> float:
    """Processor seconds of one run of a statement, the mean of many."""
    return timeit.Timer(statement, timer=time.process_time, globals=dict(names)).timeit(times) / times


@dataclass(frozen=True)
class Run:
    """A finished process."""

    seconds: float
    processor: float
    """The seconds that a processor worked for it."""
    peak: float
    """The most memory that it held [bytes]."""
    said: str


def run(command: Sequence[str | Path]) -> Run:
    """Run a command to its end. Raises RuntimeError where it fails.

    A small process starts it: the peak of a process counts from that of the one that started it.
    """
    # The modules of an installed growcells are compiled, whatever the settings of the one who measures.
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(SOURCES), "PYTHONDONTWRITEBYTECODE": ""}
    done = subprocess.run(
        [sys.executable, "-S", LAUNCHER, *command], capture_output=True, text=True, env=environment, cwd=PROJECT
    )
    answer = json.loads(done.stdout.splitlines()[-1])
    if answer["exit"]:
        raise RuntimeError(f"{' '.join(map(str, command))} failed:\n{done.stdout}{done.stderr}")
    return Run(answer["seconds"], answer["processor"], answer["peak"], done.stdout)


def python(code: str, *arguments: str | Path) -> Run:
    """Run code in a fresh Python that finds growcells."""
    return run([sys.executable, "-c", code, *arguments])


def growcells(*arguments: str | Path) -> Run:
    """Run the growcells command."""
    return run([sys.executable, "-m", "growcells_workbooks", *arguments])
