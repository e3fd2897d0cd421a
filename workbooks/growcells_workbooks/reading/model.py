"""What a grow log holds, once it is read. Quantities are numbers in the log's own units, which ``units`` names."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from growcells.cells.units import conversion

if TYPE_CHECKING:
    import pandas as pd

    from ..recalculation import FailedCell, KeptCell, RestingCell
    from .inputs import Outdated


class Fate(StrEnum):
    """What became of a row or a cell of the log."""

    READ = "read"
    IGNORED = "ignored"
    """On purpose: a title, a note, a total, what a mapping file passes over."""
    UNREADABLE = "unreadable"
    """Not understood: it looks like data and is lost."""
    HEADING = "heading"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A cell (or the area of a sheet without tables) that was not used, with what it holds and why."""

    sheet: str
    cell: str
    content: str
    fate: Fate
    reason: str

    @property
    def problem(self) -> bool:
        """Whether it is something to look into, such as a bed that is not listed, and not a title or a total."""
        return self.fate is Fate.UNREADABLE


@dataclass(frozen=True, slots=True)
class Doubt:
    """A value that was used although it is hardly possible, with its cell and what was expected."""

    sheet: str
    cell: str
    content: str
    reason: str


class Certainty(StrEnum):
    """How sure it is what a column or a table was taken for."""

    SURE = "sure"
    LIKELY = "likely"
    GUESSED = "guessed"


@dataclass(frozen=True, slots=True)
class ColumnFound:
    """A column of a table: what it was taken for (None: not used), in which unit, and how that is known."""

    cell: str
    heading: str
    field: str | None
    unit: str = ""
    unit_from: str = ""
    certainty: Certainty = Certainty.SURE
    why: str = ""
    """Why it is not sure, or not used."""
    bed: str = ""
    """The bed of its numbers, where the table has a column for each."""
    other: bool = False
    """Whether its heading is known and names nothing that is used here."""


@dataclass(frozen=True, slots=True)
class TableFound:
    """A table of the log: what it was taken for and what became of its rows."""

    kind: str
    sheet: str
    heading_row: int
    columns: tuple[ColumnFound, ...]
    rows: Mapping[Fate, int]
    date_order: str = ""
    layout: str = "a row for each"
    """How it lies on its sheet."""
    title: str = ""
    """The text right above it or in its corner."""
    measured: str = ""
    """What its numbers are, where a table has a column for each bed or date."""
    decimals: str = ""
    """``comma`` where numbers are typed with one."""
    carried: int = 0
    """Rows whose date or bed is the one above."""
    records: int = 0
    """Beds, feeds, readings or weights read."""
    problem: str = ""
    """Why none of it could be read, where that is so."""

    @property
    def certainty(self) -> Certainty:
        """That of its least sure column."""
        if self.problem:
            return Certainty.GUESSED
        ranks = list(Certainty)
        used = [ranks.index(column.certainty) for column in self.columns if column.field]
        return ranks[max(used, default=0)]


@dataclass(slots=True)
class Round:
    """A planting of a bed, from its first day to its last; ``number`` counts the plantings of a bed from 1."""

    bed: str
    number: int = 0
    name: str = ""
    """What the log calls it."""
    crop: str = ""
    feed: str = ""
    rate: float | None = None
    rate_unit: str = ""
    """The unit of its rate where that is not in the log's, as ``mL/gal`` of a liquid."""
    sown: datetime.date | None = None
    transplanted: datetime.date | None = None
    planted: datetime.date | None = None
    """Where the log does not say whether it was sown or transplanted."""
    expected: datetime.date | None = None
    """The day on which the harvest is expected."""
    ended: datetime.date | None = None
    plants: float | None = None
    notes: str = ""
    sheet: str = ""
    row: int = 0
    column: int = 0

    @property
    def began(self) -> datetime.date | None:
        """The day from which the bed holds it: transplanted before planted before sown."""
        return self.transplanted or self.planted or self.sown

    @property
    def where(self) -> str:
        """The first cell of it, such as ``Plan!A5``."""
        return where(self.sheet, self.row, self.column)


