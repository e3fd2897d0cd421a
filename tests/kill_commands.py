"""Kill commands at random moments: the log is the old one or the new one, whole, and no process is left.

    python tests/kill_commands.py --runs 300 --seed 1

For each command and for each of what is killed (the command, the process that it works in, both) so many runs, each
killed at a moment between its start and its usual end. A fault is a log or report that is neither the old one nor the
new one, an old log that is nowhere any more, a file left behind by a command that was not killed itself, or a process
that lives for more than a second after its command. Linux only. The exit code is 1 where anything was found.
"""

from __future__ import annotations

import argparse
import collections
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [
        str(Path(__file__).parent),
        *(str(Path(__file__).parent.parent / folder) for folder in ("functions", "addin", "workbooks")),
    ]

from copied_commands import left_after, living, prepare, started
from growcells_workbooks.starter import new_log
from log_books import ROOFTOP
from mutated_workbooks import DAY

SECOND = 1.0
"""How long a process may outlive its command [s]."""
SIDES = ("command", "worker", "both")
LOG, REPORT = "log.xlsx", "week.xlsx"


@dataclass(frozen=True)
class Command:
    """A command, the file it makes, and the log it starts from."""

    arguments: tuple[str, ...]
    makes: str
    source: Callable[[Path], Path]


def _rooftop(path: Path) -> Path:
    return Path(shutil.copy(ROOFTOP, path))


def _starter(path: Path) -> Path:
    return new_log(path, day=DAY)


COMMANDS = {
    "recalc": Command(("recalc", LOG, "--in-place", "--as-of", DAY.isoformat()), LOG, _rooftop),
    "report": Command(("report", LOG, "--as-of", DAY.isoformat(), "--output", REPORT, "--overwrite"), REPORT, _rooftop),
    "carry": Command(("carry", LOG, "--in-place"), LOG, _rooftop),
    "clear-examples": Command(("clear-examples", LOG, "--in-place"), LOG, _starter),
}


@dataclass
class Figures:
    """What came of all runs."""

    ends: collections.Counter[tuple[str, str, str]] = field(default_factory=collections.Counter)
    faults: list[str] = field(default_factory=list)

    def lines(self) -> Iterator[str]:
        """The figures in words."""
        for (name, side, end), count in sorted(self.ends.items()):
            yield f"{name:15} {side:8} killed: {end:18} {count:6,}"
        yield f"{sum(self.ends.values()):,} runs, {len(self.faults)} faults"


@dataclass
class Trial:
    """Runs of one command, beside what it makes when it is left alone."""

    name: str
    folder: Path
    old: bytes = b""
    new: bytes = b""
    seconds: float = 0.0

    def __post_init__(self) -> None:
        self.folder.mkdir()
        self.command = COMMANDS[self.name]
        self.old = self.command.source(self.folder / LOG).read_bytes()
        start = time.monotonic()
        process = started(self.command.arguments, self.folder)
        os.waitpid(process, 0)
        self.seconds = time.monotonic() - start
        self.new = (self.folder / self.command.makes).read_bytes()
        assert self.new != self.old

    def run(self, side: str, wait: float) -> tuple[str, list[str]]:
        """Start the command afresh, kill one side of it after a while; how it ended, and the faults."""
        shutil.rmtree(self.folder)
        self.folder.mkdir()
        (self.folder / LOG).write_bytes(self.old)
        before = b"an older report"
        if self.command.makes != LOG:
            (self.folder / self.command.makes).write_bytes(before)
        command = started(self.command.arguments, self.folder)
        time.sleep(wait)
        for process in living(command):
            if side == "both" or (side == "command") == (process == command):
                try:
                    os.kill(process, signal.SIGKILL)
                except ProcessLookupError:
                    continue
        os.waitpid(command, 0)
        return self._judged(side, left_after(command, SECOND), self.old if self.command.makes == LOG else before)

    def _judged(self, side: str, left: list[int], before: bytes) -> tuple[str, list[str]]:
        faults = []
        for process in left:
            faults.append("a process lives on")
            os.kill(process, signal.SIGKILL)
        made = (self.folder / self.command.makes).read_bytes()
        if made not in (before, self.new):
            faults.append("the file is neither the old one nor the new one")
        if self.command.makes == LOG:
            backups = [path.read_bytes() for path in self.folder.glob("log.backup-*.xlsx")]
            if any(backup != self.old for backup in backups) or (made == self.new and not backups):
                faults.append("the old log is not there any more")
        elif (self.folder / LOG).read_bytes() != self.old:
            faults.append("the log was changed")
        unfinished = [path for path in self.folder.iterdir() if path.name.endswith(".part")]
        if unfinished and side == "worker":
            faults.append("an unfinished file is left by a command that was not killed")
        return ("new" if made == self.new else "old") + (", unfinished file" if unfinished else ""), faults


def kill_all(runs: int, seed: int, tell: Callable[[str], None] = print) -> Figures:
    """Make so many runs of each command for each of what is killed."""
    prepare()
    figures = Figures()
    with tempfile.TemporaryDirectory() as folder:
        for name in COMMANDS:
            trial = Trial(name, Path(folder) / name)
            tell(f"{name} left alone takes {trial.seconds:.2f} s")
            for side in SIDES:
                choose = random.Random(f"{seed}/{name}/{side}")
                for number in range(runs):
                    end, faults = trial.run(side, choose.uniform(0, 1.1 * trial.seconds))
                    figures.ends[name, side, end] += 1
                    figures.faults += [f"{name}, {side} killed, run {number}: {fault}" for fault in faults]
                tell(f"{name}, {side} killed: {sum(figures.ends.values()):,} runs so far, {len(figures.faults)} faults")
                sys.stdout.flush()
    return figures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    figures = kill_all(given.runs, given.seed)
    print("\n".join((*figures.faults, *figures.lines())))
    return 1 if figures.faults else 0


if __name__ == "__main__":
    sys.exit(main())
