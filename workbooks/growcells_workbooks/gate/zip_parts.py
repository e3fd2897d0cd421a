"""A zip file whose parts are checked before any is unpacked: how many, how large, how packed, what they are called.

Workbooks of both families, .xlsx and .ods, are such files: ISO/IEC 29500-2 and OASIS OpenDocument 1.3, part 2.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from .problems import FileProblem

MAX_PARTS = 10_000
MAX_UNPACKED_BYTES = 512 * 2**20
"""Largest sum of the unpacked sizes of all parts [bytes]. Our choice: a log of 100,000 rows has some 40 MiB."""
MAX_RATIO = 500
"""Largest ratio of unpacked to packed size of a part above RATIO_FROM_BYTES. Our choice: sheets reach some 50."""
RATIO_FROM_BYTES = 8 * 2**20
MAX_SMALL_BYTES = 32 * 2**20
"""Largest unpacked size of a part that is read into a tree, such as styles and properties [bytes]: our choice.

A tree takes some thirty times the size of its part; the styles of a workbook with all 64,000 cell formats that Excel
allows have some 10 MiB.
"""
_SMALL = (
    *("[content_types]", "_rels/", "docprops/", "xl/_rels/", "xl/worksheets/_rels/", "xl/workbook", "xl/styles"),
    *("xl/theme/", "xl/tables/", "meta-inf/", "meta.xml", "settings.xml", "styles.xml"),
)

_DAMAGE = (zipfile.BadZipFile, zlib.error, EOFError, ValueError, NotImplementedError, RuntimeError, OSError)
"""The errors in which damage to a zip file shows itself; NotImplementedError for a version of zip nobody uses."""


@contextmanager
def damage_named(path: Path, part: str = "") -> Iterator[None]:
    """Turn the many ways in which a damaged zip file shows itself into a FileProblem."""
    try:
        yield
    except _DAMAGE as why:
        where = f" in its part {part}" if part else ""
        raise FileProblem(f"{path} is damaged or cut short{where}: take a whole copy of it ({why})") from None


def opened_zip(path: Path, data: bytes) -> zipfile.ZipFile:
    """The zip file that ``data`` is, its parts checked; raises FileProblem, in which ``path`` names the file."""
    with damage_named(path):
        package = zipfile.ZipFile(io.BytesIO(data))
    _check_parts(path, package.infolist())
    for part in package.infolist():
        if part.filename.lower().startswith(_SMALL):  # damage in them is found here, and not in each command anew
            with damage_named(path, part.filename):
                package.read(part)
    return package


def _check_parts(path: Path, parts: list[zipfile.ZipInfo]) -> None:
    if len(parts) > MAX_PARTS:
        raise FileProblem(f"{path} is refused: it has {len(parts):,} parts, more than any workbook needs")
    if len({part.filename for part in parts}) != len(parts):
        raise FileProblem(f"{path} is damaged: it holds two parts of the same name")
    unpacked = sum(part.file_size for part in parts)
    if unpacked > MAX_UNPACKED_BYTES:
        raise FileProblem(
            f"{path} is refused: it would unpack to {unpacked / 2**20:,.0f} MiB, "
            f"and at most {MAX_UNPACKED_BYTES / 2**20:,.0f} MiB are read"
        )
    for part in parts:
        if part.file_size > RATIO_FROM_BYTES and part.file_size > MAX_RATIO * max(1, part.compress_size):
            raise FileProblem(f"{path} is refused: its part {part.filename} is packed as only a trap is")
        if part.filename.lower().startswith(_SMALL):
            check_small(path, part)
        if part.flag_bits & 0x1:  # encrypted: APPNOTE.TXT 4.4.4
            raise FileProblem(f"{path} is protected by a password: take it off and save a copy")
        if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):  # ISO/IEC 29500-2, annex B
            raise FileProblem(f"{path} is damaged: its part {part.filename} is packed in an unknown way")
        steps = part.filename.replace("\\", "/").split("/")
        if ".." in steps or steps[0] == "" or ":" in steps[0]:
            raise FileProblem(f"{path} is refused: its part {part.filename} points out of the file")


def check_small(path: Path, part: zipfile.ZipInfo) -> None:
    """Raise FileProblem where a part is too large to be read into a tree."""
    if part.file_size > MAX_SMALL_BYTES:
        raise FileProblem(
            f"{path} is refused: its part {part.filename} has {part.file_size / 2**20:,.0f} MiB, "
            "more than any workbook needs there"
        )
