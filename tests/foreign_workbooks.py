"""``check`` and ``report`` over other people's workbooks: no traceback, bounded memory and time.

``python tests/foreign_workbooks.py FOLDER --most 300`` takes the workbooks under a folder, such as a clone of the tests
of a spreadsheet library, and ends with 1 where a command failed in another way than by a sentence, took longer than
``--seconds`` of the processor, or held more than ``--megabytes``.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from benchmarks.measuring import LAUNCHER
from processes import COMMAND, ENVIRONMENT

KINDS = frozenset({".xlsx", ".xlsm", ".ods", ".csv"})
ANSWERS = frozenset({0, 1, 2})
"""Exit codes of the command: done, problems told, wrong usage or a file that cannot be read."""
MEBIBYTE = 2**20


@dataclass(frozen=True)
class Answer:
    """What a command made of a workbook."""

    command: str
    path: Path
    code: int
    processor: float
    """[s]"""
    peak: float
    """The most memory it held [MiB]."""
    output: str

    def fault(self, seconds: float, megabytes: float) -> str:
        """What is wrong with it, "" where nothing is."""
        if "Traceback (most recent call last)" in self.output or self.code not in ANSWERS:
            return f"ended with {self.code}: {self.output.strip().splitlines()[-1:]}"
        if self.processor > seconds:
            return f"took {self.processor:.1f} s of the processor"
        return f"held {self.peak:.0f} MiB" if self.peak > megabytes else ""


def workbooks(folder: Path, most: int) -> list[Path]:
    """The workbooks under a folder, evenly chosen where there are more than enough; of equal ones one."""
    by_content = {(path.stat().st_size, path.name): path for path in sorted(folder.rglob("*")) if path.suffix in KINDS}
    found = sorted(by_content.values())
    step = max(1.0, len(found) / most)
    return [found[int(place * step)] for place in range(min(most, len(found)))]


def answered(path: Path, command: str, *options: str) -> Answer:
    """Run a command over a workbook."""
    done = subprocess.run(
        [sys.executable, "-S", LAUNCHER, *COMMAND, command, path, *options],
        env=ENVIRONMENT, capture_output=True, encoding="utf-8", errors="replace",
    )  # fmt: skip
    *lines, last = done.stdout.splitlines()
    told = json.loads(last)
    output = "\n".join([*lines, done.stderr])
    return Answer(command, path, told["exit"], told["processor"], told["peak"] / MEBIBYTE, output)


def answers(paths: Sequence[Path]) -> Iterator[Answer]:
    """Both commands over each workbook."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        for path in paths:
            yield answered(path, "check")
            yield answered(path, "report", "--output", str(Path(folder) / "week.xlsx"), "--overwrite")


def main(arguments: Sequence[str] | None = None) -> int:
    """Print what the commands made of the workbooks; 1 where any of them did what none may."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--most", type=int, default=300, help="workbooks")
    parser.add_argument("--seconds", type=float, default=60.0, help="of the processor, for one command")
    parser.add_argument("--megabytes", type=float, default=1024.0, help="of memory, for one command")
    given = parser.parse_args(arguments)
    paths = workbooks(given.folder, given.most)
    codes: Counter[tuple[str, int]] = Counter()
    slowest = largest = 0.0
    faults = 0
    for answer in answers(paths):
        codes[answer.command, answer.code] += 1
        slowest, largest = max(slowest, answer.processor), max(largest, answer.peak)
        if fault := answer.fault(given.seconds, given.megabytes):
            faults += 1
            print(f"{answer.command} {answer.path.relative_to(given.folder)}: {fault}", flush=True)
    for (command, code), count in sorted(codes.items()):
        print(f"{command}: {count} ended with {code}")
    print(f"{len(paths)} workbooks; at most {slowest:.1f} s of the processor and {largest:.0f} MiB; {faults} faults")
    return int(faults > 0 or not paths)


if __name__ == "__main__":
    sys.exit(main())
