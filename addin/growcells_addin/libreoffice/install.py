"""Put the extension into LibreOffice, and take it out again."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

from growcells import functions
from growcells.version import VERSION

from ..problems import BridgeProblem
from .component import PACKAGES
from .extension import EXTENSION_FILE, build_extension
from .packages import gather
from .program import (
    Office,
    clean_environment,
    find_office,
    find_python,
    own_profile,
    profile_folder,
    profile_options,
    version_text,
)
from .texts import IDENTIFIER

PATIENCE = 600
"""Seconds that LibreOffice may take to unpack an extension."""


def install_libreoffice(report: Callable[[str], None], profile: Path | None = None) -> tuple[str, ...]:
    """Build the extension and put it into LibreOffice, in place of an older one; says each step to ``report``.

    ``profile`` is a folder to keep it in instead of LibreOffice's own places; the environment variable
    GROWCELLS_LIBREOFFICE_PROFILE does the same. An administrator (root) installs for all users. Gives the packages that
    could not be had; the functions that need them show an error. Raises BridgeProblem.
    """
    profile = profile or own_profile()
    office = find_office()
    python = find_python(office)
    refuse_while_running(profile)
    report(
        f"found LibreOffice {version_text(office.version)} in {office.program}, "
        f"with Python {version_text(python.version)}"
    )
    every = functions()
    needs = sorted({need for function in every.values() for need in function.needs})
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        packages = Path(place, PACKAGES)
        packages.mkdir()
        missing = gather(packages, python, needs, report)
        extension = Path(place, EXTENSION_FILE)
        build_extension(extension, packages)
        report(f"built the extension with {len(every)} functions, {extension.stat().st_size / 1e6:.0f} MB")
        _unopkg(office, profile, ["add", "--force", "--suppress-license", str(extension)])
    tidy(office, profile)
    report(f"installed growcells {VERSION} {'for all users' if _shared() else 'for you'}; restart LibreOffice")
    for need in missing:
        names = ", ".join(function.name for function in every.values() if need in function.needs)
        report(f"{need} could not be had, so that these show an error: {names}; connect to the internet, install again")
    return missing


def uninstall_libreoffice(report: Callable[[str], None], profile: Path | None = None) -> bool:
    """Take the extension out of LibreOffice, with all that it brought; whether it was there.

    Raises BridgeProblem.
    """
    profile = profile or own_profile()
    office = find_office()
    if not is_installed(office, profile):
        report(f"growcells was not installed in LibreOffice {version_text(office.version)}")
        return False
    refuse_while_running(profile)
    _unopkg(office, profile, ["remove", IDENTIFIER])
    tidy(office, profile)
    report(f"removed growcells from LibreOffice {version_text(office.version)}")
    return True


def is_installed(office: Office, profile: Path | None) -> bool:
    """Whether a LibreOffice holds the extension."""
    return f"Identifier: {IDENTIFIER}\n" in _unopkg(office, profile, ["list"]).replace("\r\n", "\n")


def refuse_while_running(profile: Path | None) -> None:
    """Raise BridgeProblem where LibreOffice runs: an extension put into a running one can hang both."""
    lock = profile_folder(profile) / ".lock"
    if lock.exists():
        raise BridgeProblem(
            f"LibreOffice is running ({lock} is there): close it and try again; if it is not open, it ended "
            "abnormally, and opening and closing it once helps"
        )


def tidy(office: Office, profile: Path | None) -> None:
    """Have nothing left of extensions that were removed or replaced, and of the unpacking of new ones."""
    _unopkg(office, profile, ["list"])  # LibreOffice deletes what was removed when it next looks at its extensions
    for folder in (profile_folder(profile) / "user" / "extensions" / "tmp" / "extensions").glob("lu*"):
        if (folder / EXTENSION_FILE).is_dir():
            shutil.rmtree(folder, ignore_errors=True)


def _shared() -> bool:
    """Whether extensions are installed for all users, which is the only way that LibreOffice has for root."""
    return os.name != "nt" and os.geteuid() == 0


def _unopkg(office: Office, profile: Path | None, arguments: Sequence[str]) -> str:
    """Run LibreOffice's extension program; gives what it printed.

    Raises BridgeProblem where it fails.
    """
    shared = ["--shared"] if _shared() else []
    command = [str(office.unopkg), arguments[0], *shared, *arguments[1:], *profile_options(profile)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE, env=clean_environment())
    except (OSError, subprocess.SubprocessError) as problem:
        raise BridgeProblem(f"{office.unopkg} did not run: {problem}") from problem
    if done.returncode:
        said = " ".join((done.stdout + done.stderr).split())
        raise BridgeProblem(f"LibreOffice's {office.unopkg.name} did not {arguments[0]} the extension: {said}")
    return done.stdout
