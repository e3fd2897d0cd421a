"""A grow log as read."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from growcells.cells.units import conversion

from .entries import Bed, Feed, Fill, Harvest, Reading, Round, Weight, name_key
from .found import CellNote, Counts, Fate, Outdated, TableFound

if TYPE_CHECKING:
    import pandas as pd

    from ...recalculation import FailedCell, KeptCell, RestingCell


@dataclass(frozen=True)
class GrowLog:
    """A grow log as read: every filled cell of it is counted in ``cells``, under what became of it."""

    path: Path
    title: str
    beds: tuple[Bed, ...]
    feeds: tuple[Feed, ...]
    readings: tuple[Reading, ...]
    weights: tuple[Weight, ...]
    tables: tuple[TableFound, ...]
    left_out: tuple[CellNote, ...]
    units: Mapping[str, str]
    """The unit of each quantity field, such as ``readings.ec``."""
    money: str
    """The number format in which the log writes prices."""
    rows: Mapping[str, Mapping[Fate, int]]
    """The filled rows of each sheet by what became of them."""
    rounds: tuple[Round, ...] = ()
    """By bed in the order of ``beds``, then as they began; those without a day last."""
    harvests: tuple[Harvest, ...] = ()
    fills: tuple[Fill, ...] = ()
    functions: tuple[str, ...] = ()
    """The cell functions that the log's formulas use, in the order of the reference."""
    formulas: int = 0
    """How many formulas the log has."""
    cells: Mapping[str, Mapping[Fate, int]] = field(default_factory=dict)
    """The filled cells of each sheet by what became of them."""
    notes: tuple[str, ...] = ()
    """What recalculation said about the log as a whole."""
    doubts: tuple[CellNote, ...] = ()
    """Values out of a plausible range; they are used."""
    failed: tuple[FailedCell, ...] = ()
    """Formulas whose value is an error."""
    kept: tuple[KeptCell, ...] = ()
    """Formulas that have no sure value here."""
    resting: tuple[RestingCell, ...] = ()
    """Formulas that rest on one without a sure value."""
    outdated: tuple[Outdated, ...] = ()
    """Formulas whose stored value, which was read, is not the one that growcells gives now."""
    category: str = ""
    """What kind of document the properties of the file say it is."""

    def bed(self, name: str) -> Bed | None:
        """The bed of this name, whatever its spaces and capitals."""
        return next((bed for bed in self.beds if name_key(bed.name) == name_key(name)), None)

    def feed(self, name: str) -> Feed | None:
        """The feed of this name, whatever its spaces and capitals."""
        return next((feed for feed in self.feeds if name_key(feed.name) == name_key(name)), None)

    @cached_property
    def readings_of(self) -> Mapping[str, Sequence[Reading]]:
        """The readings of each bed, by the key of its name, in the order of their days and times."""
        found: dict[str, list[Reading]] = {}
        for reading in sorted(self.readings, key=lambda reading: reading.moment):
            found.setdefault(name_key(reading.bed), []).append(reading)
        return found

    def count(self, fate: Fate) -> int:
        """How many filled rows of the log had this fate."""
        return sum(rows.get(fate, 0) for rows in self.rows.values())

    @property
    def counts(self) -> Counts:
        """The filled cells of the whole log."""
        fates = {fate: sum(cells.get(fate, 0) for cells in self.cells.values()) for fate in Fate}
        return Counts(fates[Fate.READ] + fates[Fate.HEADING], fates[Fate.IGNORED], fates[Fate.UNREADABLE])

    def round_on(self, bed: str, day: datetime.date) -> Round | None:
        """The round that is in a bed on a day: the newest that has begun by then and had not ended before."""
        return round_on([known for known in self.rounds if name_key(known.bed) == name_key(bed)], day)

    def on(self, day: datetime.date) -> GrowLog:
        """The log with each bed as it stands on a day: crop, feed, planted, plants and rate of the round in it."""
        of_bed: dict[str, list[Round]] = {}
        for known in self.rounds:
            of_bed.setdefault(name_key(known.bed), []).append(known)
        beds = []
        for bed in self.beds:
            rounds = of_bed.get(name_key(bed.name), [])
            beds.append(bed_with(bed, round_on(rounds, day), rounds))
        return replace(self, beds=tuple(beds))

    @property
    def newest_weights(self) -> tuple[Weight, ...]:
        """The weights of one round of each bed, the newest that has any: rounds are never pooled."""
        newest: dict[str, int] = {}
        for weight in self.weights:
            newest[weight.bed] = max(newest.get(weight.bed, 0), weight.round)
        return tuple(weight for weight in self.weights if weight.round == newest[weight.bed])

    def fixed(self, key: str, unit: str = "") -> tuple[float, float]:
        """Slope and offset from the log's unit of a field (or another) to the fixed one that FIXED_UNITS names.

        >>> GrowLog.fixed(log, "readings.temperature")  # doctest: +SKIP
        (0.5555555555555556, -17.77777777777778)
        """
        return fixed_factors(self.units, key, unit)

    def frames(self, as_of: datetime.date | None = None) -> dict[str, pd.DataFrame]:
        """All that was read as tables in fixed units, as ``growcells export`` writes them; beds as on ``as_of``."""
        from .frames import frames_of

        return frames_of(self, as_of)


