"""Whether LibreOffice can start its Python in this environment, tried in a process of its own; if not, why.

An embedded Python looks for its library beside the first ``python3`` of the path. The system's Python does just the
same when it is called by that name alone, so that it meets what LibreOffice would meet. The extension holds this file;
it needs the standard library alone.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple
from urllib.parse import unquote, urlsplit

NAME = "python3"
"""The name that an embedded Python takes for its own (Python's documentation of PyConfig.program_name)."""

NEEDED = "import sys; sys.path[:] = filter(None, sys.path); import uno, unohelper"
"""What LibreOffice's loader of Python imports first (its file pythonloader.py), and never from where it was started."""

SYSTEM_FOLDER = "/usr/bin"
"""Where the Python is that LibreOffice was built for, where it does not bring its own."""

LOADER_PATH = "PYUNO_LOADER_PYTHONPATH"
"""A variable with URLs that LibreOffice puts before PYTHONPATH, in place of its own folder of programs."""

FITS = "fits"
SECONDS = 20
"""How long it may take to start, and after which nothing else is tried; ours."""


class Obstacle(NamedTuple):
    """What keeps LibreOffice's Python from starting."""

    cause: str
    """As in a sentence after ``since``."""
    command: str
    """What starts LibreOffice without it, as was tried, or nothing."""

    @property
    def remedy(self) -> str:
        """How to start LibreOffice."""
        return "start LibreOffice from the menu of applications" + (f", or so: {self.command}" if self.command else "")


def failure(python: str, programs: str, environment: dict[str, str]) -> str:
    """What the Python inside LibreOffice says that cannot start there, or nothing where it starts.

    ``programs`` is the URL of LibreOffice's folder of programs.
    """
    paths = [unquote(urlsplit(url).path) for url in environment.get(LOADER_PATH, programs).split()]
    paths += [environment["PYTHONPATH"]] if environment.get("PYTHONPATH") else []
    try:
        subprocess.run(
            [NAME, "-B", "-c", NEEDED],
            executable=python,
            env=environment | {"PYTHONPATH": os.pathsep.join(paths)},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=SECONDS,
            check=True,
            text=True,
            errors="replace",
        )
    except subprocess.CalledProcessError as problem:
        return (str(problem.stderr).strip() or f"exit {problem.returncode}").splitlines()[-1]
    except (OSError, subprocess.SubprocessError) as problem:
        return str(problem)
    return ""


def obstacle(python: str, programs: str, environment: dict[str, str]) -> Obstacle | None:
    """What keeps it from starting in an environment: whatever it starts without."""
    end = time.monotonic() + SECONDS
    said = failure(python, programs, environment)
    if not said:
        return None
    for without, system_first in _changes(environment):
        changed = {name: value for name, value in environment.items() if name not in without}
        if system_first:
            changed["PATH"] = os.pathsep.join([SYSTEM_FOLDER, environment.get("PATH", os.defpath)])
        if time.monotonic() < end and not failure(python, programs, changed):
            first = Path(shutil.which(NAME, path=environment.get("PATH")) or NAME).absolute()
            causes = [f"{name} is set" for name in without] + [f"{first} comes first"] * system_first
            unset = "".join(["env ", *(f"-u {name} " for name in without)]) if without else ""
            path = f"PATH={SYSTEM_FOLDER}:$PATH " if system_first else ""
            return Obstacle(" and ".join(causes), f"{unset}{path}soffice")
    return Obstacle(f"that says: {said}", "")


def _changes(environment: dict[str, str]) -> Iterator[tuple[list[str], bool]]:
    """What may help, the least first: variables of Python not set, and whether the system's Python comes first."""
    variables = [name for name in environment if name.startswith("PYTHON")]
    yield [], True
    for system_first in (False, True):
        yield from (([name], system_first) for name in variables)
    yield variables, False
    yield variables, True


def sentence(found: Obstacle) -> str:
    """What the bar above a workbook says."""
    return (
        f"LibreOffice cannot start its own Python, since {found.cause}, so that GROW_ formulas keep their stored "
        f"values or show an error. Close it and {found.remedy}"
    )


if __name__ == "__main__":
    found = obstacle(sys.executable, sys.argv[1], dict(os.environ))
    Path(sys.argv[2]).write_text(sentence(found) if found else FITS, encoding="utf-8")
