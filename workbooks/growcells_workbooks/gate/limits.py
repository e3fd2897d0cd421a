"""What holds for the process in which a file is worked on: bounded memory, and an end with the command.

Linux bounds the memory itself and ends the process with its parent. Windows does both by a job object, which the
parent makes (``job_objects.py``). Elsewhere, as on macOS, which takes a limit but does not hold to it, a thread of the
process watches both several times a second: it sees neither while a library computes without letting Python run, so
that there the memory is bounded in the main only.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from multiprocessing.connection import Connection

MEMORY_BYTES = 1280 * 2**20
"""Most memory that the process may hold [bytes]. Our choice: some twice what a log of 100,000 rows takes."""
WATCH_SECONDS = 0.2
"""Time between looks of the watching thread [s]. Our choice: a killed command leaves nothing behind after a second."""
TOO_MUCH_MEMORY = 77
"""Exit code of a process that ended itself because of its memory."""

SPARING = {"ARROW_DEFAULT_MEMORY_POOL": "system", "OPENBLAS_NUM_THREADS": "1"}
"""Settings of libraries that reserve memory which they do not use: Arrow's own allocator a GiB at once, and the linear
algebra some for each thread, which waits without end where the limit is reached."""

_PR_SET_PDEATHSIG = 1  # prctl(2)
_M_ARENA_MAX = -8  # mallopt(3)


def obey_limits(lifeline: Connection, parent: int) -> None:
    """Hold this process to its limits. ``lifeline`` is a pipe whose other end ``parent`` alone holds."""
    if sys.platform == "linux":
        import ctypes
        import resource

        # RLIMIT_DATA counts what is really held in private memory, RLIMIT_AS also what threads only reserve.
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        library = ctypes.CDLL(None)
        if hasattr(library, "mallopt"):  # of glibc, and of no other
            # Each thread would keep memory of its own, and near the limit ask the system in vain for every object.
            library.mallopt(_M_ARENA_MAX, 1)
        library.prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
        if os.getppid() != parent:  # it died before this was set
            os._exit(1)
    os.environ.update(SPARING)
    with contextlib.suppress(ValueError):  # only the main thread may; a process started here has no other yet
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent is told too, and ends this process
    threading.Thread(target=_watch, args=(lifeline,), daemon=True).start()


def _watch(lifeline: Connection) -> None:
    """End this process once its parent has ended, or where it holds too much memory."""
    while True:
        try:
            if lifeline.poll(WATCH_SECONDS):  # nothing is ever sent: the other end is closed
                os._exit(1)
        except OSError:
            os._exit(1)
        if _peak_memory() > MEMORY_BYTES:
            os._exit(TOO_MUCH_MEMORY)


def _peak_memory() -> int:
    """The most memory that this process has held [bytes] where the system has no limit of its own; else 0."""
    if sys.platform in ("linux", "win32"):
        return 0
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak if sys.platform == "darwin" else peak * 1024  # getrusage(2) of macOS, and of the BSDs
