"""The columns of a table: in which unit each is, and how its cells are read."""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from growcells.cells.errors import CellError, GrowError
from growcells.cells.kinds import Quantity
from growcells.cells.kinds import shown as quoted
from growcells.cells.units import split_quantity

from .cells import LogCell
from .dates import NumericDate, Order, order_of, parse_text
from .model import Certainty
from .plausible import Range, range_of
from .tables import Heading, Table
from .words import ARGUMENTS, fits

FAHRENHEIT_FROM = 40.0
"""Water at 40 °C kills roots, and water at 40 °F hardly feeds them: a middle reading above is °F. Ours."""
MICROSIEMENS_FROM = 20.0
"""No feed reaches 20 mS/cm, and no water is below 20 µS/cm: a middle reading above is µS/cm. Ours."""

LARGEST_SURE = 1e15
"""Whole numbers up to here are exact as floats; larger ones are looked at more closely. Ours."""

NOT_MEASURED = frozenset({"-", "–", "—", "n/a", "na", "none", "not measured", "skipped", "x", "?"})
"""What people type where they measured nothing; common practice, no source."""

_DECIMAL_COMMA = re.compile(r"[+-]?(?:\d+,(?:\d{1,2}|\d{4,})|0,\d+)(?!\d)")
_ANY_COMMA = re.compile(r"(?<=\d),(?=\d)")
_POINT = re.compile(r"\d\.\d")


class NotMeasured(Exception):
    """A cell that says that nothing was measured."""


@dataclass(frozen=True)
class Column:
    """A column of a table, ready to read its cells."""

    heading: Heading
    unit: str
    unit_from: str
    comma: bool = False
    order: Order = Order.UNKNOWN
    order_needed: bool = False
    """Whether a date of the column means two days as long as the order is unknown."""

    @property
    def certainty(self) -> tuple[Certainty, str]:
        """How sure it is what the column was taken for, and why it is not."""
        if self.heading.settled and (self.heading.unit or self.unit_from not in ("values", "usual")):
            return Certainty.SURE, ""
        if self.unit_from == "values":
            return Certainty.GUESSED, f"no unit is written; its numbers look like {self.unit}"
        if self.unit_from == "usual":
            return Certainty.GUESSED, f"no unit is written; {self.unit} is usual"
        if not self.heading.exact:
            return Certainty.LIKELY, "only a part of the heading is known"
        if self.order_needed and self.order is Order.UNKNOWN:
            return Certainty.GUESSED, "nothing in the column tells the day from the month"
        return Certainty.SURE, ""

    @property
    def key(self) -> str:
        """The name under which the log keeps the unit of this field."""
        return f"{self.heading.field.table}.{self.heading.field.name}"


class NumberReader:
    """Reads the numbers of a column in the log's unit of its field ("" where it has none)."""

    def __init__(self, column: Column, unit: str) -> None:
        self.column = column
        self.argument = ARGUMENTS[column.heading.field.quantity]
        self.kind = self.argument.kind
        self.factors = self.kind.factors(unit) if isinstance(self.kind, Quantity) else (1.0, 0.0)
        self.as_typed = not isinstance(self.kind, Quantity) or unit == column.unit
        self.plausible: Range | None = range_of(column.heading.field, unit)
        self.low, self.high = self._limits()

    def _limits(self) -> tuple[float, float]:
        """Numbers between these need no closer look, where they are in the log's unit."""
        slope, offset = self.factors
        low, high = sorted((limit - offset) / slope for limit in (self.argument.low, self.argument.high))
        if not self.argument.negative:
            low = max(low, 0.0 if self.argument.zero else math.ulp(0.0))
        if self.plausible:
            low, high = max(low, self.plausible.low), min(high, self.plausible.high)
        return low, min(high, LARGEST_SURE)

    def sure(self, cell: LogCell) -> float | None:
        """The number in a cell where it is a plausible one in the log's unit, as nearly all are; None for others."""
        value = cell.value
        if self.as_typed and (type(value) is float or type(value) is int) and self.low <= value <= self.high:
            return float(value)
        return None

    def read(self, cell: LogCell) -> float:
        """The number in a cell. Raises GrowError where there is none, NotMeasured where the cell says so."""
        value = checked(cell)
        if isinstance(value, str) and self.column.comma:
            value = _ANY_COMMA.sub(".", value)
        number = self.argument.read_single(value, self.kind, self.column.unit or None)
        assert isinstance(number, float)
        if not isinstance(self.kind, Quantity):
            return number
        if self.as_typed and not isinstance(value, str):
            return float(value)  # type: ignore[arg-type]  # read_single has read it as a number
        slope, offset = self.factors
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


