"""A table in the rows and columns of its grid, as it lies on its sheet or turned."""

from __future__ import annotations

import bisect
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from ..columns.column import Column, Context
from ..inputs.log_cells import LogCell, Sheet, ends
from ..mapping import Layout, MapTable, Settings
from ..vocabulary.shapes import is_text

LONGEST_HEADING = 90
"""Characters beyond which a text is no heading; ours."""
Span = tuple[int, int]
"""The first and the last of the columns that a table takes."""


class Grid:
    """The cells of a sheet or of some of its rows, as they lie or turned: then its rows are the sheet's columns."""

    def __init__(
        self, rows: Mapping[int, Mapping[int, LogCell]], merged: Mapping[tuple[int, int], LogCell], turned: bool = False
    ) -> None:
        self.turned = turned
        if turned:
            across: dict[int, dict[int, LogCell]] = {}
            for number in sorted(rows):
                for column, cell in rows[number].items():
                    across.setdefault(column, {})[number] = cell
            self.rows: Mapping[int, Mapping[int, LogCell]] = {column: across[column] for column in sorted(across)}
            self.merged: Mapping[tuple[int, int], LogCell] = {
                (column, row): cell for (row, column), cell in merged.items() if row in rows
            }
        else:
            self.rows, self.merged = rows, merged

    @cached_property
    def numbers(self) -> list[int]:
        """The numbers of its rows."""
        return sorted(self.rows)

    @cached_property
    def merged_rows(self) -> set[int]:
        """The rows in which cells are merged with others of the row."""
        return {row for (row, _), cell in self.merged.items() if self.place(cell)[0] == row}

    def place(self, cell: LogCell) -> tuple[int, int]:
        """The row and column of a cell in the grid."""
        return (cell.column, cell.row) if self.turned else (cell.row, cell.column)

    def between(self, after: int, end: int) -> list[int]:
        """The numbers of the rows after one and before another."""
        return self.numbers[bisect.bisect_right(self.numbers, after) : bisect.bisect_left(self.numbers, end)]


def within(row: Mapping[int, LogCell], left: int, right: int) -> Iterator[tuple[int, LogCell]]:
    """The cells of a row between two columns, in their order."""
    if right - left < len(row):
        yield from ((place, row[place]) for place in range(left, right + 1) if place in row)
    else:
        yield from ((place, cell) for place, cell in row.items() if left <= place <= right)


@dataclass
class Table:
    """A table of a log, in the rows and columns of its grid."""

    grid: Grid
    sheet: Sheet
    kind: str
    layout: Layout
    columns: list[Column]
    first_row: int
    """The first row of its headings."""
    last_row: int
    """The last row of its headings."""
    left: int
    right: int
    context: Context
    heading_cells: tuple[LogCell, ...] = ()
    settings: Settings = field(default_factory=Settings)
    entry: MapTable | None = None
    """What a mapping file says of it."""
    end: int = 2**31
    """The row before which it ends."""
    problem: str = ""
    """Why none of it can be read, where that is so."""

    def rows(self) -> Iterator[tuple[int, Mapping[int, LogCell]]]:
        """The rows below its headings, with the cells in its columns."""
        for number in self.grid.between(self.last_row, self.end):
            row = self.grid.rows[number]
            first, last = ends(row)
            is_whole = self.left <= first and last <= self.right
            cells = row if is_whole else dict(within(row, self.left, self.right))
            if cells:
                yield number, cells

    @property
    def heading_row(self) -> int:
        """The row of the sheet in which its lowest heading stands."""
        if self.grid.turned:
            return min((cell.row for cell in self.heading_cells), default=self.left)
        return self.last_row

    @property
    def title(self) -> str:
        """The text nearest above it."""
        return next((cell.text for cell in self.context.titles if isinstance(cell.value, str)), "")


def not_taken(sheet: Sheet, tables: Sequence[Table]) -> Iterator[tuple[int, dict[int, LogCell], Sequence[Span]]]:
    """The rows of a sheet that no table holds whole, in their order, each with what tables take of its columns."""
    numbers = sorted(sheet.rows)
    in_part: list[Table] = []
    for table in tables:
        if table.grid.rows is sheet.rows and table.left <= sheet.ends[0] and sheet.ends[1] <= table.right:
            below = bisect.bisect_left(numbers, max(table.end, table.last_row + 1))
            numbers = numbers[: bisect.bisect_left(numbers, table.first_row)] + numbers[below:]
        else:
            in_part.append(table)
    spans_of = taken(in_part)
    for number in numbers:
        row, spans = sheet.rows[number], spans_of.get(number, ())
        if not spans or not takes(spans, row):
            yield number, row, spans


def taken(tables: Iterable[Table]) -> dict[int, list[Span]]:
    """The columns that tables take, by the rows of the sheet."""
    found: dict[int, list[Span]] = {}
    for table in tables:
        numbers = [*range(table.first_row, table.last_row + 1), *table.grid.between(table.last_row, table.end)]
        if not table.grid.turned:
            for number in numbers:
                found.setdefault(number, []).append((table.left, table.right))
        elif numbers:
            for number in range(table.left, table.right + 1):
                found.setdefault(number, []).append((min(numbers), max(numbers)))
    return found


def outside(spans: Sequence[Span], row: Mapping[int, LogCell]) -> dict[int, LogCell]:
    """What of a row stands in no span of columns that tables take."""
    return {place: cell for place, cell in row.items() if not any(left <= place <= right for left, right in spans)}


def takes(spans: Iterable[Span], row: Mapping[int, LogCell]) -> bool:
    """Whether one of the spans of columns that tables take holds all of a row."""
    first, last = ends(row)
    return any(left <= first and last <= right for left, right in spans)


def may_be_heading(cell: LogCell) -> bool:
    """Whether a cell may be a heading."""
    return is_text(cell) and len(cell.value) <= LONGEST_HEADING  # type: ignore[arg-type]  # a text
