"""Runs a program that ends with the one that asked for it, however that ends.

LibreOffice starts programs in turn and outlives who started it, also where that was killed. This file, run as a script
with the standard library alone, stands in between: it holds one end of a pipe, whose other end nobody has but the one
that asked. When that end is closed, or its process has ended, all of this one's group end: it and what it started. A
second process of the group sees to that, so that it holds too where this one is killed together with who asked.
"""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence


def attended(command: Sequence[str]) -> list[str]:
    """The command that runs another one and ends it; its process needs a session of its own and a pipe as its input."""
    return [sys.executable, "-I", "-S", __file__, *command]


def _watch() -> None:
    """Have a process end the group once the pipe, or this process, has ended: nothing is ever sent to it."""
    theirs, ours = os.pipe()  # the program does not inherit it
    if os.fork() == 0:
        os.close(ours)
        select.select([0, theirs], [], [])
        os.killpg(0, signal.SIGKILL)


def _end_with_the_pipe(program: subprocess.Popen[bytes]) -> None:
    """The same on Windows, where it is NOT TESTED."""
    os.read(0, 1)
    subprocess.run(["taskkill", "/F", "/T", "/PID", str(program.pid)], capture_output=True)


def main() -> None:
    """Run the command of the arguments, and end as it ends."""
    if sys.platform != "win32":
        _watch()
    program = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL)
    if sys.platform == "win32":
        threading.Thread(target=_end_with_the_pipe, args=(program,), daemon=True).start()
    os._exit(min(abs(program.wait()), 255))  # the thread still reads


if __name__ == "__main__":
    main()
