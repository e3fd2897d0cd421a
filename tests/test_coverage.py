"""Every line and branch of the calculations is reached by their own tests."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.slow
def test_every_branch_is_reached() -> None:
    command = [sys.executable, str(Path(__file__).with_name("measure_coverage.py"))]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "100%" in done.stdout
