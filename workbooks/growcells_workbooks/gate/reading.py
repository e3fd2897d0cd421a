"""Opening files that people hand over: regular ones, of a bounded size, and never one that waits for ever."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from .problems import FileProblem, reading_problem

MAX_FILE_BYTES = 256 * 2**20
"""Largest workbook file read [bytes]. Our choice: some ten times a log of 100,000 rows with pictures."""

_ZIP_MAGIC = b"PK"  # local file header, APPNOTE.TXT 4.3.7
_OLE_MAGIC = bytes.fromhex("D0CF11E0A1B11AE1")  # compound file header, [MS-CFB] 2.2
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")  # stream of a file with a password, [MS-OFFCRYPTO] 2.3.4.4
# A pipe that nobody writes to is opened at once instead of never; Windows has neither the flag nor such pipes.
_OPEN_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)


def status_of(path: Path) -> os.stat_result | None:
    """What the system says of ``path``, or None where there is no such file; raises FileProblem."""
    try:
        return path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except (OSError, ValueError) as problem:
        raise reading_problem(path, problem) from None


def check_file(path: Path, most_bytes: int = MAX_FILE_BYTES) -> None:
    """Raise FileProblem where ``path`` is no regular file, or one too large to be read; nothing is opened."""
    status = status_of(path)
    if status is None:
        raise reading_problem(path, FileNotFoundError())
    _check_status(path, status, most_bytes)


def read_file(path: Path, most_bytes: int = MAX_FILE_BYTES) -> bytes:
    """The bytes of a regular file of at most so many; raises FileProblem."""
    data = _first_bytes(path, most_bytes, most_bytes + 1)
    if len(data) > most_bytes:  # it grows, or its system does not tell its size
        raise _size_problem(path, len(data), most_bytes)
    return data


def _first_bytes(path: Path, most_bytes: int, count: int) -> bytes:
    """The first bytes of a regular file of at most so many; raises FileProblem."""
    try:
        handle = os.open(path, _OPEN_FLAGS)
    except IsADirectoryError:
        raise _folder_problem(path) from None
    except (OSError, ValueError) as problem:
        # Windows refuses to open a folder. Path.is_dir raises where the folder around it may not be entered.
        if os.path.isdir(path):  # noqa: PTH112
            raise _folder_problem(path) from None
        raise reading_problem(path, problem) from None
    try:
        _check_status(path, os.fstat(handle), most_bytes)
        with os.fdopen(handle, "rb", closefd=False) as file:
            return file.read(count)
    except OSError as problem:
        raise reading_problem(path, problem) from None
    finally:
        os.close(handle)


def _check_status(path: Path, status: os.stat_result, most_bytes: int) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise _folder_problem(path)
    if not stat.S_ISREG(status.st_mode):
        raise FileProblem(f"{path} is a pipe or a device, not a file: give a file such as log.xlsx")
    if status.st_size > most_bytes:
        raise _size_problem(path, status.st_size, most_bytes)


def _folder_problem(path: Path) -> FileProblem:
    return FileProblem(f"{path} is a folder: give a file in it, such as {path / 'log.xlsx'}")


def _size_problem(path: Path, size: int, most_bytes: int) -> FileProblem:
    return FileProblem(
        f"{path} has {size / 2**20:,.0f} MiB, and the largest such file read has {most_bytes / 2**20:,.0f} MiB"
        + (": split the log into years" if most_bytes == MAX_FILE_BYTES else "")
    )


def read_workbook_bytes(path: Path) -> bytes:
    """The bytes of a file that looks like an .xlsx or .xlsm workbook; raises FileProblem."""
    data = read_file(path, MAX_FILE_BYTES)
    _check_kind(path, data)
    return data


def check_workbook(path: Path) -> None:
    """Raise FileProblem where ``path`` does not begin as a workbook; no more of it is read."""
    if not _first_bytes(path, MAX_FILE_BYTES, len(_ZIP_MAGIC)).startswith(_ZIP_MAGIC):
        read_workbook_bytes(path)


def _check_kind(path: Path, data: bytes) -> None:
    """Raise FileProblem where these are not the bytes of a workbook."""
    if data.startswith(_OLE_MAGIC):
        if _ENCRYPTED in data:
            raise FileProblem(f"{path} is protected by a password: open it, take the password off, and save a copy")
        raise FileProblem(f"{path} is a workbook of the old .xls kind: open it and save it as .xlsx")
    if not data:
        raise FileProblem(f"{path} is empty: give a workbook such as log.xlsx")
    if not data.startswith(_ZIP_MAGIC):
        raise FileProblem(f"{path} is not an Excel workbook: open it in a spreadsheet program and save it as .xlsx")