def columns_of(table: Table) -> dict[str, Column]:
    """The columns of a table that were understood, by field."""
    return {name: _column(table, name, heading) for name, heading in table.headings.items()}


def _column(table: Table, name: str, heading: Heading) -> Column:
    if heading.field.quantity == "text":
        return Column(heading, "", "")
    # A cell may stand in several records: the date over a column of readings, the name of a bed.
    cells = list({id(cell): cell for record in table.records if (cell := record.cells.get(name))}.values())
    if heading.field.quantity == "date":
        order = Order(table.settings.dates) if table.settings.dates else order_of(cells)
        return Column(heading, "", "", order=order, order_needed=_is_order_needed(cells))
    texts = [cell.text for cell in cells if isinstance(cell.value, str)]
    if table.settings.decimals:
        comma = table.settings.decimals == "comma"
    else:
        comma = any(_DECIMAL_COMMA.match(text) for text in texts) and not any(_POINT.search(text) for text in texts)
    if not isinstance(heading.field.kind, Quantity):
        return Column(heading, "", "", comma)
    if heading.unit:
        return Column(heading, heading.unit, "map" if heading.settled else "heading", comma)
    unit, unit_from = _unit_by_cells(heading.field.kind, cells, comma)
    return Column(heading, unit, unit_from, comma)


def _is_order_needed(cells: Sequence[LogCell]) -> bool:
    return any(
        isinstance(parsed := parse_text(cell.value), NumericDate) and len(parsed.meanings) > 1
        for cell in cells
        if isinstance(cell.value, str)
    )


def _unit_by_cells(kind: Quantity, cells: Sequence[LogCell], comma: bool) -> tuple[str, str]:
    texts = [cell.value for cell in cells if isinstance(cell.value, str)]
    spelled = [_ANY_COMMA.sub(".", text) for text in texts] if comma else texts
    written = Counter(unit for text in spelled for unit in _units_in(kind, text))
    numbers = [
        cell.value for cell in cells if isinstance(cell.value, (int, float)) and not isinstance(cell.value, bool)
    ]
    most = written.most_common(1)[0][0] if written else ""
    # Where most cells say their unit, those that do not mean the same.
    if most and sum(written.values()) >= len(numbers):
        return most, "cells"
    guess = _unit_by_size(kind, statistics.median(numbers)) if numbers else ""
    if most and (not guess or kind.factors(most) == kind.factors(guess)):
        return most, "cells"
    return (guess, "values") if guess and guess != kind.unit else (kind.unit, "usual")


def _unit_by_size(kind: Quantity, middle: float) -> str:
    """The unit that the middle of a column's numbers speaks for, or "" where any would do."""
    if kind.unit == "°C":
        return "°F" if middle > FAHRENHEIT_FROM else "°C"
    if kind.unit == "mS/cm":
        return "µS/cm" if middle > MICROSIEMENS_FROM else "mS/cm"
    return ""


def _units_in(kind: Quantity, text: str) -> Iterable[str]:
    try:
        parts = split_quantity(text)
    except GrowError:
        return []
    return [unit for _, unit in parts or [] if unit and fits(kind, unit)][:1]
