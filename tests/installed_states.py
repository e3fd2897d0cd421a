"""Run tests where the extension is installed for all users, for the user, or for nobody, and an environment is active.

    tests/installed_states.py all -m office               any arguments of pytest
    tests/installed_states.py user -m office
    tests/installed_states.py none -m office

It runs as root on Linux, in a mount namespace of its own in which LibreOffice's extensions for all users and the home
folder are folders of the run, so that the machine's own stay as they were, however the run ends.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from growcells_addin.libreoffice.extension import write_portable_extension
from growcells_addin.libreoffice.program import clean_environment, find_office
from libreoffice import NOBODY, as_user, installed_extensions

STATES = ("all", "user", "none")
INSIDE = "GROWCELLS_INSIDE_NAMESPACE"
NAMESPACE = ("unshare", "--mount", "--propagation", "private")


def hide_shared_extensions(place: Path) -> None:
    """Put an empty folder over the one in which LibreOffice keeps the extensions for all users, and make sure of it."""
    own = place / "shared"
    own.mkdir()
    # A distribution may have a link there, to a folder elsewhere.
    shared = (find_office().program.parent / "share" / "uno_packages" / "cache").resolve(strict=True)
    subprocess.run(["mount", "--bind", own, shared], check=True)
    if not shared.samefile(own):
        raise SystemExit(f"{shared} is still the machine's own")


def install(state: str, place: Path, home: Path) -> None:
    """Put the extension where a state has it. LibreOffice lets root install for all users only."""
    extension = place / "growcells.oxt"
    write_portable_extension(extension, print)
    profile = home / ".config" / "libreoffice" / "4"
    profile.mkdir(parents=True)
    user = None if state == "all" else NOBODY
    if user is not None:
        for folder in (place, home, *home.rglob("*")):
            shutil.chown(folder, user, user)
    whose = ["--shared"] if state == "all" else []
    subprocess.run(
        [
            find_office().unopkg,
            "add",
            "--suppress-license",
            *whose,
            extension,
            f"-env:UserInstallation={profile.as_uri()}",
        ],
        env=clean_environment() | {"HOME": str(home), "TMPDIR": str(home)},
        cwd=home,
        check=True,
        **as_user(user),
    )
    for file in (place, home, *home.rglob("*")):
        shutil.chown(file, 0, 0)


def inside(state: str, arguments: list[str]) -> int:
    """Install, and run the tests as somebody does who has activated their environment."""
    with tempfile.TemporaryDirectory(prefix="growcells-state-") as folder:
        place, home = Path(folder), Path(folder, "home")
        home.mkdir()
        hide_shared_extensions(place)
        if state != "none":
            install(state, place, home)
        path = os.pathsep.join([str(Path(sys.executable).parent), os.environ["PATH"]])
        active: dict[str, Any] = os.environ | {"HOME": str(home), "PATH": path, "VIRTUAL_ENV": sys.prefix}
        active.pop("XDG_CONFIG_HOME", None)
        return subprocess.run([sys.executable, "-m", "pytest", *arguments], env=active).returncode


def outside(arguments: list[str]) -> int:
    """Start this file again in a mount namespace; 1 also where the machine's extensions are not as they were."""
    before = installed_extensions()
    command = [*NAMESPACE, sys.executable, __file__, *arguments]
    failed = subprocess.run(command, env=os.environ | {INSIDE: "1"}).returncode
    if installed_extensions() != before:
        print("the run changed which extensions LibreOffice has on this machine")
        return 1
    return failed


if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1] not in STATES:
        sys.exit(__doc__)
    sys.exit(inside(sys.argv[1], sys.argv[2:]) if INSIDE in os.environ else outside(sys.argv[1:]))
