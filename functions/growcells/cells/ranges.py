"""Ranges of cells as arguments: their shape, a heading above them, the one cell that a range may be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from .arguments import Argument
from .errors import CellError, GrowError, PassedOn
from .kinds import Kind, Text, is_blank
from .number_texts import count


def as_row(cells: object) -> Sequence[object]:
    """A row of a range; a range handed over as a plain list has rows of one cell."""
    return cells if isinstance(cells, (list, tuple)) else (cells,)


def is_word(cell: object) -> bool:
    """Whether a cell is a text without figures."""
    return isinstance(cell, str) and not any(sign.isdigit() for sign in cell)


def column_cells(cells: object, argument: Argument) -> list[object]:
    """The cells of a range of one column or one row, or of a single cell; a blank is None.

    Raises GrowError for a range of several rows and columns, PassedOn for a cell that is an error.
    """
    if not isinstance(cells, (list, tuple)):
        cells = ((cells,),)
    rows = [as_row(row) for row in cells]
    if len(rows) > 1 and any(len(row) != 1 for row in rows):
        raise GrowError(
            f"{argument.name} has {count(len(rows), 'row')} and {count(len(rows[0]), 'column')}: give a single column"
        )
    flat = [cell for row in rows for cell in row]
    for cell in flat:
        if isinstance(cell, CellError):
            raise PassedOn(argument.name, cell)
    return [None if is_blank(cell) else cell for cell in flat]


@dataclass(frozen=True)
class Column(Kind):
    """A range of one column (or row) whose cells are all of one kind; blanks stay None."""

    element: Kind

    whole = True
    numeric = True

    @property
    def longest(self) -> int:  # type: ignore[override]
        """That of its cells."""
        return self.element.longest

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> list[object]:
        values: list[object] = []
        for row, value in enumerate(column_cells(cell, argument), 1):
            try:
                values.append(None if value is None else argument.read_single(value, self.element, unit))
            except GrowError:
                # Once more, to raise under a name that tells the row.
                values.append(
                    replace(argument, name=f"row {row} of {argument.name}").read_single(value, self.element, unit)
                )
        return values

    def is_heading(self, cell: object, argument: Argument) -> bool | None:
        """Whether a cell is the heading of this column; None where any text could be a value or a heading."""
        if isinstance(self.element, Text):
            return None
        if not is_word(cell):
            return False
        try:
            self.element.read(cell, argument)
        except GrowError:
            return True
        return False


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
    rows = [as_row(row) for row in cells]
    return rows[0][0] if len(rows) == 1 and len(rows[0]) == 1 else rows


def without_headings(arguments: Sequence[Argument], cells: list[object]) -> list[object]:
    """The cells with a heading blanked, where every column that can tell says that it has one.

    Ranges several columns wide tell their headings themselves.
    """
    columns: dict[int, Sequence[object]] = {
        index: cell
        for index, (argument, cell) in enumerate(zip(arguments, cells, strict=True))
        if isinstance(argument.kind, Column) and isinstance(cell, (list, tuple)) and is_tall(cell)
    }
    answers: list[bool | None] = []
    for index, rows in columns.items():
        kind = arguments[index].kind
        assert isinstance(kind, Column)
        (first,) = as_row(rows[0])
        answers.append(None if is_blank(first) else kind.is_heading(first, arguments[index]))
    if True in answers and False not in answers:
        for index, rows in columns.items():
            cells[index] = [(None,), *rows[1:]]
    return cells


def is_tall(rows: Sequence[object]) -> bool:
    """Whether a range is one column of several rows."""
    return len(rows) > 1 and len(as_row(rows[0])) == 1


def check_lengths(columns: Mapping[str, Sequence[object]]) -> None:
    """Raise GrowError where columns that belong together differ in length."""
    (name, first), *others = columns.items()
    for other, cells in others:
        if len(cells) != len(first):
            raise GrowError(
                f"{name} has {count(len(first), 'row')} and {other} {len(cells)}: give columns of the same length"
            )
