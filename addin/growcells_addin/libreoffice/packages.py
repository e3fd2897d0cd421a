"""The packages that the functions need, gathered for the Python inside LibreOffice."""

from __future__ import annotations

import base64
import hashlib
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from importlib.metadata import Distribution, PackageNotFoundError, PackagePath, distribution
from pathlib import Path, PurePath

import growcells

from ..bridge_files import BridgeProblem
from .program import QUICK, OfficePython, clean_environment, version_text

ALWAYS = ("pint", "molmass")
"""What growcells itself imports (see the dependencies in pyproject.toml)."""

LOCKED = Path(__file__).with_name("locked")
"""The versions that are fetched, with the hashes of their wheels: a file for ALWAYS, and one for each other package."""

UNUSED_FOLDERS, UNUSED_FILES = ("tests", "testsuite"), ("*.pyi", "*.h", "*.pxd", "*.a")
"""What of a package only its developers need."""

PATIENCE = 900
"""Seconds that a download may take."""


def gather(folder: Path, python: OfficePython, needs: Iterable[str], report: Callable[[str], None]) -> tuple[str, ...]:
    """Put growcells and its packages into a folder; gives those of ``needs`` that could not be had.

    A package that is installed here is copied if its files have the hashes of its RECORD: LibreOffice then runs the
    version that runs here, and no network is needed. What is not here, or not fit for LibreOffice's Python, is fetched
    by pip, of a version and with hashes that are laid down here; pip looks into its cache and where PIP_FIND_LINKS
    points before it asks the network.

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
        changed = [package.name for package in installed if not unchanged(package)]
        if not changed:
            for package in installed:
                copy(package, folder)
            if runs(folder, python, names):
                return True
        else:
            report(f"{' and '.join(changed)} is not as it was installed here, by the hashes in its RECORD: not used")
    report(f"fetching {' and '.join(names)} for LibreOffice's Python {version_text(python.version)}")
    locked = LOCKED / ("always.txt" if names == ALWAYS else f"{names[0]}.txt")
    if not fetch(folder, python, locked):
        return False
    trim(folder)
    return runs(folder, python, names)


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


def unchanged(package: Distribution) -> bool:
    """Whether the files of a package are those that were installed, by the hashes in its RECORD."""
    for file in installed_files(package):
        if file.hash is None:
            if file.name != "RECORD":  # which alone cannot hold its own
                return False
            continue
        try:
            with Path(str(file.locate())).open("rb") as content:
                digest = hashlib.file_digest(content, file.hash.mode).digest()
        except (OSError, ValueError):
            return False
        if base64.urlsafe_b64encode(digest).decode().rstrip("=") != file.hash.value.rstrip("="):
            return False
    return True


def installed_files(package: Distribution) -> Iterator[PackagePath]:
    """The files of a package; programs that it put elsewhere, compiled Python and what is unused stay out."""
    for file in package.files or ():
        if ".." not in file.parts and file.suffix != ".pyc" and not is_unused(file):
            yield file


def is_unused(file: PurePath) -> bool:
    """Whether a file of a package is there for its developers only."""
    return not set(UNUSED_FOLDERS).isdisjoint(file.parts[:-1]) or any(map(file.match, UNUSED_FILES))


def copy(package: Distribution, folder: Path) -> None:
    """Copy the files of a package that are not there yet."""
    for file in installed_files(package):
        target = folder.joinpath(*file.parts)
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(str(file.locate()), target)


def trim(folder: Path) -> None:
    """Take away what of packages is unused."""
    for file in folder.rglob("*"):
        if file.is_file() and is_unused(file.relative_to(folder)):
            file.unlink()


def fetch(folder: Path, python: OfficePython, locked: Path) -> bool:
    """Let pip put packages into a folder for LibreOffice's Python, and only those of known hashes; whether it did."""
    pip = [sys.executable, "-m", "pip", "--python", str(python.executable), "install", "--quiet", "--upgrade"]
    wanted = ["--require-hashes", "--requirement", str(locked)]
    return _succeeds([*pip, "--only-binary", ":all:", "--target", str(folder), *wanted], PATIENCE)


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
