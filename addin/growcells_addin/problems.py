"""What keeps a bridge from being installed, removed or written to a file."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class BridgeProblem(Exception):
    """Why a bridge could not be installed, removed or written, in one sentence."""


@contextmanager
def new_file(path: Path) -> Iterator[None]:
    """Turn problems of writing a file that must be new into a BridgeProblem."""
    try:
        yield
    except FileExistsError:
        raise BridgeProblem(f"{path} exists already: give the name of a new file") from None
    except OSError as problem:
        raise BridgeProblem(
            f"{path} cannot be written: {problem.strerror or problem}; give the name of a file in another folder"
        ) from problem
