"""Commands in a process that has imported all: hundreds a minute. Linux only.

``done`` runs a command here, with the process behind its gate as a copy of this one; ``started`` runs the command
itself in a copy too, to be killed; run as a program this module answers commands that it is given as lines.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import io
import json
import os
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import NoReturn

from growcells_workbooks.carrying import native_names
from growcells_workbooks.command_line import main as command_line
from processes import LONGEST

MODULES = (
    *("growcells_addin.bridge_files", "growcells_workbooks.export", "growcells_workbooks.log_check"),
    *("growcells_workbooks.report", "growcells_workbooks.report.many", "growcells_workbooks.season"),
    *("growcells_workbooks.starter", "growcells_workbooks.carrying.carry", "growcells_workbooks.recalculation"),
)
"""What commands import when they run."""


class NoEnd(BaseException):
    """A command that does not end."""


@dataclass(frozen=True)
class Done:
    """How a command ended: its code, what it said and what it complained of, and what it took."""

    code: int | None
    """None where it did not end."""
    said: str
    complaint: str
    processor: float
    """Seconds of the processor, of all its processes."""
    memory: int
    """The most that a process behind the gate has held so far [bytes]."""


def prepare() -> None:
    """Import all that commands need, and take what is there out of the search for garbage, so that it stays shared."""
    for module in MODULES:
        importlib.import_module(module)
    native_names.names()
    native_names.tables()
    gc.unfreeze()
    gc.collect()
    gc.freeze()


def done(arguments: Sequence[str], folder: Path, patience: float) -> Done:
    """Run a command in a folder to its end, or for so many seconds by the clock."""
    said, complaint = io.StringIO(), io.StringIO()
    begin = _processor()
    code: int | None = 0
    try:
        with (
            contextlib.chdir(folder),
            contextlib.redirect_stdout(said),
            contextlib.redirect_stderr(complaint),
            _ended_after(patience),
        ):
            sys.argv = ["growcells", *arguments]
            command_line()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0
    except NoEnd:
        code = None
    memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024  # in KiB on Linux: getrusage(2)
    return Done(code, said.getvalue(), complaint.getvalue(), _processor() - begin, memory)


def _processor() -> float:
    usages = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


@contextlib.contextmanager
def _ended_after(seconds: float) -> Iterator[None]:
    def end(signal_number: int, frame: FrameType | None) -> None:
        raise NoEnd

    before = signal.signal(signal.SIGALRM, end)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def started(arguments: Sequence[str], folder: Path, said: int | None = None, complaint: int | None = None) -> int:
    """The number of a process that runs a command in a folder, in a session of its own.

    What it says and complains of goes to these open files, or nowhere.
    """
    process = os.fork()
    if process:
        return process
    try:
        os.setsid()
        os.chdir(folder)
        silent = os.open(os.devnull, os.O_RDWR)
        for stream, target in enumerate((None, said, complaint)):
            os.dup2(silent if target is None else target, stream)
        sys.argv = ["growcells", *arguments]
        signal.alarm(LONGEST)  # which ends it
        command_line()
        _leave(0)
    except SystemExit as end:
        _leave(end.code if isinstance(end.code, int) else 0)
    finally:
        os._exit(70)


def _leave(code: int) -> NoReturn:
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(code)


def answer(asked: Iterable[str]) -> Iterator[str]:
    """Run commands one after the other; how each ended, as a line of JSON.

    Each is a line of JSON as well, with its folder and its arguments.
    """
    for line in asked:
        with tempfile.TemporaryFile() as said, tempfile.TemporaryFile() as complaint:
            begin = time.perf_counter()
            folder, *arguments = json.loads(line)
            process = started(arguments, Path(folder), said.fileno(), complaint.fileno())
            _, status, usage = os.wait4(process, 0)
            seconds = time.perf_counter() - begin
            texts = []
            for file in (said, complaint):
                file.seek(0)
                texts.append(file.read().decode("utf-8"))
        memory = usage.ru_maxrss * 1024  # in KiB on Linux: getrusage(2)
        code = os.waitstatus_to_exitcode(status)
        yield json.dumps([code, *texts, seconds, usage.ru_utime + usage.ru_stime, memory])


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


if __name__ == "__main__":
    prepare()
    for told in answer(sys.stdin):
        print(told, flush=True)
