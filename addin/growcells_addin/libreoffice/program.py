"""LibreOffice as it is installed here: where its programs are, which version it has, which Python runs inside it."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..bridge_files import BridgeProblem
from . import probe

OLDEST_OFFICE = (25, 2)
"""Older ones compute what is typed, but not what an xlsx file brings (tried with 7.4)."""

OLDEST_PYTHON = (3, 11)
"""The oldest Python that growcells runs on."""

PROFILE_VARIABLE = "GROWCELLS_LIBREOFFICE_PROFILE"
"""Environment variable: a folder to keep settings and extensions in instead of LibreOffice's own places."""

PROGRAM_VARIABLE = "GROWCELLS_LIBREOFFICE"
"""Environment variable: the folder with LibreOffice's soffice, where several are installed or it is not found."""

SYSTEM_FOLDERS = (probe.SYSTEM_FOLDER, "/bin")
"""The same folder on most systems of today."""

QUICK = 60
"""Seconds within which a program that only answers a question must have answered."""


@dataclass(frozen=True)
class Office:
    """An installed LibreOffice."""

    program: Path
    """The folder that holds soffice and unopkg."""
    version: tuple[int, int]

    @property
    def soffice(self) -> Path:
        """The program that starts LibreOffice."""
        return self.program / ("soffice.exe" if os.name == "nt" else "soffice")

    @property
    def unopkg(self) -> Path:
        """The program that installs extensions; on Windows the one of the two that writes to the console."""
        return self.program / ("unopkg.com" if os.name == "nt" else "unopkg")


@dataclass(frozen=True)
class OfficePython:
    """The Python inside LibreOffice."""

    executable: Path
    version: tuple[int, int]
    cache_tag: str
    platform: str

    def runs_binaries_of_this_python(self) -> bool:
        """Whether compiled packages of the Python that runs now also run there."""
        this = this_python()
        return (self.cache_tag, self.platform) == (this.cache_tag, this.platform)


def this_python() -> OfficePython:
    """The Python that runs now, described as if it were LibreOffice's."""
    return OfficePython(
        Path(sys.executable),
        (sys.version_info.major, sys.version_info.minor),
        sys.implementation.cache_tag or "",
        sysconfig.get_platform(),
    )


def version_text(version: Sequence[int]) -> str:
    """A version as people write it: 25.2."""
    return ".".join(map(str, version))


def find_office() -> Office:
    """The newest LibreOffice on this machine.

    Raises BridgeProblem where there is none, or none new enough.
    """
    found = {office.program: office for folder in _folders() if (office := read_office(folder))}
    if not found:
        raise BridgeProblem(
            "LibreOffice was not found: install LibreOffice Calc "
            f"{version_text(OLDEST_OFFICE)} or newer, or set {PROGRAM_VARIABLE} to the folder that holds soffice"
        )
    newest = max(found.values(), key=lambda office: office.version)
    if newest.version < OLDEST_OFFICE:
        raise BridgeProblem(
            f"LibreOffice {version_text(newest.version)} in {newest.program} is too old: it does not compute the "
            f"formulas that an xlsx file brings; install LibreOffice {version_text(OLDEST_OFFICE)} or newer"
        )
    return newest


def read_office(folder: Path) -> Office | None:
    """The LibreOffice whose soffice is in this folder, or None."""
    settings = "bootstrap.ini" if os.name == "nt" else "bootstraprc"
    for place in (folder, folder.parent / "Resources"):  # the second on macOS
        try:
            text = (place / settings).read_text(encoding="utf-8", errors="replace")
        except OSError:
            continue
        product = re.search(r"^ProductKey=\D*(\d+)\.(\d+)", text, re.MULTILINE)
        if product:
            return Office(folder, (int(product[1]), int(product[2])))
    return None


def _folders() -> Iterator[Path]:
    """Where LibreOffice's programs may be."""
    named = os.environ.get(PROGRAM_VARIABLE)
    if named:
        yield Path(named)
        return
    for name in ("soffice", "libreoffice"):
        if on_path := shutil.which(name):
            yield Path(on_path).resolve().parent
    if sys.platform == "win32":
        yield from _registered()
        for variable in ("ProgramFiles", "ProgramFiles(x86)"):
            if variable in os.environ:
                yield from Path(os.environ[variable]).glob("LibreOffice*/program")
    elif sys.platform == "darwin":
        for applications in (Path("/Applications"), Path.home() / "Applications"):
            yield from applications.glob("LibreOffice*.app/Contents/MacOS")
    else:
        for parent in ("/usr/lib", "/usr/lib64", "/usr/local/lib", "/opt"):
            yield from Path(parent).glob("libreoffice*/program")