@dataclass(slots=True)
class Bed:
    """A bed, tote or tank; ``cells`` says where each field stands. Planned figures are None where the log has none.

    Crop, feed, planted, plants and rate are those of the round of the day that ``GrowLog.on`` was asked for.
    """

    name: str
    crop: str = ""
    feed: str = ""
    planted: datetime.date | None = None
    plants: float | None = None
    shape: str = ""
    length: float | None = None
    width: float | None = None
    depth: float | None = None
    lowest: float | None = None
    volume: float | None = None
    rate: float | None = None
    rate_unit: str = ""
    """The unit of its rate where that is not in the log's, as ``mL/gal`` of a liquid."""
    dose: float | None = None
    n_ppm: float | None = None
    ph_low: float | None = None
    ph_high: float | None = None
    ec_low: float | None = None
    ec_high: float | None = None
    temp_low: float | None = None
    temp_high: float | None = None
    water_ec: float | None = None
    """The conductivity of the source water."""
    alkalinity: float | None = None
    """The alkalinity of the source water, as ppm of calcium carbonate."""
    notes: str = ""
    round: int = 0
    """The number of the round that is in it; 0 where none has begun."""
    cells: dict[str, str] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    """The fields whose cell is filled and could not be read."""


@dataclass(slots=True)
class Part:
    """A product that a feed is mixed of: its label, its share in the mix, what a package costs, what is in stock."""

    product: str = ""
    analysis: str = ""
    rate: float | None = None
    package: float | None = None
    price: float | None = None
    on_hand: float | None = None
    counted: datetime.date | None = None
    """The day on which ``on_hand`` was counted."""
    use: float | None = None
    """What is used of it in a week."""
    lead: float | None = None
    scale: float | None = None
    """The step of the scale that weighs it."""
    notes: str = ""
    units: dict[str, str] = field(default_factory=dict)
    """The units of those of its quantities that are not in the log's, as ``mL/gal`` and ``L`` of a liquid."""
    cells: dict[str, str] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    """The fields whose cell is filled and could not be read."""


@dataclass(slots=True)
class Feed:
    """A feed: one product, or a mix of several parts. ``parts`` has at least one.

    The properties speak of the only part; of a mix of several they say nothing, since a mix has no one label or price.
    """

    name: str
    parts: list[Part] = field(default_factory=list)
    notes: str = ""

    @property
    def is_mix(self) -> bool:
        """Whether it is mixed of several parts."""
        return len(self.parts) > 1

    @property
    def only(self) -> Part:
        """Its part where it has just one, else a part of which nothing is known."""
        return self.parts[0] if len(self.parts) == 1 else Part()

    @property
    def product(self) -> str:
        """What the only part is."""
        return self.only.product

    @property
    def analysis(self) -> str:
        """The label of the only part."""
        return self.only.analysis

    @property
    def rate(self) -> float | None:
        """The rate of the only part, None where it is measured by volume."""
        return None if "rate" in self.only.units else self.only.rate

    @property
    def package(self) -> float | None:
        """The mass in a package of the only part."""
        return None if "package" in self.only.units else self.only.package

    @property
    def price(self) -> float | None:
        """The price of a package of the only part."""
        return self.only.price

    @property
    def on_hand(self) -> float | None:
        """The mass in stock of the only part."""
        return None if "on_hand" in self.only.units else self.only.on_hand

    @property
    def counted(self) -> datetime.date | None:
        """The day on which the stock of the only part was counted."""
        return self.only.counted

    @property
    def use(self) -> float | None:
        """The mass of the only part that is used in a week."""
        return None if "use" in self.only.units else self.only.use

    @property
    def lead(self) -> float | None:
        """The time that an order of the only part takes."""
        return self.only.lead

    @property
    def scale(self) -> float | None:
        """The step of the scale that weighs the only part."""
        return self.only.scale


@dataclass(slots=True)
class Reading:
    """What was measured in or added to a bed on a day; ``time`` is the time of day, where the log says it."""

    bed: str
    date: datetime.date
    ph: float | None = None
    ec: float | None = None
    temperature: float | None = None
    water_added: float | None = None
    feed_added: float | None = None
    depth: float | None = None
    notes: str = ""
    sheet: str = ""
    row: int = 0
    time: datetime.time | None = None
    column: int = 0
    """That of its first cell."""
    crop: str = ""
    feed: str = ""
    round: int = 0
    """The number of the round that was in its bed on that day; 0 where none is known."""

    @property
    def place(self) -> str:
        """Where it stands in the log: ``diary, row 12``."""
        return f"{self.sheet}, row {self.row}"

    @property
    def where(self) -> str:
        """The first cell of it, such as ``diary!A12``."""
        return where(self.sheet, self.row, self.column)

    @property
    def moment(self) -> datetime.datetime:
        """Its date and time, midnight where no time is known."""
        return datetime.datetime.combine(self.date, self.time or datetime.time())


@dataclass(slots=True)
class Fill:
    """A bed filled with fresh solution on a day: how much water, which feed, at which rate or with what mass of it."""

    bed: str
    date: datetime.date
    volume: float | None = None
    feed: str = ""
    rate: float | None = None
    rate_unit: str = ""
    """The unit of its rate where that is not in the log's, as ``mL/gal`` of a liquid."""
    mass: float | None = None
    notes: str = ""
    round: int = 0
    sheet: str = ""
    row: int = 0
    column: int = 0

    @property
    def where(self) -> str:
        """The first cell of it."""
        return where(self.sheet, self.row, self.column)


