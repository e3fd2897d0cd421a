"""The extension file, growcells.oxt."""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path

from growcells import functions
from growcells.version import VERSION

from ..bridge_files import check_new_file, write_new_file
from . import component, opening, probe, texts
from .component import PACKAGES
from .contents import CONTENTS_FILE, contents
from .packages import gather
from .program import OLDEST_OFFICE, this_python, version_text

EXTENSION_FILE = "growcells.oxt"

EVENTS = Path(__file__).with_name("events.bas")
"""What LibreOffice runs when it starts and when it opens a file."""

# The same extension is the same file, whenever it was built: the oldest date that a zip file can hold.
_DATE = (1980, 1, 1, 0, 0, 0)


def build_extension(target: Path, packages: Path, made: str = "") -> None:
    """Write the extension: the texts from the registry, the component, and a folder of Python packages.

    ``made`` tells what it was made from, if it is to be known again (contents.py).
    """
    every = list(functions().values())
    with zipfile.ZipFile(target, "w") as archive:
        for name, text in (
            (texts.MANIFEST_FILE, texts.manifest()),
            (texts.DESCRIPTION_FILE, texts.description(VERSION, version_text(OLDEST_OFFICE))),
            (texts.TYPES_FILE, texts.type_library(every)),
            (texts.CONFIGURATION_FILE, texts.configuration(every)),
            (texts.EVENTS_FILE, texts.events()),
            (f"{texts.BASIC_LIBRARY}/script.xlb", texts.basic_library(texts.BASIC_MODULE)),
            (f"{texts.BASIC_LIBRARY}/dialog.xlb", texts.basic_library()),
            (texts.BASIC_FILE, texts.basic_module(EVENTS.read_text(encoding="utf-8"))),
            (texts.COMPONENTS_FILE, texts.components()),
            (texts.COMPONENT_FILE, Path(component.__file__).read_text(encoding="utf-8")),
            (texts.OPENING_FILE, Path(opening.__file__).read_text(encoding="utf-8")),
            (texts.PROBE_FILE, Path(probe.__file__).read_text(encoding="utf-8")),
        ):
            _add(archive, name, text.encode())
        for file in sorted(packages.rglob("*")):
            if file.is_file():
                _add(archive, f"{PACKAGES}/{file.relative_to(packages).as_posix()}", file.read_bytes())
        if made:
            _add(archive, CONTENTS_FILE, contents(made, archive).encode())


def write_portable_extension(target: Path, report: Callable[[str], None]) -> None:
    """Write an extension for a double click on any machine: it holds what is pure Python, and so runs on every system.

    Functions that need a compiled package show an error there, and GROW_WHY names the package. Raises BridgeProblem,
    also where there is such a file already.
    """
    check_new_file(target, ".oxt")
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        built, packages = Path(place, EXTENSION_FILE), Path(place, PACKAGES)
        packages.mkdir()
        gather(packages, this_python(), (), report)
        build_extension(built, packages)
        write_new_file(target, built.read_bytes())
    report(f"wrote {target} with {len(functions())} functions, {target.stat().st_size / 1e6:.1f} MB")


def _add(archive: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, _DATE)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    archive.writestr(entry, content, compresslevel=1)  # it is unpacked at once and deleted
