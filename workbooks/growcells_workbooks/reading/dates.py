"""Dates as people type them. Which of 11/6 is the month is decided for a column as a whole, by what speaks for it."""

from __future__ import annotations

import bisect
import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from openpyxl.styles import numbers
from openpyxl.utils.datetime import from_excel

from growcells.cells.errors import GrowError
from growcells.cells.kinds import shown

from .cells import LogCell

_NUMERIC = re.compile(r"(?P<first>\d{1,2})\s*[/.-]\s*(?P<second>\d{1,2})\s*[/.-]\s*(?P<year>\d{4}|\d{2})\.?")
_ISO = re.compile(r"(?P<year>\d{4})[-/.](?P<month>\d{1,2})[-/.](?P<day>\d{1,2})")
_DAY_MONTH = re.compile(r"(?P<day>\d{1,2})(?:st|nd|rd|th)?[\s.-]+(?P<month>[a-z]{3,9})\.?[\s,-]+(?P<year>\d{4}|\d{2})")
_MONTH_DAY = re.compile(r"(?P<month>[a-z]{3,9})\.?[\s-]+(?P<day>\d{1,2})(?:st|nd|rd|th)?[\s,-]+(?P<year>\d{4}|\d{2})")
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[\s,.]+", re.IGNORECASE)
_CLOCK = re.compile(
    r"(?:^|[T\s,]+)(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}))?\s*(?P<half>[ap]m)?$", re.IGNORECASE
)
MIDNIGHT = datetime.time()
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

SHORT_DATE = numbers.FORMAT_DATE_XLSX14
"""How openpyxl calls number format 14, the short date of whatever country a program is set to."""
MOST_DATES = 10_000
"""Texts that are kept as the dates they are: the days of 27 years."""
EARLIEST, LATEST = datetime.date(1990, 1, 1), datetime.date(2100, 12, 31)
"""A plain number is taken for a date only between these, ours: no log of today lies outside."""


class Order(StrEnum):
    """Whether the day or the month is written first in a column."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class NumericDate:
    """A date typed as numbers, whose order is another question."""

    first: int
    second: int
    year: int

    def as_date(self, order: Order) -> datetime.date | None:
        """The date in this order, or None where there is no such day."""
        day, month = (self.first, self.second) if order is Order.DAY_FIRST else (self.second, self.first)
        return _date(self.year, month, day)

    @property
    def meanings(self) -> set[datetime.date]:
        """The dates that it may mean."""
        return {day for order in (Order.DAY_FIRST, Order.MONTH_FIRST) if (day := self.as_date(order))}


def _date(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year + 2000 if year < 100 else year, month, day)
    except ValueError:
        return None


@lru_cache(MOST_DATES)
def parse_text(text: str) -> datetime.date | NumericDate | None:
    """A text as a date, as numbers whose order is open, or None where it is no date."""
    plain = _CLOCK.sub("", _WEEKDAY.sub("", text.strip())).strip().lower()
    if match := _ISO.fullmatch(plain):
        return _date(int(match["year"]), int(match["month"]), int(match["day"]))
    if match := _NUMERIC.fullmatch(plain):
        return NumericDate(int(match["first"]), int(match["second"]), int(match["year"]))
    if match := _DAY_MONTH.fullmatch(plain) or _MONTH_DAY.fullmatch(plain):
        month = match["month"][:3]
        return _date(int(match["year"]), MONTHS.index(month) + 1, int(match["day"])) if month in MONTHS else None
    return None


def order_of(cells: Sequence[LogCell]) -> Order:
    """The order of day and month in a column of dates, from three kinds of evidence, the strongest first.

    Dates that exist in one order only; then dates that fall between the sure dates above and below in one order only;
    then how the column's real dates are displayed.
    """
    typed = [
        (place, date)
        for place, cell in enumerate(cells)
        if isinstance(cell.value, str) and isinstance(date := parse_text(cell.value), NumericDate)
    ]
    if decided := _majority([_only_order(date) for _, date in typed]):
        return decided
    sure = [(place, date) for place, cell in enumerate(cells) if (date := _sure_date(cell))] if typed else []
    if decided := _majority([_order_in_place(date, place, sure) for place, date in typed]):
        return decided
    votes = [_order_displayed(cell.number_format) for cell in cells if isinstance(cell.value, datetime.date)]
    return _majority(votes) or Order.UNKNOWN


def _majority(votes: list[Order | None]) -> Order | None:
    day, month = votes.count(Order.DAY_FIRST), votes.count(Order.MONTH_FIRST)
    if day == month:
        return None
    return Order.DAY_FIRST if day > month else Order.MONTH_FIRST


def _only_order(date: NumericDate) -> Order | None:
    day, month = date.as_date(Order.DAY_FIRST), date.as_date(Order.MONTH_FIRST)
    if day and not month:
        return Order.DAY_FIRST
    return Order.MONTH_FIRST if month and not day else None


def _order_in_place(date: NumericDate, place: int, sure: list[tuple[int, datetime.date]]) -> Order | None:
    after = bisect.bisect(sure, (place, datetime.date.min))
    above = sure[after - 1][1] if after else datetime.date.min
    below = sure[after][1] if after < len(sure) else datetime.date.max
    if above > below or len(date.meanings) < 2:
        return None
    fitting = [
        order
        for order in (Order.DAY_FIRST, Order.MONTH_FIRST)
        if (day := date.as_date(order)) and above <= day <= below
    ]
    return fitting[0] if len(fitting) == 1 else None


@lru_cache
def _order_displayed(number_format: str) -> Order | None:
    letters = re.sub(r"[^dmy]", "", number_format.lower())
    # A display with the year first says nothing of dates with the year last, nor does the one that programs show in
    # the order of whoever looks.
    if "d" not in letters or "m" not in letters or letters.startswith("y") or number_format == SHORT_DATE:
        return None
    return Order.DAY_FIRST if letters.index("d") < letters.index("m") else Order.MONTH_FIRST


def _sure_date(cell: LogCell) -> datetime.date | None:
    if isinstance(cell.value, datetime.datetime):
        return cell.value.date()
    if isinstance(cell.value, datetime.date):
        return cell.value
    parsed = parse_text(cell.value) if isinstance(cell.value, str) else None
    return parsed if isinstance(parsed, datetime.date) else None


def looks_like_date(value: object) -> bool:
    """Whether a cell's value is a date, real or typed."""
    if isinstance(value, str):
        return value.lstrip()[:1].isalnum() and parse_text(value) is not None
    return isinstance(value, datetime.date)


