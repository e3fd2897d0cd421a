"""How fast plants grow, from two sizes or from a log of plants measured again and again."""

from __future__ import annotations

import datetime
import math
import statistics
from collections.abc import Iterator
from dataclasses import dataclass

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError, OutOfRange
from ..cells.kinds import DATE, NUMBER, SPREADSHEET_EPOCH, TEXT
from ..cells.ranges import Column, check_lengths
from ..cells.registry import Family, cell_function
from ..terms.plant_values import LARGEST, OUTCOMES, Lost, labels

RELATIVE_GROWTH = "relative growth rate, classical method: Hunt, Plant Growth Curves (1982); from memory"


@cell_function(
    "GROW_GROWTH_RATE",
    family=Family.TRIAL,
    help="Relative growth rate: the share by which a plant grows in a day, compounded.",
    arguments=(
        Argument("start", NUMBER, "the size at the start: a mass, height or leaf area"),
        Argument("end", NUMBER, "the size at the end, measured in the same way"),
        Argument("days", NUMBER, "the days between"),
    ),
    result=Result(NUMBER, "the rate a day; below zero for a plant that shrank", negative=True),
    examples=(
        Example((2, 4, 7), math.log(2) / 7, "a size that doubles in a week"),
        Example((10, 10, 7), 0.0, "no growth"),
    ),
    formula="ln(end ÷ start) ÷ days",
    source=RELATIVE_GROWTH,
    advice="A rate of 0.1 a day doubles the size in 7 days. Small plants always grow at a higher rate than large ones: "
    "compare treatments at the same size, not only the same day.",
)
def growth_rate(start: float, end: float, days: float) -> float:
    """Relative growth rate [1/day] between two sizes of one unit over days [day].

    >>> round(growth_rate(2.0, 4.0, 7.0), 4)
    0.099
    """
    return relative_rate(start, end, days)


def relative_rate(start: float, end: float, days: float) -> float:
    """Difference of the logarithms of two sizes, a day [1/day]."""
    return (math.log(end) - math.log(start)) / days


@cell_function(
    "GROW_DAYS_SINCE",
    family=Family.TRIAL,
    help="Days from a date, such as that of sowing, to another.",
    arguments=(
        Argument("date", DATE, "the date to count from, such as that of sowing"),
        Argument("as_of", DATE, "the date to count to: that of a reading, or TODAY()"),
    ),
    result=Result(NUMBER, "days"),
    examples=(
        Example(("2026-02-20", "2026-03-06"), 14.0, "February 2026 has 28 days"),
        Example((46351, 46351), 0.0, "the same day"),
    ),
    formula="as_of − date",
    source="date serial numbers of ISO/IEC 29500-1, 18.17.4.1",
    advice="A blank date is an error here, where a plain subtraction would give tens of thousands of days.",
)
def days_since(date: float, as_of: float) -> float:
    """Days [day] from one date serial [day] to another. Raises OutOfRange where the second comes first.

    >>> days_since(46342.0, 46356.0)
    14.0
    """
    if as_of < date:
        raise OutOfRange("as_of is before date: give the later date as as_of")
    return as_of - date


COLUMNS = (
    "treatment",
    "date",
    "days",
    "n",
    "lost so far",
    "not measured",
    "mean",
    "sd",
    "measured twice",
    "gain",
    "growth rate",
)


@dataclass(frozen=True)
class Reading:
    """A row of a growth log: a plant on a date, its size or the word under which it was lost, if either is noted."""

    treatment: str
    plant: str
    date: int
    size: float | Lost | None


