"""Drive every command on mutated files; look for a traceback, a crash, a hang, a file changed or left on failure.

    python tests/fuzz_workbooks.py --runs 20000 --seed 1 [--workers 2] [--minutes 20] [--keep FOLDER]

Each run is the command itself, in a process that has imported all, with its gate; it is made from the seed
and its number alone: ``--runs 1 --first N`` repeats run N. Mutated are workbooks of both families, text files, mapping
files, earlier copies and photos. LibreOffice is not driven. The exit code is 1 where anything was found; ``--keep``
names a folder for the files that did it. Linux only.
"""

from __future__ import annotations

import argparse
import collections
import io
import math
import random
import statistics
import sys
import tempfile
import time
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path[:0] = [
        str(Path(__file__).parent),
        *(str(Path(__file__).parent.parent / folder) for folder in ("functions", "addin", "workbooks")),
    ]

from copied_commands import Done, done, prepare
from mutated_workbooks import BYTES, DAY, Seeds, change_fields, mutated_log
from recalc_books import without_formula_values

SECONDS = 20.0
"""Of the processor, that a command may take."""
PATIENCE = 200.0
"""Seconds by the clock after which a command counts as one that does not end; the gate ends a silent one earlier."""
MEMORY = 1.5e9
"""Bytes that a process of a command may hold."""

Files = Mapping[str, bytes]


# ---- the ways to call a command


class Call(NamedTuple):
    """A way to call a command, and what it may leave: ``*`` in a name stands for anything."""

    weight: int
    arguments: str
    leaves: str
    kinds: tuple[str, ...] = (".xlsx",)

    @property
    def command(self) -> str:
        return self.arguments.partition(" ")[0]


READ = (*[".xlsx"] * 8, ".ods", ".csv")
CALLS = (
    Call(5, "recalc LOG --output out.xlsx", "out.xlsx"),
    Call(3, "recalc LOG --in-place", "log.backup-*.xlsx"),
    Call(1, "recalc LOG --all --output out.xlsx", "out.xlsx"),
    Call(4, "check LOG", "", READ),
    Call(1, "check LOG --all --write-map", "log.map.toml", READ),
    Call(1, "check LOG --map map.toml", "", READ),
    Call(4, "report LOG --output out.xlsx", "out.xlsx", READ),
    Call(2, "report LOG --previous before.xlsx --output out.xlsx", "out.xlsx", READ),
    Call(1, "report LOG --map map.toml --output out.xlsx", "out.xlsx", READ),
    Call(1, "report LOG --photos photos --output out.xlsx", "out.xlsx", READ),
    Call(1, "season LOG --output out.xlsx", "out.xlsx", READ),
    Call(1, "season LOG before.xlsx --output out.xlsx", "out.xlsx", READ),
    Call(2, "export LOG --output tables", "tables*", READ),
    Call(1, "export LOG --format xlsx --output tables", "tables*", READ),
    Call(1, "carry LOG --output out.xlsx", "out.xlsx"),
    Call(1, "carry LOG --in-place", "log.backup-*.xlsx"),
    Call(1, "carry LOG --remove --output out.xlsx", "out.xlsx"),
    Call(2, "clear-examples LOG --output out.xlsx", "out.xlsx"),
    Call(1, "clear-examples LOG --in-place", "log.backup-*.xlsx"),
)
DATED = ("recalc", "check", "report", "season", "export")
"""The commands that are told the day."""
CARRIED = (
    "xl/workbook.xml",
    "xl/_rels/",
    "xl/metadata.xml",
    "xl/calcChain.xml",
    "xl/worksheets/",
    "[Content_Types].xml",
)
"""The parts that may differ where a log is given names."""


