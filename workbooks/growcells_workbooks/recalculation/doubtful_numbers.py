"""Texts that are taken for numbers, as one program does and another does not, or for another number.

``"1,5"`` is 15 in one language and 1.5 in another, ``"5.1.2026"`` a day in one and a text in another; Excel reads
``"(5)"`` and ``"Jan 5, 2026"``, the engine does not. A formula that computes with such a text is not computed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from .contents import MOST_LOOKED_AT
from .engine import NOT_COMPUTED, OTHER_NUMBER, Engine
from .readers import CellPlace

if TYPE_CHECKING:
    from .sheet_formulas import FormulaCell

ARITHMETIC = frozenset("+-*/^%")
_TAKES_NUMBERS_NAMES = (
    "ABS INT ROUND ROUNDUP ROUNDDOWN TRUNC MOD SQRT EXP LN LOG LOG10 POWER SIGN CEILING FLOOR MROUND EVEN ODD QUOTIENT "
    "YEAR MONTH DAY HOUR MINUTE SECOND WEEKDAY WEEKNUM ISOWEEKNUM EDATE EOMONTH DATEDIF DAYS DAYS360 DATE TIME "
    "NETWORKDAYS WORKDAY YEARFRAC ISODD ISEVEN GCD LCM FACT COMBIN PERMUT SIN COS TAN ASIN ACOS ATAN ATAN2 SINH COSH "
    "TANH DEGREES RADIANS CEILING.MATH FLOOR.MATH CEILING.PRECISE FLOOR.PRECISE ISO.CEILING CHAR PV FV PMT NPER RATE "
    "IPMT PPMT SLN SYD DB DDB EFFECT NOMINAL NORM.DIST NORM.INV NORM.S.DIST NORM.S.INV STANDARDIZE"
)
TAKES_NUMBERS = frozenset(_TAKES_NUMBERS_NAMES.split())
"""Functions that make a number of each text that they are given."""
MAY_BE_ANOTHER = NOT_COMPUTED[OTHER_NUMBER]
_SURE = re.compile(
    r"\s*[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?%?\s*"
    r"|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}|(?:[01]?[0-9]|2[0-3]):[0-5][0-9](?::[0-5][0-9])?(?: ?[AaPp][Mm])?"
)
"""Plain numbers, days that begin with the year, times of the day."""
_LIKE_A_NUMBER = re.compile(
    r"(?=[^0-9]*[0-9])(?:[-+0-9 \u00a0\u202f,./:()$€£¥%']|jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?"
    r"|july?|aug(?:ust)?|sep(?:t|tember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?|am|pm)+",
    re.IGNORECASE,
)


def may_be_another_number(text: str) -> bool:
    """Whether programs or languages may take a text for different numbers."""
    return _LIKE_A_NUMBER.fullmatch(text) is not None and _SURE.fullmatch(text) is None


def reading_other_numbers(first: FormulaCell, places: Sequence[CellPlace], engine: Engine) -> Iterator[CellPlace]:
    """Those of the copies of a formula, ``first`` of them, that compute with such a text in a cell."""
    areas = first.copies.areas(first.reading) if first.reading.numbers else ()
    for number in first.reading.numbers:
        corners = areas[number]
        if corners is None:
            continue
        if corners.is_cell:
            values = engine.values(corners.sheet, [corners.first_cell(row) for _, row, _ in places])
            yield from (place for place, value in zip(places, values, strict=True) if _may_be_another(value))
        else:
            for place in places:
                area = corners.at(place[1])
                if area.rows * area.columns <= MOST_LOOKED_AT and any(
                    map(_may_be_another, engine.values(corners.sheet, area.places()))
                ):
                    yield place


def _may_be_another(value: object) -> bool:
    return value.__class__ is str and may_be_another_number(str(value))
