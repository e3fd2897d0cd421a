"""How a record of each kind of table is read."""

from __future__ import annotations

from collections.abc import Callable

from ..model.found import Fate
from .events import read_fill, read_harvest, read_reading, read_weight
from .plans import read_bed, read_feed
from .split import Record
from .table_reader import TableReader

READERS: dict[str, Callable[[TableReader, Record], Fate]] = {
    "beds": read_bed,
    "feeds": read_feed,
    "fills": read_fill,
    "readings": read_reading,
    "weights": read_weight,
    "harvests": read_harvest,
}
