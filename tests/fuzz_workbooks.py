"""Drive every command on mutated workbooks; look for a crash, a hang, a file changed on failure, memory that grows.

    python tests/fuzz_workbooks.py --runs 20000 --seed 1 [--workers 2] [--minutes 20] [--keep FOLDER]

Each run is made from the seed and its number alone: ``--runs 1 --first N`` repeats run N. The runs take place in
processes of their own, with a limit on their memory and on the seconds of a run; one that dies counts as a crash.
The exit code is 1 where anything was found; ``--keep`` names a folder for the workbooks that did it.
"""

from __future__ import annotations

import argparse
import collections
import io
import itertools
import math
import multiprocessing
import multiprocessing.connection
import os
import random
import statistics
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

TESTS = Path(__file__).parent
sys.path[:0] = [str(TESTS), *(str(TESTS.parent / folder) for folder in ("functions", "addin", "workbooks"))]

from growcells_workbooks.export import export_log  # noqa: E402  # the path first
from growcells_workbooks.gate import FileProblem  # noqa: E402  # the path first
from growcells_workbooks.log_check import check_log  # noqa: E402
from growcells_workbooks.recalculation import Recalculation, recalculate  # noqa: E402  # the path first
from growcells_workbooks.report import build_report  # noqa: E402
from growcells_workbooks.starter import clear_examples  # noqa: E402
from mutated_workbooks import DAY, known_formulas, mutant, seed_books  # noqa: E402
from recalc_books import without_formula_values  # noqa: E402

SECONDS = 60
"""A run that takes longer counts as a hang; the slowest mutants take some seconds on one old core."""
MEMORY = 4 * 2**30
"""What a process may allocate [bytes of address space]; only where the system has such a limit."""
START_SECONDS = 120
WARM = 200
"""Runs of a process after which its memory should no longer grow."""

# ---- one run


@dataclass(frozen=True)
class Outcome:
    """What became of a run: ``fault`` is empty where all went as it should."""

    number: int
    what: str
    end: str
    fault: str = ""
    seconds: float = 0.0
    memory: int | None = None


def faults_of_refusal(sentence: str, source: Path, data: bytes) -> Iterator[str]:
    """What is wrong with a refusal."""
    if not sentence or "\n" in sentence or "Traceback" in sentence:
        yield f"no sentence: {sentence!r}"
    if source.read_bytes() != data:
        yield "the workbook was changed though it was refused"
    if len(list(source.parent.iterdir())) != 1:
        yield "files were left behind"


def faults_of_new_file(source: Path, output: Path | None, data: bytes, folder: Path | None = None) -> Iterator[str]:
    """What is wrong where a command has made a file of its own, or none."""
    if source.read_bytes() != data:
        yield "the log was changed"
    if set(source.parent.iterdir()) != {source, output or source, folder or source}:
        yield "other files were left behind"
    if output is not None:
        with zipfile.ZipFile(output) as package:
            if package.testzip() is not None:
                yield "the file is no whole package"


def faults_of_result(done: Recalculation, data: bytes, whole_xml: bool) -> Iterator[str]:
    """What is wrong with a copy: parts that are no sheets must be as they were.

    Of sheets whose XML is whole, all but the values of formulas too; what is left of others only the scanner can read.
    """
    assert done.output is not None
    kept = done.backup or done.source
    if kept.read_bytes() != data:
        yield "the old workbook is not there any more"
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(done.output) as new:
        if new.testzip() is not None or old.namelist() != new.namelist():
            yield "the result is no whole package"
            return
        differing = {
            name: (old.read(name), new.read(name)) for name in old.namelist() if old.read(name) != new.read(name)
        }
    others = [name for name in differing if not name.startswith("xl/worksheets/")]
    if others:
        yield f"other parts than sheets were changed: {others}"
    elif whole_xml and any(
        without_formula_values(was) != without_formula_values(now) for was, now in differing.values()
    ):
        yield f"more than the values of formulas was changed in {list(differing)}"


def recalc(source: Path, output: Path, in_place: bool, what: str) -> Iterator[str]:
    """Recalculate; the faults of what came of it."""
    data = source.read_bytes()
    done = recalculate(source, None if in_place else output, in_place=in_place, as_of=DAY)
    yield from faults_of_result(done, data, whole_xml=what in ("formulas", "cells"))


