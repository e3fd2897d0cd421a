"""Ranges of cells as arguments: their shape, a heading above them, the one cell that a range may be."""

from __future__ import annotations

from collections.abc import Sequence

from .declaring import Argument
from .errors import GrowError
from .kinds import Column, is_blank


def shape(cells: object) -> tuple[int, int]:
    """Rows and columns of a range; raises GrowError for rows of unequal length or none."""
    assert isinstance(cells, (list, tuple))
    widths = {len(row) for row in cells}
    if len(widths) != 1 or widths == {0}:
        raise GrowError("a range is empty or ragged: give a rectangle of cells")
    return len(cells), widths.pop()


def unwrapped(cells: object) -> object:
    """The cell of a range that holds only one; any other range as rows."""
    assert isinstance(cells, (list, tuple))
    rows = [row if isinstance(row, (list, tuple)) else (row,) for row in cells]
    return rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows


def without_headings(arguments: Sequence[Argument], cells: list[object]) -> list[object]:
    """The cells with a heading row blanked, where every range that can tell says that it has one."""
    columns = [
        index
        for index, (argument, cell) in enumerate(zip(arguments, cells, strict=True))
        if isinstance(argument.kind, Column) and isinstance(cell, (list, tuple)) and len(cell) > 1
    ]
    answers = []
    for index in columns:
        argument, first = arguments[index], cells[index][0]  # type: ignore[index]  # checked to be a range
        first = first[0] if isinstance(first, (list, tuple)) and first else first
        assert isinstance(argument.kind, Column)
        answers.append(None if is_blank(first) else argument.kind.is_heading(first, argument))
    if True in answers and False not in answers:
        for index in columns:
            rows = cells[index]
            assert isinstance(rows, (list, tuple))
            width = len(rows[0]) if isinstance(rows[0], (list, tuple)) else 1
            cells[index] = [(None,) * width, *rows[1:]]
    return cells
