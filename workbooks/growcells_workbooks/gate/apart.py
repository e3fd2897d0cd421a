"""The one way in: a file is read and worked on in a process of its own, which has limits and writes nothing.

A hostile workbook of a few hundred bytes can ask for more memory than there is, as with a text that doubles from cell
to cell, or for more time than anybody has. The process then ends before the machine suffers, and what remains is one
sentence. It gives its result through a pipe, and the command that started it alone writes files; it ends when that
command does, however that ends.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from .limits import MEMORY_BYTES, obey_limits
from .problems import Fault, FileProblem
from .progress import Progress, silent

if TYPE_CHECKING:
    from multiprocessing.context import ForkContext, SpawnContext

SILENT_SECONDS = 120.0
"""Longest time without any progress [s], after which the process is ended: our choice."""
DEBUG = "GROWCELLS_DEBUG"
"""The variable of the environment that asks for tracebacks and for what libraries say at their end."""

T = TypeVar("T")
Work = Callable[[Progress], T]


class Runner(Protocol):
    """Runs work on a file, which reads and computes but writes nothing, and gives what it gives."""

    def __call__(self, work: Work[T], about: Path, progress: Progress | None = None) -> T:
        """Run ``work``, handing on its progress; raises FileProblem, which names ``about``."""


def here(work: Work[T], about: Path, progress: Progress | None = None) -> T:
    """Run work in this process, for files that are known to be good."""
    with _no_search_for_garbage():
        return work(progress or silent)


def apart(work: Work[T], about: Path, progress: Progress | None = None) -> T:
    """Run work in a process of its own within its limits: the gate through which every command opens a file.

    ``work`` and what it gives must be picklable. Where the process is not a copy of this one, it imports the
    program's main module, as multiprocessing says. Raises FileProblem where the work does, where it takes too much
    memory or is silent for too long, and Fault where it raises what it should not.
    """
    report = progress or silent
    context = process_context()
    receiver, sender = context.Pipe(duplex=False)
    lifeline, ours = context.Pipe(duplex=False)
    # A copied process holds all ends: it closes those that are ours, so that each pipe ends with this process.
    copied = (receiver, ours) if context.get_start_method() == "fork" else ()
    process = context.Process(target=_run, args=(work, sender, lifeline, os.getpid(), copied), daemon=True)
    process.start()
    sender.close()
    lifeline.close()
    job = None
    try:
        if sys.platform == "win32":
            from .job_objects import put_into_job

            job = put_into_job(process.pid or 0, MEMORY_BYTES)
        while isinstance(told := _next_message(receiver, about), tuple):
            report(*told)
    finally:
        process.kill()
        process.join()
        receiver.close()
        ours.close()
        if sys.platform == "win32" and job is not None:
            from .job_objects import close_job

            close_job(job)
    if told is None:
        raise FileProblem(
            f"{about} is refused: to read and compute it takes more than {MEMORY_BYTES / 2**30:.2f} GiB of memory, "
            "as no log needs, or it cannot be computed at all"
        )
    result: T = told.get(about)
    return result


@contextlib.contextmanager
def _no_search_for_garbage() -> Iterator[None]:
    """Without Python's search for garbage: of what a file is made into nearly all lives until the work is done."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def process_context() -> ForkContext | SpawnContext:
    """How the process is started: best as a copy of this one, in which all is imported already.

    A copy takes no threads along, and what they held stays held; the libraries of macOS do not bear to be copied.
    """
    if sys.platform == "linux" and threading.active_count() == 1:
        return multiprocessing.get_context("fork")
    return multiprocessing.get_context("spawn")


@dataclass(frozen=True)
class _Given:
    """What the work gave."""

    value: Any

    def get(self, about: Path) -> Any:
        return self.value


@dataclass(frozen=True)
class _Refused:
    """The sentence with which the work refused the file."""

    sentence: str

    def get(self, about: Path) -> Any:
        raise FileProblem(self.sentence)


@dataclass(frozen=True)
class _Failed:
    """What the work raised and should not have."""

    error: str
    step: str
    trace: str

    def get(self, about: Path) -> Any:
        raise Fault(self.error, about, self.step, self.trace)


def _next_message(receiver: Connection, about: Path) -> tuple[str, int, int] | _Given | _Refused | _Failed | None:
    """What the process says next: progress or its end; None where it has ended without a word."""
    try:
        if not receiver.poll(SILENT_SECONDS):
            return _Refused(f"{about} is refused: nothing came of it for {SILENT_SECONDS:.0f} seconds, as of no log")
        message: tuple[str, int, int] | _Given | _Refused | _Failed = receiver.recv()
        return message
    except (EOFError, OSError):
        return None


def _run(
    work: Work[Any], sender: Connection, lifeline: Connection, parent: int, copied: tuple[Connection, ...]
) -> None:
    """Do the work within the limits, and send progress and its end; runs in the other process."""
    for pipe in copied:
        pipe.close()
    obey_limits(lifeline, parent)
    if not os.environ.get(DEBUG):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        for stream in (1, 2):  # what libraries say at their work and at their end
            os.dup2(nowhere, stream)
    gc.disable()  # a tenth of the time of a large log; the process ends before garbage could matter
    # Where memory is too little the process ends without a word, and the other side knows what that means.
    with contextlib.suppress(MemoryError):
        sender.send(_end_of(work, sender))


def _end_of(work: Work[Any], sender: Connection) -> _Given | _Refused | _Failed:
    step = ""

    def tell(what: str, done: int, total: int) -> None:
        nonlocal step
        step = what
        sender.send((what, done, total))

    try:
        return _Given(work(tell))
    except FileProblem as problem:
        return _Refused(str(problem))
    except MemoryError:
        raise
    except Exception as fault:
        return _Failed(f"{type(fault).__name__}: {fault}", step, traceback.format_exc())
