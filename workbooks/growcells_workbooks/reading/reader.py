"""What has been read of a log so far, and what became of its cells."""

from __future__ import annotations

from dataclasses import dataclass, field

from .cells import LogCell
from .mapping import LogMap
from .model import Bed, Doubt, Fate, Feed, LeftOut, Reading, TableFound, Weight, name_key

PLAIN_MONEY = "#,##0.00"


class Ignore(Exception):
    """Why a record is passed over; ``cell`` is the cell that says so, ``problem`` whether something is lost by it."""

    def __init__(self, reason: str, cell: LogCell, problem: bool = False) -> None:
        super().__init__(reason)
        self.cell = cell
        self.problem = problem


@dataclass
class Reader:
    """What has been read so far."""

    log_map: LogMap = field(default_factory=LogMap)
    beds: dict[str, Bed] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    weights: list[Weight] = field(default_factory=list)
    tables: list[TableFound] = field(default_factory=list)
    left_out: dict[tuple[str, str], LeftOut] = field(default_factory=dict)
    """By sheet and cell."""
    doubts: list[Doubt] = field(default_factory=list)
    units: dict[str, str] = field(default_factory=dict)
    money: str = PLAIN_MONEY
    beds_listed: bool = False

    def leave(
        self, cell: LogCell, fate: Fate, reason: str, problem: bool = False, whole_row: bool = False
    ) -> None:  # fmt: skip
        """Note a cell that is not used; a cell of several records is noted once."""
        cell.settle(fate)
        problem = problem or fate is Fate.UNREADABLE
        left = LeftOut(cell.sheet, cell.name, cell.text, fate, reason, problem, whole_row)
        known = self.left_out.get((left.sheet, left.cell))
        if known is None or (problem and not known.problem):
            self.left_out[left.sheet, left.cell] = left

    def bed(self, name: str) -> Bed | None:
        """The listed bed of this name or, by the mapping file, of this other name."""
        key = name_key(name)
        return self.beds.get(name_key(self.log_map.beds.get(key, "")) or key) or self.beds.get(key)
