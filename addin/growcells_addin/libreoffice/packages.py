"""The packages that the functions need, gathered for the Python inside LibreOffice."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Sequence
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

import growcells

from ..problems import BridgeProblem
from .program import QUICK, OfficePython, clean_environment, version_text

ALWAYS = ("pint", "molmass")
"""What growcells itself imports (see the dependencies in pyproject.toml)."""

PATIENCE = 900
"""Seconds that a download may take."""


def gather(folder: Path, python: OfficePython, needs: Iterable[str], report: Callable[[str], None]) -> tuple[str, ...]:
    """Put growcells and its packages into a folder; gives those of ``needs`` that could not be had.

    A package that is installed here is copied: LibreOffice then runs the version that runs here, and no network is
    needed. What is not here, or not fit for LibreOffice's Python, is fetched by pip, which looks into its cache and
    where PIP_FIND_LINKS points before it asks the network.

    Raises BridgeProblem where growcells itself would not run.
    """
    shutil.copytree(Path(growcells.__file__).parent, folder / "growcells", ignore=shutil.ignore_patterns("__pycache__"))
    if not provide(folder, python, ALWAYS, report):
        raise BridgeProblem(
            f"{' and '.join(ALWAYS)} could not be provided for LibreOffice's Python {version_text(python.version)}: "
            "connect to the internet and install again, from a Python that has pip"
        )
    return tuple(need for need in needs if not provide(folder, python, (need,), report))


def provide(folder: Path, python: OfficePython, names: Sequence[str], report: Callable[[str], None]) -> bool:
    """Put packages, with those that they need, into a folder; whether LibreOffice's Python then runs them."""
    installed = installed_with_needs(names)
    if installed and all(fits(package, python) for package in installed):
        for package in installed:
            copy(package, folder)
        if runs(folder, python, names):
            return True
    report(f"fetching {' and '.join(names)} for LibreOffice's Python {version_text(python.version)}")
    return fetch(folder, python, names) and runs(folder, python, names)


def installed_with_needs(names: Iterable[str]) -> list[Distribution]:
    """The installed packages of these names and all that they need; empty where one is not installed."""
    found: dict[str, Distribution] = {}
    waiting = list(names)
    while waiting:
        name = re.sub(r"[-_.]+", "-", waiting.pop()).lower()
        if name in found:
            continue
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:
            return []
        waiting += [
            requirement
            for needed in found[name].requires or ()
            if "extra" not in needed.partition(";")[2] and (requirement := re.split(r"[^\w.-]", needed)[0])
        ]
    return list(found.values())


def fits(package: Distribution, python: OfficePython) -> bool:
    """Whether LibreOffice's Python can run the very files of a package that is installed here."""
    if not package.files:
        return False
    pure = "Root-Is-Purelib: true" in (package.read_text("WHEEL") or "")
    return pure or python.runs_binaries_of_this_python()


def copy(package: Distribution, folder: Path) -> None:
    """Copy the files of a package; programs that it put elsewhere and compiled Python stay behind."""
    for file in package.files or ():
        if ".." in file.parts or file.suffix == ".pyc":
            continue
        target = folder.joinpath(*file.parts)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(str(file.locate()), target)


def fetch(folder: Path, python: OfficePython, names: Sequence[str]) -> bool:
    """Let pip put packages into a folder for LibreOffice's Python; whether that went well."""
    pip = [sys.executable, "-m", "pip", "--python", str(python.executable), "install", "--quiet", "--upgrade"]
    return _succeeds([*pip, "--only-binary", ":all:", "--target", str(folder), *names], PATIENCE)


def runs(folder: Path, python: OfficePython, names: Sequence[str]) -> bool:
    """Whether LibreOffice's Python can import these packages and all cell functions from the folder alone."""
    program = (
        f"import sys; sys.path.insert(0, {str(folder)!r})\n"
        f"import {', '.join(names)}\n"
        "from growcells import functions\n"
        "functions()\n"
    )
    # -S: nothing that the system's own package folders hold may stand in for what is missing here.
    return _succeeds([str(python.executable), "-S", "-B", "-c", program], QUICK)


def _succeeds(command: Sequence[str], seconds: int) -> bool:
    try:
        return not subprocess.run(command, capture_output=True, timeout=seconds, env=clean_environment()).returncode
    except (OSError, subprocess.SubprocessError):
        return False
