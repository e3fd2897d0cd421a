"""Writing files so that a fault never costs the one they replace: checked before the work, whole or not at all."""

from __future__ import annotations

import contextlib
import glob
import os
import shutil
import stat
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import BinaryIO

from .problems import FileProblem, writing_problem
from .reading import check_workbook, status_of

_LEFTOVER_SECONDS = 24 * 3600  # a write takes seconds; an unfinished file this old is of a process that was killed
_SUFFIXES = (".xlsx", ".xlsm", ".ods")
_LONGEST_NAME = 200
"""Bytes of a file's name that go into the names made from it: most systems allow 255 in all (POSIX NAME_MAX)."""


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
    if _exists(path):
        try:
            with path.open("r+b"):
                pass
        except OSError as problem:
            raise writing_problem(path, problem) from None


def _exists(path: Path) -> bool:
    """Whether there is a file to be replaced; raises FileProblem where there is something else."""
    status = status_of(path)
    if status is None:
        return False
    if stat.S_ISDIR(status.st_mode):
        raise FileProblem(f"{path} is a folder: give the name of a file in it, such as {path / 'log.xlsx'}")
    if not stat.S_ISREG(status.st_mode):
        raise FileProblem(f"{path} is a pipe or a device, not a file: give another name")
    return True


def check_new_file(path: Path, overwrite: bool) -> None:
    """Raise FileProblem where a file cannot be written here, before any work is done."""
    folder = status_of(path.parent)
    if folder is None or not stat.S_ISDIR(folder.st_mode):
        raise FileProblem(f"{path.parent} does not exist: make that folder first")
    if _exists(path):
        if not overwrite:
            raise FileProblem(f"{path} exists already: give another name, or allow to replace it with --overwrite")
        check_unlocked(path)


def check_output(source: Path, output: Path, overwrite: bool) -> None:
    """Raise FileProblem where ``output`` cannot be written for ``source``, before any work is done."""
    if output.suffix.lower() not in _SUFFIXES:
        raise FileProblem(f"{output} is not the name of a workbook: end it in {source.suffix or '.xlsx'}")
    if source.suffix.lower() in _SUFFIXES and output.suffix.lower() != source.suffix.lower():
        raise FileProblem(f"{output} would hold what {source.name} holds: end its name in {source.suffix} too")
    if _exists(output) and output.samefile(source):
        raise FileProblem(f"{output} is the input itself: give another name, or ask to replace it with --in-place")
    check_new_file(output, overwrite)


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
    backup = path.with_name(f"{_shortened(path.stem)}.backup-{now:%Y%m%d-%H%M%S}{path.suffix}")
    number = 1
    while os.path.lexists(backup):
        number += 1
        backup = path.with_name(f"{_shortened(path.stem)}.backup-{now:%Y%m%d-%H%M%S}-{number}{path.suffix}")

    def copy(target: BinaryIO) -> None:
        with path.open("rb") as source:
            shutil.copyfileobj(source, target)

    _write(backup, copy, like=path)
    return backup


def _shortened(name: str) -> str:
    """A name that has room for what is added to it."""
    return name.encode(errors="surrogateescape")[:_LONGEST_NAME].decode(errors="ignore")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file so that at any moment ``path`` holds its old content or the new one, whole; raises FileProblem."""
    _write(path, lambda file: file.write(content))


def _write(path: Path, write: Callable[[BinaryIO], object], like: Path | None = None) -> None:
    """Let ``write`` make the content of a file beside ``path`` that then takes its place.

    ``like`` is a file whose access rights the new one takes over. Raises FileProblem.
    """
    temporary: Path | None = None
    _remove_leftovers(path)
    try:
        handle, name = tempfile.mkstemp(prefix=f".{_shortened(path.name)}.", suffix=".part", dir=path.parent)
        temporary = Path(name)
        with os.fdopen(handle, "wb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        _set_rights(temporary, like if like is not None else path)
        temporary.replace(path)
        _sync_folder(path.parent)
    except OSError as problem:
        raise writing_problem(path, problem) from None
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)


def _remove_leftovers(path: Path) -> None:
    """Delete what a killed process left of ``path``, or of a backup of it, unfinished long ago."""
    with contextlib.suppress(OSError):
        for name in (glob.escape(_shortened(path.name)), f"{glob.escape(_shortened(path.stem))}.backup-*"):
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


@dataclass(frozen=True)
class _Fingerprint:
    """What changes when a program writes a file."""

    size: int
    modified: int

    @classmethod
    def of(cls, path: Path) -> _Fingerprint | None:
        try:
            status = path.stat()
        except OSError:
            return None
        return cls(status.st_size, status.st_mtime_ns)


@dataclass(frozen=True)
class Target:
    """Where a command puts the workbook that it makes of another: a new file, in place of the input, or nowhere."""

    source: Path
    path: Path | None
    _before: _Fingerprint | None = None

    @classmethod
    def checked(cls, source: Path, output: Path | None, *, in_place: bool, overwrite: bool) -> Target:
        """The target of a command, checked before any work is done; raises FileProblem."""
        if output is not None and in_place:
            raise FileProblem("the result goes either to a new file or in place of the input: ask for one of the two")
        check_workbook(source)
        if in_place:
            source = source.resolve()  # the file itself is replaced, not a link to it
            check_unlocked(source)
            return cls(source, source, _Fingerprint.of(source))
        if output is not None:
            check_output(source, output, overwrite)
        return cls(source, output)

    def put(self, content: bytes) -> Path | None:
        """Write the workbook whole; gives the backup of the input where it is replaced. Raises FileProblem."""
        if self.path is None:
            return None
        if self._before is None:
            write_whole(self.path, content)
            return None
        check_unlocked(self.source)
        if _Fingerprint.of(self.source) != self._before:
            raise FileProblem(f"{self.source} was changed by another program meanwhile: start again")
        backup = keep_backup(self.source, datetime.now())
        try:
            _write(self.source, lambda file: file.write(content), like=self.source)
        except FileProblem:
            if _Fingerprint.of(self.source) == self._before:
                backup.unlink()
            raise
        return backup
