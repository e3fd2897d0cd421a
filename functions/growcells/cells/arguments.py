"""What the declaration of a cell function is made of: its arguments, its result and its examples."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass

from ..data import read_data
from .errors import CellError, GrowError, Missing, OutOfRange, PassedOn
from .kinds import Fraction, Kind, Money, Number, Quantity, Strength, is_blank, is_range, shown
from .liquids import ProductQuantity
from .number_texts import count, figure

Route = tuple[float, float, float, dict[str | None, object]]
"""Least and greatest plain number, the factor to the unit of calculations, and what texts and a blank are read as."""

ROUNDING = 1e-12
"""Room at the limits for the rounding of a unit: 122 °F are 50 °C and a hair."""


@dataclass(frozen=True)
class Argument:
    """An argument of a cell function, as people see it.

    ``unit`` names the argument that gives its unit; ``zero`` says whether a plain 0 is a real value, and
    ``rare_zero`` is the text by which to mean a zero that is real but rare; ``negative`` says whether a number
    below 0 is real; ``low`` and ``high`` are limits in the unit of calculations.
    """

    name: str
    kind: Kind
    help: str
    required: bool = True
    default: object = None
    unit: str = ""
    zero: bool = False
    rare_zero: str = ""
    negative: bool = False
    low: float = -math.inf
    high: float = math.inf
    repeated: bool = False

    @property
    def whole(self) -> bool:
        """Whether a range is one value of this argument."""
        return self.kind.whole

    def check_texts(self, cell: object) -> None:
        """Raise GrowError for a text longer than one is read, in a cell or in a range."""
        if isinstance(cell, (list, tuple)):
            for part in cell:
                if type(part) is not float:
                    self.check_texts(part)
        elif isinstance(cell, str) and len(cell) > self.kind.longest:
            raise GrowError(f"{self.name} is a text of {len(cell):,} characters: give {self.help}")

    def read(self, cell: object, unit: str | None = None) -> object:
        """The value for the calculation that a cell or a range stands for.

        Raises GrowError where there is none.
        """
        if is_range(cell):
            return self.kind.read(cell, self, unit)
        if cell is None or is_blank(cell) or (not self.kind.numeric and is_plain_zero(cell)):
            if self.required:
                raise Missing(f"{self.name} is blank: give {self.help}")
            return self.default
        if self.kind.whole:
            return self.kind.read(cell, self, unit)
        return self.read_single(cell, self.kind, unit)

    def read_single(self, cell: object, kind: Kind, unit: str | None = None) -> object:
        """The value of one filled cell, its limits checked."""
        if isinstance(cell, CellError):
            raise PassedOn(self.name, cell)
        if kind.numeric and not self.zero and is_plain_zero(cell):
            meant = f', or type "{self.rare_zero}" as text if you mean zero' if self.rare_zero else ""
            raise Missing(f"{self.name} is zero or blank: give {self.help}{meant}")
        value = kind.read(cell, self, unit)
        if isinstance(value, float):
            self._check_limits(value, cell, kind)
        return value

    def _check_limits(self, value: float, cell: object, kind: Kind) -> None:
        if value < 0 and not self.negative:
            raise OutOfRange(f"{self.name} is {shown(cell)}, below zero: give {self.help}")
        if value == 0 and not (self.zero or self.rare_zero or self.negative):
            raise OutOfRange(f"{self.name} is {shown(cell)}: give {self.help}, above zero")
        if not self.low - ROUNDING <= value <= self.high + ROUNDING * max(1.0, value):
            inside = f" {kind.inside}" if isinstance(kind, Quantity) else ""
            raise OutOfRange(
                f"{self.name} is {shown(cell)}: give {self.help.partition('; ')[0]}, {self._limits()}{inside}"
            )

    def _limits(self) -> str:
        """The limits in words."""
        if not math.isfinite(self.low):
            return f"at most {figure(self.high)}"
        return (
            f"from {figure(self.low)} to {figure(self.high)}" if math.isfinite(self.high) else f"at least {self.low:g}"
        )

    def route(self, unit: str | None) -> Route:
        """The quick way to read this argument in a unit: plain numbers within limits, and texts read before."""
        slope, offset = self.kind.factors(unit) if isinstance(self.kind, Quantity) else (1.0, 0.0)
        # Kinds with a reading of their own go the long way.
        by_volume = isinstance(self.kind, ProductQuantity) and self.kind.is_volume(unit)
        if type(self.kind) not in (Number, Fraction, Money, Quantity, ProductQuantity, Strength) or offset or by_volume:
            return math.inf, -math.inf, 1.0, {}
        smallest = 0.0 if self.zero else sys.float_info.min
        low = -sys.float_info.max if self.negative and self.zero else smallest
        most = 1.0 if isinstance(self.kind, Fraction) else sys.float_info.max
        return max(self.low / slope, low), min(self.high / slope, most), slope, {}


def is_plain_zero(cell: object) -> bool:
    """Whether a cell is the number 0, which is how LibreOffice hands over a single blank cell."""
    return cell == 0 and isinstance(cell, (int, float)) and not isinstance(cell, bool)


@dataclass(frozen=True)
class Result:
    """What a cell function gives. ``unit_name`` names the argument that gives its unit.

    ``follows`` names an input's unit argument whose unit is used where none is asked for.
    """

    kind: Kind
    help: str
    unit_name: str = ""
    follows: str = ""
    negative: bool = False
    columns: tuple[str, ...] = ()


@dataclass(frozen=True)
class Example:
    """A call as typed, the value expected, and where that value comes from."""

    arguments: tuple[object, ...]
    value: object
    source: str
    tolerance: float = 1e-9
    """Largest relative difference from ``value``; as coarse as the source prints it."""

    def formula(self, name: str) -> str:
        """The example as a formula, ranges as array constants."""
        return f"={name}({','.join(formula_text(argument) for argument in self.arguments)})"

    @property
    def value_text(self) -> str:
        """The value expected, as help texts print it."""
        return value_text(self.value)


def example_columns(table: str, *columns: str) -> tuple[tuple[tuple[object], ...], ...]:
    """Columns of a table in ``data/examples``, each as a range of cells."""
    rows = read_data(f"examples/{table}")
    return tuple(tuple((_cell(row[column]),) for row in rows) for column in columns)


def example_of_table(arguments: tuple[object, ...], table: str, tolerance: float) -> Example:
    """An example whose value is a table in ``data/examples``, the source of its first row that of the example."""
    rows = read_data(f"examples/{table}")
    columns = tuple(rows[0])[:-1]
    return Example(
        arguments,
        (columns, *(tuple(_cell(row[column]) for column in columns) for row in rows)),
        rows[0]["source"],
        tolerance,
    )


def _cell(text: str) -> object:
    """A cell of a table: a number where it is one."""
    try:
        return float(text)
    except ValueError:
        return text


def value_text(value: object) -> str:
    """A value as a reader wants it: six figures, a table by its size."""
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, (list, tuple)):
        return f"a table of {count(len(value), 'row')} and {count(len(value[0]), 'column')}"
    return str(value)


def formula_text(cell: object) -> str:
    """A cell value or range as it stands in a formula."""
    if is_range(cell):
        assert isinstance(cell, (list, tuple))
        # An array constant has no blanks; an empty text counts as one.
        rows = (",".join(formula_text("" if is_blank(value) else value) for value in row) for row in cell)
        return "{" + ";".join(rows) + "}"
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "TRUE" if cell else "FALSE"
    if isinstance(cell, str):
        return '"' + cell.replace('"', '""') + '"'
    return repr(int(cell) if isinstance(cell, float) and cell.is_integer() else cell)
