"""What a cell looks like before anybody knows what it means: a number, a date, a text, an error."""

from __future__ import annotations

import datetime
import re
from enum import StrEnum
from functools import lru_cache

from growcells.cells.errors import CellError

from ..inputs.log_cells import LogCell
from .date_texts import is_date_text
from .several import values_in
from .units import MOST_TEXTS, is_unit, unit_of
from .words import all_claims

NOT_MEASURED = frozenset(
    {
        "-",
        "--",
        "---",
        "–",
        "—",
        "n/a",
        "na",
        "n.a.",
        "none",
        "not measured",
        "skipped",
        "x",
        "?",
        "nil",
        "nm",
        "*",
        ".",
    }
)
"""What people type where they measured nothing; common practice, no source."""
WORDS_OF_VALUE = 5
"""A text that begins with a number and has more words is a sentence; ours."""


class Shape(StrEnum):
    """What a cell looks like."""

    NUMBER = "number"
    DATE = "date"
    TEXT = "text"
    ERROR = "error"
    NOTHING = "nothing"
    """A dash or the like."""


_NUMBER = re.compile(r"[~≈<>]?\s*[$€£¥]?\s*[+-]?(?:\d[\d\s.,']*|[.,]\d+)\s*(?P<unit>[^\d\s(),;!?=][^\d(),;!?=]{0,14})?")
_METER = re.compile(r"\d[\d.,]*\s*(?P<unit>(?:ppm|tds)\b.{0,20})", re.IGNORECASE)
_SCALE = re.compile(r"(?:500|640|700|0?\.5|0?\.64|0?\.7)\s*(?:ppm|tds)?\s*scale.{0,10}", re.IGNORECASE)
"""A heading of what a meter shows, not a number: ``500 ppm scale``."""
_BEGINS = re.compile(r"[~≈<>$€£¥+-]?\s*[.,]?\d")
_RANGE = re.compile(r"\d+(?:[.,]\d+)?\s*(?:-|–|—|to)\s*\d+(?:[.,]\d+)?\s*(?P<unit>[^\d\s]{0,6})")


@lru_cache(MOST_TEXTS)
def shape_of_text(text: str) -> Shape:
    """What a text in a cell looks like."""
    text = text.strip()
    if text.casefold() in NOT_MEASURED:
        return Shape.NOTHING
    if is_date_text(text):
        return Shape.DATE
    if _SCALE.fullmatch(text):
        return Shape.TEXT
    match = _NUMBER.fullmatch(text) or _RANGE.fullmatch(text) or _METER.fullmatch(text)
    if match and (not match["unit"] or _ends_as_unit(match["unit"].strip())):
        return Shape.NUMBER
    return Shape.TEXT


def _ends_as_unit(text: str) -> bool:
    return is_unit(text) or len(text.split()) == 1 or unit_of("conductivity", text) is not None


def shape_of(cell: LogCell) -> Shape:
    """What a cell looks like."""
    value = cell.value
    if type(value) is float or type(value) is int:
        return Shape.NUMBER
    if isinstance(value, str):
        return shape_of_text(value)
    if isinstance(value, CellError):
        return Shape.ERROR
    if isinstance(value, (datetime.date, datetime.time)):
        return Shape.DATE
    return Shape.NUMBER


def is_text(cell: LogCell) -> bool:
    """Whether a cell may be a heading, a name or a note."""
    return isinstance(cell.value, str) and shape_of_text(cell.value) is Shape.TEXT


def looks_like_data(cell: LogCell) -> bool:
    """Whether something is lost where a cell is passed over."""
    shape = shape_of(cell)
    if shape is Shape.TEXT:
        return _begins_as_number(cell.text) or holds_value(cell.text) or bool(values_in(cell.text))
    return shape in (Shape.NUMBER, Shape.DATE, Shape.ERROR)


@lru_cache(MOST_TEXTS)
def holds_value(text: str) -> bool:
    """Whether a text is the label of a quantity and its value: ``Depth: 6 in``."""
    label, sign, value = text.partition(":")
    if not sign or len(value.split()) > WORDS_OF_VALUE or shape_of_text(value) is not Shape.NUMBER:
        return False
    return any(claim.field.is_number for claim in all_claims(label.strip()))


@lru_cache(MOST_TEXTS)
def _begins_as_number(text: str) -> bool:
    return len(text.split()) <= WORDS_OF_VALUE and _BEGINS.match(text) is not None
