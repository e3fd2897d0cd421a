"""Try growcells: makes its own environment in .venv, installs growcells into it and runs the demo.

    python3 workbooks/try_it.py

Needs Python 3.11 or newer and nothing else. The demo's files go to growcells-demo in the current folder. Can be run
as often as you like.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
LOCKED = PROJECT / "tests" / "locked.txt"
OLDEST_PYTHON = (3, 11)


def check_python() -> None:
    """Leave with a sentence where this Python is too old or cannot make an environment."""
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"growcells needs Python 3.11 or newer, and this is {sys.version.split()[0]}.")
    try:
        import ensurepip  # noqa: F401  # Debian and Ubuntu leave it out of python3
    except ImportError:
        sys.exit("This Python cannot make environments. On Debian or Ubuntu: sudo apt-get install python3-venv")


def python_of(environment: Path) -> Path:
    """The interpreter of an environment."""
    return environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def fingerprint(requirements: list[str]) -> str:
    """What the installed packages depend on: this Python, the project's own list and the locked versions."""
    told = [sys.version, *requirements, (PROJECT / "pyproject.toml").read_text(), LOCKED.read_text()]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()


def make_environment(environment: Path, requirements: list[str]) -> Path:
    """Make an environment with growcells and these requirements, unless it is there already; give its Python."""
    check_python()
    python, done = python_of(environment), environment / "growcells-installed"
    wanted = fingerprint(requirements)
    if python.exists() and done.exists() and done.read_text() == wanted:
        return python
    print(
        f"Making the environment {environment.name} with what growcells needs; this takes a minute or two.", flush=True
    )
    venv.create(environment, with_pip=True, clear=True)
    install = [python, "-m", "pip", "install", "-qq", "--disable-pip-version-check", "--constraint", LOCKED]
    if subprocess.run([*install, *requirements], cwd=PROJECT).returncode:
        sys.exit("The installation failed; pip says why above. Is there a network?")
    done.write_text(wanted)
    return python


def main() -> int:
    """Install growcells and run its demo."""
    python = make_environment(PROJECT / ".venv", ["--editable", "."])
    # -P: run beside this project's folder, where that is called growcells, the folder would be taken for the package.
    demo = subprocess.run([python, "-P", "-m", "growcells_workbooks", "demo", *sys.argv[1:]])
    if not demo.returncode:
        commands = python.parent
        if commands.is_relative_to(Path.cwd()):
            commands = commands.relative_to(Path.cwd())
        activate = commands / "activate"
        print(f"Here growcells is {commands / 'growcells'}, or growcells alone after: ", end="")
        print(activate if os.name == "nt" else f". {activate}")
    return demo.returncode


if __name__ == "__main__":
    sys.exit(main())
