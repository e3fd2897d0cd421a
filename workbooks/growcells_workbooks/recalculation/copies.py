"""Formulas that are copies of one another further up or down in a column: what they have in common is known once.

Nearly every formula of a log is a copy of the one above it. The two differ in the rows of their moving references
alone, and in these by as many rows as the one cell stands below the other.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ..gate import FileProblem
from .cells import MAX_ROWS, Area
from .readings import OWN_MARKS, Reading
from .references import MOVING, read_area_of
from .tokens import FIRST_MARK, OWN_ROW, Kind, NotComputed, tokens_of

_HUGE = re.compile(r"[A-Za-z$][0-9]{6}|\b[0-9]{6,7}:")
_LAST_MARKED = 99_999
"""The last row of which a reference is marked: a larger number is read as it stands, so that large ranges are seen."""
_MOVES = re.compile(r"(\$?[A-Za-z]{1,3})([1-9][0-9]*)")
_ROW_ALONE = re.compile(r"(?<![$A-Za-z0-9])[0-9]+")
_UNMARKED = re.compile(r"(?<![\w.$])\$?[A-Za-z]{1,3}[1-9][0-9]{0,6}(?![\w.(!'])|(?<![\w.$])[0-9]+:|:[0-9]+")
"""What moves with a cell where a program moves formulas, and has no mark: the cells of a table, rows."""
_QUOTED = re.compile(r"\"(?:[^\"]|\"\")*\"|'(?:[^']|'')*'")
_MARK = re.compile(f"[{OWN_MARKS}\U000f0000-\U000ffffd]")


def taken_apart(formula: str) -> tuple[str, list[str]]:
    """A formula with marks in the place of its moving references, and these."""
    if _HUGE.search(formula):
        return formula, []
    pieces = MOVING.split(formula)
    moving = pieces[1::2]
    pieces[1::2] = [chr(FIRST_MARK + index) for index in range(len(moving))]
    return "".join(pieces), moving


class _End(NamedTuple):
    """A corner of an area: its column, and its row or, where that moves, by how much it lies lower than the cell."""

    row: int
    column: int
    moves: bool


class Corners(NamedTuple):
    """An area that may move with the cell."""

    sheet: str
    first: _End
    last: _End

    @property
    def is_cell(self) -> bool:
        """Whether it is one cell."""
        return self.first is self.last

    @property
    def moves(self) -> bool:
        """Whether it is another one for each copy."""
        return self.first.moves or self.last.moves

    def first_cell(self, row: int) -> tuple[int, int]:
        """Row and column of the first cell for the copy in this row."""
        top, column, moves = self.first
        return (top + row if moves else top), column

    def whole_columns(self) -> Area:
        """All rows of its columns."""
        return Area(1, min(self.first.column, self.last.column), MAX_ROWS, max(self.first.column, self.last.column))

    def at(self, row: int) -> Area:
        """The area for the copy in this row."""
        (top, left, top_moves), (bottom, right, bottom_moves) = self.first, self.last
        if top_moves:
            top += row
        if bottom_moves:
            bottom += row
        if top <= bottom and left <= right:
            return Area(top, left, bottom, right)
        return Area(min(top, bottom), min(left, right), max(top, bottom), max(left, right))


@dataclass(slots=True, eq=False)
class Copies:
    """A formula, in the cell that was read first, and its copies."""

    first: str
    marked: str
    references: tuple[tuple[str, int | None], ...]
    """Each moving reference without its row, and how much lower than the cell that is; None where it stands still."""
    pattern: str
    """For ``%``: the formula with a place for each row that moves."""
    offsets: tuple[int, ...]
    rows: range
    """The rows of which it can be told whether a formula there is a copy."""
    _is_plain: bool | None = None
    _areas: list[Corners | None] | None = None

    @classmethod
    def of(cls, formula: str, row: int) -> Copies:
        """A formula in a cell of this row as the first of its copies."""
        marked, moving = taken_apart(formula)
        references = tuple(_reference(text, row) for text in moving)
        offsets = tuple(offset for _, offset in references if offset is not None)
        written = {
            FIRST_MARK + index: text if offset is None else text + "%d"
            for index, (text, offset) in enumerate(references)
        }
        if not offsets:
            rows = range(row, row + 1) if _HUGE.search(formula) else range(1, MAX_ROWS + 1)
        else:
            rows = range(max(1, 1 - min(offsets)), _LAST_MARKED + 1 - max(0, *offsets))
        return cls(formula, marked, references, marked.replace("%", "%%").translate(written), offsets, rows)

    def text(self, row: int) -> str:
        """The formula of the copy in this row."""
        return self.pattern % tuple(map(row.__add__, self.offsets))

    def moving(self, row: int) -> list[str]:
        """The moving references of the copy in this row."""
        return [text if offset is None else f"{text}{row + offset}" for text, offset in self.references]

    @property
    def is_plain(self) -> bool:
        """Whether all that moves is references of cells, and all references of cells in it move as programs move them.

        The same letters and figures in a text, or rows alone, would not.
        """
        if self._is_plain is None:
            self._is_plain = _is_plain(self.marked)
        return self._is_plain

    def areas(self, reading: Reading) -> Sequence[Corners | None]:
        """The sheet and the area of each reference, None for cells that no sheet has; ``reading`` is the formula's."""
        if self._areas is None:
            self._areas = [self.corners(sheet, text) for sheet, text in reading.areas]
        return self._areas

    def corners(self, sheet: str, text: str) -> Corners | None:
        """The area that a reference in a reading names, nothing for cells that no sheet has."""
        first, _, last = text.partition(":")
        try:
            if _MARK.search(text) is None:  # whole rows and columns among them
                area = read_area_of(text)
                top, bottom = (
                    _End(area.first_row, area.first_column, False),
                    _End(area.last_row, area.last_column, False),
                )
            else:
                top = self._end(first)
                bottom = self._end(last) if last else top
        except FileProblem:
            return None
        return Corners(sheet, top, bottom)

    def _end(self, text: str) -> _End:
        """One end of a reference; raises FileProblem where no sheet reaches so far."""
        if OWN_ROW in text:
            return _End(0, read_area_of(text.replace(OWN_ROW, "1")).first_column, True)
        number = ord(text[0]) - FIRST_MARK
        if not 0 <= number < len(self.references):
            area = read_area_of(text)
            return _End(area.first_row, area.first_column, False)
        reference, offset = self.references[number]
        area = read_area_of(reference if offset is None else f"{reference}1")
        return _End(area.first_row if offset is None else offset, area.first_column, offset is not None)


def _reference(text: str, row: int) -> tuple[str, int | None]:
    match = _MOVES.fullmatch(text)
    return (text, None) if match is None else (match[1], int(match[2]) - row)


def _is_plain(marked: str) -> bool:
    try:
        tokens = tokens_of(marked.strip())
    except NotComputed:
        return False
    return all(
        _ROW_ALONE.search(token.text) is None and _MARK.search(token.scope) is None
        if token.kind is Kind.AREA
        else _MARK.search(token.scope + token.text) is None
        for token in tokens
    )


def moves_as_one(texts: Sequence[str]) -> bool:
    """Whether texts for the engine, with their marks, mean in each copy what a program makes of the first one there."""
    return not any(
        _UNMARKED.search(text) or any(_MARK.search(quoted) for quoted in _QUOTED.findall(text)) for text in texts
    )


def areas_at(corners: Sequence[Corners | None], row: int) -> Iterator[tuple[str, Area]]:
    """The sheets and areas for the copy in this row."""
    for found in corners:
        if found is not None:
            yield found.sheet, found.at(row)