def read_date(cell: LogCell, order: Order, epoch: datetime.datetime) -> datetime.date:
    """The date in a cell of a column in which day and month have an order. Raises GrowError where it is none."""
    if sure := _sure_date(cell):
        return sure
    if isinstance(cell.value, str) and isinstance(parsed := parse_text(cell.value), NumericDate):
        meanings = sorted(parsed.meanings)
        if len(meanings) == 1:
            return meanings[0]
        if len(meanings) == 2:
            chosen = parsed.as_date(order) if order is not Order.UNKNOWN else None
            if chosen:
                return chosen
            raise GrowError(
                f'the date "{cell.text}" may mean {meanings[0].isoformat()} or {meanings[1].isoformat()}, '
                "and nothing in the column tells which: say it in the mapping file (growcells check --write-map)"
            )
    if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool):
        day = _serial_date(cell.value, epoch)
        if day:
            return day
    raise GrowError(f'the date is {shown(cell.value)}: give a real date or a text such as "2026-11-16"')


def read_time(value: object, epoch: datetime.datetime) -> datetime.time | None:
    """The time of day in the value of a cell, to the second; None where it has none, as a date at midnight."""
    if isinstance(value, str):
        return _typed_time(value.strip())
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        try:
            value = from_excel(value, epoch)
        except (OverflowError, ValueError):
            return None
    if isinstance(value, datetime.datetime):
        time = value.time().replace(microsecond=0)
        return None if time == MIDNIGHT else time
    return value.replace(microsecond=0) if isinstance(value, datetime.time) else None


def _typed_time(text: str) -> datetime.time | None:
    match = _CLOCK.search(text)
    if match is None:
        return None
    hour, half = int(match["hour"]), (match["half"] or "").lower()
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return datetime.time(hour, int(match["minute"]), int(match["second"] or 0))
    except ValueError:
        return None


def _serial_date(serial: float, epoch: datetime.datetime) -> datetime.date | None:
    try:
        moment = from_excel(serial, epoch)
    except (OverflowError, ValueError):
        return None
    day = moment.date() if isinstance(moment, datetime.datetime) else None
    return day if day and EARLIEST <= day <= LATEST else None