def clear(source: Path, output: Path, in_place: bool, what: str) -> Iterator[str]:
    """Clear the examples; the faults of what came of it."""
    data = source.read_bytes()
    cleared = clear_examples(source, None if in_place else output, in_place=in_place)
    yield from faults_of_result(cleared.done, data, whole_xml=False)


def check(source: Path, output: Path, in_place: bool, what: str) -> Iterator[str]:
    """Check; the faults of what came of it."""
    data = source.read_bytes()
    check_log(source, as_of=DAY, every=in_place)
    yield from faults_of_new_file(source, None, data)


def report(source: Path, output: Path, in_place: bool, what: str) -> Iterator[str]:
    """Build the report; the faults of what came of it."""
    data = source.read_bytes()
    build_report(source, output, as_of=DAY, previous=source if in_place else None)
    yield from faults_of_new_file(source, output, data)


def export(source: Path, output: Path, in_place: bool, what: str) -> Iterator[str]:
    """Hand out the tables; the faults of what came of it."""
    data = source.read_bytes()
    folder = output.with_suffix("")
    done = export_log(source, folder, as_of=DAY, form="xlsx" if in_place else "csv")
    if {path for path in done.rows if path.parent == folder} != set(folder.iterdir()):
        yield "other files than the tables are in the folder"
    yield from faults_of_new_file(source, None, data, folder)


COMMANDS = {"recalc": recalc, "check": check, "report": report, "clear-examples": clear, "export": export}


def one_run(seed: int, number: int, books: Sequence[bytes], known: Sequence[str]) -> Outcome:
    """Mutate, run a command, look."""
    choose = random.Random(f"{seed}/{number}")
    what, data = mutant(choose, books, known)
    in_place = choose.random() < 0.3
    command = choose.choices(list(COMMANDS), weights=(3, 2, 3, 1, 1))[0]
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        source, output = Path(folder) / "log.xlsx", Path(folder) / "out.xlsx"
        source.write_bytes(data)
        try:
            end, faults = "done", list(COMMANDS[command](source, output, in_place, what))
        except FileProblem as problem:
            end, faults = "refused", list(faults_of_refusal(str(problem), source, data))
        except MemoryError:  # of which the gate makes a sentence
            end, faults = "refused", list(faults_of_refusal("too much memory", source, data))
        except Exception:
            end, faults = "raised", [traceback.format_exc()]
    return Outcome(number, f"{command}, {what}", end, "; ".join(faults), time.monotonic() - start, resident_memory())


# ---- many runs


def resident_memory() -> int | None:
    """The memory that this process holds [bytes]; None where the system does not tell."""
    try:
        return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, AttributeError):
        return None


def work(seed: int, pipe: multiprocessing.connection.Connection) -> None:
    """Do the runs whose numbers come through the pipe; runs in a process of its own."""
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    warnings.simplefilter("ignore")  # as the command does
    with tempfile.TemporaryDirectory() as folder:
        books = seed_books(Path(folder))
    known = known_formulas()
    pipe.send(None)
    while (number := pipe.recv()) is not None:
        pipe.send(one_run(seed, number, books, known))


@dataclass
class Worker:
    """A process that does runs, and the run that it is at."""

    seed: int
    number: int = -1
    started: float = 0.0
    memory: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=work, args=(self.seed, theirs), daemon=True)
        self.process.start()
        theirs.close()
        if not self.pipe.poll(START_SECONDS) or self.pipe.recv() is not None:
            raise RuntimeError("a process of the fuzz test does not start")

    def begin(self, number: int) -> None:
        self.number, self.started = number, time.monotonic()
        self.pipe.send(number)

    def outcome(self) -> Outcome:
        """The outcome of the run: of a process that died or hangs, that it did."""
        seconds = time.monotonic() - self.started
        try:
            if self.pipe.poll():
                outcome: Outcome = self.pipe.recv()
                if outcome.memory is not None:
                    self.memory.append(outcome.memory)
                return outcome
        except (EOFError, OSError):
            self.process.join(START_SECONDS)
            return Outcome(self.number, "?", "died", f"the process ended with {self.process.exitcode}", seconds)
        return Outcome(self.number, "?", "hung", f"no end after {seconds:.0f} s", seconds)

    def end(self) -> None:
        self.process.kill()
        self.process.join()
        self.pipe.close()


