"""The tables that ship with the code: CSV files with a ``source`` column."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


def data_path(name: str) -> Path:
    """Where a file of ``growcells/data`` is."""
    from pathlib import Path  # a tenth of the time in which growcells is imported, which reads none

    return Path(__file__).parent / name


def read_table(path: Path) -> list[dict[str, str]]:
    """The rows of a table, each with its columns by name."""
    import csv

    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_data(name: str) -> list[dict[str, str]]:
    """The rows of a table in ``growcells/data``."""
    return read_table(data_path(name))
