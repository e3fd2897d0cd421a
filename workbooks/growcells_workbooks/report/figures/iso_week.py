"""Weeks as ISO 8601 counts them: from Monday to Sunday, week 1 the one with the year's first Thursday."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from ...gate import FileProblem

_WRITTEN = re.compile(r"(\d{4})-?W(\d{1,2})", re.IGNORECASE)


@dataclass(frozen=True)
class Week:
    """A week from Monday (``first``) to Sunday (``last``)."""

    year: int
    number: int

    @cached_property
    def first(self) -> datetime.date:
        """Its Monday."""
        return datetime.date.fromisocalendar(self.year, self.number, 1)

    @cached_property
    def last(self) -> datetime.date:
        """Its Sunday."""
        return datetime.date.fromisocalendar(self.year, self.number, 7)

    def __contains__(self, day: datetime.date) -> bool:
        return self.first <= day <= self.last

    def __str__(self) -> str:
        return f"{self.year}-W{self.number:02d}"

    @property
    def title(self) -> str:
        """``Week 47 of 2026``."""
        return f"Week {self.number} of {self.year}"

    @property
    def span(self) -> str:
        """``16 to 22 November 2026``."""
        start = f"{self.first.day}"
        if self.first.month != self.last.month:
            start += f" {self.first:%B}"
        if self.first.year != self.last.year:
            start += f" {self.first.year}"
        return f"{start} to {long_date(self.last)}"


def long_date(day: datetime.date) -> str:
    """``22 November 2026``."""
    return f"{day.day} {day:%B} {day.year}"


def parse_week(text: str) -> Week:
    """The week that a text such as ``2026-W47`` names. Raises FileProblem."""
    match = _WRITTEN.fullmatch(text.strip())
    if match:
        try:
            datetime.date.fromisocalendar(int(match[1]), int(match[2]), 7)
            return Week(int(match[1]), int(match[2]))
        except ValueError:
            pass
    raise FileProblem(f'the week is "{text}": give a year and an ISO week such as 2026-W47')


def week_of(day: datetime.date) -> Week:
    """The week that a day is in."""
    year, number, _ = day.isocalendar()
    return Week(year, number)


def last_week(days: Iterable[datetime.date], as_of: datetime.date) -> Week | None:
    """The latest week with one of these days, none of them after ``as_of``."""
    past = [day for day in days if day <= as_of]
    return week_of(max(past)) if past else None