@dataclass(frozen=True)
class Case:
    """A run before it is made: the call, what was mutated, and the files."""

    call: Call
    what: str
    log: str
    files: Files

    @classmethod
    def made(cls, choose: random.Random, seeds: Seeds) -> Case:
        """One by chance. Where there are other files than the log, the log is often a good one."""
        call = choose.choices(CALLS, weights=[call.weight for call in CALLS])[0]
        log = "log" + choose.choice(call.kinds)
        what, data = mutated_log(choose, Path(log).suffix, seeds)
        files = {log: data}
        if "before.xlsx" in call.arguments:
            files["before.xlsx"] = mutated_log(choose, ".xlsx", seeds)[1]
        if "map.toml" in call.arguments:
            files["map.toml"] = change_fields(choose, seeds.mapping)
        if "photos" in call.arguments:
            files |= {f"photos/{name}": choose.choice(BYTES)(choose, data) for name, data in seeds.photos.items()}
        if len(files) > 1 and log.endswith(".xlsx") and choose.random() < 0.5:
            what, files[log] = "others", seeds.workbooks[-2]
        return cls(call, what, log, files)

    def write(self, folder: Path) -> None:
        """Put the files into a folder."""
        for name, data in self.files.items():
            path = folder / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(data)

    @property
    def arguments(self) -> list[str]:
        day = ["--as-of", DAY.isoformat()] if self.call.command in DATED else []
        return [*self.call.arguments.replace("LOG", self.log).split(), *day]


def files_in(folder: Path) -> Files:
    """All files of a folder and their bytes."""
    paths = sorted(path for path in folder.rglob("*") if not path.is_dir())
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths}


# ---- what is wrong


def faults_of_end(ended: Done) -> Iterator[str]:
    """What is wrong with how a command ended, whatever it did."""
    if ended.code is None:
        yield f"no end after {PATIENCE:.0f} s"
    elif ended.code not in (0, 1) or (ended.code == 0 and ended.complaint):
        yield f"exit code {ended.code}: {ended.complaint}"
    if "Traceback" in ended.said + ended.complaint or "fault of growcells" in ended.complaint:
        yield ended.complaint or ended.said
    elif ended.complaint and (not ended.complaint.startswith("growcells: ") or len(ended.complaint.splitlines()) != 1):
        yield f"no sentence: {ended.complaint!r}"
    if ended.processor > SECONDS:
        yield f"takes {ended.processor:.0f} s of the processor"
    if ended.memory > MEMORY:
        yield f"takes {ended.memory / 1e6:.0f} MB"


def faults_of_files(case: Case, refused: bool, after: Files) -> Iterator[str]:
    """What is wrong with the files that a command leaves."""
    new = {name: data for name, data in after.items() if name not in case.files}
    gone = [name for name in case.files if name not in after]
    changed = [name for name, data in case.files.items() if name in after and after[name] != data]
    if gone:
        yield f"gone: {gone}"
    if refused:
        if new or changed:
            yield f"refused, and {[*new, *changed]} written"
        return
    in_place = "--in-place" in case.call.arguments
    if any(name != case.log for name in changed) or (changed and not in_place):
        yield f"changed: {changed}"
    strange = [name for name in new if not case.call.leaves or not Path(name.split("/")[0]).match(case.call.leaves)]
    if strange:
        yield f"left behind: {strange}"
    if in_place and list(new.values()) != [case.files[case.log]]:
        yield "the old log is not there any more"
    for name in (*new, *changed):
        if name.endswith(".xlsx"):
            yield from faults_of_workbook(case, after[name])


def faults_of_workbook(case: Case, data: bytes) -> Iterator[str]:
    """What is wrong with a workbook that a command wrote; a copy of the log has all but a few parts as they were."""
    if not is_whole(data):
        yield "the file is no whole package"
        return
    if case.call.command in ("recalc", "clear-examples"):
        whole_xml = case.call.command == "recalc" and case.what in ("formulas", "cells")
        yield from faults_of_copy(case.files[case.log], data, whole_xml)
    elif case.call.command == "carry":
        yield from faults_of_copy(case.files[case.log], data, whole_xml=False, free=CARRIED)


