"""What was found in a log: tables, columns, and what became of the cells."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class Fate(StrEnum):
    """What became of a row or a cell of the log."""

    READ = "read"
    IGNORED = "ignored"
    """On purpose: a title, a note, a total, what a mapping file passes over."""
    UNREADABLE = "unreadable"
    """Not understood: it looks like data and is lost."""
    HEADING = "heading"


@dataclass(frozen=True, slots=True)
class CellNote:
    """What is to be said of a cell (or the area of a sheet without tables): what it holds, what became of it, why.

    A cell that was read and yet is noted holds a value that is hardly possible.
    """

    sheet: str
    cell: str
    content: str
    fate: Fate
    reason: str

    @property
    def problem(self) -> bool:
        """Whether it is something to look into, such as a bed that is not listed, and not a title or a total."""
        return self.fate is Fate.UNREADABLE


class Certainty(StrEnum):
    """How sure it is what a column or a table was taken for."""

    SURE = "sure"
    LIKELY = "likely"
    GUESSED = "guessed"


@dataclass(frozen=True, slots=True)
class ColumnFound:
    """A column of a table: what it was taken for (None: not used), in which unit, and how that is known."""

    cell: str
    heading: str
    field: str | None
    unit: str = ""
    unit_from: str = ""
    certainty: Certainty = Certainty.SURE
    why: str = ""
    """Why it is not sure, or not used."""
    bed: str = ""
    """The bed of its numbers, where the table has a column for each."""
    other: bool = False
    """Whether its heading is known and names nothing that is used here."""


@dataclass(frozen=True, slots=True)
class TableFound:
    """A table of the log: what it was taken for and what became of its rows."""

    kind: str
    sheet: str
    heading_row: int
    columns: tuple[ColumnFound, ...]
    rows: Mapping[Fate, int]
    date_order: str = ""
    layout: str = "a row for each"
    """How it lies on its sheet."""
    title: str = ""
    """The text right above it or in its corner."""
    measured: str = ""
    """What its numbers are, where a table has a column for each bed or date."""
    decimals: str = ""
    """``comma`` where numbers are typed with one."""
    carried: int = 0
    """Rows whose date or bed is the one above."""
    records: int = 0
    """Beds, feeds, readings or weights read."""
    problem: str = ""
    """Why none of it could be read, where that is so."""

    @property
    def certainty(self) -> Certainty:
        """That of its least sure column."""
        if self.problem:
            return Certainty.GUESSED
        ranks = list(Certainty)
        used = [ranks.index(column.certainty) for column in self.columns if column.field]
        return ranks[max(used, default=0)]


@dataclass(frozen=True, slots=True)
class Counts:
    """The filled cells of a log by what became of them; they add up."""

    used: int
    ignored: int
    """On purpose: titles, notes, totals, what a mapping file passes over."""
    not_understood: int

    @property
    def filled(self) -> int:
        """All of them."""
        return self.used + self.ignored + self.not_understood


@dataclass(frozen=True)
class Outdated:
    """A formula whose stored value is not the one that its growcells function gives now."""

    sheet: str
    cell: str
    formula: str
    stored: str
    now: str
