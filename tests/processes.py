"""Python, and the command ``growcells``, run from this checkout in processes of their own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
ENVIRONMENT = {
    **os.environ,
    "PYTHONPATH": os.pathsep.join(str(PROJECT / name) for name in ("functions", "addin", "workbooks")),
    "PYTHONIOENCODING": "utf-8",
}
COMMAND = [sys.executable, "-m", "growcells_workbooks"]


def growcells(*arguments: str | Path, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command, in a folder."""
    command = [*COMMAND, *map(str, arguments)]
    return subprocess.run(command, cwd=folder, env=ENVIRONMENT, capture_output=True, encoding="utf-8", timeout=300)


def run_python(program: str, **options: object) -> subprocess.CompletedProcess[str]:
    """Run a program; the options are those of ``subprocess.run``."""
    return subprocess.run(
        [sys.executable, "-c", program],
        env=ENVIRONMENT,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        **options,  # type: ignore[call-overload, no-any-return]
    )
