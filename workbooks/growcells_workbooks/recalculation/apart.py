"""Recalculation in a process of its own, whose memory is bounded.

A hostile workbook of a few hundred bytes can ask for more memory than there is, as with a text that doubles from cell
to cell. The process then ends before the machine suffers, and what remains is one sentence.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import sys
import threading
from datetime import date
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

from .recalc import recalculate
from .results import Progress, Recalculation, silent
from .safe_files import FileProblem

if TYPE_CHECKING:
    from multiprocessing.context import ForkContext, SpawnContext

MEMORY_BYTES = 4 * 2**30
"""Most memory that the process may hold [bytes]: ours, several times what a log of 100,000 rows takes.

Linux alone has such a limit; elsewhere the system itself ends what asks for too much.
"""
SILENT_SECONDS = 900.0
"""Longest time without any progress [s], after which the process is ended: ours."""


def recalculate_apart(
    source: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    everything: bool = False,
    as_of: date | None = None,
    progress: Progress | None = None,
) -> Recalculation:
    """Do what ``recalculate`` does, with bounded memory; raises FileProblem where the workbook asks for more.

    Where the process is not a copy of this one, it imports the program's main module, as multiprocessing says.
    """
    report = progress or silent
    work = partial(
        recalculate, source, output, in_place=in_place, overwrite=overwrite, everything=everything, as_of=as_of
    )
    receiver, sender = multiprocessing.Pipe(duplex=False)
    process = process_context().Process(target=_run, args=(work, sender), daemon=True)
    process.start()
    sender.close()
    try:
        while isinstance(told := _next_message(receiver), tuple):
            report(*told)
    finally:
        process.kill()
        process.join()
        receiver.close()
    if isinstance(told, Recalculation):
        return told
    raise FileProblem(
        told
        or f"{source} is refused: to compute it takes more than {MEMORY_BYTES / 2**30:.0f} GiB of memory, "
        "as no log needs, or the engine cannot compute it at all"
    )


def process_context() -> ForkContext | SpawnContext:
    """How the process is started: best as a copy of this one, in which all is imported already.

    A copy takes no threads along, and what they held stays held; the libraries of macOS do not bear to be copied.
    """
    if sys.platform == "linux" and threading.active_count() == 1:
        return multiprocessing.get_context("fork")
    return multiprocessing.get_context("spawn")


def _next_message(receiver: Connection) -> tuple[str, int, int] | Recalculation | str | None:
    """What the process says next: progress, the result, or a sentence; None where it has ended without one."""
    try:
        if not receiver.poll(SILENT_SECONDS):
            return None
        message: tuple[str, int, int] | Recalculation | str = receiver.recv()
        return message
    except (EOFError, OSError):
        return None


def _run(work: partial[Recalculation], sender: Connection) -> None:
    """Do the work within the limits, and send progress, the result or a sentence; runs in the other process."""
    if sys.platform == "linux":
        import resource

        # RLIMIT_DATA counts what is really held in private memory, RLIMIT_AS also what threads only reserve.
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)  # the engine's own words at its end
    gc.disable()  # a tenth of the time of a large log; the process ends before garbage could matter
    try:
        sender.send(work(progress=lambda *step: sender.send(step)))
    except FileProblem as problem:
        sender.send(str(problem))
    except MemoryError:
        return  # the other side knows what an end without a result means
