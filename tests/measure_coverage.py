"""Coverage of the calculations: 100 % of lines and branches of functions/growcells, by their quick tests alone.

    python tests/measure_coverage.py

prints what is not reached and ends with 1 where anything is not.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from calculations import FILES, SELECTION

PROJECT = Path(__file__).resolve().parent.parent


def main() -> int:
    """Run the tests under coverage, print the report, and give 0 where every branch is reached."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "COVERAGE_FILE": str(Path(folder) / "data")}

        def coverage(*arguments: str) -> int:
            command = [sys.executable, "-m", "coverage", *arguments]
            return subprocess.run(command, cwd=PROJECT, env=environment).returncode

        tests = [f"tests/{name}" for name in FILES]
        failed = coverage(
            "run", "--branch", "--source=functions/growcells", "-m", "pytest", "-q", "-p", "no:cov", *SELECTION, *tests
        )
        return failed or coverage("report", "--show-missing", "--skip-covered", "--fail-under=100")


if __name__ == "__main__":
    sys.exit(main())
