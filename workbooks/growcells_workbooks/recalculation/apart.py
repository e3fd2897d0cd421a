"""Recalculation in a process of its own, whose memory is bounded.

A hostile workbook of a few hundred bytes can ask for more memory than there is, as with a text that doubles from cell
to cell. The process then ends before the machine suffers, and what remains is one sentence.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from datetime import date
from pathlib import Path

from .results import Progress, Recalculation, silent
from .safe_files import FileProblem

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
    as_of: date | None = None,
    progress: Progress | None = None,
) -> Recalculation:
    """Do what ``recalculate`` does, with bounded memory; raises FileProblem where the workbook asks for more."""
    report = progress or silent
    with subprocess.Popen(
        [sys.executable, "-m", __package__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,  # the engine's own words at its end
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    ) as process:
        try:
            options = {"in_place": in_place, "overwrite": overwrite, "as_of": as_of}
            assert process.stdin is not None
            process.stdin.write(pickle.dumps((source, output, options)))
            process.stdin.close()
            while isinstance(told := _next_message(process), tuple):
                report(*told)
        finally:
            process.kill()
    if isinstance(told, Recalculation):
        return told
    raise FileProblem(
        told
        or f"{source} is refused: to compute it takes more than {MEMORY_BYTES / 2**30:.0f} GiB of memory, "
        "as no log needs, or the engine cannot compute it at all"
    )


def _next_message(process: subprocess.Popen[bytes]) -> tuple[str, int, int] | Recalculation | str | None:
    """What the process says next: progress, the result, or a sentence; None where it has ended without one."""
    assert process.stdout is not None
    timer = threading.Timer(SILENT_SECONDS, process.kill)
    timer.daemon = True
    timer.start()
    try:
        message: tuple[str, int, int] | Recalculation | str = pickle.load(process.stdout)
        return message
    except (EOFError, pickle.UnpicklingError):
        return None
    finally:
        timer.cancel()
