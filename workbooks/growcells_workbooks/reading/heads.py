"""What heads a table, by the rows and columns in which it stands, and the records that stand under it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from .cells import LogCell
from .grid import Sheet
from .mapping import IGNORE
from .tables import Heading, Layout, Record, Settings, Table


@dataclass(frozen=True)
class Head(ABC):
    """What heads a table: the rows and columns in which it stands."""

    sheet: Sheet
    first_row: int
    last_row: int
    left: int
    right: int

    @abstractmethod
    def table(self, end: int) -> Table:
        """The table from here to the row before ``end``."""


@dataclass(frozen=True)
class NamedHead(Head):
    """Headings that each name a field: in a row, or one below the other where the records are columns."""

    kind: str = ""
    headings: Mapping[int, Heading] = field(default_factory=dict)
    """By column, or by row where the records are columns."""
    cells: tuple[LogCell, ...] = ()
    """All of them, those of upper rows too."""
    listed: tuple[tuple[LogCell, str], ...] = ()
    settings: Settings = field(default_factory=Settings)


@dataclass(frozen=True)
class RowsHead(NamedHead):
    """Headings of a table with a row for each record."""

    @property
    def known(self) -> int:
        """How many of its headings are known as a whole, not only a word of them."""
        return sum(heading.exact for heading in self.headings.values())

    def table(self, end: int) -> Table:
        by_field = {heading.field.name: heading for heading in self.headings.values()}
        records = [] if self.kind == IGNORE else list(self._records(end))
        return Table(
            self.sheet, self.kind, Layout.ROWS, self.last_row, by_field, self.cells, self.listed, records,
            self.left, self.right, settings=self.settings,
        )  # fmt: skip

    def _records(self, end: int) -> Iterator[Record]:
        places = {column: heading.field.name for column, heading in self.headings.items()}
        shared = [(column, name) for column, name in places.items() if name in ("date", "bed")]
        merged = self.sheet.merged
        for number in self.sheet.numbers_between(self.last_row, end):
            cells: dict[str, LogCell] = {}
            others: list[LogCell] = []
            for column, cell in self.sheet.rows[number].items():
                if column in places:
                    cells[places[column]] = cell
                elif self.left <= column <= self.right:
                    others.append(cell)
            if not cells and not others:
                continue
            for column, name in shared if merged else ():
                above = merged.get((number, column))
                if above is not None and name not in cells and above.row > self.last_row and above.column == column:
                    cells[name] = above
            yield Record(number, cells, tuple(others))


@dataclass(frozen=True)
class ColumnsHead(NamedHead):
    """Headings one below the other: the records are the columns to their right."""

    def table(self, end: int) -> Table:
        by_field = {heading.field.name: heading for heading in self.headings.values()}
        records = []
        for column in range(self.left + 1, self.right + 1):
            cells, others = {}, []
            for row in range(self.first_row, self.last_row + 1):
                cell = self.sheet.rows.get(row, {}).get(column)
                if cell is not None and row in self.headings:
                    cells[self.headings[row].field.name] = cell
                elif cell is not None:
                    others.append(cell)
            if cells and self.kind != IGNORE:
                records.append(Record(min(cell.row for cell in cells.values()), cells, tuple(others)))
        return Table(
            self.sheet, self.kind, Layout.COLUMNS, self.first_row, by_field, self.cells, self.listed, records,
            self.left + 1, self.right, settings=self.settings,
        )  # fmt: skip
