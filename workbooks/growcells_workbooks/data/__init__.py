"""The tables that ship with the workbooks: CSV files with a ``source`` column."""

from __future__ import annotations

from pathlib import Path

from growcells.data import read_table

USUAL_RECIPE = "Leafy greens"
"""The recipe that feeds are compared with where none is chosen: most logs are of leaves (our choice)."""
DATA = Path(__file__).parent


def read_data(name: str) -> list[dict[str, str]]:
    """The rows of a table in ``growcells_workbooks/data``, each with its columns by name."""
    return read_table(DATA / name)
