"""Which of 11/6 is the month: decided for a column of dates as a whole, by what speaks for it."""

from __future__ import annotations

import bisect
import datetime
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from growcells.cells.errors import GrowError
from growcells.cells.kinds import shown

from ..inputs.log_cells import LogCell, cut
from ..inputs.serials import SHORT_DATE, moment_of
from ..vocabulary.date_texts import (
    MONTHS,
    MOST_FIGURES,
    Order,
    PartDate,
    existing_date,
    month_of,
    month_within,
    parse_text,
)

EARLIEST, LATEST = datetime.date(1990, 1, 1), datetime.date(2100, 12, 31)
"""A plain number is taken for a date only between these, ours: no log of today lies outside."""
DAYS_OF_MONTH = 31
ENOUGH_DATES = 4
"""So many different dates tell by their steps which of two orders is the likely one; ours."""
LONGEST_STEP, LONG_STEP = 14, 28
"""Beds are read at least every two weeks, and nobody reads them monthly on one day of the month [day]; ours."""


@dataclass(frozen=True)
class DateColumn:
    """How the dates of a column are read: the order of day and month, the year and month that its sheet names."""

    order: Order = Order.UNKNOWN
    order_needed: bool = False
    """Whether a date of the column means two days as long as the order is unknown."""
    year: int = 0
    month: int = 0
    why: str = ""
    """What the order was decided by, where that is not in the dates themselves."""


def date_column(cells: Sequence[LogCell], order: str, year: int, month: int, is_readings: bool) -> DateColumn:
    """How a column of dates is read; ``order`` is what a mapping file says, year and month what its sheet is named."""
    years = Counter(day.year for cell in cells if (day := sure_date(cell)))
    if not year and len(years) == 1:
        year = next(iter(years))
    parts = [
        parsed
        for cell in cells
        if isinstance(cell.value, str) and isinstance(parsed := parse_text(cell.value), PartDate)
    ]
    months = [part.second for part in parts if part.has_order and not part.year]
    if any(later < earlier - 6 for earlier, later in pairwise(months)):
        year = 0  # from December to January: dates without a year are of two
    if order:
        return DateColumn(Order(order), False, year, month)
    needed = any(len(part.meanings(year or 2024)) > 1 and not part.has_order for part in parts)
    found = order_of(cells, year, is_readings)
    return DateColumn(found, needed and found is Order.UNKNOWN, year, month)


def order_of(cells: Sequence[LogCell], year: int = 0, is_readings: bool = False) -> Order:
    """The order of day and month in a column of dates, from four kinds of evidence, the strongest first.

    Dates that exist in one order only; then dates that fall between the sure dates above and below in one order only;
    then how the column's real dates are displayed; then, in readings, dates that follow each other in one order only.
    """
    year = year or 2024  # a leap year: every day that a date may mean exists in it
    typed = [
        (place, date)
        for place, cell in enumerate(cells)
        if isinstance(cell.value, str) and isinstance(date := parse_text(cell.value), PartDate) and not date.has_order
    ]
    if not typed:
        votes = [_order_displayed(cell.number_format) for cell in cells if isinstance(cell.value, datetime.date)]
        return _majority(votes) or Order.UNKNOWN
    if decided := _majority([_only_order(date, year) for _, date in typed]):
        return decided
    sure = [(place, date) for place, cell in enumerate(cells) if (date := sure_date(cell))]
    if decided := _majority([_order_in_place(date, place, sure, year) for place, date in typed]):
        return decided
    votes = [_order_displayed(cell.number_format) for cell in cells if isinstance(cell.value, datetime.date)]
    return _majority(votes) or (_order_by_steps([date for _, date in typed], year) if is_readings else Order.UNKNOWN)


def _majority(votes: list[Order | None]) -> Order | None:
    day, month = votes.count(Order.DAY_FIRST), votes.count(Order.MONTH_FIRST)
    if day == month:
        return None
    return Order.DAY_FIRST if day > month else Order.MONTH_FIRST


def _only_order(date: PartDate, year: int) -> Order | None:
    day, month = date.as_date(Order.DAY_FIRST, year), date.as_date(Order.MONTH_FIRST, year)
    if day and not month:
        return Order.DAY_FIRST
    return Order.MONTH_FIRST if month and not day else None


def _order_in_place(date: PartDate, place: int, sure: list[tuple[int, datetime.date]], year: int) -> Order | None:
    after = bisect.bisect(sure, (place, datetime.date.min))
    above = sure[after - 1][1] if after else datetime.date.min
    below = sure[after][1] if after < len(sure) else datetime.date.max
    if above > below or len(date.meanings(year)) < 2:
        return None
    fitting = [
        order
        for order in (Order.DAY_FIRST, Order.MONTH_FIRST)
        if (day := date.as_date(order, year)) and above <= day <= below
    ]
    return fitting[0] if len(fitting) == 1 else None


def _order_by_steps(dates: Sequence[PartDate], year: int) -> Order:
    """The order in which dates follow each other in steps of days, where in the other they jump by months."""
    steps: dict[Order, list[int]] = {}
    for order in (Order.DAY_FIRST, Order.MONTH_FIRST):
        days = list(dict.fromkeys(day for date in dates if (day := date.as_date(order, year))))
        if len(days) < ENOUGH_DATES:
            return Order.UNKNOWN
        steps[order] = [(later - earlier).days for earlier, later in pairwise(days)]
    near = [order for order, of in steps.items() if all(0 < abs(step) <= LONGEST_STEP for step in of)]
    if len(near) != 1 or len({step > 0 for step in steps[near[0]]}) != 1:
        return Order.UNKNOWN
    (other,) = set(steps) - set(near)
    jumps = sum(abs(step) >= LONG_STEP or step < 0 for step in steps[other])
    return near[0] if jumps == len(steps[other]) else Order.UNKNOWN