@dataclass
class Figures:
    """What came of all runs."""

    ends: collections.Counter[tuple[str, str]] = field(default_factory=collections.Counter)
    faults: list[Outcome] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    growth: list[float] = field(default_factory=list)
    """By how much the memory of each process grew after it had become warm [MiB in 1,000 runs]."""

    def lines(self) -> Iterator[str]:
        for (what, end), count in sorted(self.ends.items()):
            yield f"{what:26} {end:9} {count:7,}"
        if self.seconds:
            yield f"seconds a run: median {statistics.median(self.seconds):.3f}, longest {max(self.seconds):.2f}"
        if self.growth:
            yield "memory of each process grew by (MiB in 1,000 runs): " + ", ".join(f"{g:.2f}" for g in self.growth)
        else:
            yield "memory: NOT MEASURED on this system, or too few runs"
        yield f"{sum(self.ends.values()):,} runs, {len(self.faults)} faults"


def memory_growth(memory: Sequence[int]) -> float | None:
    """Growth of a process's memory from its first warm runs to its last ones [MiB in 1,000 runs], by medians."""
    warm = memory[WARM:]
    if len(warm) < WARM:
        return None
    tenth = len(warm) // 10
    grown = statistics.median(warm[-tenth:]) - statistics.median(warm[:tenth])
    return grown / 2**20 / (len(warm) - tenth) * 1000


def fuzz(
    runs: int,
    seed: int,
    first: int = 0,
    workers: int = 2,
    minutes: float = math.inf,
    tell: Callable[[str], None] = print,
) -> Figures:
    """Make the runs, or as many as so many minutes allow, and count what comes of them."""
    figures = Figures()
    last = time.monotonic() + 60 * minutes
    numbers = itertools.takewhile(lambda _: time.monotonic() < last, range(first, first + runs))
    crew = []
    for number in itertools.islice(numbers, min(workers, runs)):
        crew.append(Worker(seed))
        crew[-1].begin(number)
    while crew:
        soonest = min(worker.started for worker in crew) + SECONDS - time.monotonic()
        ready = multiprocessing.connection.wait([worker.pipe for worker in crew], max(0.0, soonest))
        late = time.monotonic() - SECONDS
        for worker in [worker for worker in crew if worker.pipe in ready or worker.started < late]:
            outcome = worker.outcome()
            figures.ends[outcome.what, outcome.end] += 1
            figures.seconds.append(outcome.seconds)
            if outcome.fault:
                figures.faults.append(outcome)
                tell(f"run {outcome.number} {outcome.end}: {outcome.fault}")
            if sum(figures.ends.values()) % 1000 == 0:
                tell(f"… {sum(figures.ends.values()):,} runs")
            number = next(numbers, None)
            if number is None or outcome.end in ("died", "hung"):
                worker.end()
                crew.remove(worker)
                growth = memory_growth(worker.memory)
                figures.growth += [] if growth is None else [growth]
                if number is None:
                    continue
                worker = Worker(seed)
                crew.append(worker)
            worker.begin(number)
    return figures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first run")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--minutes", type=float, default=math.inf, help="end after so many, with fewer runs")
    parser.add_argument("--keep", type=Path, help="a folder for the workbooks of faults")
    given = parser.parse_args()
    start = time.monotonic()
    figures = fuzz(given.runs, given.seed, given.first, given.workers, given.minutes)
    print("\n".join(figures.lines()), f"in {time.monotonic() - start:.0f} s")
    if given.keep and figures.faults:
        given.keep.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory() as folder:
            books, known = seed_books(Path(folder)), known_formulas()
        for fault in figures.faults:
            _, data = mutant(random.Random(f"{given.seed}/{fault.number}"), books, known)
            (given.keep / f"run-{given.seed}-{fault.number}.xlsx").write_bytes(data)
    return 1 if figures.faults else 0


if __name__ == "__main__":
    sys.exit(main())
