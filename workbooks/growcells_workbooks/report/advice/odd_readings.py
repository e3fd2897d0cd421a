"""Readings that are possible and still hardly right: jumps from one to the next, and a meter that shows one value."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...reading import Reading
from ..figures.common_practice import limit
from ..figures.in_words import amount, number
from ..figures.log_units import in_unit
from ..figures.week_figures import BedWeek, Figures


@dataclass(frozen=True)
class Oddity:
    """A reading to look at again, with its place in the log."""

    bed: str
    place: str
    why: str
    date: datetime.date | None = None
    measure: str = ""


def oddities(figures: Figures) -> list[Oddity]:
    """All odd readings of the weeks shown, bed by bed."""
    first = min((reading.date for reading in figures.history), default=figures.as_of)
    found: list[Oddity] = []
    for bed in figures.beds:
        course = [reading for reading in bed.course if reading.date >= first]
        found += jumps_of(figures, bed, first)
        for name, label in (("ph", "pH"), ("ec", "EC")):
            found += stuck(course, name, label, int(limit("stuck")))
        found += overfull(course, bed.full_depth, figures.unit_label("readings.depth"))
    return found


def jumps_of(figures: Figures, bed: BedWeek, first: datetime.date = datetime.date.min) -> list[Oddity]:
    """The jumps of a bed from one reading to the next, from a day on."""
    jump = in_unit(limit("temperature_jump") + 273.15, "K", figures.unit("readings.temperature")) - in_unit(
        273.15, "K", figures.unit("readings.temperature")
    )
    temperatures = figures.unit_label("readings.temperature")
    course = [reading for reading in bed.course if reading.date >= first]
    return [
        *jumps(course, "ph", "pH", limit("ph_jump")),
        *factors(course, "ec", "EC", limit("ec_jump"), figures.unit_label("readings.ec")),
        *jumps(course, "temperature", "water", jump, f" {temperatures}"),
    ]


def _pairs(course: Sequence[Reading], name: str) -> Iterator[tuple[Reading, float, Reading, float]]:
    """Readings of a measure and the next one soon after."""
    known = [(reading, value) for reading in course if (value := getattr(reading, name)) is not None]
    most_days = limit("jump_days")
    for (earlier, before), (later, after) in itertools.pairwise(known):
        if (later.date - earlier.date).days <= most_days:
            yield earlier, before, later, after


def jumps(course: Sequence[Reading], name: str, label: str, most: float, unit: str = "") -> Iterator[Oddity]:
    """Changes by more than ``most`` from one reading to the next."""
    for _, before, later, after in _pairs(course, name):
        if abs(after - before) > most:
            why = f"{label} went from {number(before)}{unit} to {number(after)}{unit}"
            yield Oddity(later.bed, later.place, why, later.date, name)


def factors(course: Sequence[Reading], name: str, label: str, most: float, unit: str) -> Iterator[Oddity]:
    """Changes by more than a factor from one reading to the next, where no feed explains a rise and no water a fall."""
    for _, before, later, after in _pairs(course, name):
        explained = later.feed_added if after > before else later.water_added
        if not explained and max(before, after) > most * min(before, after):
            why = f"{label} went from {amount(before, unit)} to {amount(after, unit)}"
            yield Oddity(later.bed, later.place, why, later.date, name)


def stuck(course: Sequence[Reading], name: str, label: str, most: int) -> Iterator[Oddity]:
    """The same value on so many days in a row, up to the latest reading: a meter may be stuck, or nobody measured."""
    known = [(reading, value) for reading in course if (value := getattr(reading, name)) is not None]
    if not known:
        return
    latest = known[-1][1]
    same: list[Reading] = []
    for reading, value in reversed(known):
        if value != latest:
            break
        same.append(reading)
    if len({reading.date for reading in same}) >= most:
        yield Oddity(
            same[0].bed,
            same[0].place,
            f"{label} {number(latest)} was read {len(same)} times in a row, since {same[-1].place}: "
            "the meter may be stuck",
        )


def overfull(course: Sequence[Reading], full: float | None, unit: str) -> Iterator[Oddity]:
    """Depths above that of the full bed by more than a little."""
    for reading in course:
        if full and reading.depth is not None and reading.depth > limit("overfull") * full:
            yield Oddity(
                reading.bed,
                reading.place,
                f"depth is {amount(reading.depth, unit)}, but by the log the bed is full at {amount(full, unit)}",
            )
