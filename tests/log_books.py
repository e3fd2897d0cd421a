"""The logs that tests read: an existing one, and small ones written for a test."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook

ROOFTOP = Path(__file__).parent / "data" / "rooftop-log.xlsx"
"""The existing log that growcells did not make: invented data for an invented garden."""
BEDS: list[list[Any]] = [["Bed", "Crop", "Volume gal"], ["T1", "basil", 30], ["T2", "basil", 30]]


def write_log(folder: Path, merged: Sequence[str] = (), **sheets: Sequence[Sequence[Any]]) -> Path:
    """A workbook with these sheets of rows; ``merged`` are areas of its last sheet."""
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    for area in merged:
        sheet.merge_cells(area)
    path = folder / "log.xlsx"
    book.save(path)
    return path
