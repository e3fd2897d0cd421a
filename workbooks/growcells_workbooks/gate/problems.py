"""What can be wrong with a file, said in one sentence."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class FileProblem(Exception):
    """A file that cannot be read or written; the text is one sentence for the person at the keyboard."""


class Fault(Exception):
    """A fault of growcells itself, met in the work on a file: the error, the step it was at, and the traceback."""

    def __init__(self, error: str, about: Path, step: str, trace: str) -> None:
        super().__init__(error)
        self.about = about
        self.step = step
        self.trace = trace


def reading_problem(path: Path, problem: Exception) -> FileProblem:
    """A failed attempt to read ``path``."""
    if isinstance(problem, FileNotFoundError):
        return FileProblem(f"{path} does not exist: check the name and the folder")
    if isinstance(problem, PermissionError):
        return FileProblem(f"{path} may not be read: close the program that has it open, or check the rights on it")
    return FileProblem(f"{path} cannot be read: {getattr(problem, 'strerror', None) or problem}")


def writing_problem(path: Path, problem: OSError) -> FileProblem:
    """A failed attempt to write ``path``."""
    if problem.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return FileProblem(f"{path} was not written, because the disk is full: free some space and try again")
    if problem.errno == errno.EROFS:
        return FileProblem(f"{path} was not written, because the disk is read-only: give a name on another disk")
    if isinstance(problem, PermissionError):
        return FileProblem(
            f"{path} may not be written: close the program that has it open, or check the rights on its folder"
        )
    return FileProblem(f"{path} was not written: {problem.strerror or problem}")


@contextmanager
def far_values_told(*logs: Path) -> Iterator[None]:
    """Say of what logs hold so far off that nothing can be computed with it. Raises FileProblem."""
    try:
        yield
    except OverflowError:
        named = " and ".join(map(str, logs))
        raise FileProblem(
            f"{named} {'holds' if len(logs) == 1 else 'hold'} a number or a date far beyond any reading, with which "
            f"nothing can be computed: growcells check {logs[0].name} lists what is out of a plausible range"
        ) from None
