"""Opening workbooks that people hand over, and writing files so that a fault never costs the one they had."""

from __future__ import annotations

import contextlib
import errno
import glob
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

MAX_FILE_BYTES = 256 * 2**20
"""Largest workbook file read [bytes]: ours, some ten times a log of 100,000 rows with pictures."""

_ZIP_MAGIC = b"PK"  # local file header, APPNOTE.TXT 4.3.7
_OLE_MAGIC = bytes.fromhex("D0CF11E0A1B11AE1")  # compound file header, [MS-CFB] 2.2
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")  # stream of a file with a password, [MS-OFFCRYPTO] 2.3.4.4
_LEFTOVER_SECONDS = 24 * 3600  # a write takes seconds; an unfinished file this old is of a process that was killed
_SUFFIXES = (".xlsx", ".xlsm")


class FileProblem(Exception):
    """A file that cannot be read or written; the text is one sentence for the person at the keyboard."""


def read_workbook_bytes(path: Path) -> bytes:
    """The bytes of a file that looks like an .xlsx or .xlsm workbook; raises FileProblem."""
    data = read_log_bytes(path)
    _check_kind(path, data)
    return data


def read_log_bytes(path: Path) -> bytes:
    """The bytes of a file, whatever it holds; raises FileProblem where there is none or too much of it."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise FileProblem(f"{path} is a folder: give a workbook in it, such as {path / 'log.xlsx'}")
        if not stat.S_ISREG(status.st_mode):
            raise FileProblem(f"{path} is not a file: give a workbook such as log.xlsx")
        if status.st_size > MAX_FILE_BYTES:
            raise FileProblem(
                f"{path} has {status.st_size / 2**20:,.0f} MiB, and the largest workbook read has "
                f"{MAX_FILE_BYTES / 2**20:,.0f} MiB: split the log into years"
            )
        data = path.read_bytes()
    except (OSError, ValueError) as problem:
        raise FileProblem(reading_problem(path, problem)) from None
    return data


def reading_problem(path: Path, problem: Exception) -> str:
    """One sentence for a failed attempt to read ``path``."""
    if isinstance(problem, FileNotFoundError):
        return f"{path} does not exist: check the name and the folder"
    if isinstance(problem, PermissionError):
        return f"{path} may not be read: close the program that has it open, or check the rights on the file"
    return f"{path} cannot be read: {getattr(problem, 'strerror', None) or problem}"


def _check_kind(path: Path, data: bytes) -> None:
    if data.startswith(_OLE_MAGIC):
        if _ENCRYPTED in data:
            raise FileProblem(f"{path} is protected by a password: open it, take the password off, and save a copy")
        raise FileProblem(f"{path} is a workbook of the old .xls kind: open it and save it as .xlsx")
    if not data:
        raise FileProblem(f"{path} is empty: give a workbook such as log.xlsx")
    if not data.startswith(_ZIP_MAGIC):
        raise FileProblem(f"{path} is not an Excel workbook: open it in a spreadsheet program and save it as .xlsx")


def lock_file(path: Path) -> Path | None:
    """The file by which a spreadsheet program says that it has ``path`` open, if there is one.

    Excel writes ``~$log.xlsx`` beside log.xlsx, LibreOffice ``.~lock.log.xlsx#`` (as both do, no written source).
    """
    for name in (f"~${path.name}", f".~lock.{path.name}#"):
        candidate = path.with_name(name)
        if os.path.lexists(candidate):
            return candidate
    return None


def check_unlocked(path: Path) -> None:
    """Raise FileProblem where another program has ``path`` open."""
    lock = lock_file(path)
    if lock is not None:
        raise FileProblem(
            f"{path} is open in another program: close it there first "
            f"(or delete {lock.name} beside it, if no program has it open)"
        )
    if path.exists():
        try:
            with path.open("r+b"):
                pass
        except OSError as problem:
            raise FileProblem(writing_problem(path, problem)) from None


def check_output(source: Path, output: Path, overwrite: bool) -> None:
    """Raise FileProblem where ``output`` cannot be written for ``source``, before any work is done."""
    if output.suffix.lower() not in _SUFFIXES:
        raise FileProblem(f"{output} is not the name of a workbook: end it in {source.suffix or '.xlsx'}")
    if source.suffix.lower() in _SUFFIXES and output.suffix.lower() != source.suffix.lower():
        raise FileProblem(f"{output} would hold what {source.name} holds: end its name in {source.suffix} too")
    if output.is_dir():
        raise FileProblem(f"{output} is a folder: give the name of a file in it, such as {output / source.name}")
    if not output.parent.is_dir():
        raise FileProblem(f"{output.parent} does not exist: make that folder first")
    if not output.exists():
        return
    if output.samefile(source):
        raise FileProblem(f"{output} is the input itself: give another name, or ask to replace it with --in-place")
    if not overwrite:
        raise FileProblem(f"{output} exists already: give another name, or allow to replace it with --overwrite")
    check_unlocked(output)


def make_folder(folder: Path) -> None:
    """Make a folder where there is none yet; raises FileProblem."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise FileProblem(f"{folder} is a file: give the name of a folder") from None
    except OSError as problem:
        raise FileProblem(f"{folder} cannot be made: {problem.strerror}; give the name of another folder") from None


