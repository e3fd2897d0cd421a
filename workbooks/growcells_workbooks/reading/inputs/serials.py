"""Numbers of a workbook as the dates that they are, and the number formats that show them so.

openpyxl knows both, but to import it takes longer than to read a log of a year; the tests compare them with its own.
Days: ISO/IEC 29500-1, 18.17.4. Number formats: 18.8.30 and 18.8.31.
"""

from __future__ import annotations

import datetime
import re
from functools import cache

from ...data import read_data
from ...recalculation.days import EPOCH_1900

GENERAL = "General"
SHORT_DATE = "mm-dd-yy"
"""Number format 14, the short date of whatever country a program is set to."""
_NO_DAY = 60
"""29 February 1900, which there was not: the days before it count one less than from the epoch."""
_SECONDS_OF_DAY = 86_400
_LITERAL = re.compile(r'".*?"|\[(?!(?:hh?|mm?|ss?)\])[^\]]*\]')
"""What a format shows as it is, colours, countries and conditions."""
_OF_DATE = re.compile(r"(?<![_\\])[dmhys]", re.IGNORECASE)
_OF_DURATION = re.compile(r"\[(?:hh?|mm?|ss?)\]", re.IGNORECASE)


def moment_of(serial: float, epoch: datetime.datetime) -> datetime.datetime | datetime.time:
    """The moment that a number is, to the millisecond, or the time of day that a number below 1 is.

    Raises OverflowError where no year is so far away.
    """
    day, fraction = divmod(serial, 1)
    of_day = datetime.timedelta(milliseconds=round(fraction * _SECONDS_OF_DAY * 1000))
    if 0 <= serial < 1 and not of_day.days:
        return (datetime.datetime.min + of_day).time()
    if 0 < serial < _NO_DAY and epoch == EPOCH_1900:
        day += 1
    return epoch + datetime.timedelta(days=day) + of_day


def duration_of(serial: float) -> datetime.timedelta:
    """The duration that a number of days is, to the millisecond. Raises OverflowError."""
    length = datetime.timedelta(days=serial)
    if not length.microseconds:
        return length
    return datetime.timedelta(seconds=length.total_seconds() // 1, microseconds=round(length.microseconds, -3))


def shows_date(number_format: str) -> bool:
    """Whether a number format shows a positive number as a date or a time of day."""
    return _OF_DATE.search(_LITERAL.sub("", number_format.partition(";")[0])) is not None


def shows_duration(number_format: str) -> bool:
    """Whether a number format shows a positive number as a duration, such as ``[h]:mm``."""
    return _OF_DURATION.search(number_format.partition(";")[0]) is not None


@cache
def known_formats() -> dict[int, str]:
    """The number formats that no workbook writes out, by their numbers."""
    return {int(row["number"]): row["format"] for row in read_data("number_formats.csv")}
