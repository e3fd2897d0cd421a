"""The tables that are handed out of a log. Each is declared once: its name, its columns with their units, its rows.

What is not known is blank and never 0; quantities are in the units that the names of their columns say.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any

from .fixed_units import Fixed
from .yields import ended, in_log

if TYPE_CHECKING:
    import pandas as pd

    from ..model.entries import Bed, Part
    from ..model.log import GrowLog


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


def text_columns(*names: str) -> tuple[Column, ...]:
    """Columns of texts."""
    return tuple(Column(name) for name in names)


def number_column(name: str, unit: str = "") -> Column:
    """A column of numbers."""
    return Column(name, Kind.NUMBER, unit)


texts, numbers = text_columns, number_column
DATE, TIME, ROUND = Column("date", Kind.DATE), Column("time", Kind.TIME), Column("round", Kind.WHOLE)


@frame(
    "readings",
    *(DATE, TIME, *texts("bed", "crop", "feed"), ROUND, numbers("ph"), numbers("ec_ms_cm", "mS/cm")),
    *(numbers("water_c", "°C"), numbers("depth_cm", "cm"), numbers("water_added_l", "L")),
    *(numbers("feed_added_g", "g"), *texts("notes", "where")),
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
    *(
        *texts("bed", "crop", "feed"),
        ROUND,
        Column("planted", Kind.DATE),
        numbers("plants"),
        Column("shape"),
    ),
    *(
        *map(numbers, BED_NUMBERS),
        numbers("ph_low"),
        numbers("ph_high"),
        *texts("notes", "where"),
    ),
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
    *(Column("feed"), Column("part", Kind.WHOLE), *texts("product", "analysis"), numbers("rate_g_l")),
    *(
        numbers("rate_ml_l"),
        numbers("package_g"),
        numbers("package_ml"),
        numbers("price"),
        numbers("on_hand_g"),
    ),
    *(
        numbers("on_hand_ml"),
        Column("counted", Kind.DATE),
        numbers("use_g_week"),
        numbers("use_ml_week"),
    ),
    *(numbers("lead_weeks"), numbers("scale_g"), *texts("notes", "where")),
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
    *(DATE, *texts("bed", "crop"), ROUND, *texts("treatment", "plant"), numbers("mass_g", "g")),
    *(Column("died", Kind.TRUTH), *texts("notes", "where")),
)
def plants(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The single plants that were weighed, or that died."""
    fixed = Fixed(log)
    for weight in log.weights:
        yield (
            *(weight.date, weight.bed, weight.crop, weight.round or None, weight.treatment, weight.plant),
            *(fixed("weights.mass", weight.mass), weight.dead, weight.notes, weight.where),
        )


@frame(
    "harvests",
    DATE,
    Column("bed"),
    ROUND,
    numbers("heads"),
    numbers("mass_g", "g"),
    numbers("income"),
    Column("why"),
)
def harvests(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """What was cut of whole beds; ``why`` says what of the income is not known."""
    fixed = Fixed(log)
    for cut in log.harvests:
        sale = in_log(fixed, cut)
        mass = fixed("harvests.mass", cut.mass)
        yield cut.date, cut.bed, cut.round or None, cut.heads, mass, sale.income, sale.why


@frame("rounds", ROUND, *texts("bed", "crop", "feed"), Column("planted", Kind.DATE), Column("ended", Kind.DATE))
def rounds(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The plantings of each bed."""
    for planting in log.rounds:
        texts = planting.number or None, planting.bed, planting.crop, planting.feed
        yield *texts, planting.began, ended(log, planting, day)


@frame("left_out", *texts("sheet", "cell", "content", "reason"))
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
