"""The tables that ship with this package: CSV files with a ``source`` column."""

from __future__ import annotations

from pathlib import Path

from growcells.data import read_table

DATA = Path(__file__).with_name("data")


def read_data(name: str) -> list[dict[str, str]]:
    """The rows of a table in ``growcells_workbooks/data``, each with its columns by name."""
    return read_table(DATA / name)
