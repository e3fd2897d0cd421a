"""What a grow log holds. Quantities are numbers in the log's own units."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from functools import lru_cache

from ...recalculation.cells import cell_name

MIDNIGHT = datetime.time()


@dataclass(slots=True, kw_only=True)
class Placed:
    """What is read from some cells of a sheet: the row and column of the first of them."""

    sheet: str = ""
    row: int = 0
    column: int = 0

    @property
    def where(self) -> str:
        """The first cell of it, such as ``diary!A12``."""
        return where(self.sheet, self.row, self.column)


@dataclass(slots=True)
class Round(Placed):
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

    @property
    def began(self) -> datetime.date | None:
        """The day from which the bed holds it: transplanted before planted before sown."""
        return self.transplanted or self.planted or self.sown


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
class Reading(Placed):
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
    time: datetime.time | None = None
    crop: str = ""
    feed: str = ""
    round: int = 0
    """The number of the round that was in its bed on that day; 0 where none is known."""

    @property
    def place(self) -> str:
        """Where it stands in the log: ``diary, row 12``."""
        return f"{self.sheet}, row {self.row}"

    @property
    def moment(self) -> datetime.datetime:
        """Its date and time, midnight where no time is known."""
        return datetime.datetime.combine(self.date, self.time or MIDNIGHT)


@dataclass(slots=True)
class Fill(Placed):
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


@dataclass(slots=True)
class Weight(Placed):
    """A single plant that was weighed, or that died (``mass`` is None)."""

    bed: str
    treatment: str
    plant: str
    mass: float | None
    dead: bool = False
    date: datetime.date | None = None
    notes: str = ""
    crop: str = ""
    round: int = 0


@dataclass(slots=True)
class Harvest(Placed):
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


def where(sheet: str, row: int, column: int) -> str:
    """Sheet and cell: ``diary!A12``."""
    return f"{sheet}!{cell_name(row, column)}" if row and column else sheet


MOST_NAMES = 10_000
"""Names whose keys are kept; far more than a log has beds and feeds. Ours."""
READING_NUMBERS = ("ph", "ec", "temperature", "water_added", "feed_added", "depth")


@lru_cache(MOST_NAMES)
def name_key(name: str) -> str:
    """A name as it is compared: without spaces, in lower case."""
    return "".join(name.split()).casefold()