def is_whole(data: bytes) -> bool:
    """Whether these are the bytes of a package of which each part can be read."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return package.testzip() is None
    except (zipfile.BadZipFile, zlib.error):
        return False


def faults_of_copy(old: bytes, new: bytes, whole_xml: bool, free: tuple[str, ...] = ()) -> Iterator[str]:
    """What is wrong with a copy: parts that are no sheets must be as they were.

    Of sheets whose XML is whole, all but the values of formulas too; what is left of others only the scanner can read.
    """
    with zipfile.ZipFile(io.BytesIO(old)) as was, zipfile.ZipFile(io.BytesIO(new)) as now:
        names = [[name for name in package.namelist() if not name.startswith(free)] for package in (was, now)]
        if names[0] != names[1]:
            yield "the copy has other parts"
            return
        pairs = {name: (was.read(name), now.read(name)) for name in names[0]}
    differing = {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}
    others = [name for name in differing if not name.startswith("xl/worksheets/")]
    if others:
        yield f"other parts than sheets were changed: {others}"
    elif whole_xml and any(
        without_formula_values(before) != without_formula_values(after) for before, after in differing.values()
    ):
        yield f"more than the values of formulas was changed in {list(differing)}"


# ---- runs


@dataclass(frozen=True)
class Outcome:
    """What became of a run: ``fault`` is empty where all went as it should."""

    number: int
    what: str
    end: str
    fault: str = ""
    processor: float = 0.0
    memory: int = 0


def one_run(seed: int, number: int, seeds: Seeds, keep: Path | None = None) -> Outcome:
    """Mutate, run a command, look."""
    case = Case.made(random.Random(f"{seed}/{number}"), seeds)
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        case.write(folder)
        ended = done(case.arguments, folder, PATIENCE)
        refused = bool(ended.complaint) or ended.code not in (0, 1)
        fault = "; ".join((*faults_of_end(ended), *faults_of_files(case, refused, files_in(folder))))
    if fault and keep is not None:
        kept = keep / f"{seed}-{number}"
        kept.mkdir(parents=True, exist_ok=True)
        case.write(kept)
    end = "too much for the gate" if "it takes more than" in ended.complaint else "refused" if refused else "done"
    return Outcome(number, f"{case.call.command}, {case.what}", end, fault, ended.processor, ended.memory)


@dataclass
class Figures:
    """What came of all runs."""

    ends: collections.Counter[tuple[str, str]] = field(default_factory=collections.Counter)
    faults: list[Outcome] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    memory: int = 0

    def add(self, outcome: Outcome) -> None:
        """Count a run."""
        self.ends[outcome.what, outcome.end] += 1
        self.seconds.append(outcome.processor)
        self.memory = max(self.memory, outcome.memory)
        if outcome.fault:
            self.faults.append(outcome)

    def lines(self) -> Iterator[str]:
        """The figures in words."""
        for (what, end), count in sorted(self.ends.items()):
            yield f"{what:26} {end:22} {count:7,}"
        if self.seconds:
            middle, most = statistics.median(self.seconds), max(self.seconds)
            yield f"seconds of the processor: median {middle:.3f}, most {most:.2f}"
            yield f"most memory of a process: {self.memory / 1e6:.0f} MB"
        yield f"{sum(self.ends.values()):,} runs, {len(self.faults)} faults"


def strand(seed: int, numbers: range, last: float, keep: Path | None) -> list[Outcome]:
    """Make the runs of these numbers one after another; each fault is told at once."""
    prepare()
    with tempfile.TemporaryDirectory() as folder:
        seeds = Seeds.made(Path(folder))
    outcomes = []
    for number in numbers:
        if time.monotonic() > last:
            break
        outcomes.append(one_run(seed, number, seeds, keep))
        if outcomes[-1].fault:
            print(f"run {number}, {outcomes[-1].what}: {outcomes[-1].fault}", flush=True)
        if len(outcomes) % 200 == 0:
            prepare()
        if len(outcomes) % 1000 == 0:
            print(f"… {len(outcomes):,} runs of one of the workers", flush=True)
    return outcomes


def fuzz(
    runs: int, seed: int, first: int = 0, workers: int = 2, minutes: float = math.inf, keep: Path | None = None
) -> Figures:
    """Make the runs, or as many as so many minutes allow, and count what comes of them."""
    figures = Figures()
    last = time.monotonic() + 60 * minutes
    with ProcessPoolExecutor(workers) as crew:
        strands = [
            crew.submit(strand, seed, range(first + place, first + runs, workers), last, keep)
            for place in range(workers)
        ]
        for made in strands:
            for outcome in made.result():
                figures.add(outcome)
    return figures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first run")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--minutes", type=float, default=math.inf, help="end after so many, with fewer runs")
    parser.add_argument("--keep", type=Path, help="a folder for the files of faults")
    given = parser.parse_args()
    start = time.monotonic()
    figures = fuzz(**vars(given))
    print("\n".join(figures.lines()), f"in {time.monotonic() - start:.0f} s")
    return 1 if figures.faults else 0


if __name__ == "__main__":
    sys.exit(main())