@lru_cache
def _order_displayed(number_format: str) -> Order | None:
    letters = re.sub(r"[^dmy]", "", re.sub(r"\[.*?\]|\".*?\"", "", number_format.lower()))
    # A display with the year first says nothing of dates with the year last, nor does the one that programs show in
    # the order of whoever looks.
    if "d" not in letters or "m" not in letters or letters.startswith("y") or number_format == SHORT_DATE:
        return None
    return Order.DAY_FIRST if letters.index("d") < letters.index("m") else Order.MONTH_FIRST


def sure_date(cell: LogCell) -> datetime.date | None:
    """The date in a cell where nothing of it is open, or None."""
    if isinstance(cell.value, datetime.datetime):
        return cell.value.date()
    if isinstance(cell.value, datetime.date):
        return cell.value
    parsed = parse_text(cell.value) if isinstance(cell.value, str) else None
    return parsed if isinstance(parsed, datetime.date) else None


def looks_like_date(value: object) -> bool:
    """Whether a cell's value is a date, real or typed."""
    if isinstance(value, str):
        return parse_text(value) is not None
    return isinstance(value, datetime.date)


def shared_order(columns: Iterable[DateColumn]) -> Order:
    """The order of all columns of a log whose order is known, where they have one."""
    known = {column.order for column in columns} - {Order.UNKNOWN}
    return known.pop() if len(known) == 1 else Order.UNKNOWN


def with_order(column: DateColumn, order: Order) -> DateColumn:
    """A column whose own dates do not tell their order, in the order of the log's other columns."""
    if not column.order_needed or order is Order.UNKNOWN:
        return column
    return replace(column, order=order, order_needed=False, why="as in the other tables of the log")


def with_parts(column: DateColumn, year: LogCell | None, month: LogCell | None) -> DateColumn:
    """A column whose dates have their year, their month or both in cells beside them: ``2026 | Nov | 16``."""
    if month is not None:
        text = month.text.strip(" .").lower()
        number = int(text) if text.isdecimal() and len(text) <= MOST_FIGURES else month_of(text)
        of_year, named = month_within(month.text)
        column = replace(column, month=number if 1 <= number <= len(MONTHS) else named, year=of_year or column.year)
    if year is not None and (text := year.text.strip(" '")).isdecimal() and len(text) in (2, 4):
        column = replace(column, year=int(text) + (2000 if len(text) == 2 else 0))
    return column


def read_date(cell: LogCell, column: DateColumn, epoch: datetime.datetime) -> datetime.date:
    """The date in a cell of a column in which day and month have an order. Raises GrowError where it is none."""
    if sure := sure_date(cell):
        return sure
    if isinstance(cell.value, str) and isinstance(parsed := parse_text(cell.value), PartDate):
        return _completed(cell, parsed, column)
    number = cell.value
    if isinstance(number, str) and number.strip().isdecimal() and len(number) <= MOST_FIGURES:
        number = int(number)
    if isinstance(number, (int, float)) and not isinstance(number, bool):
        if column.month and 1 <= number <= DAYS_OF_MONTH and number == int(number):
            return _day_of_month(int(number), column)
        day = _serial_date(number, epoch)
        if day:
            return day
    raise GrowError(f'the date is {shown(cell.value)}: give a real date or a text such as "2026-11-16"')


def _day_of_month(day: int, column: DateColumn) -> datetime.date:
    if not column.year:
        raise GrowError(f"the date is {day}, of a year that the log does not say: name the sheet as Nov 2026")
    found = existing_date(column.year, column.month, day)
    if found is None:
        raise GrowError(f"the date is {day}, and month {column.month} of {column.year} has no such day")
    return found


def _completed(cell: LogCell, part: PartDate, column: DateColumn) -> datetime.date:
    if not part.year and not column.year:
        raise GrowError(f'the date "{cut(cell.text)}" names no year: write it, or name the sheet with it, as Nov 2026')
    meanings = sorted(part.meanings(column.year)) if not part.has_order else []
    if len(meanings) < 2:
        only = part.as_date(Order.DAY_FIRST, column.year) if part.has_order else next(iter(meanings), None)
        if only:
            return only
    elif (
        column.month
        and column.order is Order.UNKNOWN
        and len(fitting := [day for day in meanings if day.month == column.month]) == 1
    ):
        return fitting[0]
    elif column.order is not Order.UNKNOWN and (chosen := part.as_date(column.order, column.year)):
        return chosen
    else:
        raise GrowError(
            f'the date "{cut(cell.text)}" may mean {meanings[0].isoformat()} or {meanings[1].isoformat()}, '
            "and nothing in the column tells which: say it in the mapping file (growcells check --write-map)"
        )
    raise GrowError(f'the date is {shown(cell.value)}: give a real date or a text such as "2026-11-16"')


def _serial_date(serial: float, epoch: datetime.datetime) -> datetime.date | None:
    try:
        moment = moment_of(serial, epoch)
    except (OverflowError, ValueError):
        return None
    day = moment.date() if isinstance(moment, datetime.datetime) else None
    return day if day and EARLIEST <= day <= LATEST else None
