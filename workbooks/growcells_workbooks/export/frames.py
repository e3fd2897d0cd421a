"""The tables that are handed out of a log. Each is declared once: its name, its columns with their units, its rows.

What is not known is blank and never 0; quantities are in the units that the names of their columns say.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Any

from ..season_figures.doses import Dose, full_fills
from ..season_figures.due import due
from ..season_figures.fixed_units import Fixed
from ..season_figures.harvest_sums import ended, income
from ..season_figures.round_standings import trials
from ..season_figures.top_ups import top_ups

if TYPE_CHECKING:
    import pandas as pd

    from ..reading import Bed, GrowLog, Part


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


DIGITS = 12
"""Figures of a quantity that was worked out: what the arithmetic adds beyond is no measurement. Ours."""

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


FRAMES: dict[str, FrameKind] = {}
"""The tables by their names, in the order in which they are written."""


def frame(name: str, *columns: Column) -> Callable[[Callable[[GrowLog, datetime.date], Rows]], Callable[..., Rows]]:
    """Declare a table with these columns, whose rows the function below gives."""

    def declare(rows: Callable[[GrowLog, datetime.date], Rows]) -> Callable[[GrowLog, datetime.date], Rows]:
        FRAMES[name] = FrameKind(name, columns, rows)
        return rows

    return declare


def frames_of(log: GrowLog, as_of: datetime.date | None = None) -> dict[str, pd.DataFrame]:
    """All tables of a log; beds are as they stand on ``as_of``, by default today."""
    day = as_of or datetime.date.today()
    return {name: kind.of(log, day) for name, kind in FRAMES.items()}


def _text(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name) for name in names)


def _number(name: str, unit: str = "") -> Column:
    return Column(name, Kind.NUMBER, unit)


DATE, TIME, ROUND = Column("date", Kind.DATE), Column("time", Kind.TIME), Column("round", Kind.WHOLE)


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
        yield cut.date, cut.bed, cut.round or None, cut.heads, mass, income(cut, mass)


@frame("rounds", ROUND, *_text("bed", "crop", "feed"), Column("planted", Kind.DATE), Column("ended", Kind.DATE))
def rounds(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The plantings of each bed."""
    for planting in log.rounds:
        texts = planting.number or None, planting.bed, planting.crop, planting.feed
        yield *texts, planting.began, ended(log, planting, day)


WHOLE_ORDER = Column("order", Kind.WHOLE)
AMOUNTS = _number("amount_g", "g"), _number("amount_ml", "mL")


def _amounts(dose: Dose) -> tuple[float | None, float | None]:
    return _rounded(dose.grams), _rounded(dose.millilitres)


def _rounded(value: float | None) -> float | None:
    """A figure without the last bits of its arithmetic."""
    return None if value is None else float(f"{value:.{DIGITS}g}")


@frame("doses", *_text("bed", "feed", "part"), WHOLE_ORDER, _number("volume_l", "L"), *AMOUNTS, Column("why"))
def doses(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """A full fill of each bed, its parts in the order of mixing; ``why`` says what of it is not known."""
    for fill in full_fills(log, day):
        volume = _rounded(fill.volume)
        for dose in fill.doses:
            yield fill.bed.name, fill.feed, dose.part.name, dose.order, volume, *_amounts(dose), fill.why
        if not fill.doses:
            yield fill.bed.name, fill.feed, None, None, volume, None, None, fill.why


@frame("topups", Column("bed"), _number("water_l", "L"), Column("part"), *AMOUNTS, Column("known"), *_text("why"))
def topups(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The next top-up of each bed, a row for each part; ``known`` is no where the feed cannot be reckoned."""
    for top_up in top_ups(log, day):
        known = "yes" if top_up.known else "no"
        water = _rounded(top_up.water)
        for dose in top_up.doses:
            yield top_up.bed.name, water, dose.part.name, *_amounts(dose), known, top_up.why
        if not top_up.doses:
            yield top_up.bed.name, water, None, None, None, known, top_up.why


@frame(
    "standings",
    *(ROUND, Column("treatment"), Column("n", Kind.WHOLE), _number("mean_g", "g"), _number("low_g", "g")),
    *(_number("high_g", "g"), *_text("letters", "crop")),
)
def standings(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The treatments of a trial in each round, never pooled; n counts beds where the log names them."""
    for trial in trials(log, day):
        for one in trial.standings:
            numbers = one.n, one.mean, one.low, one.high
            yield trial.round or None, one.treatment, *numbers, one.letters, trial.crop


@frame("todo", Column("when", Kind.DATE), *_text("bed", "what", "why"))
def todo(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """What falls due in this week and the next."""
    for entry in due(log, day):
        yield entry.when, entry.bed, entry.what, entry.why


@frame("left_out", *_text("sheet", "cell", "content", "reason"))
def left_out(log: GrowLog, _: datetime.date) -> Iterator[Sequence[Any]]:
    """The cells that were not used, and why."""
    for left in log.left_out:
        yield left.sheet, left.cell, left.content, left.reason
