"""Photos of the beds: found by their names, turned upright, made small, stripped of place and camera."""

from __future__ import annotations

import datetime
import io
import re
import struct
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ...gate import FileProblem, read_file
from ...gate.problems import reading_problem
from ...reading.model import name_key
from .iso_week import Week, week_of

ENDINGS = frozenset({".jpg", ".jpeg", ".png", ".webp", ".gif", ".bmp", ".tif", ".tiff", ".heic", ".heif"})
WEEKS = 4
"""Weeks shown side by side, that of the report last."""
LONGEST_SIDE = 900
"""Of a picture as it goes into the report [pixels]: sharp on a quarter of a sheet, small to send."""
QUALITY = 82
"""Of the JPEG. Our choice: above it files grow, and nobody sees more."""
MOST_BYTES = 64 * 2**20
"""Largest file of a photo read [bytes]. Our choice: some twice the largest of a telephone."""
MOST_PIXELS = 64_000_000
"""Of a picture as it is unpacked. Our choice: each takes 4 to 8 bytes of memory."""
KINDS = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")
"""As the library calls them; others it would hand to programs outside."""
_DAMAGE = (
    *(SyntaxError, ValueError, LookupError, TypeError, AttributeError, ArithmeticError, EOFError, MemoryError),
    *(struct.error, zlib.error),
)
"""The errors, beside OSError, in which the library lets damage to a picture show."""
_DATE = re.compile(r"(?<!\d)(\d{4})[-_. ]?(\d{2})[-_. ]?(\d{2})(?!\d)")
_LETTERS = re.compile(r"[\W_]+")


@dataclass(frozen=True)
class Photo:
    """A picture of a bed on a day, as bytes of a JPEG."""

    bed: str
    day: datetime.date
    name: str
    jpeg: bytes
    width: int
    height: int


@dataclass(frozen=True)
class Photos:
    """The pictures by bed and week, and the files that were not used, with why."""

    weeks: tuple[Week, ...]
    shown: dict[tuple[str, Week], Photo]
    left_out: tuple[tuple[str, str], ...]


def read_photos(folder: Path, beds: Sequence[str], week: Week, as_of: datetime.date) -> Photos:
    """The latest picture of each bed in each of the last weeks. Raises FileProblem where there is no such folder."""
    try:
        paths = sorted(folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        raise FileProblem(
            f"{folder} is not a folder: give the one that holds the photos, each named like 2026-11-16 T1.jpg"
        ) from None
    except OSError as problem:
        raise reading_problem(folder, problem) from None
    weeks = tuple(_weeks_before(week))
    left_out: list[tuple[str, str]] = []
    best: dict[tuple[str, Week], tuple[datetime.date, str, Path]] = {}
    for path in paths:
        if path.suffix.lower() not in ENDINGS:
            continue
        named = read_name(path.stem, beds)
        if isinstance(named, str):
            left_out.append((path.name, named))
            continue
        bed, day = named
        if day > as_of or week_of(day) not in weeks:
            continue
        key = (bed, week_of(day))
        # Of several on a day the last by name: cameras and people number upwards.
        best[key] = max(best.get(key, (datetime.date.min, "", path)), (day, path.stem, path))
    shown = {}
    for (bed, of_week), (day, _, path) in best.items():
        try:
            shown[bed, of_week] = Photo(bed, day, path.name, *prepared(path))
        except (OSError, FileProblem) as problem:
            left_out.append((path.name, f"it cannot be opened as a picture: {_reason(problem)}"))
    return Photos(weeks, shown, tuple(sorted(left_out)))


def _weeks_before(week: Week) -> Iterator[Week]:
    for back in range(WEEKS - 1, -1, -1):
        yield week_of(week.first - datetime.timedelta(weeks=back))


def read_name(stem: str, beds: Sequence[str]) -> tuple[str, datetime.date] | str:
    """The bed and the day that a file name says, or why it says none: ``2026-11-16 T1``, ``T1_20261116_2``."""
    match = _DATE.search(stem)
    if match is None:
        return "its name has no date: name it like 2026-11-16 T1.jpg"
    try:
        day = datetime.date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        return f"{match[0]} is not a date: name it like 2026-11-16 T1.jpg"
    rest = _words(f"{stem[: match.start()]} {stem[match.end() :]}")
    found = [bed for bed in beds if _within(_words(bed), rest)]
    if not found:
        return "its name has no bed of the log: name it like 2026-11-16 T1.jpg"
    return max(found, key=len), day


def _words(text: str) -> str:
    """A text as words between single spaces, in lower case."""
    return f" {_LETTERS.sub(' ', text).strip().casefold()} "


def _within(bed: str, rest: str) -> bool:
    """Whether a name holds that of a bed, with its spaces or without them."""
    return bed in rest or f" {name_key(bed)} " in rest


def prepared(path: Path) -> tuple[bytes, int, int]:
    """A picture upright and small as the bytes of a JPEG that hold nothing but the picture, its width and height.

    Raises OSError where it cannot be read, FileProblem where it is no file or one too large.
    """
    from PIL import Image, ImageOps

    data = io.BytesIO(read_file(path, MOST_BYTES))
    try:
        # The library's own limit would refuse large pictures that it need not unpack whole.
        with _no_limit_of_pixels(Image), Image.open(data, formats=KINDS) as opened:
            whole = opened.size
            if not opened.info.get("progressive"):
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is unpacked at a fraction of its size
            if opened.width * opened.height > MOST_PIXELS:
                raise OSError(f"it has {whole[0]} × {whole[1]} pixels, more than fit into memory: make it smaller")
            picture = opened if opened.mode in ("L", "RGB", "RGBA") else opened.convert("RGBA")
            picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
            upright = ImageOps.exif_transpose(picture).convert("RGBA")
    except _DAMAGE as problem:
        raise OSError(str(problem) or type(problem).__name__) from None
    # What is see-through becomes white, as the paper is.
    shown = Image.new("RGB", upright.size, "white")
    shown.paste(upright, mask=upright.getchannel("A"))
    file = io.BytesIO()
    shown.save(file, "JPEG", quality=QUALITY, optimize=True)
    return file.getvalue(), shown.width, shown.height


@contextmanager
def _no_limit_of_pixels(library: Any) -> Iterator[None]:
    limit, library.MAX_IMAGE_PIXELS = library.MAX_IMAGE_PIXELS, None
    try:
        yield
    finally:
        library.MAX_IMAGE_PIXELS = limit


def _reason(problem: Exception) -> str:
    return "its format is not known" if "cannot identify" in str(problem) else str(problem)