@dataclass(slots=True)
class Weight:
    """A single plant that was weighed, or that died (``mass`` is None)."""

    bed: str
    treatment: str
    plant: str
    mass: float | None
    dead: bool = False
    date: datetime.date | None = None
    notes: str = ""
    sheet: str = ""
    row: int = 0
    column: int = 0
    crop: str = ""
    round: int = 0

    @property
    def where(self) -> str:
        """The first cell of it."""
        return where(self.sheet, self.row, self.column)


@dataclass(slots=True)
class Harvest:
    """What was cut of a whole bed on a day: heads, their mass together, what they were sold for, what was not sold."""

    bed: str
    date: datetime.date | None = None
    heads: float | None = None
    heads_cut: bool = False
    """Whether the log says that ``heads`` were cut, and so counts none that died before."""
    mass: float | None = None
    """Of all heads together."""
    sold: float | None = None
    """The heads that were sold."""
    sold_mass: float | None = None
    """The mass that was sold."""
    bunches: float | None = None
    bunches_sold: bool = False
    """Whether the log says that ``bunches`` were sold."""
    bunch_heads: float | None = None
    """The heads of a bunch."""
    price: float | None = None
    price_per: str = ""
    """What the price is of: ``head``, ``bunch``, ``each`` of what is counted, or a unit of mass such as ``lb``."""
    unread: str = ""
    """The heading of a column about its sale that is not used."""
    income: float | None = None
    """What all of it was sold for, as the log says it."""
    culls: float | None = None
    losses: float | None = None
    crop: str = ""
    feed: str = ""
    round: int = 0
    notes: str = ""
    sheet: str = ""
    row: int = 0
    column: int = 0

    @property
    def where(self) -> str:
        """The first cell of it."""
        return where(self.sheet, self.row, self.column)


@dataclass(frozen=True, slots=True)
class Counts:
    """The filled cells of a log by what became of them; they add up."""

    used: int
    ignored: int
    """On purpose: titles, notes, totals, what a mapping file passes over."""
    not_understood: int

    @property
    def filled(self) -> int:
        """All of them."""
        return self.used + self.ignored + self.not_understood


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
    left_out: tuple[LeftOut, ...]
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
    doubts: tuple[Doubt, ...] = ()
    """Values out of a plausible range; they are used."""
    failed: tuple[FailedCell, ...] = ()
    """Formulas whose value is an error."""
    kept: tuple[KeptCell, ...] = ()
    """Formulas that cannot be computed here."""
    resting: tuple[RestingCell, ...] = ()
    """Formulas that rest on one that cannot be computed here."""
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
        return conversion(unit or self.units.get(key) or FIXED_UNITS[key], FIXED_UNITS[key])

    def readings_frame(self) -> pd.DataFrame:
        """The readings as a table, a row each, numbers as floats with NaN where nothing was measured."""
        return frame_of(self.readings)

    def frames(self, as_of: datetime.date | None = None) -> dict[str, pd.DataFrame]:
        """All that was read as tables in fixed units, as ``growcells export`` writes them; beds as on ``as_of``."""
        from .frames import frames_of

        return frames_of(self, as_of)


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


def where(sheet: str, row: int, column: int) -> str:
    """Sheet and cell: ``diary!A12``."""
    from openpyxl.utils import get_column_letter

    return f"{sheet}!{get_column_letter(column)}{row}" if row and column else sheet


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


MOST_NAMES = 10_000
"""Names whose keys are kept; far more than a log has beds and feeds. Ours."""
READING_NUMBERS = ("ph", "ec", "temperature", "water_added", "feed_added", "depth")


def frame_of(readings: Iterable[Reading]) -> pd.DataFrame:
    """Readings as a table in the order given; ``date`` has the time of day, midnight where none is known."""
    import pandas as pd

    columns = ("bed", "date", *READING_NUMBERS, "notes", "sheet", "row", "crop", "feed", "round")
    sources = ("bed", "moment", *columns[2:])
    frame = pd.DataFrame([[getattr(reading, name) for name in sources] for reading in readings], columns=list(columns))
    frame["date"] = pd.to_datetime(frame["date"])
    numbers = list(READING_NUMBERS)
    frame[numbers] = frame[numbers].astype(float)
    return frame


@lru_cache(MOST_NAMES)
def name_key(name: str) -> str:
    """A name as it is compared: without spaces, in lower case."""
    return "".join(name.split()).casefold()
