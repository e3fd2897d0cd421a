"""The tables that are handed out of a log. Each is declared once: its name, its columns with their units, its rows.

What is not known is blank and never 0; quantities are in the units that the names of their columns say.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any

from growcells.cells.errors import GrowError
from growcells.cells.units import conversion

if TYPE_CHECKING:
    import pandas as pd

    from .model import Bed, GrowLog, Harvest, Part

DIGITS = 12
"""Figures of a converted quantity: what a conversion adds beyond is no measurement. Ours."""


class Kind(Enum):
    """What a column holds, by the name that pandas has for it."""

    TEXT = "string"
    NUMBER = "float64"
    WHOLE = "Int64"
    TRUTH = "boolean"
    DATE = "datetime64[s]"
    TIME = "object"


@dataclass(frozen=True)
class Column:
    """A column of a table."""

    name: str
    kind: Kind = Kind.TEXT
    unit: str = ""


Rows = Iterable[Sequence[Any]]


@dataclass(frozen=True)
class FrameKind:
    """A table that is handed out: its columns, and what gives its rows of a log on a day, a value for each column."""

    name: str
    columns: tuple[Column, ...]
    rows: Callable[[GrowLog, datetime.date], Rows]

    def of(self, log: GrowLog, day: datetime.date) -> pd.DataFrame:
        """The table of a log."""
        import pandas as pd

        rows = list(self.rows(log, day))
        columns = list(zip(*rows, strict=True)) or [()] * len(self.columns)
        return pd.DataFrame(
            {
                column.name: pd.Series([None if value == "" else value for value in values], dtype=column.kind.value)
                for column, values in zip(self.columns, columns, strict=True)
            }
        )


def frame(name: str, *columns: Column) -> Callable[[Callable[[GrowLog, datetime.date], Rows]], FrameKind]:
    """Declare a table with these columns, whose rows the function below gives; it is then listed in FRAMES."""
    return lambda rows: FrameKind(name, columns, rows)


def _text(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name) for name in names)


def _number(name: str, unit: str = "") -> Column:
    return Column(name, Kind.NUMBER, unit)


DATE, TIME, ROUND = Column("date", Kind.DATE), Column("time", Kind.TIME), Column("round", Kind.WHOLE)


class Fixed:
    """Turns the quantities of a log into fixed units."""

    def __init__(self, log: GrowLog) -> None:
        self._log = log
        self._factors: dict[str, tuple[float, float]] = {}

    def __call__(self, key: str, number: float | None) -> float | None:
        """A number of the field ``key``, such as ``readings.ec``, in its fixed unit."""
        if number is None:
            return None
        factors = self._factors.get(key)
        if factors is None:
            factors = self._factors[key] = self._log.fixed(key)
        return converted(number, factors)

    def of_part(self, part: Part, name: str, volume_unit: str) -> tuple[float | None, float | None]:
        """A quantity of a part by mass, and by volume where the part is measured so."""
        number = getattr(part, name)
        unit = part.units.get(name)
        if unit is None or number is None:
            return self(f"feeds.{name}", number), None
        try:
            return None, converted(number, conversion(unit, volume_unit))
        except GrowError:  # a mass in a unit of its own
            return converted(number, self._log.fixed(f"feeds.{name}", unit)), None


def converted(number: float, factors: tuple[float, float]) -> float:
    """A number times a slope plus an offset, without what the conversion adds in the last bits."""
    slope, offset = factors
    return number if factors == (1.0, 0.0) else float(f"{number * slope + offset:.{DIGITS}g}")


@frame(
    "readings",
    *(DATE, TIME, *_text("bed", "crop", "feed"), ROUND, _number("ph"), _number("ec_ms_cm", "mS/cm")),
    *(_number("water_c", "°C"), _number("depth_cm", "cm"), _number("water_added_l", "L")),
    *(_number("feed_added_g", "g"), *_text("notes", "where")),
)
def readings(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """What was measured in beds and added to them."""
    fixed = Fixed(log)
    for reading in log.readings:
        yield (
            *(reading.date, reading.time, reading.bed, reading.crop, reading.feed, reading.round or None, reading.ph),
            fixed("readings.ec", reading.ec),
            fixed("readings.temperature", reading.temperature),
            fixed("readings.depth", reading.depth),
            fixed("readings.water_added", reading.water_added),
            fixed("readings.feed_added", reading.feed_added),
            *(reading.notes, reading.where),
        )


BED_NUMBERS = {
    "length_cm": "length",
    "width_cm": "width",
    "depth_cm": "depth",
    "lowest_cm": "lowest",
    "volume_l": "volume",
    "rate_g_l": "rate",
    "dose_g": "dose",
    "n_ppm": "n_ppm",
    "ec_low_ms_cm": "ec_low",
    "ec_high_ms_cm": "ec_high",
    "water_low_c": "temp_low",
    "water_high_c": "temp_high",
    "source_ec_ms_cm": "water_ec",
    "source_alkalinity_ppm": "alkalinity",
}
"""The columns of beds with a unit, and the fields that they hold."""


@frame(
    "beds",
    *(*_text("bed", "crop", "feed"), ROUND, Column("planted", Kind.DATE), _number("plants"), Column("shape")),
    *(*map(_number, BED_NUMBERS), _number("ph_low"), _number("ph_high"), *_text("notes", "where")),
)
def beds(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The beds as they stand on a day."""
    fixed = Fixed(log)
    for bed in log.on(day).beds:
        numbers = (fixed(f"beds.{name}", getattr(bed, name)) for name in BED_NUMBERS.values())
        texts = bed.name, bed.crop, bed.feed, bed.round or None, bed.planted, bed.plants, bed.shape
        yield (*texts, *numbers, bed.ph_low, bed.ph_high, bed.notes, _first_cell(bed))