def _registered() -> Iterator[Path]:
    """Where LibreOffice's installer wrote into the Windows registry that it put the programs."""
    if sys.platform != "win32":
        return
    import winreg

    for root in (winreg.HKEY_CURRENT_USER, winreg.HKEY_LOCAL_MACHINE):
        for view in (winreg.KEY_WOW64_64KEY, winreg.KEY_WOW64_32KEY):
            try:
                with winreg.OpenKey(root, r"SOFTWARE\LibreOffice\UNO\InstallPath", 0, winreg.KEY_READ | view) as key:
                    yield Path(winreg.QueryValue(key, None))
            except OSError:
                continue


def find_python(office: Office) -> OfficePython:
    """The Python inside a LibreOffice.

    Raises BridgeProblem where LibreOffice has none, or one too old for growcells.
    """
    for executable in _pythons(office):
        python = _facts(executable)
        if python is None:
            continue
        if python.version < OLDEST_PYTHON:
            raise BridgeProblem(
                f"LibreOffice {version_text(office.version)} in {office.program} runs Python "
                f"{version_text(python.version)}, and growcells needs {version_text(OLDEST_PYTHON)} or newer: "
                "install a newer LibreOffice"
            )
        return python
    raise BridgeProblem(
        f"LibreOffice in {office.program} has no Python: install its Python support, on Debian and Ubuntu the "
        "package python3-uno"
    )


def _pythons(office: Office) -> Iterator[Path]:
    """Where LibreOffice's Python may be: beside its programs, or the system's for which it was built."""
    for place in (
        office.program / "python.exe",
        office.program / "python",
        office.program.parent / "Resources" / "python",
    ):
        if place.is_file():
            yield place
    built_for = re.search(r"python3\.\d+", _text(office.program / "pythonloader.unorc"))
    for name in ([built_for[0]] if built_for else []) + ["python3"]:
        for folder in ("/usr/bin", "/usr/local/bin"):
            if (place := Path(folder, name)).is_file():
                yield place


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def _facts(executable: Path) -> OfficePython | None:
    """What a Python says of itself, or None where it does not run or does not know LibreOffice."""
    question = (
        "import json, sys, sysconfig, uno; print(json.dumps("
        "[sys.version_info[:2], sys.implementation.cache_tag, sysconfig.get_platform()]))"
    )
    try:
        answer = subprocess.run(
            [executable, "-c", question],
            capture_output=True,
            text=True,
            timeout=QUICK,
            env=clean_environment(),
            check=True,
        )
        version, cache_tag, platform = json.loads(answer.stdout.splitlines()[-1])
    except (OSError, subprocess.SubprocessError, ValueError, IndexError):
        return None
    return OfficePython(executable, tuple(version), cache_tag, platform)


def clean_environment() -> dict[str, str]:
    """This environment without what would lead LibreOffice's Python astray."""
    misleading = re.compile("PYTHON.*|VIRTUAL_ENV|__PYVENV_LAUNCHER__")
    environment = {name: value for name, value in os.environ.items() if not misleading.fullmatch(name)}
    if os.name == "posix":
        # An embedded Python looks for its library beside the first python3 of the path, and breaks on another's.
        folders = environment.get("PATH", os.defpath).split(os.pathsep)
        environment["PATH"] = os.pathsep.join(dict.fromkeys([*SYSTEM_FOLDERS, *folders]))
    return environment


def breaks_libreoffice(office: Office, python: OfficePython) -> probe.Obstacle | None:
    """What would keep LibreOffice's own Python from starting if LibreOffice were started in this environment."""
    if os.name != "posix" or office.program.parent in python.executable.parents:  # LibreOffice brought its own
        return None
    return probe.obstacle(str(python.executable), office.program.as_uri(), dict(os.environ))


def own_profile() -> Path | None:
    """The profile folder named in the environment, or None for LibreOffice's own places."""
    named = os.environ.get(PROFILE_VARIABLE)
    return Path(named) if named else None


def profile_folder(profile: Path | None) -> Path:
    """The folder in which LibreOffice keeps a user's settings (UserInstallation in LibreOffice's bootstraprc)."""
    if profile:
        return profile
    if sys.platform == "win32":
        return Path(os.environ["APPDATA"], "LibreOffice", "4")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "LibreOffice" / "4"
    return Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config", "libreoffice", "4")


def profile_options(profile: Path | None) -> list[str]:
    """What makes soffice and unopkg keep everything in a folder, even what is shared by all users."""
    if profile is None:
        return []
    profile = profile.absolute()
    return [
        f"-env:UserInstallation={profile.as_uri()}",
        f"-env:UNO_SHARED_PACKAGES={(profile / 'shared').as_uri()}",
    ]
