"""A filled cell of a log, and what became of it."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from openpyxl.utils import get_column_letter

from .model import Fate

FATE_RANKS = {Fate.READ: 3, Fate.UNREADABLE: 2, Fate.HEADING: 1, Fate.IGNORED: 0}
"""Of several fates the highest counts: a date that two readings share is read where one of them is."""


@dataclass(slots=True, eq=False)
class LogCell:
    """A filled cell: its place, its value (an error as a CellError), and what became of it so far."""

    sheet: str
    row: int
    column: int
    value: object
    number_format: str = "General"
    fate: Fate | None = None
    whole: LogCell | None = None
    """The cell of the log of which it is a piece, where that holds several things."""

    @property
    def name(self) -> str:
        """The cell's name in its sheet: ``D6``."""
        return f"{get_column_letter(self.column)}{self.row}"

    @property
    def text(self) -> str:
        """The value as a person would copy it."""
        return shown(self.value)

    def piece(self, value: object) -> LogCell:
        """A piece of the cell: what becomes of it becomes of the cell."""
        return LogCell(self.sheet, self.row, self.column, value, whole=self.whole or self)

    def settle(self, fate: Fate) -> None:
        """Note what became of the cell, and of the one that it is a piece of."""
        if self.whole is not None:
            self.whole.settle(fate)
        if self.fate is None or FATE_RANKS[fate] > FATE_RANKS[self.fate]:
            self.fate = fate


def shown(value: object) -> str:
    """A cell value as text: a date in ISO form, a whole number without a point."""
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ", "minutes")
    if isinstance(value, float):
        return f"{value:.15g}"
    return str(value).strip()
