"""Write tests/locked.txt anew: the newest versions of everything that growcells and its tests need.

python3 tests/lock.py
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT / "workbooks"))

from try_it import LOCKED, check_python, python_of  # noqa: E402  # the folder must be on the path first


def main() -> None:
    """Install without constraints into a new environment and keep the versions that came."""
    check_python()
    with tempfile.TemporaryDirectory() as folder:
        venv.create(folder, with_pip=True)
        pip = [python_of(Path(folder)), "-m", "pip", "--disable-pip-version-check"]
        subprocess.run([*pip, "install", "--quiet", ".[test]"], cwd=PROJECT, check=True)
        told = subprocess.run([*pip, "freeze", "--exclude", "growcells"], capture_output=True, text=True, check=True)
    LOCKED.write_text(told.stdout)


if __name__ == "__main__":
    main()
