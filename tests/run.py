"""Run all tests: makes its own environment in .test-venv and, as root on Debian, installs LibreOffice where it lacks.

    python3 tests/run.py                          every test, on all processors
    python3 tests/run.py --quick                  the tests that need neither LibreOffice nor a browser nor patience
    python3 tests/run.py --require-live           every test; fails where LibreOffice lacks
    python3 tests/run.py [arguments for pytest]   one process, such as: tests/test_dose.py -s
    python3 tests/run.py --benchmarks [name ...]  the benchmarks; fails where a target is missed

Needs Python 3.11 or newer and nothing else. Without LibreOffice 25.2 or newer the live tests are skipped, with the
command that would bring it; --require-live turns that into a failure.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(PROJECT / "workbooks"))

from try_it import OLDEST_PYTHON, check_python, make_environment  # noqa: E402  # the folder must be on the path first

OLDEST_LIBREOFFICE = (25, 2)
DEBIAN_PACKAGES = [
    "libreoffice-calc",
    "python3-uno",
    "python3-venv",
    "poppler-utils",
    "xvfb",
    "xdotool",
    "imagemagick",
    "chromium",
]
BENCHMARKS = PROJECT / "tests" / "benchmarks" / "run.py"
QUICK = "not office and not browser and not slow"
"""The markers of tests/conftest.py and of pyproject.toml."""
MOST_PROCESSES = 4
"""Each takes half a gigabyte of memory, and as much again for its LibreOffice."""
BACKPORTS = Path("/etc/apt/sources.list.d/growcells-backports.sources")


def libreoffice_version() -> tuple[int, int] | None:
    """The version of the LibreOffice on the path, or None."""
    program = shutil.which("soffice")
    if program is None:
        return None
    told = subprocess.run([program, "--version"], capture_output=True, text=True, timeout=120).stdout
    found = re.search(r"(\d+)\.(\d+)", told)
    return (int(found[1]), int(found[2])) if found else None


def debian_release() -> dict[str, str]:
    """What /etc/os-release says, where this is Debian."""
    file = Path("/etc/os-release")
    if not file.exists():
        return {}
    fields = dict(line.split("=", 1) for line in file.read_text().splitlines() if "=" in line)
    fields = {name: value.strip('"') for name, value in fields.items()}
    return fields if fields.get("ID") == "debian" else {}


def install_libreoffice(codename: str) -> None:
    """Install LibreOffice from Debian, from the backports suite where the release has an older one."""
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    suite = []
    mirror = debian_mirror()
    if codename == "bookworm" and mirror:
        BACKPORTS.write_text(
            f"Types: deb\nURIs: {mirror}\nSuites: {codename}-backports\nComponents: main\n"
            "Signed-By: /usr/share/keyrings/debian-archive-keyring.gpg\n"
        )
        suite = ["--target-release", f"{codename}-backports"]
    subprocess.run(["apt-get", "-qq", "update"], env=environment, check=False)
    command = ["apt-get", "-qq", "install", "--yes", "--no-install-recommends", *suite, *DEBIAN_PACKAGES]
    print("Installing LibreOffice:", " ".join(command), flush=True)
    if subprocess.run(command, env=environment, stdout=subprocess.DEVNULL).returncode:
        print("LibreOffice could not be installed.", flush=True)


def debian_mirror() -> str | None:
    """The mirror that this machine's own package sources name, if any."""
    sources = [Path("/etc/apt/sources.list"), *Path("/etc/apt/sources.list.d").glob("*")]
    for source in sources:
        if source.is_file():
            found = re.search(r"https?://\S+/debian/?(?=\s|$)", source.read_text())
            if found:
                return found[0]
    return None


def bring_libreoffice() -> bool:
    """Whether LibreOffice 25.2 or newer is here, installed by this call where that is possible."""
    release = debian_release()
    lacking = (libreoffice_version() or (0, 0)) < OLDEST_LIBREOFFICE
    if (lacking or not shutil.which("chromium")) and release and os.name == "posix" and os.geteuid() == 0:
        install_libreoffice(release.get("VERSION_CODENAME", ""))
        lacking = (libreoffice_version() or (0, 0)) < OLDEST_LIBREOFFICE
    if lacking:
        print(
            "\n*** LibreOffice 25.2 or newer is not on the path: the live tests are SKIPPED. ***\n"
            "    It comes with: sudo python3 tests/run.py (Debian), or from the makers of LibreOffice.\n",
            flush=True,
        )
    return not lacking


def on_processors(more: int) -> list[str]:
    """Arguments for pytest: so many processes more than there are processors.

    The tests of a module share its fixtures; conftest.py says which modules come first.
    """
    processes = min((os.cpu_count() or 1) + more, MOST_PROCESSES)
    return ["--numprocesses", str(processes), "--dist", "loadfile", "--no-loadscope-reorder"]


def main() -> int:
    """Run the tests asked for; the exit code is pytest's, or 1 where live tests are required and LibreOffice lacks."""
    parser = argparse.ArgumentParser(usage=__doc__, add_help=False, allow_abbrev=False)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--require-live", action="store_true")
    parser.add_argument("--benchmarks", action="store_true")
    asked, others = parser.parse_known_args()
    if sys.version_info < OLDEST_PYTHON:
        check_python()  # leaves before LibreOffice is installed for nothing
    if asked.benchmarks:
        size = ["--quick"] if asked.quick else []
        return subprocess.run([sys.executable, BENCHMARKS, *size, *others]).returncode
    if not asked.quick and not bring_libreoffice() and asked.require_live:
        return 1
    python = make_environment(PROJECT / ".test-venv", ["--editable", ".[test]"])
    environment = {**os.environ, "GROWCELLS_REQUIRE_LIVE": "1"} if asked.require_live else {**os.environ}
    # Each process of the tests would translate every module anew, pytest above all.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    # Tests that wait for LibreOffice, for pip or for a clock leave their processor to others.
    selected = [] if others else on_processors(more=1)
    if asked.quick:
        selected = [*on_processors(more=0), "-m", QUICK]
    command = [python, "-m", "pytest", *selected, *others]
    return subprocess.run(command, cwd=PROJECT, env=environment).returncode


if __name__ == "__main__":
    sys.exit(main())
