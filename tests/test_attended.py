"""A program that ends with the one that asked for it, however that ends: with a shell in the place of LibreOffice."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable

import pytest

from growcells_addin.libreoffice.attended import attended

pytestmark = pytest.mark.skipif(
    sys.platform != "linux", reason="NOT TESTED: processes are looked up as Linux lists them"
)
STARTING = ["sh", "-c", "sleep 60 & sleep 60"]
"""A program that starts another one, and waits."""
PROCESSES = 5
"""The attendant, what watches with it, the shell and both sleeps."""

Process = subprocess.Popen[bytes]


def running(command: list[str]) -> Process:
    """A program in a session of its own."""
    return subprocess.Popen(attended(command), stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, start_new_session=True)


def close_pipe(process: Process) -> None:
    assert process.stdin is not None
    process.stdin.close()


def kill_both(process: Process) -> None:
    """As where who asked is killed together with the attendant."""
    process.kill()
    close_pipe(process)


@pytest.mark.parametrize("end", [close_pipe, Process.kill, kill_both])
def test_nothing_is_left(end: Callable[[Process], None]) -> None:
    from copied_commands import left_after, living

    with running(STARTING) as process:
        latest = time.monotonic() + 30
        while len(living(process.pid)) < PROCESSES:
            assert time.monotonic() < latest
            time.sleep(0.01)
        end(process)
        assert left_after(process.pid, 5) == []


def test_it_ends_as_the_program_does() -> None:
    from copied_commands import left_after

    with running(["sh", "-c", "exit 7"]) as process:
        assert process.wait() == 7
        assert left_after(process.pid, 5) == []
