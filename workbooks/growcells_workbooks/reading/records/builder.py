"""The model of a log while it is built; each cell that is not used is noted with the reason."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..inputs.log_cells import LogCell, cut
from ..mapping import LogMap
from ..model.entries import Bed, Feed, Fill, Harvest, Reading, Round, Weight, name_key
from ..model.found import CellNote, Fate
from ..tables.statements import StatedUnits
from ..vocabulary.names import Names
from ..vocabulary.units import Unit

PLAIN_MONEY = "#,##0.00"


class Lost(Exception):
    """Why a record is not used although it looks like one."""


class NotRecord(Exception):
    """Why a row is no record and nothing is lost by it."""


@dataclass
class Builder:
    """What has been read so far, and what became of the cells."""

    log_map: LogMap
    names: Names
    meter: Unit | None = None
    written: Mapping[str, Counter[str]] = field(default_factory=dict)
    """By quantity, the units that the headings of the log write."""
    stated: StatedUnits = field(default_factory=dict)
    """The units that texts outside the tables give."""
    beds: dict[str, Bed] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    rounds: list[Round] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    weights: list[Weight] = field(default_factory=list)
    harvests: list[Harvest] = field(default_factory=list)
    fills: list[Fill] = field(default_factory=list)
    left: dict[int, tuple[LogCell, str]] = field(default_factory=dict)
    """By the identity of the cell."""
    doubts: list[CellNote] = field(default_factory=list)
    titled: set[tuple[Any, ...]] = field(default_factory=set)
    """The beds and measures that were read in a table on the day of its title."""
    units: dict[str, str] = field(default_factory=dict)
    money: str = PLAIN_MONEY
    of_several: set[int] = field(default_factory=set)
    """The identities of tables of which nothing names the bed and which may be of several."""

    def leave(self, cell: LogCell, fate: Fate, reason: str) -> None:
        """Note a cell that is not used; a cell of several records is noted once, for the worst that became of it."""
        cell = cell.whole or cell
        before = cell.fate
        cell.settle(fate)
        if id(cell) not in self.left or (fate is Fate.UNREADABLE and before is not fate):
            self.left[id(cell)] = (cell, reason)

    def left_out(self) -> Iterable[CellNote]:
        """The cells that were not used by any record."""
        for cell, reason in self.left.values():
            if cell.fate in (Fate.IGNORED, Fate.UNREADABLE):
                yield CellNote(cell.sheet, cell.name, cell.text, cell.fate, reason)

    def bed_of(self, name: str) -> str:
        """The name of the bed that a text names. Raises Lost where it is not in the list of beds."""
        found = self.names.find(name) or self.names.within(name)
        if found is None:
            if self.names:
                raise Lost(f'"{cut(name)}" is not in the list of beds')
            found = name
        return self.known(found)

    def known(self, name: str) -> str:
        """A name that is that of a bed, which begins here where no row of a table of beds was read for it."""
        return self.beds.setdefault(name_key(name), Bed(name)).name
