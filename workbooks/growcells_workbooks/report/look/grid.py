"""The columns of a sheet on which tables with columns of their own stand below each other."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ...sheets.table_columns import Column
from ..pages.page import Block, Card, ChartGrid, Page, PhotoRow, Table

PORTRAIT, LANDSCAPE = 90.0, 130.0
"""The width of a page [digits of our face at 10 points].

Both papers take it without making it smaller. Where a wider face stands in for ours, it is printed at 9 points or
more: measured with DejaVu Sans, the widest of those that LibreOffice takes.
"""
SNAP = 1.2
"""Edges that lie nearer to each other than this are one [digits]."""
NARROWEST = 8.0
"""What is left of a column of wrapped text [digits]."""
CARD = (Column("", 25), Column("", 20), Column("", 20), Column("", 25))
TO_DO = (Column("", 4), Column("", 11), Column("", 45, wrap=True), Column("", 30, wrap=True))


def room_of(page: Page) -> float:
    """The width of a page [digits]."""
    return LANDSCAPE if page.landscape else PORTRAIT


def fitted(columns: Sequence[Column], room: float) -> list[Column]:
    """The columns of a table in this room: too wide a table takes it from its columns of text."""
    over = sum(column.width for column in columns) - room
    spare = sum(max(column.width - NARROWEST, 0) for column in columns if column.wrap)
    if over <= 0:
        return list(columns)
    share = min(over / spare, 1.0) if spare else 0.0
    narrow = [
        replace(column, width=column.width - max(column.width - NARROWEST, 0) * share) if column.wrap else column
        for column in columns
    ]
    factor = min(room / sum(column.width for column in narrow), 1.0)
    return [replace(column, width=column.width * factor) for column in narrow]


def widths_of(block: Block, room: float) -> Iterable[Sequence[float]]:
    """The widths of the columns that a block is laid on."""
    match block:
        case Table():
            yield [column.width for column in fitted(block.columns, room)]
        case Card():
            yield [column.width for column in CARD]
            yield [column.width for column in TO_DO]
        case ChartGrid():
            across = max((len(charts) for charts in block.rows), default=1)
            yield [room / across] * across
        case PhotoRow():
            yield [room / len(block.photos)] * len(block.photos)


@dataclass(frozen=True)
class Grid:
    """The columns of a sheet, by the edges between them [digits from the left]."""

    edges: tuple[float, ...]

    @property
    def widths(self) -> list[float]:
        """The widths of the columns."""
        return [right - left for left, right in itertools.pairwise((0.0, *self.edges))]

    def laid(self, columns: Sequence[Column]) -> list[Column]:
        """The columns of a table, each over those of the sheet that it takes."""
        rights = itertools.accumulate(column.width for column in columns)
        places = [0, *(self._place(right) for right in rights)]
        edges = (0.0, *self.edges)
        return [
            replace(column, span=end - start, width=edges[end] - edges[start])
            for column, (start, end) in zip(columns, itertools.pairwise(places), strict=True)
        ]

    def _place(self, right: float) -> int:
        """The number of sheet columns to the left of the edge that is nearest."""
        return min(range(len(self.edges)), key=lambda place: abs(self.edges[place] - right)) + 1


def grid_of(pages: Iterable[Page]) -> Grid:
    """The fewest columns on which all tables of some pages can stand."""
    rights: set[float] = set()
    room = 0.0
    for page in pages:
        room = max(room, room_of(page))
        for block in page.blocks:
            for widths in widths_of(block, room_of(page)):
                rights.update(itertools.accumulate(widths))
    edges: list[float] = []
    for right in sorted({*rights, room}):
        if not edges or right - edges[-1] > SNAP:
            edges.append(right)
    edges[-1] = max(edges[-1], room)
    return Grid(tuple(edges))
