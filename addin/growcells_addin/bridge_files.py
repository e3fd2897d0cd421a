"""Files of the bridges: what can be said against one before it is written, and writing it whole."""

from __future__ import annotations

import os
from pathlib import Path


class BridgeProblem(Exception):
    """Why a bridge could not be installed, removed or written, in one sentence."""


def check_new_file(path: Path, ending: str) -> None:
    """Raise BridgeProblem where a file cannot bear this name, before any work is done."""
    if path.suffix.lower() != ending:
        raise BridgeProblem(f"{path} would not be known for what it is: end its name in {ending}")
    if path.exists():
        raise BridgeProblem(f"{path} exists already: give the name of a new file")


def write_new_file(path: Path, content: bytes) -> None:
    """Write a new file, whole or not at all.

    Raises BridgeProblem where it cannot be written, and why.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        try:
            with beside.open("xb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            check_new_file(path, path.suffix.lower())  # it was checked before the content was made
            beside.rename(path)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as problem:
        raise BridgeProblem(
            f"{path} cannot be written: {problem.strerror or problem}; give the name of a file in another folder"
        ) from problem
