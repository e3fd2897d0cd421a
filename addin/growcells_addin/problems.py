"""What keeps a bridge from being installed, removed or written to a file."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class BridgeProblem(Exception):
    """Why a bridge could not be installed, removed or written, in one sentence."""


def check_new_file(path: Path, ending: str) -> None:
    """Raise BridgeProblem where a file cannot bear this name, before any work is done."""
    if path.suffix.lower() != ending:
        raise BridgeProblem(f"{path} would not be known for what it is: end its name in {ending}")
    if path.exists():
        raise BridgeProblem(f"{path} exists already: give the name of a new file")


@contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn problems of writing a file into a BridgeProblem."""
    try:
        yield
    except OSError as problem:
        raise BridgeProblem(
            f"{path} cannot be written: {problem.strerror or problem}; give the name of a file in another folder"
        ) from problem
