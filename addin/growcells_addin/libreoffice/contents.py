"""What an installed extension was made from and holds, so that installing the same again is quick."""

from __future__ import annotations

import hashlib
import zipfile
import zlib
from collections.abc import Iterable
from pathlib import Path

import growcells
from growcells.version import VERSION

from .packages import ALWAYS, installed_with_needs
from .program import OfficePython

CONTENTS_FILE = "contents.txt"
"""A line that tells what the extension was made from, and one for each file: checksum (CRC-32), size, name."""


def made_from(python: OfficePython, needs: Iterable[str]) -> str:
    """A digest of all that decides what an extension holds: this code, LibreOffice's Python, the packages to copy."""
    digest = hashlib.sha256(f"{VERSION} {python}".encode())
    for folder in (Path(growcells.__file__).parent, Path(__file__).parent):
        for file in sorted(folder.rglob("*")):
            if file.is_file() and file.suffix != ".pyc":
                digest.update(f"{file.relative_to(folder)} ".encode() + file.read_bytes())
    for package in installed_with_needs([*ALWAYS, *needs]):
        digest.update((package.read_text("RECORD") or package.name).encode())
    return digest.hexdigest()


def contents(made: str, archive: zipfile.ZipFile) -> str:
    """The text of CONTENTS_FILE for the files that an extension holds already."""
    return "\n".join([made, *(f"{entry.CRC} {entry.file_size} {entry.filename}" for entry in archive.infolist())])


def is_whole(folder: Path, made: str) -> bool:
    """Whether an unpacked extension was made from the same, and every file is as it was."""
    try:
        told, *lines = (folder / CONTENTS_FILE).read_text(encoding="utf-8").split("\n")
        return told == made and all(_is_file(folder, *line.split(" ", 2)) for line in lines)
    except (OSError, ValueError, TypeError):
        return False


def _is_file(folder: Path, checksum: str, size: str, name: str) -> bool:
    content = (folder / name).read_bytes()
    return len(content) == int(size) and zlib.crc32(content) == int(checksum)
