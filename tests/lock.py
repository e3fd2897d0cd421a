"""Write tests/locked.txt anew: the newest versions of everything that growcells and its tests need.

The versions that `growcells install libreoffice` fetches are these, with the hashes of their wheels.

python3 tests/lock.py
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
OF_EVERY_SYSTEM = ["--universal", "--python-version", "3.11", "--generate-hashes", "--no-header", "--no-annotate", "-q"]
HEAD = "# Versions and hashes of what is fetched where nothing fits; by tests/lock.py."
FETCHED = PROJECT / "addin" / "growcells_addin" / "libreoffice" / "locked"
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
        subprocess.run([*pip, "install", "--quiet", "uv"], check=True)
        for file in sorted(FETCHED.glob("*.txt")):
            names = "pint\nmolmass\n" if file.stem == "always" else f"{file.stem}\n"
            compile_ = [python_of(Path(folder)), "-m", "uv", "pip", "compile", "-", "--constraint", LOCKED]
            done = subprocess.run(
                [*compile_, *OF_EVERY_SYSTEM], input=names, capture_output=True, text=True, check=True
            )
            file.write_text(f"{HEAD}\n{done.stdout}")


if __name__ == "__main__":
    main()
