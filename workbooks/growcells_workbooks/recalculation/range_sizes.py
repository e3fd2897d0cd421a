"""How large ranges are that the engine is given: whole columns are cut after the last row, none takes it too long."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from ..gate import FileProblem
from .cells import MAX_ROWS
from .frames import Frame, Range
from .native import KNOWS_ONE_OF_EACH
from .references import read_area_of
from .tokens import FIRST_MARK, OWN_ROW, NotComputed

if TYPE_CHECKING:
    from .formula_walk import Walk

_FORWARDS = 3  # arguments of XMATCH, the next of which may ask for the last place
_WHOLE_COLUMNS = re.compile(r"(\$?[A-Za-z]{1,3}):(\$?[A-Za-z]{1,3})")
_LONG_COLUMNS = re.compile(r"(\$?[A-Za-z]{1,3}\$?)([1-9][0-9]{0,6}):(\$?[A-Za-z]{1,3}\$?)([1-9][0-9]{0,6})")
MAX_WHOLE, MAX_TURNED = 100, 10_000
"""Most whole columns of a formula, and most cells of a range that is turned or multiplied as a matrix: ours."""


def cut_ranges(walk: Walk, frame: Frame) -> None:
    """Cut the ranges of a call that goes through them after the last row, where blanks make no difference.

    What is computed of a range gives something for its blanks as well: of that, the first blank row stands for all
    where a value that comes again changes nothing. Raises NotComputed for a range that is too large even so.
    """
    for index, pieces in enumerate(frame.arguments):
        backwards = frame.name == "XMATCH" and len(frame.arguments) > _FORWARDS  # where the last blank is a place
        cuts = (frame.form(index) == "r" and not backwards) or frame.name in KNOWS_ONE_OF_EACH
        for number, piece in enumerate(pieces):
            if isinstance(piece, Range):
                text = piece.removeprefix(piece.where)
                text = _cut(text, walk.reader.last_row + 1) if cuts else text
                refuse_large(walk, text)
                pieces[number] = piece.where + text


def refuse_large(walk: Walk, text: str) -> None:
    """Raise NotComputed for a range that takes the engine too long or too much memory."""
    if any(ord(sign) >= FIRST_MARK or sign == OWN_ROW for sign in text):
        return
    names = [frame.name for frame in walk.frames]
    try:
        area = read_area_of(text)
    except FileProblem:
        raise NotComputed("it names a cell that no sheet has") from None
    turned = "TRANSPOSE" in names or "MMULT" in names
    if area.rows == MAX_ROWS and area.columns <= MAX_WHOLE and not turned:
        return
    if area.rows * area.columns > (MAX_TURNED if turned else MAX_ROWS):
        raise NotComputed("its range is too large")


def _cut(text: str, last_row: int) -> str:
    """A range without the rows after ``last_row``, in which there is nothing.

    The engine looks through each of a million rows of a column, and for each look-up again.
    """
    columns = _WHOLE_COLUMNS.fullmatch(text)
    if columns is not None:
        return f"{columns[1]}$1:{columns[2]}${last_row}"
    rows = _LONG_COLUMNS.fullmatch(text)
    if rows is not None and int(rows[4]) > last_row >= int(rows[2]):
        return f"{rows[1]}{rows[2]}:{rows[3]}{last_row}"
    return text
