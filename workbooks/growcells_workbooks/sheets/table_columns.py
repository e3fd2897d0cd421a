"""The columns of a table and the values in them, said without any spreadsheet library."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from .text_size import wrapped_lines

DATE = "d mmm yyyy"
SHORT_DATE = "ddd d mmm"
WHOLE = "0"
PLAIN = "#,##0.0"
FINE = "#,##0.0##"
PPM = "[>=1]#,##0.0;[=0]0;0.000"
"""Trace elements are wanted in thousandths."""

LINE_HEIGHT = 13
"""Height of a line of text in a table [points]."""
TICK = "☐"
"""A box to tick."""


@dataclass(frozen=True)
class Formula:
    """A value that a reader may want to follow, with its formula: ``{2}`` is the third cell of its row."""

    text: str
    value: float


@dataclass(frozen=True)
class Sum:
    """The sum of a column, in the row of totals below it."""

    value: float


Value = str | float | int | datetime.date | datetime.time | Formula | Sum | None


def mass_format(unit: str) -> str:
    """The number format of masses: the tenth of a gram is enough, the tenth of a kilogram or an ounce is not."""
    return PLAIN if unit in ("g", "mg") else FINE


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading with the unit, its width in characters and the format of its numbers.

    ``span`` is the number of sheet columns that it takes; ``width`` is then that of all of them.
    """

    heading: str
    width: float
    format: str = ""
    wrap: bool = False
    group: str = ""
    span: int = 1

    @property
    def is_text(self) -> bool:
        """Whether its cells are texts, set to the left."""
        return not self.format


def placed(columns: Sequence[Column]) -> list[tuple[int, Column]]:
    """The columns of a table, each with the sheet column in which it starts."""
    places, start = [], 1
    for column in columns:
        places.append((start, column))
        start += column.span
    return places


EDGE, INDENT = 1.0, 2.2
"""What the edges of a cell take of its width, and what they take where text is set in a little [digits]."""


def heading_height(columns: Sequence[Column]) -> float:
    """The height of the headings of a table, without those of its groups [points]."""
    lines = max(
        sum(wrapped_lines(part, column.width - _edge(place, column)) for part in column.heading.split("\n"))
        for place, column in enumerate(columns)
    )
    return LINE_HEIGHT * lines + 4


def _edge(place: int, column: Column) -> float:
    """What of a column's width its heading cannot take: texts are set in a little, but for those of the first."""
    return INDENT if place and column.is_text else EDGE


def row_height(columns: Sequence[Column], row: Sequence[Value]) -> float:
    """The height of a row [points]: not every program works it out for wrapped text when it opens a file."""
    lines = max(
        (
            wrapped_lines(value, column.width - (INDENT if place else EDGE))
            for place, (column, value) in enumerate(zip(columns, row, strict=True))
            if column.wrap and isinstance(value, str)
        ),
        default=1,
    )
    return LINE_HEIGHT * lines + 3
