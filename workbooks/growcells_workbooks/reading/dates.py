"""Dates as people type them. Which of 11/6 is the month is decided for a column as a whole, by what speaks for it."""

from __future__ import annotations

import bisect
import datetime
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from itertools import pairwise

from openpyxl.styles import numbers
from openpyxl.utils.datetime import from_excel

from growcells.cells.errors import GrowError
from growcells.cells.kinds import shown

from .cells import LogCell

MOST_FIGURES = 15
"""Most figures of a number that may be a date: a spreadsheet keeps no more."""

_YEAR = r"(?P<year>\d{4}|'?\d{2})"
_NUMERIC = re.compile(rf"(?P<first>\d{{1,2}})\s*(?P<sign>[/.-])\s*(?P<second>\d{{1,2}})\s*(?P=sign)\s*{_YEAR}\.?")
_NUMERIC_NO_YEAR = re.compile(r"(?P<first>\d{1,2})/(?P<second>\d{1,2})")
_ISO = re.compile(r"(?P<year>\d{4})(?P<sign>[-/.])(?P<month>\d{1,2})(?P=sign)(?P<day>\d{1,2})")
_COMPACT = re.compile(r"(?P<year>20\d{2})(?P<month>\d{2})(?P<day>\d{2})")
_DAY_MONTH = re.compile(
    rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th)?(?:[\s.,/-]+of)?[\s.,/-]*(?P<month>[a-z]{{3,9}})\.?(?:[\s,./-]*{_YEAR})?"
)
_MONTH_DAY = re.compile(rf"(?P<month>[a-z]{{3,9}})\.?[\s/-]*(?P<day>\d{{1,2}})(?:st|nd|rd|th)?(?:[\s,./-]+{_YEAR})?")
_YEAR_FIRST = re.compile(r"(?P<year>\d{4})[\s,./-]+(?P<month>[a-z]{3,9})\.?[\s,./-]+(?P<day>\d{1,2})")
_WEEKDAY_NAME = r"(?:mon|tue|tues|wed|weds|thu|thur|thurs|fri|sat|sun)(?:day|nesday|sday|rsday|urday)?"
_WEEKDAY = re.compile(rf"^{_WEEKDAY_NAME}\b[\s,.]+", re.IGNORECASE)
_WEEKDAY_AFTER = re.compile(rf"[\s,(]+{_WEEKDAY_NAME}\b\.?\)?$", re.IGNORECASE)
_CLOCK = re.compile(
    r"(?:^|(?<=\d)T|[\s,@]+|\bat\s+)(?P<hour>\d{1,2})(?::(?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.\d+)?)?\s*(?P<half>[ap]\.?m\.?)?"
    r"|\s*(?P<only>[ap]\.?m\.?))\s*(?:z|utc)?$",
    re.IGNORECASE,
)
MIDNIGHT = datetime.time()
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november"),
    "december",
)

SHORT_DATE = numbers.FORMAT_DATE_XLSX14
"""How openpyxl calls number format 14, the short date of whatever country a program is set to."""
MOST_DATES = 10_000
"""Texts that are kept as the dates they are: the days of 27 years."""
EARLIEST, LATEST = datetime.date(1990, 1, 1), datetime.date(2100, 12, 31)
"""A plain number is taken for a date only between these, ours: no log of today lies outside."""
DAYS_OF_MONTH = 31
ENOUGH_DATES = 4
"""So many different dates tell by their steps which of two orders is the likely one; ours."""
LONGEST_STEP, LONG_STEP = 14, 28
"""Beds are read at least every two weeks, and nobody reads them monthly on one day of the month [day]; ours."""


