"""What a table of a log is, whichever way it lies: fields with their headings, and records of cells."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from .cells import LogCell
from .grid import Sheet
from .words import Claim, Field


class Layout(StrEnum):
    """How a table lies on its sheet."""

    ROWS = "a row for each"
    COLUMNS = "a column for each"
    BEDS_ACROSS = "a column for each bed"
    DATES_ACROSS = "a column for each date"


@dataclass(frozen=True)
class Heading:
    """What a column was taken for: its field, the cell that heads it, its unit ("" where none is written)."""

    field: Field
    cell: LogCell
    unit: str = ""
    exact: bool = True
    settled: bool = False
    """Whether a mapping file says so."""

    @classmethod
    def of(cls, claim: Claim, cell: LogCell) -> Heading:
        """A heading as it was claimed."""
        return cls(claim.field, cell, claim.unit, claim.exact)


@dataclass(slots=True)
class Record:
    """A bed, feed, reading or weight: its cells by field, and cells of its row whose column is not used."""

    number: int
    cells: dict[str, LogCell]
    others: tuple[LogCell, ...] = ()


@dataclass(frozen=True)
class Settings:
    """What a mapping file says of a table as a whole; "" where it says nothing."""

    bed: str = ""
    dates: str = ""
    decimals: str = ""


@dataclass(frozen=True)
class Table:
    """A table of a log."""

    sheet: Sheet
    kind: str
    layout: Layout
    heading_row: int
    headings: dict[str, Heading]
    """By field."""
    heading_cells: tuple[LogCell, ...]
    listed: tuple[tuple[LogCell, str], ...]
    """The cells that head columns, used or not, with the whole text of the heading."""
    records: list[Record]
    left: int
    """Its first column."""
    right: int
    title: str = ""
    """The text nearest above it, or in its corner."""
    unread: tuple[LogCell, ...] = ()
    """Its cells, where a problem keeps it from being read as a whole."""
    settings: Settings = field(default_factory=Settings)
    problem: str = ""
    """Why none of it can be read, where that is so."""
