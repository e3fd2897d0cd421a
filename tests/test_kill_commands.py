"""A small run of commands killed at random moments, and proof that faults are found."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from processes import ENVIRONMENT, PROJECT

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="NOT TESTED: processes are looked up as Linux lists them"),
]
RUNS = 4


def test_killed_at_random_moments() -> None:
    """In a process of its own, which is copied for each run and so must have no threads."""
    done = subprocess.run(
        [sys.executable, PROJECT / "tests" / "kill_commands.py", "--runs", str(RUNS), "--seed", "7"],
        env=ENVIRONMENT,
        capture_output=True,
        encoding="utf-8",
    )
    print("\n" + done.stdout)
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{4 * 3 * RUNS} runs, 0 faults" in done.stdout


FAULTS = """
import os, sys, tempfile, time
from pathlib import Path
import copied_commands, kill_commands
def command_line():
    {what}
with tempfile.TemporaryDirectory() as folder:
    trial = kill_commands.Trial("recalc", Path(folder) / "recalc")
    copied_commands.command_line = command_line
    print(trial.run({side!r}, 0.5)[1])
"""


@pytest.mark.parametrize(
    ("what", "side", "fault"),
    [
        ("Path('log.xlsx').write_bytes(b'PK'); time.sleep(9)", "command", "neither the old one nor the new one"),
        ("os.fork(); time.sleep(9)", "command", "a process lives on"),
        ("Path('log.xlsx').write_bytes(trial.new); time.sleep(9)", "both", "the old log is not there any more"),
        ("Path('.log.xlsx.x.part').write_bytes(b'')", "worker", "an unfinished file is left"),
        ("time.sleep(9)", "both", "[]"),
    ],
)
def test_faults_are_found(what: str, side: str, fault: str) -> None:
    environment = {**ENVIRONMENT, "PYTHONPATH": os.pathsep.join((ENVIRONMENT["PYTHONPATH"], str(PROJECT / "tests")))}
    program = FAULTS.format(what=what, side=side)
    done = subprocess.run(
        [sys.executable, "-c", program], env=environment, capture_output=True, encoding="utf-8", timeout=120
    )
    assert fault in done.stdout, done.stdout + done.stderr


def test_sessions_are_told_apart() -> None:
    sys.path.insert(0, str(Path(__file__).parent))
    from copied_commands import living

    process = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"], start_new_session=True)
    try:
        assert living(process.pid) == [process.pid]
    finally:
        process.send_signal(signal.SIGKILL)
        process.wait()
    assert living(process.pid) == []
