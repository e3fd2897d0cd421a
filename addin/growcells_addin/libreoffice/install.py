"""Put the extension into LibreOffice, and take it out again."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from growcells import functions
from growcells.version import VERSION

from ..bridge_files import BridgeProblem
from .component import PACKAGES
from .contents import is_whole, made_from
from .extension import EXTENSION_FILE, build_extension
from .packages import gather
from .program import (
    Office,
    breaks_libreoffice,
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
    made = made_from(python, needs)
    missing: tuple[str, ...] = ()
    if any(is_whole(folder, made) for folder in unpacked(office, profile)) and is_installed(office, profile):
        report(f"growcells {VERSION} is installed {_for_whom(profile)} already, and whole")
    else:
        with tempfile.TemporaryDirectory(prefix="growcells-") as place:
            packages = Path(place, PACKAGES)
            packages.mkdir()
            missing = gather(packages, python, needs, report)
            extension = Path(place, EXTENSION_FILE)
            build_extension(extension, packages, "" if missing else made)
            report(f"built the extension with {len(every)} functions, {extension.stat().st_size / 1e6:.0f} MB")
            report_sizes(extension, report)
            _unopkg(office, profile, ["add", "--force", "--suppress-license", str(extension)])
        tidy(office, profile)
        report(f"installed growcells {VERSION} {_for_whom(profile)}; restart LibreOffice")
    if obstacle := breaks_libreoffice(office, python):
        report(
            f"started in this shell LibreOffice cannot use its own Python, since {obstacle.cause}: growcells would "
            f"rest. To use it, {obstacle.remedy}"
        )
    for need in missing:
        names = ", ".join(function.name for function in every.values() if need in function.needs)
        report(f"{need} could not be had, so that these show an error: {names}; connect to the internet, install again")
    return missing


def report_sizes(extension: Path, report: Callable[[str], None]) -> None:
    """Say what of the extension is there for some functions only, and for which."""
    with zipfile.ZipFile(extension) as archive:
        for need in sorted({need for function in functions().values() for need in function.needs}):
            heads = (f"{PACKAGES}/{need}/", f"{PACKAGES}/{need}.libs/")
            size = sum(file.compress_size for file in archive.infolist() if file.filename.startswith(heads))
            names = ", ".join(name for name, function in functions().items() if need in function.needs)
            if size:
                report(f"{size / 1e6:.0f} MB of it is {need}, for {names}")


def unpacked(office: Office, profile: Path | None) -> Iterator[Path]:
    """Where LibreOffice has unpacked the extension."""
    if not _shared():
        repository = profile_folder(profile) / "user" / "uno_packages"
    else:
        repository = profile / "shared" if profile else office.program.parent / "share" / "uno_packages"
    yield from (repository / "cache" / "uno_packages").glob(f"*/{EXTENSION_FILE}")


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


def _for_whom(profile: Path | None) -> str:
    """Whose LibreOffice holds the extension, and how that is started where it does not go without saying."""
    if profile:
        return f"in {profile}, for a LibreOffice that is started with {' '.join(profile_options(profile))}"
    return "for all users" if _shared() else "for you"


def _unopkg(office: Office, profile: Path | None, arguments: Sequence[str]) -> str:
    """Run LibreOffice's extension program; gives what it printed.

    Raises BridgeProblem where it fails.
    """
    shared = ["--shared"] if _shared() else []
    command = [str(office.unopkg), arguments[0], *shared, *arguments[1:], *profile_options(profile)]
    try:
        # It leaves empty folders behind where temporary files are.
        with tempfile.TemporaryDirectory(prefix="growcells-") as place:
            environment = clean_environment() | dict.fromkeys(("TMPDIR", "TMP", "TEMP"), place)
            done = subprocess.run(command, capture_output=True, text=True, timeout=PATIENCE, env=environment)
    except (OSError, subprocess.SubprocessError) as problem:
        raise BridgeProblem(f"{office.unopkg} did not run: {problem}") from problem
    if done.returncode:
        said = " ".join((done.stdout + done.stderr).split())
        raise BridgeProblem(f"LibreOffice's {office.unopkg.name} did not {arguments[0]} the extension: {said}")
    return done.stdout