def keep_backup(path: Path, now: datetime) -> Path:
    """Copy ``path`` to a new file beside it that bears the time in its name; raises FileProblem."""
    backup = path.with_name(f"{path.stem}.backup-{now:%Y%m%d-%H%M%S}{path.suffix}")
    number = 1
    while os.path.lexists(backup):
        number += 1
        backup = path.with_name(f"{path.stem}.backup-{now:%Y%m%d-%H%M%S}-{number}{path.suffix}")

    def copy(target: BinaryIO) -> None:
        with path.open("rb") as source:
            shutil.copyfileobj(source, target)

    write_whole(backup, copy, like=path)
    return backup


def write_whole(path: Path, write: Callable[[BinaryIO], None], like: Path | None = None) -> None:
    """Write a file so that at any moment ``path`` holds its old content or the new one, whole.

    ``like`` is a file whose access rights the new one takes over. Raises FileProblem.
    """
    temporary: Path | None = None
    _remove_leftovers(path)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
        temporary = Path(name)
        with os.fdopen(handle, "wb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        _set_rights(temporary, like if like is not None else path)
        temporary.replace(path)
        _sync_folder(path.parent)
    except OSError as problem:
        raise FileProblem(writing_problem(path, problem)) from None
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)


def _remove_leftovers(path: Path) -> None:
    """Delete what a killed process left of ``path``, or of a backup of it, unfinished long ago."""
    stem = glob.escape(path.stem)
    with contextlib.suppress(OSError):
        for name in (f"{stem}{path.suffix}", f"{stem}.backup-*{path.suffix}"):
            for leftover in path.parent.glob(f".{name}.*.part"):
                if time.time() - leftover.stat().st_mtime > _LEFTOVER_SECONDS:
                    leftover.unlink()


def _set_rights(path: Path, like: Path) -> None:
    if like.exists():
        shutil.copymode(like, path)
    elif os.name == "posix":
        umask = os.umask(0)  # the only way to ask for it
        os.umask(umask)
        path.chmod(0o666 & ~umask)


def _sync_folder(folder: Path) -> None:
    # The new name itself reaches the disk only with its folder; Windows cannot open one.
    # Some network disks refuse it: the file is whole there all the same.
    if os.name == "posix":
        with contextlib.suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)


def writing_problem(path: Path, problem: OSError) -> str:
    """One sentence for a failed attempt to write ``path``."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return f"{path} was not written, because the disk is full: free some space and try again"
    if problem.errno == errno.EROFS:
        return f"{path} was not written, because the disk is read-only: give a name on another disk"
    if isinstance(problem, PermissionError):
        return f"{path} may not be written: close the program that has it open, or check the rights on its folder"
    return f"{path} was not written: {problem.strerror or problem}"