class Order(StrEnum):
    """Whether the day or the month is written first in a column."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class PartDate:
    """A date of which something is open: the order of day and month, or the year (0)."""

    first: int
    second: int
    year: int
    has_order: bool = False
    """Whether ``first`` is known to be the day."""
    weekday: int | None = None
    """The day of the week that is written with it, Monday being 0: ``Fri 9/11/2026``."""

    def as_date(self, order: Order, year: int = 0) -> datetime.date | None:
        """The date in this order and, where it names none, of this year; None where there is no such day."""
        day_first = self.has_order or order is Order.DAY_FIRST
        day, month = (self.first, self.second) if day_first else (self.second, self.first)
        found = _date(self.year or year, month, day)
        return found if found is None or self.weekday in (None, found.weekday()) else None

    def meanings(self, year: int = 0) -> set[datetime.date]:
        """The dates that it may mean."""
        return {day for order in (Order.DAY_FIRST, Order.MONTH_FIRST) if (day := self.as_date(order, year))}


def _date(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year + 2000 if 0 < year < 100 else year, month, day)
    except ValueError:
        return None


def is_weekday(word: str) -> bool:
    """Whether a word is a day of the week: ``Mon``, ``thursday``."""
    return re.fullmatch(_WEEKDAY_NAME, word, re.IGNORECASE) is not None


def month_of(name: str) -> int:
    """The number of a month by its name or three letters of it; 0 for no month."""
    short = name[:3]
    if short not in MONTHS:
        return 0
    place = MONTHS.index(short)
    known = MONTH_NAMES[place].startswith(name) or name == "sept"
    return place + 1 if known else 0


def _year(match: re.Match[str]) -> int:
    return int((match["year"] or "0").lstrip("'"))


@lru_cache(MOST_DATES)
def parse_text(text: str) -> datetime.date | PartDate | None:
    """A text as a date, as a date of which something is open, or None where it is none."""
    plain = text.strip()
    if not plain or len(plain) > 40 or not any(sign.isdigit() for sign in plain):
        return None
    plain = _WEEKDAY_AFTER.sub("", _CLOCK.sub("", _WEEKDAY.sub("", plain)).strip(" ,@")).strip(" ,").lower()
    if match := _COMPACT.fullmatch(plain) or _ISO.fullmatch(plain):
        return _date(int(match["year"]), int(match["month"]), int(match["day"]))
    if match := _NUMERIC.fullmatch(plain):
        part = PartDate(int(match["first"]), int(match["second"]), _year(match))
        found = re.search(r"\b(" + "|".join(WEEKDAYS) + r")", text.lower())
        dated = replace(part, weekday=WEEKDAYS.index(found[1])) if found and part.year else part
        return dated if dated.meanings() else part
    if match := _NUMERIC_NO_YEAR.fullmatch(plain):
        part = PartDate(int(match["first"]), int(match["second"]), 0)
        return part if part.meanings(2024) else None
    if match := _DAY_MONTH.fullmatch(plain) or _MONTH_DAY.fullmatch(plain) or _YEAR_FIRST.fullmatch(plain):
        month, year = month_of(match["month"]), _year(match)
        if not month:
            return None
        if year:
            return _date(year, month, int(match["day"]))
        return PartDate(int(match["day"]), month, 0, True) if _date(2024, month, int(match["day"])) else None
    return None


@lru_cache(MOST_DATES)
def is_date_text(text: str) -> bool:
    """Whether a text is a date."""
    return parse_text(text) is not None


_IN_TEXT = re.compile(
    r"\d{4}-\d{1,2}-\d{1,2}|\d{1,2}(?:st|nd|rd|th)?\s+[A-Za-z]{3,9}\.?,?\s+\d{4}|[A-Za-z]{3,9}\.?\s+\d{1,2}"
    r"(?:st|nd|rd|th)?,?\s+\d{4}|\d{1,2}[/.]\d{1,2}[/.]\d{2,4}|\d{1,2}-[A-Za-z]{3}-\d{2,4}"
)


@lru_cache(MOST_DATES)
def date_within(text: str) -> str:
    """The only date that stands in a text, as it is written, or ""."""
    if is_date_text(text):
        return text
    found = [match[0] for match in _IN_TEXT.finditer(text) if is_date_text(match[0])]
    return found[0] if len(found) == 1 else ""


@lru_cache(MOST_DATES)
def month_within(text: str) -> tuple[int, int]:
    """The year and the month that a text such as ``Nov 2026`` names, 0 for what it does not."""
    year = next((int(found) for found in re.findall(r"(?<!\d)((?:19|20)\d{2})(?!\d)", text)), 0)
    short = re.search(r"(?<=['’])\d{2}\b", text)
    months = {month_of(word.lower()) for word in re.findall(r"[A-Za-z]{3,9}", text)} - {0}
    if not months and (match := re.search(r"(?<!\d)20\d{2}[-_/. ](0?[1-9]|1[0-2])(?!\d)", text)):
        months = {int(match[1])}
    if not months and (match := re.search(r"(?<!\d)(0?[1-9]|1[0-2])[-_/. ]20\d{2}(?!\d)", text)):
        months = {int(match[1])}
    return year or (2000 + int(short[0]) if short else 0), months.pop() if len(months) == 1 else 0


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
    found = _date(column.year, column.month, day)
    if found is None:
        raise GrowError(f"the date is {day}, and month {column.month} of {column.year} has no such day")
    return found


def _completed(cell: LogCell, part: PartDate, column: DateColumn) -> datetime.date:
    if not part.year and not column.year:
        raise GrowError(f'the date "{cell.text}" names no year: write it, or name the sheet with it, as Nov 2026')
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
            f'the date "{cell.text}" may mean {meanings[0].isoformat()} or {meanings[1].isoformat()}, '
            "and nothing in the column tells which: say it in the mapping file (growcells check --write-map)"
        )
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


@lru_cache(MOST_DATES)
def _typed_time(text: str) -> datetime.time | None:
    match = _CLOCK.search(text)
    if match is None:
        return None
    hour, half = int(match["hour"]), (match["half"] or match["only"] or "").lower().replace(".", "")
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return datetime.time(hour, int(match["minute"] or 0), int(match["second"] or 0))
    except ValueError:
        return None


def _serial_date(serial: float, epoch: datetime.datetime) -> datetime.date | None:
    try:
        moment = from_excel(serial, epoch)
    except (OverflowError, ValueError):
        return None
    day = moment.date() if isinstance(moment, datetime.datetime) else None
    return day if day and EARLIEST <= day <= LATEST else None