def _first_cell(listed: Bed | Part) -> str:
    return next(iter(listed.cells.values()), "")


@frame(
    "feeds",
    *(Column("feed"), Column("part", Kind.WHOLE), *_text("product", "analysis"), _number("rate_g_l")),
    *(_number("rate_ml_l"), _number("package_g"), _number("package_ml"), _number("price"), _number("on_hand_g")),
    *(_number("on_hand_ml"), Column("counted", Kind.DATE), _number("use_g_week"), _number("use_ml_week")),
    *(_number("lead_weeks"), _number("scale_g"), *_text("notes", "where")),
)
def feeds(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The feeds, a row for each part of a mix."""
    fixed = Fixed(log)
    for feed in log.feeds:
        for number, part in enumerate(feed.parts, 1):
            yield (
                *(feed.name, number, part.product, part.analysis),
                *(*fixed.of_part(part, "rate", "mL/L"), *fixed.of_part(part, "package", "mL"), part.price),
                *(*fixed.of_part(part, "on_hand", "mL"), part.counted, *fixed.of_part(part, "use", "mL")),
                *(fixed("feeds.lead", part.lead), fixed("feeds.scale", part.scale)),
                *(part.notes or feed.notes, _first_cell(part)),
            )


@frame(
    "plants",
    *(DATE, *_text("bed", "crop"), ROUND, *_text("treatment", "plant"), _number("mass_g", "g")),
    *(Column("died", Kind.TRUTH), *_text("notes", "where")),
)
def plants(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The single plants that were weighed, or that died."""
    fixed = Fixed(log)
    for weight in log.weights:
        yield (
            *(weight.date, weight.bed, weight.crop, weight.round or None, weight.treatment, weight.plant),
            *(fixed("weights.mass", weight.mass), weight.dead, weight.notes, weight.where),
        )


@frame("harvests", DATE, Column("bed"), ROUND, _number("heads"), _number("mass_g", "g"), _number("income"))
def harvests(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """What was cut of whole beds."""
    fixed = Fixed(log)
    for cut in log.harvests:
        mass = fixed("harvests.mass", cut.mass)
        yield cut.date, cut.bed, cut.round or None, cut.heads, mass, _income(cut, mass)


def _income(cut: Harvest, mass: float | None) -> float | None:
    """What a harvest was sold for: as the log says, else the price times what was cut, where all of it was sold."""
    if cut.income is not None or cut.price is None or cut.culls or cut.losses:
        return cut.income
    if cut.price_per == "head":
        return None if cut.heads is None else cut.price * cut.heads
    if mass is None:
        return None
    try:
        in_unit = converted(mass, conversion("g", cut.price_per))
    except GrowError:  # a bunch, of which nobody knows how many heads it has
        return None
    return cut.price * in_unit


@frame("rounds", ROUND, *_text("bed", "crop", "feed"), Column("planted", Kind.DATE), Column("ended", Kind.DATE))
def rounds(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The plantings of each bed."""
    for planting in log.rounds:
        yield planting.number or None, planting.bed, planting.crop, planting.feed, planting.began, planting.ended


@frame("left_out", *_text("sheet", "cell", "content", "reason"))
def left_out(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The cells that were not used, and why."""
    for left in log.left_out:
        yield left.sheet, left.cell, left.content, left.reason


FRAMES = {kind.name: kind for kind in (readings, beds, feeds, plants, harvests, rounds, left_out)}
"""The tables by their names, in the order in which they are written."""


def frames_of(
    log: GrowLog, as_of: datetime.date | None = None, kinds: Mapping[str, FrameKind] = FRAMES
) -> dict[str, pd.DataFrame]:
    """Tables of a log; beds are as they stand on ``as_of``, by default today."""
    day = as_of or datetime.date.today()
    return {name: kind.of(log, day) for name, kind in kinds.items()}