def fixed_factors(units: Mapping[str, str], key: str, unit: str = "") -> tuple[float, float]:
    """Slope and offset from a log's unit of a field (or another) to the fixed one that FIXED_UNITS names."""
    return conversion(unit or units.get(key) or FIXED_UNITS[key], FIXED_UNITS[key])


FIXED_UNITS = {
    **{f"readings.{name}": unit for name, unit in (("ec", "mS/cm"), ("temperature", "degC"), ("depth", "cm"))},
    **{"readings.water_added": "L", "readings.feed_added": "g"},
    **{f"beds.{name}": "cm" for name in ("length", "width", "depth", "lowest")},
    **{"beds.volume": "L", "beds.rate": "g/L", "beds.dose": "g", "beds.n_ppm": "mg/L", "beds.alkalinity": "mg/L"},
    **{f"beds.{name}": "mS/cm" for name in ("ec_low", "ec_high", "water_ec")},
    **{f"beds.{name}": "degC" for name in ("temp_low", "temp_high")},
    **{"feeds.package": "g", "feeds.rate": "g/L", "feeds.on_hand": "g", "feeds.use": "g", "feeds.scale": "g"},
    **{"feeds.lead": "week", "plantings.rate": "g/L", "fills.volume": "L", "fills.rate": "g/L", "fills.mass": "g"},
    **{"weights.mass": "g", "harvests.mass": "g", "harvests.sold_mass": "g"},
}
"""The units of quantities that are handed out of a log, whatever its own."""


def round_on(rounds: Iterable[Round], day: datetime.date) -> Round | None:
    """Of the rounds of one bed, the newest that has begun by a day, unless it ended before."""
    begun = [known for known in rounds if known.began is not None and known.began <= day]
    newest = max(begun, key=lambda known: known.began or day, default=None)
    return newest if newest and (newest.ended is None or newest.ended >= day) else None


def bed_with(bed: Bed, planting: Round | None, rounds: Iterable[Round] = ()) -> Bed:
    """A bed with what is in it; where its round says nothing it stays as its own row says.

    A rate that another of its rounds was given is none of this one.
    """
    if planting is None:
        return bed
    rows = {(known.sheet, known.row) for known in rounds if known is not planting}
    sheet, _, cell = bed.cells.get("rate", "").rpartition("!")
    if planting.rate is None and (sheet, int("".join(filter(str.isdigit, cell)) or 0)) in rows:
        bed = replace(bed, rate=None, rate_unit="")
    return replace(
        bed,
        crop=planting.crop or bed.crop,
        feed=planting.feed or bed.feed,
        planted=planting.began,
        plants=bed.plants if planting.plants is None else planting.plants,
        rate=bed.rate if planting.rate is None else planting.rate,
        rate_unit=bed.rate_unit if planting.rate is None else planting.rate_unit,
        round=planting.number,
    )
