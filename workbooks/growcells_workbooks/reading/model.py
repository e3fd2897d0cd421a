"""What a grow log holds, once it is read. Quantities are numbers in the log's own units, which ``units`` names."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from ..recalculation import FailedCell, KeptCell, RestingCell


class Fate(StrEnum):
    """What became of a row or a cell of the log."""

    READ = "read"
    IGNORED = "ignored"
    UNREADABLE = "unreadable"
    HEADING = "heading"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A cell (or the area of a sheet without tables) that was not used, with what it holds and why."""

    sheet: str
    cell: str
    content: str
    fate: Fate
    reason: str
    problem: bool = False
    """Whether it is something to look into, such as a bed that is not listed, and not a title or a total."""
    whole_row: bool = False
    """Whether the rest of its row was not used either."""


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
    """Why it is not sure."""


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
class Bed:
    """A bed, tote or tank; ``cells`` says where each field stands. Planned figures are None where the log has none."""

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
    notes: str = ""
    cells: dict[str, str] = field(default_factory=dict)
    failed: set[str] = field(default_factory=set)
    """The fields whose cell is filled and could not be read."""


@dataclass(slots=True)
class Feed:
    """A feed: its label, what a package costs and how much is in stock."""

    name: str
    product: str = ""
    analysis: str = ""
    package: float | None = None
    price: float | None = None
    rate: float | None = None
    on_hand: float | None = None
    counted: datetime.date | None = None
    """The day on which ``on_hand`` was counted."""
    use: float | None = None
    """The mass used in a week."""
    lead: float | None = None
    scale: float | None = None
    """The step of the scale that weighs it."""
    notes: str = ""
    cells: dict[str, str] = field(default_factory=dict)


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

    @property
    def place(self) -> str:
        """Where it stands in the log: ``diary, row 12``."""
        return f"{self.sheet}, row {self.row}"

    @property
    def moment(self) -> datetime.datetime:
        """Its date and time, midnight where no time is known."""
        return datetime.datetime.combine(self.date, self.time or datetime.time())


@dataclass(slots=True)
class Weight:
    """A plant that was weighed, or that died (``mass`` is None)."""

    bed: str
    treatment: str
    plant: str
    mass: float | None
    dead: bool = False
    date: datetime.date | None = None
    notes: str = ""
    sheet: str = ""
    row: int = 0


@dataclass(frozen=True)
class GrowLog:
    """A grow log as read: every filled row of it is in ``rows``, under what became of it."""

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

    def bed(self, name: str) -> Bed | None:
        """The bed of this name, whatever its spaces and capitals."""
        return next((bed for bed in self.beds if name_key(bed.name) == name_key(name)), None)

    def feed(self, name: str) -> Feed | None:
        """The feed of this name, whatever its spaces and capitals."""
        return next((feed for feed in self.feeds if name_key(feed.name) == name_key(name)), None)

    def count(self, fate: Fate) -> int:
        """How many filled rows of the log had this fate."""
        return sum(rows.get(fate, 0) for rows in self.rows.values())

    def readings_frame(self) -> pd.DataFrame:
        """The readings as a table, a row each, numbers as floats with NaN where nothing was measured."""
        return frame_of(self.readings)


MOST_NAMES = 10_000
"""Names whose keys are kept; far more than a log has beds and feeds. Ours."""
READING_NUMBERS = ("ph", "ec", "temperature", "water_added", "feed_added", "depth")


def frame_of(readings: Iterable[Reading]) -> pd.DataFrame:
    """Readings as a table in the order given; ``date`` has the time of day, midnight where none is known."""
    import pandas as pd

    columns = ("bed", "date", *READING_NUMBERS, "notes", "sheet", "row")
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
