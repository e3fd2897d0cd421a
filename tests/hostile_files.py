"""Files that ask for too much, or are broken in a way of their own."""

from __future__ import annotations

import datetime
import functools
import random
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import xlsxwriter
from openpyxl import Workbook

from growcells_workbooks.starter import new_log
from recalc_books import change_part, write_book

DAY = datetime.date(2026, 11, 20)
CORE = "docProps/core.xml"
STYLES = "xl/styles.xml"


# ---- what asks for too much


def swelling(path: Path) -> Path:
    """2 KB of texts that double each other, up to 30 kB × 2⁴⁰, in a starter log, so that every command gets to them."""
    formulas = {"A1": '=REPT("x",30000)', **{f"A{row}": f"=CONCATENATE(A{row - 1},A{row - 1})" for row in range(2, 42)}}
    return write_book(path, formulas)


def padded(size: int) -> Callable[[bytes], bytes]:
    """What makes an XML part so large by a comment that packs a hundredfold, as no trap does."""
    choose = random.Random(1)
    block = bytes(choose.choices(b"abcdefgh", k=400)) + b" " * 100_000
    return lambda data: data + b"<!--" + block * (size // len(block)) + b"-->"


def many_styles(data: bytes) -> bytes:
    """A style sheet of 40 MiB, in which no style is used."""
    return data.replace(
        b"</cellXfs>", b'<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>' * 700_000 + b"</cellXfs>"
    )


def named_long(path: Path, length: int = 32_767) -> Path:
    """A log with a cell of the greatest length where a size is meant."""
    return write_book(path, {"A1": "5 " + "m" * (length - 2), "B1": "=GROW_VOLUME_BOX(A1,20,6)", "A2": "5 in"})


def write_readings(path: Path, rows: int) -> Path:
    """A log of so many readings in ten columns."""
    choose = random.Random(4)
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        beds, log = book.add_worksheet("Beds"), book.add_worksheet("Log")
        beds.write_row(0, 0, ["Bed", "Crop", "Volume gal"])
        for number in range(1, 7):
            beds.write_row(number, 0, [f"T{number}", "lettuce", 26])
        headings = ["Date", "Bed", "pH", "EC mS/cm", "water °F", "inches now", "added gal", "feed g", "ppm N", "notes"]
        log.write_row(0, 0, headings)
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for row in range(1, rows + 1):
            log.write_datetime(row, 0, datetime.datetime(2024, 1, 1) + datetime.timedelta(days=row * 1050 // rows), day)
            figures = [choose.uniform(5.5, 6.5), choose.uniform(1.2, 2), choose.uniform(62, 75), 9.0, 0.5, 12, 150]
            log.write_row(row, 1, [f"T{row % 6 + 1}", *(round(figure, 2) for figure in figures), "thinned"])
    return path


def starter(path: Path) -> Path:
    """A starter log with its example rows."""
    path.write_bytes(_starter())
    return path


@functools.cache
def _starter() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        return new_log(Path(folder) / "log.xlsx", day=DAY).read_bytes()


# ---- what is broken


def encrypted(part: str) -> Callable[[Path], None]:
    """What says of a part that it is encrypted (APPNOTE.TXT 4.4.4), in the package's directory."""
    return lambda path: _change_directory(path, part, 8, (1).to_bytes(2, "little"))


def packed_oddly(part: str) -> Callable[[Path], None]:
    """What says of a part that it is packed in a way that no office program reads."""
    return lambda path: _change_directory(path, part, 10, (99).to_bytes(2, "little"))


def _change_directory(path: Path, part: str, offset: int, new: bytes) -> None:
    data = bytearray(path.read_bytes())
    place = data.rindex(part.encode()) - 46  # central directory header: APPNOTE.TXT 4.3.12
    assert data[place : place + 4] == b"PK\x01\x02"
    data[place + offset : place + offset + len(new)] = new
    path.write_bytes(data)


def corrupt(part: str) -> Callable[[Path], None]:
    """What changes a byte in the packed data of a part."""

    def change(path: Path) -> None:
        data = bytearray(path.read_bytes())
        with zipfile.ZipFile(path) as package:
            entry = package.getinfo(part)
        data[entry.header_offset + 30 + len(part) + entry.compress_size // 2] ^= 0xFF
        path.write_bytes(data)

    return change


def changed(part: str, change: Callable[[bytes], bytes]) -> Callable[[Path], None]:
    """What changes the content of a part."""

    def apply(path: Path) -> None:
        old = path.with_name("old.xlsx")
        path.rename(old)
        change_part(old, path, part, change)
        old.unlink()

    return apply


# ---- logs


def log_with(path: Path, beds: Sequence[Sequence[Any]], log: Sequence[Sequence[Any]]) -> Path:
    """A log of these beds and readings."""
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    for title, rows in (("Beds", beds), ("Log", log)):
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    book.save(path)
    return path


# ---- pictures


def large_png(path: Path, side: int) -> Path:
    """A white picture of so many pixels squared, of few bytes (W3C PNG specification, 5.2 and 11.2)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(1)
    row = b"\0" + b"\xff" * (3 * side)
    rows = b"".join(packer.compress(row) for _ in range(side)) + packer.flush()
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b""))
    return path
