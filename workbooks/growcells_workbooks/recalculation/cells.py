"""Cells, areas and values as a workbook names and holds them."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from ..gate import FileProblem

Value = float | bool | str | None
"""A cell value: number, truth, text, or nothing. Errors are ErrorValue."""

MAX_ROWS, MAX_COLUMNS = 1_048_576, 16_384  # Excel specifications and limits

_CELL = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")


@dataclass(frozen=True, slots=True)
class ErrorValue:
    """An error as a cell holds it."""

    code: str


class Area(NamedTuple):
    """A rectangle of cells, rows and columns counted from 1, both ends in it."""

    first_row: int
    first_column: int
    last_row: int
    last_column: int

    def has(self, row: int, column: int) -> bool:
        return self.first_row <= row <= self.last_row and self.first_column <= column <= self.last_column

    def has_row(self, row: int) -> bool:
        return self.first_row <= row <= self.last_row

    def places(self) -> Iterator[tuple[int, int]]:
        """Row and column of each cell."""
        for row in range(self.first_row, self.last_row + 1):
            for column in range(self.first_column, self.last_column + 1):
                yield row, column

    @property
    def rows(self) -> int:
        return self.last_row - self.first_row + 1

    @property
    def columns(self) -> int:
        return self.last_column - self.first_column + 1


# openpyxl names columns too, but to import it takes longer than to compute a small log.


@functools.cache
def column_letters(column: int) -> str:
    """``A`` for 1, ``AA`` for 27."""
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


@functools.cache
def column_number(letters: str) -> int:
    """1 for ``A``, 27 for ``AA``."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def cell_name(row: int, column: int) -> str:
    """``B3`` for row 3, column 2."""
    return f"{column_letters(column)}{row}"


def read_place(name: str) -> tuple[int, int]:
    """Row and column of ``B3``; raises FileProblem for what is no cell."""
    match = _CELL.fullmatch(name)
    if match is None:
        raise FileProblem(f'the workbook is damaged: "{name[:30]}" is not the name of a cell')
    return place_at(match[1], match[2])


def place_at(letters: str, number: str) -> tuple[int, int]:
    """Row and column where they are ``number`` and ``letters``; raises FileProblem where no sheet reaches so far."""
    row, column = int(number), column_number(letters)
    if row > MAX_ROWS or column > MAX_COLUMNS:
        raise FileProblem(f'the workbook is damaged: "{letters}{number}" is not the name of a cell')
    return row, column


def read_area(text: str) -> Area:
    """The area that ``B3:C9`` or ``B3`` names; raises FileProblem for what is none."""
    first, _, last = text.partition(":")
    (top, left), (bottom, right) = read_place(first), read_place(last or first)
    return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))
