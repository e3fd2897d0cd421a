"""Texts that are taken for numbers, as one program does and another does not, or for another number.

``"1,5"`` is 15 in one language and 1.5 in another, ``"5.1.2026"`` a day in one and a text in another; Excel reads
``"(5)"`` and ``"Jan 5, 2026"``, the engine does not. A formula that computes with such a text is not computed.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from .cells import Area
from .contents import MOST_LOOKED_AT
from .criteria_calls import is_no_number
from .engine import NOT_COMPUTED, OTHER_NUMBER, Engine
from .number_texts import LIKE_A_NUMBER, SURE_NUMBER
from .readers import CellPlace
from .text_calls import TAKES_TEXT

if TYPE_CHECKING:
    from .sheet_formulas import FormulaCell

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
_HAS_A_FIGURE = re.compile("[0-9]")
_LIKE_A_NUMBER, _SURE = re.compile(LIKE_A_NUMBER), re.compile(SURE_NUMBER)
_DECIMALS = re.compile(r"[0-9][.][0-9]")
_ENGINES_OWN = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?")
"""Texts that the engine takes for numbers where a criterion asks for them."""


def may_be_another_number(text: str) -> bool:
    """Whether programs or languages may take a text for different numbers."""
    return is_like_a_number(text) and _SURE.fullmatch(text) is None


def is_like_a_number(text: str) -> bool:
    """Whether a text may be a number to a program."""
    return _HAS_A_FIGURE.search(text) is not None and _LIKE_A_NUMBER.fullmatch(text) is not None


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


def shows_point(formula: FormulaCell, value: object) -> bool:
    """Whether a formula's value is a text with a number in it that it may have made a text of, decimals and all."""
    if not isinstance(value, str) or _DECIMALS.search(value) is None:
        return False
    return any(function == "&" or function in TAKES_TEXT for function, _, _ in formula.reading.uses)


class Asked:
    """The texts in the sheets of a computed workbook that Excel may find where a criterion asks for a number."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._filled: dict[str, Area] = {}
        self._rows: dict[tuple[str, int], list[int]] = {}
        """By sheet and column: the rows that hold such a text."""

    def finds_another(self, formula: FormulaCell) -> bool:
        """Whether a formula asks cells with such a text for a number."""
        areas = formula.copies.areas(formula.reading) if formula.reading.asked else ()
        row = formula.cell.place[0]
        for cells, criterion in formula.reading.asked:
            asked, by = areas[cells], areas[criterion] if criterion is not None else None
            if asked is None or not self._has_text(asked.sheet, asked.at(row)):
                continue
            if by is None:
                return True
            area = by.at(row)
            value = self._engine.value(by.sheet, area.first_row, area.first_column)
            if value.__class__ is float or (isinstance(value, str) and not is_no_number(value)):
                return True
        return False

    def _has_text(self, sheet: str, area: Area) -> bool:
        """Whether an area has such a text."""
        if sheet not in self._filled:
            self._filled[sheet] = self._engine.filled(sheet)
        for column in range(area.first_column, min(area.last_column, self._filled[sheet].last_column) + 1):
            rows = self._rows_of(sheet, column)
            place = bisect_left(rows, area.first_row)
            if place < len(rows) and rows[place] <= area.last_row:
                return True
        return False

    def _rows_of(self, sheet: str, column: int) -> list[int]:
        """The rows of a column that hold such a text."""
        if (sheet, column) not in self._rows:
            values = self._engine.block(sheet, Area(1, column, self._filled[sheet].last_row, column))
            self._rows[sheet, column] = [
                row for row, (value,) in enumerate(values, 1) if value.__class__ is str and _is_found(value)
            ]
        return self._rows[sheet, column]


def _is_found(text: str) -> bool:
    """Whether Excel may take a text for a number that the engine does not."""
    return is_like_a_number(text) and _ENGINES_OWN.fullmatch(text) is None
