"""The tables of what was worked out of a log: doses, top-ups, standings, what falls due, in fixed units."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ..reading.frames import ROUND, Column, FrameKind, Kind, frame, number_column, text_columns
from ..reading.frames.fixed_units import DIGITS
from .doses import Dose, full_fills
from .due import due
from .round_standings import trials
from .top_ups import top_ups

if TYPE_CHECKING:
    from ..reading import GrowLog

ORDER = Column("order", Kind.WHOLE)
AMOUNTS = number_column("amount_g", "g"), number_column("amount_ml", "mL")


def _amounts(dose: Dose) -> tuple[float | None, float | None]:
    return _rounded(dose.grams), _rounded(dose.millilitres)


def _rounded(value: float | None) -> float | None:
    """A figure without the last bits of its arithmetic."""
    return None if value is None else float(f"{value:.{DIGITS}g}")


@frame("doses", *text_columns("bed", "feed", "part"), ORDER, number_column("volume_l", "L"), *AMOUNTS, Column("why"))
def doses(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """A full fill of each bed, its parts in the order of mixing; ``why`` says what of it is not known."""
    for fill in full_fills(log, day):
        volume = _rounded(fill.volume)
        for dose in fill.doses:
            yield fill.bed.name, fill.feed, dose.part.name, dose.order, volume, *_amounts(dose), fill.why
        if not fill.doses:
            yield fill.bed.name, fill.feed, None, None, volume, None, None, fill.why


@frame(
    "topups",
    Column("bed"),
    number_column("water_l", "L"),
    Column("part"),
    *AMOUNTS,
    Column("known"),
    *text_columns("why"),
)
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
    *(ROUND, Column("treatment"), Column("n", Kind.WHOLE), number_column("mean_g", "g"), number_column("low_g", "g")),
    *(number_column("high_g", "g"), *text_columns("letters", "crop")),
)
def standings(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """The treatments of a trial in each round, never pooled; n counts beds where the log names them."""
    for trial in trials(log, day):
        for one in trial.standings:
            numbers = one.n, one.mean, one.low, one.high
            yield trial.round or None, one.treatment, *numbers, one.letters, trial.crop


@frame("todo", Column("when", Kind.DATE), *text_columns("bed", "what", "why"))
def todo(log: GrowLog, day: datetime.date) -> Iterator[Sequence[Any]]:
    """What falls due in this week and the next."""
    for entry in due(log, day):
        yield entry.when, entry.bed, entry.what, entry.why


FRAMES: Mapping[str, FrameKind] = {kind.name: kind for kind in (doses, topups, standings, todo)}
"""The tables by their names, in the order in which they are written."""
