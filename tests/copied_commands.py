"""Commands run in copies of this process, in which all is imported already: hundreds a minute. Linux only."""

from __future__ import annotations

import gc
import importlib
import os
import select
import signal
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from growcells_workbooks.command_line import main as command_line

MODULES = (
    *("growcells_addin.problems", "growcells.families", "growcells.terms.ppm_tables"),
    *("growcells_workbooks.export", "growcells_workbooks.log_check", "growcells_workbooks.report"),
    *("growcells_workbooks.season", "growcells_workbooks.starter", "growcells_workbooks.carrying.carry"),
    *("growcells_workbooks.recalculation", "growcells_workbooks.report.many"),
)
"""What commands import when they run."""


@dataclass(frozen=True)
class Ended:
    """How a command ended: its code, what it said and what it complained of, and what it took."""

    code: int | None
    """None where it did not end."""
    said: str
    complaint: str
    processor: float
    """Seconds of the processor, of all its processes."""
    memory: int
    """The most that one of its processes held [bytes]."""


def prepare() -> None:
    """Import all that commands need; what is there now is not searched for garbage again, and so stays shared."""
    for module in MODULES:
        importlib.import_module(module)
    gc.collect()
    gc.freeze()


def started(arguments: Sequence[str], folder: Path, out: Path | None = None, error: Path | None = None) -> int:
    """The number of a process that runs a command in a folder, in a session of its own; what it says goes to files."""
    process = os.fork()
    if process:
        return process
    try:
        os.setsid()
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        for stream, path in ((1, out), (2, error)):
            os.dup2(os.open(path or os.devnull, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), stream)
        os.chdir(folder)
        sys.argv = ["growcells", *arguments]
        command_line()
        sys.stdout.flush()
        os._exit(0)
    except SystemExit as end:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(end.code if isinstance(end.code, int) else 0)
    finally:
        os._exit(70)


def ended(arguments: Sequence[str], folder: Path, notes: Path, patience: float) -> Ended:
    """Run a command to its end, or for so many seconds by the clock; ``notes`` is a folder for what it says."""
    out, error = notes / "out.txt", notes / "error.txt"
    process = started(arguments, folder, out, error)
    watched = os.pidfd_open(process)
    try:
        in_time = bool(select.select([watched], [], [], patience)[0])
    finally:
        os.close(watched)
    if not in_time:
        os.killpg(process, signal.SIGKILL)
    _, status, usage = os.wait4(process, 0)
    return Ended(
        os.waitstatus_to_exitcode(status) if in_time else None,
        out.read_text(encoding="utf-8", errors="replace"),
        error.read_text(encoding="utf-8", errors="replace"),
        usage.ru_utime + usage.ru_stime,
        usage.ru_maxrss * 1024,  # in KiB on Linux: getrusage(2)
    )


def living(session: int) -> list[int]:
    """The processes of a session that have not ended."""
    found = []
    for folder in Path("/proc").iterdir():
        if folder.name.isdigit():
            try:
                # proc(5): the name in brackets, then state, parent, group and session
                state, _, _, of, *_ = (folder / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(of) == session and state not in "ZX":
                found.append(int(folder.name))
    return found


def left_after(session: int, seconds: float) -> list[int]:
    """The processes of a session that live still after so many seconds."""
    end = time.monotonic() + seconds
    while (left := living(session)) and time.monotonic() < end:
        time.sleep(0.005)
    return left
