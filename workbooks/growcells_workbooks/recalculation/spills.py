"""Results with more cells than the file has room for."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from .cells import MAX_COLUMNS, MAX_ROWS, cell_name
from .sheet_formulas import Place, Sheet

if TYPE_CHECKING:
    from .computation import Computation


def spilling(computation: Computation) -> Iterator[str]:
    """Say where a dynamic array formula gives more cells than the file has for it."""
    for name, sheet in computation.sheets.items():
        arrays = [cell for cell in sheet.cells if cell.dynamic and cell.area is not None]
        filled = {cell.place for cell in sheet.cells} if arrays else set()
        for cell in arrays:
            if not computation.is_computed((name, *cell.place)) or cell.area is None:
                continue
            spots = (
                (cell.place[0] + cell.area.rows, cell.place[1]),
                (cell.place[0], cell.place[1] + cell.area.columns),
            )
            if any(spot not in filled and _is_spilled(computation, sheet, spot) for spot in spots):
                yield (
                    f"{name}!{cell.name} gives more cells than the file has room for: "
                    "a spreadsheet program fills them in when it opens the file"
                )


def _is_spilled(computation: Computation, sheet: Sheet, place: Place) -> bool:
    """Whether the engine has a value in a cell that the file has none for; beyond the last cells there is none."""
    if place[0] > MAX_ROWS or place[1] > MAX_COLUMNS or computation.engine.is_empty(sheet.name, *place):
        return False
    return re.search(rb"""\br=["']%s["'][^<>]*>\s*<""" % cell_name(*place).encode(), sheet.data) is None
