"""Measure how fast growcells is, each figure against something else on the same machine.

    python3 tests/benchmarks/run.py [--quick] [--output FILE.csv] [--write] [name …]

Needs Python 3.11 or newer and nothing else; uses the environment of tests/run.py. A full run takes some ten minutes;
--quick takes less than one and its figures mean nothing but that every benchmark still runs.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
PROJECT = TESTS.parent
sys.path.insert(0, str(PROJECT / "workbooks"))

from try_it import make_environment  # noqa: E402  # the folder must be on the path first


def main() -> int:
    """Run the benchmarks in the environment of the tests; the exit code is 1 where a target is missed."""
    python = make_environment(PROJECT / ".test-venv", ["--editable", ".[test]"])
    environment = {**os.environ, "PYTHONPATH": str(TESTS)}
    return subprocess.run([python, "-m", "benchmarks", *sys.argv[1:]], env=environment).returncode


if __name__ == "__main__":
    sys.exit(main())
