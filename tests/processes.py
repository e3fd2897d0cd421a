"""Python, and the command ``growcells``, run from this checkout in processes of their own."""

from __future__ import annotations

import atexit
import functools
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from subprocess import CompletedProcess

PROJECT = Path(__file__).resolve().parent.parent
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join(str(PROJECT / name) for name in ("functions", "addin", "workbooks")),
    "PYTHONIOENCODING": "utf-8",
}
COMMAND = [sys.executable, "-m", "growcells_workbooks"]


LONGEST = 300
"""Seconds by the clock that a command may take."""


@dataclass(frozen=True)
class Done:
    """How a command ended, its seconds by the clock and of the processor, the most memory of its processes [bytes]."""

    code: int
    said: str
    complaint: str
    seconds: float
    processor: float
    memory: int


@functools.cache
def _warm() -> subprocess.Popen[str]:
    """A process that runs commands in copies of itself: it has imported once what each would import anew."""
    script = Path(__file__).with_name("copied_commands.py")
    process = subprocess.Popen(
        [sys.executable, script], env=ENVIRONMENT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8"
    )
    atexit.register(process.communicate)
    return process


def measured(*arguments: str | Path, folder: Path | None = None) -> Done:
    """Run the command in a folder with its time and memory measured; Linux only."""
    process = _warm()
    assert process.stdin and process.stdout
    process.stdin.write(json.dumps([str(folder or Path.cwd()), *map(str, arguments)]) + "\n")
    process.stdin.flush()
    return Done(*json.loads(process.stdout.readline()))


def growcells(*arguments: str | Path, folder: Path | None = None, cold: bool = False) -> CompletedProcess[str]:
    """Run the command in a folder; ``cold`` in a Python that has just started, as a person does."""
    command = [*COMMAND, *map(str, arguments)]
    if cold or sys.platform != "linux":
        return subprocess.run(
            command, cwd=folder, env=ENVIRONMENT, capture_output=True, encoding="utf-8", timeout=LONGEST
        )
    done = measured(*arguments, folder=folder)
    return CompletedProcess(command, done.code, done.said, done.complaint)


def run_python(program: str, **options: object) -> CompletedProcess[str]:
    """Run a program; the options are those of ``subprocess.run``."""
    return subprocess.run(
        [sys.executable, "-c", program],
        env=ENVIRONMENT,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        **options,  # type: ignore[call-overload, no-any-return]
    )