@cell_function(
    "GROW_GROWTH_TABLE",
    family=Family.TRIAL,
    help="Sizes and growth by date, from a log of plants measured again and again, some of them missing.",
    arguments=(
        Argument(
            "sizes",
            OUTCOMES,
            "a column of sizes above zero; blank where not measured, dead where the plant was lost",
            high=LARGEST,
        ),
        Argument("plants", Column("plants", TEXT), "a column with the number or name of each plant"),
        Argument("dates", Column("dates", DATE), "a column with the date of each size"),
        Argument("treatments", Column("treatments", TEXT), "a column with the treatment of each plant", False),
    ),
    result=Result(NUMBER, "a table, a row for each treatment and date", negative=True, columns=COLUMNS),
    examples=(
        Example(
            (
                ((2,), (4,), (4,), ("dead",), (8,), (None,)),
                (("p1",), ("p2",), ("p1",), ("p2",), ("p1",), ("p3",)),
                ((46001,), (46001,), (46008,), (46008,), (46015,), (46015,)),
            ),
            (
                COLUMNS,
                ("", 46001.0, 0.0, 2.0, 0.0, 1.0, 3.0, math.sqrt(2), "", "", ""),
                ("", 46008.0, 7.0, 1.0, 1.0, 1.0, 4.0, "", 1.0, 2.0, math.log(2) / 7),
                ("", 46015.0, 14.0, 1.0, 1.0, 1.0, 8.0, "", 1.0, 4.0, math.log(2) / 7),
            ),
            "by hand: plant p1 doubles each week, p2 dies, p3 is never measured",
        ),
    ),
    formula="gain and growth rate between a date and the one before it are means over the plants measured on both",
    source=f"arithmetic; {RELATIVE_GROWTH}",
    advice="Where some plants are missing, the means of two dates are not of the same plants: read growth from the "
    "gain and the growth rate. Plants that died have no gain, so look at the number lost as well.",
)
def growth_table(
    sizes: list[float | Lost | None],
    plants: list[str | None],
    dates: list[float | None],
    treatments: list[str | None] | None,
) -> list[tuple[object, ...]]:
    """Rows of sizes by treatment and date: days [day], gains in the unit of the sizes, growth rates [1/day].

    Raises GrowError where a row lacks its plant, date or treatment, where a plant has two sizes on a date, and where
    it has a size after it was lost.

    >>> growth_table([2.0, 4.0], ["p1", "p1"], [46001.0, 46008.0], None)[2][8:10]
    (1.0, 2.0)
    """
    readings = filled_readings(sizes, plants, dates, treatments)
    table: list[tuple[object, ...]] = [COLUMNS]
    for treatment in dict.fromkeys(reading.treatment for reading in readings):
        table += treatment_rows(treatment, [reading for reading in readings if reading.treatment == treatment])
    return table


def filled_readings(
    sizes: list[float | Lost | None],
    plants: list[str | None],
    dates: list[float | None],
    treatments: list[str | None] | None,
) -> list[Reading]:
    """The rows that name a plant and a date. Raises GrowError where a size has no plant, date or treatment."""
    named: list[str | None] = [""] * len(sizes) if treatments is None else labels(treatments)
    check_lengths({"sizes": sizes, "plants": plants, "dates": dates, "treatments": named})
    readings = []
    for row, (size, plant, date, treatment) in enumerate(zip(sizes, labels(plants), dates, named, strict=True), 1):
        if plant is not None and date is not None and treatment is not None:
            readings.append(Reading(treatment, plant, math.floor(date), size))
        elif size is not None:
            lacking = "plant" if plant is None else "date" if date is None else "treatment"
            raise GrowError(f"row {row} has a size but no {lacking}: fill in the {lacking} or clear the row")
    if not readings:
        raise GrowError("sizes, plants and dates have no filled row: give at least one")
    return readings


def treatment_rows(treatment: str, readings: list[Reading]) -> Iterator[tuple[object, ...]]:
    """The rows of the table for one treatment."""
    plants = {reading.plant for reading in readings}
    days = sizes_by_date(readings)
    first = min(days)
    lost: set[str] = set()
    before: dict[str, float] = {}
    date_before = first
    for date in sorted(days):
        measured = {plant: size for plant, size in days[date].items() if isinstance(size, float)}
        if risen := lost & measured.keys():
            raise GrowError(f"plant {min(risen)} has a size after it was lost: mend the row in which it was lost")
        lost |= {plant for plant, size in days[date].items() if isinstance(size, Lost)}
        both = sorted(before.keys() & measured.keys())
        gains = [measured[plant] - before[plant] for plant in both]
        rates = [relative_rate(before[plant], measured[plant], date - date_before) for plant in both]
        values = list(measured.values())
        yield (
            treatment,
            float(date),
            float(date - first),
            float(len(values)),
            float(len(lost)),
            float(len(plants) - len(values) - len(lost)),
            statistics.fmean(values) if values else "",
            statistics.stdev(values) if len(values) > 1 else "",
            float(len(both)) if before else "",
            statistics.fmean(gains) if gains else "",
            statistics.fmean(rates) if rates else "",
        )
        before, date_before = measured, date


def sizes_by_date(readings: list[Reading]) -> dict[int, dict[str, float | Lost | None]]:
    """For each date what was noted of each plant. Raises GrowError where a plant is noted twice on a date."""
    days: dict[int, dict[str, float | Lost | None]] = {}
    for reading in readings:
        noted = days.setdefault(reading.date, {})
        if noted.get(reading.plant) is not None and reading.size is not None:
            day = SPREADSHEET_EPOCH + datetime.timedelta(days=reading.date)
            raise GrowError(f"plant {reading.plant} has two sizes on {day}: keep one, or tell the plants apart by name")
        noted[reading.plant] = noted.get(reading.plant) if reading.size is None else reading.size
    return days
