"""The columns of a table: in which unit each is, and how its cells are read."""

from __future__ import annotations

import re
import statistics
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from growcells.errors import CellError, GrowError
from growcells.kinds import Quantity
from growcells.kinds import shown as quoted
from growcells.units import split_quantity

from .dates import Order, order_of, read_date
from .grid import LogCell
from .model import Certainty
from .tables import Table
from .words import ARGUMENTS, Field, splits

FAHRENHEIT_FROM = 40.0
"""Water at 40 °C kills roots, and water at 40 °F hardly feeds them: a middle reading above is °F. Ours."""
MICROSIEMENS_FROM = 20.0
"""No feed reaches 20 mS/cm, and no water is below 20 µS/cm: a middle reading above is µS/cm. Ours."""

NOT_MEASURED = frozenset({"-", "–", "—", "n/a", "na", "none", "not measured", "skipped"})
"""What people type where they measured nothing; common practice, no source."""

_DECIMAL_COMMA = re.compile(r"[+-]?(?:\d+,(?:\d{1,2}|\d{4,})|0,\d+)(?!\d)")
_ANY_COMMA = re.compile(r"(?<=\d),(?=\d)")
_POINT = re.compile(r"\d\.\d")


class NotMeasured(Exception):
    """A cell that says that nothing was measured."""


@dataclass(frozen=True)
class Column:
    """A column of a table, ready to read its cells."""

    field: Field
    heading: LogCell
    unit: str
    unit_from: str
    comma: bool = False
    order: Order = Order.UNKNOWN

    @property
    def certainty(self) -> tuple[Certainty, str]:
        """How sure it is what the column was taken for, and why it is not."""
        if self.unit_from == "values":
            return Certainty.GUESSED, f"no unit is written; its numbers look like {self.unit}"
        if self.unit_from == "usual":
            return Certainty.GUESSED, f"no unit is written; {self.unit} is usual"
        if not any(label in self.field.words for label, _ in splits(self.heading.text)):
            return Certainty.LIKELY, "only a part of the heading is known"
        if self.field.quantity == "date" and self.order is Order.UNKNOWN:
            return Certainty.LIKELY, "nothing in the column tells the day from the month"
        return Certainty.SURE, ""

    @property
    def key(self) -> str:
        """The name under which the log keeps the unit of this field."""
        return f"{self.field.table}.{self.field.name}"

    def number(self, cell: LogCell, unit: str) -> float:
        """The number in a cell, in a unit ("" where the field has none).

        Raises GrowError where there is none, NotMeasured where the cell says so.
        """
        value = checked(cell)
        if isinstance(value, str) and self.comma:
            value = _ANY_COMMA.sub(".", value)
        argument = ARGUMENTS[self.field.quantity]
        kind = argument.kind
        number = argument.read_single(value, kind, self.unit or None)
        assert isinstance(number, float)
        if not isinstance(kind, Quantity):
            return number
        if not isinstance(value, str) and unit == self.unit:
            return float(value)  # type: ignore[arg-type]  # read_single has read it as a number
        slope, offset = kind.factors(unit)
        # Seven times a factor and back may differ from seven in the last bit.
        return float(f"{(number - offset) / slope:.12g}")


def checked(cell: LogCell) -> object:
    """The value of a cell; raises GrowError for an error, NotMeasured for a dash or the like."""
    if isinstance(cell.value, CellError):
        raise GrowError(error_sentence(cell.value))
    if isinstance(cell.value, str) and cell.text.casefold() in NOT_MEASURED:
        raise NotMeasured(f"{quoted(cell.text)} is taken for nothing measured")
    return cell.value


def error_sentence(error: CellError) -> str:
    """Why a cell that is an error gives no value."""
    return f"the formula gives {error}: {error.message}" if error.message else f"the formula gives {error}"


def columns_of(table: Table) -> dict[int, Column]:
    """The columns of a table that were understood, by their place."""
    return {
        place: _column(field, table.headings[place], unit, [row[place] for row in table.rows.values() if place in row])
        for place, (field, unit) in table.match.columns.items()
    }


def _column(field: Field, heading: LogCell, unit: str, cells: list[LogCell]) -> Column:
    if field.quantity == "date":
        return Column(field, heading, "", "", order=order_of(cells))
    texts = [cell.text for cell in cells if isinstance(cell.value, str)]
    comma = any(_DECIMAL_COMMA.match(text) for text in texts) and not any(_POINT.search(text) for text in texts)
    if not isinstance(field.kind, Quantity):
        return Column(field, heading, "", "", comma)
    if unit:
        return Column(field, heading, unit, "heading", comma)
    unit, unit_from = _unit_by_cells(field.kind, cells)
    return Column(field, heading, unit, unit_from, comma)


def _unit_by_cells(kind: Quantity, cells: list[LogCell]) -> tuple[str, str]:
    written = Counter(unit for cell in cells if isinstance(cell.value, str) for unit in _units_in(kind, cell.value))
    if written:
        return written.most_common(1)[0][0], "cells"
    numbers = [
        cell.value for cell in cells if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool)
    ]
    middle = statistics.median(numbers) if numbers else 0.0
    argument_unit = kind.unit
    if argument_unit == "°C" and middle > FAHRENHEIT_FROM:
        return "°F", "values"
    if argument_unit == "mS/cm" and middle > MICROSIEMENS_FROM:
        return "µS/cm", "values"
    return argument_unit, "usual"


def _units_in(kind: Quantity, text: str) -> Iterable[str]:
    from .words import fits

    try:
        parts = split_quantity(text)
    except GrowError:
        return []
    return [unit for _, unit in parts or [] if unit and fits(kind, unit)][:1]


@dataclass
class Row:
    """A row of a table being read: its cells by field."""

    number: int
    cells: dict[str, LogCell]
    columns: Mapping[str, Column]

    def text(self, field: str) -> str:
        """The text in a field, or "" where there is none. Raises GrowError where the cell is an error."""
        cell = self.cells.get(field)
        if cell is None:
            return ""
        if isinstance(cell.value, CellError):
            raise GrowError(error_sentence(cell.value))
        return cell.text

    def date(self, field: str, table: Table) -> object:
        """The date in a field, or None where there is none. Raises GrowError where it cannot be read."""
        cell = self.cells.get(field)
        if cell is None:
            return None
        checked(cell)
        return read_date(cell, self.columns[field].order, table.sheet.epoch)
