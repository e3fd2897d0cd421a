"""Finding the tables of a sheet by their headings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .grid import LogCell, Sheet
from .words import Match, best_match


@dataclass(frozen=True)
class Table:
    """A table: its headings, what they were taken for, and the filled rows below that belong to it."""

    sheet: Sheet
    match: Match
    heading_row: int
    headings: dict[int, LogCell]
    rows: dict[int, dict[int, LogCell]]
    """Only the cells under the headings."""


def find_tables(sheet: Sheet) -> list[Table]:
    """The tables of a sheet in reading order. A table ends where the next one under it begins."""
    found: list[tuple[int, dict[int, LogCell], Match]] = []
    for row, cells in sheet.rows.items():
        found += [(row, headings, match) for headings, match in _headings(cells)]
    return [_table(sheet, start, headings, match, found) for start, headings, match in found]


def _headings(cells: dict[int, LogCell]) -> Iterator[tuple[dict[int, LogCell], Match]]:
    """The tables whose headings stand in a row: one for the whole row, or one for each stretch between gaps."""
    if len(cells) < 2 or not all(_may_be_heading(cell) for cell in cells.values()):
        return
    stretches = _stretches(cells)
    parts = [(part, _matched(part)) for part in stretches]
    if len(stretches) > 1 and sum(match is not None for _, match in parts) > 1:
        yield from ((part, match) for part, match in parts if match)
    elif match := _matched(cells):
        yield cells, match
    else:
        yield from ((part, match) for part, match in parts if match)


def _may_be_heading(cell: LogCell) -> bool:
    return isinstance(cell.value, str) and not cell.text[:1].isdigit() and len(cell.text) <= 60


def _stretches(cells: dict[int, LogCell]) -> list[dict[int, LogCell]]:
    stretches: list[dict[int, LogCell]] = []
    for column, cell in sorted(cells.items()):
        if stretches and column - 1 in stretches[-1]:
            stretches[-1][column] = cell
        else:
            stretches.append({column: cell})
    return stretches


def _matched(cells: dict[int, LogCell]) -> Match | None:
    return best_match([(column, cell.text) for column, cell in cells.items()])


def _table(
    sheet: Sheet,
    start: int,
    headings: dict[int, LogCell],
    match: Match,
    found: list[tuple[int, dict[int, LogCell], Match]],
) -> Table:
    first, last = min(headings), max(headings)
    below = [row for row, other, _ in found if row > start and not (max(other) < first or min(other) > last)]
    end = min(below, default=max(sheet.rows) + 1)
    rows = {}
    for row, cells in sheet.rows.items():
        if start < row < end:
            inside = {column: cell for column, cell in cells.items() if first <= column <= last}
            if inside:
                rows[row] = inside
    return Table(sheet, match, start, headings, rows)
