"""Numbers and dates as a spreadsheet program shows them in a number format."""

from __future__ import annotations

import datetime
import functools
import math
import re
from typing import TYPE_CHECKING

from growcells.cells.kinds import SPREADSHEET_EPOCH

from .table_columns import Formula, Sum, Value

if TYPE_CHECKING:
    from ironcalc import Model

_NAMED = re.compile(r"\[\$([^\-\]]*)(?:-[0-9A-Fa-f]+)?\]")
"""A currency with its country, as in [$€-407]: ISO/IEC 29500-1, 18.8.31."""
HOURS_IN_DAY = 24
SECONDS_IN_HOUR = 3600


@functools.cache
def _engine() -> Model:
    import ironcalc  # a log without formulas loads no engine

    return ironcalc.create("shown", "en", "UTC", "en")


@functools.lru_cache(maxsize=65_536)
def shown(value: float, number_format: str) -> str:
    """A number in a format, by the engine that computes logs. Raises OverflowError for one that no cell can hold.

    >>> shown(1234.5, "[$€-407] #,##0.00")
    '€ 1,234.50'
    >>> shown(float("inf"), "0.0")
    '#NUM!'
    """
    if not math.isfinite(value):
        return "#NUM!"  # as a spreadsheet program shows what no cell can hold
    engine = _engine()
    plain = _NAMED.sub(r'"\1"', number_format).replace('"', '""')
    engine.update_cell_with_number(0, 1, 1, value)
    engine.update_cell_with_formula(0, 1, 2, f'=TEXT(A1,"{plain}")')
    engine.evaluate()
    return str(engine.get_formatted_cell_value(0, 1, 2)).strip()


def text_of(value: Value, number_format: str) -> str:
    """A value of a table as text; "" for none."""
    if isinstance(value, Formula | Sum):
        value = value.value
    if value is None or isinstance(value, str):
        return value or ""
    return shown(number_of(value), number_format or "General")


def number_of(value: float | datetime.date | datetime.time) -> float:
    """The number that a sheet keeps for a value."""
    if isinstance(value, datetime.time):
        return (value.hour + (value.minute * 60 + value.second) / SECONDS_IN_HOUR) / HOURS_IN_DAY
    if isinstance(value, datetime.datetime):
        return number_of(value.date()) + number_of(value.time())
    if isinstance(value, datetime.date):
        return float((value - SPREADSHEET_EPOCH).days)
    return float(value)
