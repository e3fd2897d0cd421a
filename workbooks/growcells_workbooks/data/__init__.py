"""The tables that ship with the workbooks: CSV files with a ``source`` column."""

from __future__ import annotations

import csv
from pathlib import Path

from growcells.data import read_table

USUAL_RECIPE = "Leafy greens"
"""The recipe that feeds are compared with where none is chosen: most logs are of leaves (our choice)."""
DATA = Path(__file__).parent


def read_data(name: str) -> list[dict[str, str]]:
    """The rows of a table in ``growcells_workbooks/data``, each with its columns by name."""
    return read_table(DATA / name)


def read_rows(name: str) -> list[list[str]]:
    """The rows of a long table without their headings; to name each column of each takes five times as long."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))[1:]
