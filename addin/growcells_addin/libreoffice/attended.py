"""Runs LibreOffice so that it ends with the program that asked for it, however that ends, and leaves nothing behind.

LibreOffice starts programs in turn and outlives who started it, also where that was killed. This file, run as a script
with the standard library alone, stands in between: it holds one end of a pipe, whose other end nobody has but the one
that asked. When that end is closed, or its process has ended, this ends all of its group: itself and what it started.
Temporary files go into a folder that is removed at the end.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from pathlib import Path

GRACE = 1
"""Seconds in which a program that was asked to end may clear away what it laid down; ours."""

PIPES = Path("/tmp")
"""Where LibreOffice has the pipes that it listens on (PIPEDEFAULTPATH in its sal/osl/unx/pipe.cxx)."""


def attended(command: Sequence[str], python: str = sys.executable) -> list[str]:
    """The command that runs another one and ends it; its process needs a session of its own and a pipe as its input."""
    return [python, "-I", "-S", __file__, *command]


def _end_with_the_pipe(program: subprocess.Popen[bytes], place: str, forced: threading.Event) -> None:
    os.read(0, 1)  # nothing is ever sent
    forced.set()
    if sys.platform == "win32":  # NOT TESTED on Windows
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(program.pid)], capture_output=True)
        os._exit(1)
    os.killpg(0, signal.SIGTERM)
    time.sleep(GRACE)
    _remove_pipes()
    shutil.rmtree(place, ignore_errors=True)
    os.killpg(0, signal.SIGKILL)


def _remove_pipes() -> None:
    for name in re.findall(r"--accept=pipe,name=([\w-]+)", " ".join(sys.argv)):
        with contextlib.suppress(OSError):
            (PIPES / f"OSL_PIPE_{os.getuid()}_{name}").unlink()


def main() -> None:
    """Run the command of the arguments, and end as it ends."""
    place = tempfile.mkdtemp(prefix="growcells-")
    environment = os.environ | dict.fromkeys(("TMPDIR", "TMP", "TEMP"), place)
    program = subprocess.Popen(sys.argv[1:], stdin=subprocess.DEVNULL, env=environment)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # which goes to all of the group; the program does not inherit this
    forced = threading.Event()
    attending = threading.Thread(target=_end_with_the_pipe, args=(program, place, forced), daemon=True)
    attending.start()
    code = program.wait()
    if forced.is_set():
        attending.join()  # which ends this process too, after what the program started
    shutil.rmtree(place, ignore_errors=True)
    os._exit(min(abs(code), 255))  # the thread still reads


if __name__ == "__main__":
    main()
