"""Which texts head each column: rows of headings, what spans several columns, and what stands below them."""

from __future__ import annotations

import bisect
from collections import Counter
from collections.abc import Mapping, Sequence

from ..columns.column import Column
from ..columns.readings_tables import means_bed
from ..inputs.log_cells import LogCell, Sheet
from ..vocabulary.names import Names, looks_like_bed
from ..vocabulary.shapes import Shape, is_text, shape_of
from .grids import Grid, may_be_heading, within

ROWS_LOOKED_AT = 30
"""Rows below headings by which it is judged what a column holds; ours."""
SAMPLE = 12
"""Cells of a column that are kept to be looked at; ours."""
TITLE_ROWS = 6
"""Rows above headings in which titles are looked for, and blank rows within a table; ours."""


class Headings:
    """Tells the columns of a grid by its rows of headings."""

    def __init__(self, sheet: Sheet, grid: Grid, names: Names) -> None:
        self.sheet, self.grid, self.names = sheet, grid, names

    def under(self, rows: Sequence[int], left: int, right: int, last: int) -> tuple[list[Column], tuple[LogCell, ...]]:
        """The columns under rows of headings, and all cells of those rows; what stands below begins after a row."""
        below = self._below(last)
        shapes: dict[int, Counter[Shape]] = {}
        samples: dict[int, list[LogCell]] = {}
        for number in below:
            for place, cell in within(self.grid.rows[number], left - 1, right):
                shapes.setdefault(place, Counter())[shape_of(cell)] += 1
                if len(samples.setdefault(place, [])) < SAMPLE:
                    samples[place].append(cell)
        spans = [self._spans(number, left, right, number == rows[-1]) for number in reversed(rows)]
        own = {place for number in rows for place, _ in within(self.grid.rows[number], left, right)}
        numbered = self._numbers_of_beds(rows) if self.grid.turned else frozenset()
        columns: list[Column] = []
        for place in sorted(own | self._unheaded(shapes, samples, own, left)):
            cells = list(dict.fromkeys(span[place] for span in spans if place in span and is_text(span[place])))
            cells += [span[place] for span in spans if place in span and id(span[place]) in numbered]
            if place not in own:
                cells = [LogCell(self.sheet.title, *self._true_place(rows[-1], place), "")]
            elif not cells:
                cells = [span[place] for span in spans if place in span][:1]
            texts = tuple(cell.text for cell in cells)
            column = Column(place, tuple(cells), texts, shapes.get(place, Counter()), tuple(samples.get(place, ())))
            column.numbered = any(id(cell) in numbered for cell in cells)
            columns.append(column)
        heads = (cell for number in rows for _, cell in within(self.grid.rows[number], left, right))
        return columns, tuple(
            cell for cell in heads if not self.grid.turned or may_be_heading(cell) or id(cell) in numbered
        )

    def _numbers_of_beds(self, rows: Sequence[int]) -> frozenset[int]:
        """The identities of numbers in columns of labels that are headed by a word for a bed."""
        found: set[int] = set()
        for number in rows:
            head, *cells = self.grid.rows[number].values()
            if isinstance(head.value, str) and means_bed(head.text):
                found.update(id(cell) for cell in cells if shape_of(cell) is Shape.NUMBER)
        return frozenset(found)

    def _unheaded(
        self, shapes: Mapping[int, Counter[Shape]], samples: Mapping[int, list[LogCell]], own: set[int], left: int
    ) -> set[int]:
        """The columns without a heading that may hold the dates or the beds of the rows."""
        found = set()
        for place, counts in shapes.items():
            if place in own or not (counts[Shape.DATE] or counts[Shape.TEXT]):
                continue
            if place >= left or counts[Shape.DATE] * 2 > sum(counts.values()) or self._names_beds(samples[place]):
                found.add(place)
        return found

    def _names_beds(self, cells: Sequence[LogCell]) -> bool:
        return sum(bool(self.names.find(cell.text)) or looks_like_bed(cell.text) for cell in cells) * 2 > len(cells)

    def _true_place(self, row: int, column: int) -> tuple[int, int]:
        return (column, row) if self.grid.turned else (row, column)

    def _below(self, row: int) -> list[int]:
        """The rows below headings, as far as a table may reach."""
        start = bisect.bisect_right(self.grid.numbers, row)
        found: list[int] = []
        for number in self.grid.numbers[start : start + ROWS_LOOKED_AT]:
            if found and number - found[-1] > TITLE_ROWS:
                break
            found.append(number)
        return found

    def _spans(self, number: int, left: int, right: int, lowest: bool) -> dict[int, LogCell]:
        """The heading of each column in a row: its own, or that which spans it from the left."""
        row = self.grid.rows[number]
        found: dict[int, LogCell] = {}
        merged = number in self.grid.merged_rows
        last: LogCell | None = None
        places = range(left, right + 1) if right - left < 4 * len(row) + 64 else sorted(row)
        for place in places:
            cell = row.get(place) or self.grid.merged.get((number, place))
            if cell is not None:
                found[place] = last = cell
            elif not lowest and not merged and last is not None:
                found[place] = last
        return found
