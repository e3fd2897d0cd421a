"""Dates, months and times of day as people type them."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from ..inputs.serials import moment_of

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
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SUNDAY = WEEKDAYS.index("sun")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
MONTH_NAMES = (
    *("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november"),
    "december",
)
MOST_DATES = 10_000
"""Texts that are kept as the dates they are: the days of 27 years."""


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
        found = existing_date(self.year or year, month, day)
        return found if found is None or self.weekday in (None, found.weekday()) else None

    def meanings(self, year: int = 0) -> set[datetime.date]:
        """The dates that it may mean."""
        return {day for order in (Order.DAY_FIRST, Order.MONTH_FIRST) if (day := self.as_date(order, year))}


def existing_date(year: int, month: int, day: int) -> datetime.date | None:
    try:
        return datetime.date(year + 2000 if 0 < year < 100 else year, month, day)
    except ValueError:
        return None


@lru_cache(MOST_DATES)
def weekday_of(word: str) -> int | None:
    """The day of the week that a word is, Monday being 0: ``Mon``, ``thursday``; None for any other word."""
    known = re.fullmatch(_WEEKDAY_NAME, word, re.IGNORECASE)
    return WEEKDAYS.index(word[:3].lower()) if known else None


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
        return existing_date(int(match["year"]), int(match["month"]), int(match["day"]))
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
            return existing_date(year, month, int(match["day"]))
        return PartDate(int(match["day"]), month, 0, True) if existing_date(2024, month, int(match["day"])) else None
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


def read_time(value: object, epoch: datetime.datetime) -> datetime.time | None:
    """The time of day in the value of a cell, to the second; None where it has none, as a date at midnight."""
    if isinstance(value, str):
        return _typed_time(value.strip())
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        try:
            value = moment_of(value, epoch)
        except (OverflowError, ValueError):
            return None
    if isinstance(value, datetime.datetime):
        return value.time().replace(microsecond=0) if value.hour or value.minute or value.second else None
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
