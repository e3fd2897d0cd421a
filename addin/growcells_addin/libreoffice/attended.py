"""A program that ends when the process ends that asked for it.

LibreOffice starts programs in turn and outlives who started it, also where that was killed. This file, run as a script
with the standard library alone, stands in between: it holds one end of a pipe, whose other end nobody has but the one
that asked. When that end is closed, or its process has ended, all of this one's group end: it and what it started. A
second process of the group sees to that, so that it holds too where this one is killed together with who asked.
Temporary files go into a folder that is removed at the end.
"""

from __future__ import annotations

import contextlib
import os
import re
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path

GRACE = 0.5
"""Seconds in which a program that was asked to end may clear away what it laid down; ours."""

PIPES = Path("/tmp")
"""Where LibreOffice has the pipes that it listens on (PIPEDEFAULTPATH in its sal/osl/unx/pipe.cxx)."""


def attended(command: Sequence[str], python: str = sys.executable) -> list[str]:
    """The command that runs another one and ends it; its process needs a session of its own and a pipe as its input."""
    return [python, "-I", "-S", __file__, *command]


def _watch(place: str) -> int:
    """Have a process end the group once the pipe, or this process, has ended; what is written to here ends it alone."""
    theirs, ours = os.pipe()  # the program does not inherit it
    if os.fork():
        os.close(theirs)
        return ours
    os.close(ours)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # which goes to all of the group
    ended, _, _ = select.select([0, theirs], [], [])  # nothing is ever sent to the first
    if theirs in ended and os.read(theirs, 1):
        os.read(theirs, 1)  # until the other one has ended with the code of the program
    else:
        os.killpg(0, signal.SIGTERM)
        time.sleep(GRACE)
        _remove_pipes()
        shutil.rmtree(place, ignore_errors=True)
    os.killpg(0, signal.SIGKILL)
    os._exit(1)


def _remove_pipes() -> None:
    for name in re.findall(r"--accept=pipe,name=([\w-]+)", " ".join(sys.argv)):
        with contextlib.suppress(OSError):
            (PIPES / f"OSL_PIPE_{os.getuid()}_{name}").unlink()


def _end_with_the_pipe(program: subprocess.Popen[bytes]) -> None:
    """The same on Windows, where it is NOT TESTED."""
    os.read(0, 1)
    subprocess.run(["taskkill", "/F", "/T", "/PID", str(program.pid)], capture_output=True)


def main() -> None:
    """Run the command of the arguments, and end as it ends."""
    place = tempfile.mkdtemp(prefix="growcells-")
    watcher = _watch(place) if sys.platform != "win32" else None
    environment = os.environ | dict.fromkeys(("TMPDIR", "TMP", "TEMP"), place)
    program = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL, env=environment)
    if watcher is None:
        threading.Thread(target=_end_with_the_pipe, args=(program,), daemon=True).start()
    else:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)  # the program does not inherit this
    code = program.wait()
    if watcher is not None and select.select([0], [], [], 0)[0]:
        signal.pause()  # the watcher ends this process too, after what the program started
    shutil.rmtree(place, ignore_errors=True)
    if watcher is not None:
        os.write(watcher, b"d")
    os._exit(min(abs(code), 255))  # a thread still reads


if __name__ == "__main__":
    main()
