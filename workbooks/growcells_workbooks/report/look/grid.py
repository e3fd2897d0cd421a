"""The columns of a sheet on which tables with columns of their own stand below each other."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ...sheets.shown_values import text_of
from ...sheets.table_columns import EDGE, INDENT, Column
from ...sheets.text_size import text_width
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
BESIDE = 2.3
"""Room beside a number in its cell [digits]."""
BESIDE_TEXT = EDGE + INDENT
"""Room beside a word in its cell [digits]."""
MOST_NEEDED = PORTRAIT / 3
"""What a column takes before the others have what they need [digits]: none is left without room."""
BOLD = 1.12
"""How much wider than others the letters of totals run: at most so, measured with DejaVu Sans Bold and Helvetica's."""
MOST_MEASURED = 1_000
"""Rows of a table whose values are measured; longer tables are alike all the way down."""
CARD = (Column("", 25), Column("", 20), Column("", 20), Column("", 25))
TO_DO = (Column("", 4), Column("", 11), Column("", 43, wrap=True), Column("", 32, wrap=True))


def room_of(page: Page) -> float:
    """The width of a page [digits]."""
    return LANDSCAPE if page.landscape else PORTRAIT


def fitted_page(page: Page) -> Page:
    """A page whose tables have the widths that they are drawn with."""
    room = room_of(page)
    blocks = [
        replace(block, columns=fitted(block, room)) if isinstance(block, Table) else block for block in page.blocks
    ]
    return replace(page, blocks=blocks)


def fitted(table: Table, room: float) -> list[Column]:
    """The columns of a table in this room: numbers as wide as they need, the rest shared among columns of text."""
    whole = [_needed(table, place) for place in range(len(table.columns))]
    needed = [min(need, MOST_NEEDED) for need in whole]
    columns = [
        replace(column, width=_wanted(table, column, need)) for column, need in zip(table.columns, needed, strict=True)
    ]
    least = [_longest_word(table, place) for place in range(len(table.columns))]
    columns = _shared(_shared(columns, needed, least, room), whole, least, room)
    factor = min(room / sum(column.width for column in columns), 1.0)
    return [replace(column, width=column.width * factor) for column in columns]


def _needed(table: Table, place: int) -> float:
    """What the widest value of a column takes in a line."""
    column = table.columns[place]
    widths = [text_width(text_of(row[place], column.format)) for row in table.rows[:MOST_MEASURED]]
    if table.totals:
        widths.append(text_width(text_of(table.totals[place], column.format)) * BOLD)
    return max(widths, default=0.0) + _beside(column)


def _beside(column: Column) -> float:
    """The room beside a value in a cell of a column [digits]."""
    return BESIDE_TEXT if column.is_text else BESIDE


def _longest_word(table: Table, place: int) -> float:
    """What the longest word of a column takes: a narrower one would break it."""
    texts = (row[place] for row in table.rows[:MOST_MEASURED])
    words = [word for text in texts if isinstance(text, str) for word in text.split()]
    return min(max(map(text_width, words), default=0.0), MOST_NEEDED) + BESIDE_TEXT


def _wanted(table: Table, column: Column, needed: float) -> float:
    """What a column takes if it can: one to write into what was given, another as its values and headings need."""
    if table.by_hand:
        return column.width
    lines = column.heading.split("\n")
    words = [word for line in lines for word in (line.split(" ") if len(lines) == 1 else [line])]
    needed = max(needed, *(text_width(word) + _beside(column) for word in words))
    if column.wrap:
        return min(column.width, needed)
    return max(needed, column.width if column.is_text else 0.0)


def _shared(
    columns: Sequence[Column], needed: Sequence[float], least: Sequence[float], room: float
) -> list[Column]:  # fmt: skip
    """The columns with those of wrapped text narrower where all are too wide, and wider where there is room to spare.

    None becomes wider than it needs, or narrower than its longest word.
    """
    over = sum(column.width for column in columns) - room
    spare = [
        (max(column.width - max(NARROWEST, word), 0.0) if over > 0 else max(need - column.width, 0.0))
        if column.wrap
        else 0.0
        for column, need, word in zip(columns, needed, least, strict=True)
    ]
    share = min(abs(over) / sum(spare), 1.0) if any(spare) else 0.0
    sign = -1 if over > 0 else 1
    return [replace(c, width=c.width + sign * share * of_it) for c, of_it in zip(columns, spare, strict=True)]


def widths_of(block: Block, room: float) -> Iterable[Sequence[float]]:
    """The widths of the columns that a block is laid on."""
    match block:
        case Table():
            yield [column.width for column in block.columns]
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
    """The fewest columns on which all tables of some pages, which are fitted, can stand."""
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
    if len(edges) == 1:  # LibreOffice does not fit a single column that is wider than the paper
        edges = [room / 2, room]
    return Grid(tuple(edges))
