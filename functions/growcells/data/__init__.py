"""The tables that ship with the code: CSV files with a ``source`` column."""

from __future__ import annotations

from pathlib import Path

DATA = Path(__file__).parent


def read_table(path: Path) -> list[dict[str, str]]:
    """The rows of a table, each with its columns by name."""
    import csv

    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def read_data(name: str) -> list[dict[str, str]]:
    """The rows of a table in ``growcells/data``."""
    return read_table(DATA / name)
