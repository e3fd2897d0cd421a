"""The kinds of value an argument can be, and how a cell is read as each of them.

A kind turns a cell into what a calculation works with. Quantities become numbers in one coherent set of units
(dm, L, g, mg/L, °C, mS/cm, h, W), so that a calculation is only its formula.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .errors import GrowError, OutOfRange, UnknownName
from .number_texts import figure
from .units import LONGEST_LINE, conversion, dimension_name, parse_number, split_quantity

if TYPE_CHECKING:
    from .arguments import Argument

SPREADSHEET_EPOCH = datetime.date(1899, 12, 30)
"""Day 0 of date serial numbers in the 1900 system, right from 1 March 1900 on (ISO/IEC 29500-1, 18.17.4.1)."""

LONGEST_TEXT = 32_767
"""Characters in a cell at the most: Excel specifications and limits."""


def is_blank(cell: object) -> bool:
    """Whether a cell holds nothing: no value, or a text without a sign in it."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def is_range(cell: object) -> bool:
    """Whether an argument is a range: rows of cells."""
    return isinstance(cell, (list, tuple))


def shown(cell: object) -> str:
    """A cell as an error sentence quotes it."""
    if is_blank(cell):
        return "blank"
    if isinstance(cell, float):
        return figure(cell)
    return f'"{cell}"' if isinstance(cell, str) else str(cell)


def finite(number: float, argument: Argument) -> float:
    """The number itself; raises OutOfRange where it is not finite."""
    if not math.isfinite(number):
        raise OutOfRange(f"{argument.name} is {number}: give a number that can be measured")
    return number


def read_number(cell: object, argument: Argument, example: str) -> float:
    """A cell as a plain number; raises GrowError for anything else."""
    if isinstance(cell, str):
        number = parse_number(cell)
        if number is not None:
            return finite(number, argument)
    elif isinstance(cell, (int, float)) and not isinstance(cell, bool):
        try:
            return finite(float(cell), argument)
        except OverflowError:
            raise OutOfRange(f"{argument.name} is too large: give a number that can be measured") from None
    raise GrowError(f"{argument.name} is {shown(cell)}: give a number such as {example}")


@dataclass(frozen=True)
class Kind:
    """A kind of argument or result."""

    name: str
    """What the help calls it."""

    whole = False
    """Whether a range is one value of this kind, not one value in each row."""
    numeric = False
    """Whether a plain number may be meant; else a plain 0 can only be a blank cell."""

    longest = LONGEST_LINE
    """Characters of the longest text that is read at all."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> object:
        """The value that a cell, neither blank nor an error, stands for.

        Raises GrowError where the cell is not of this kind.
        """
        raise GrowError(f"{argument.name} cannot be read as {self.name}")

    def takes_range(self, cells: object) -> bool:
        """Whether this range is one value of this kind."""
        return self.whole

    def remark(self, cell: object) -> str:
        """What was not checked of the value of a cell that was read, as GROW_WHY adds it; "" where nothing."""
        return ""


@dataclass(frozen=True)
class Quantity(Kind):
    """A number with a unit. ``unit`` is that of plain numbers in cells, ``inside`` that of calculations."""

    unit: str
    inside: str
    example: str
    plain: str
    """What a plain number is a number of: inches, gallons."""
    shorthand: Mapping[str, str] = field(default_factory=dict, compare=False)
    """Unit texts that mean something only for this kind: ``mS`` for a conductivity."""
    adds_up: bool = True
    """Whether several parts are one value, as in ``3 ft 6 in``; temperatures do not add up."""

    numeric = True

    def factors(self, unit: str | None) -> tuple[float, float]:
        """Slope and offset from a unit of this kind to the unit of calculations."""
        spelled = self.unit if unit is None else self.shorthand.get(unit.strip(), unit)
        return (1.0, 0.0) if spelled == self.inside else conversion(spelled, self.inside)

    def shown_in(self, value: object, unit: str | None, name: str) -> tuple[object, float, float]:
        """A value of the function of this name, with slope and offset from the unit in which it is shown to that of
        calculations: the unit asked for, or this kind's own."""
        return value, *self.factors(unit)

    def check_unit(self, unit: str, argument_name: str) -> None:
        """Raise GrowError where a unit text does not measure this kind."""
        spelled = self.shorthand.get(unit.strip(), unit)
        if dimension_name(spelled) != dimension_name(self.inside):
            raise GrowError(
                f'{argument_name} is "{unit}", which measures {dimension_name(spelled)}: '
                f"give a unit of {self.name} such as {self.unit}"
            )

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        if isinstance(cell, str):
            return self._read_text(cell, argument, unit)
        slope, offset = self.factors(unit)
        example = f'{self.example.split()[0]} or a text such as "{self.example}"'
        return read_number(cell, argument, example) * slope + offset

    def _read_text(self, text: str, argument: Argument, unit: str | None) -> float:
        parts = split_quantity(text)
        if parts is None:
            raise GrowError(
                f'{argument.name} is "{text}": give a number of {unit or self.plain} or a text such as "{self.example}"'
            )
        several = len(parts) > 1
        total = 0.0
        for number, part_unit in parts:
            slope, offset = self._part_factors(part_unit, unit, argument, text)
            if several and not (self.adds_up and part_unit):
                raise GrowError(f'{argument.name} is "{text}": give one number and one unit such as "{self.example}"')
            total += math.copysign(number, parts[0][0]) * slope + offset
        return finite(total, argument)

    def _part_factors(self, part_unit: str, unit: str | None, argument: Argument, text: str) -> tuple[float, float]:
        if not part_unit:
            return self.factors(unit)
        spelled = self.shorthand.get(part_unit, part_unit)
        try:
            measured = dimension_name(spelled)
        except GrowError as problem:
            raise GrowError(f'{argument.name} is "{text}": {problem}') from None
        if measured != dimension_name(self.inside):
            weigh = "weigh it, and " if (measured, self.name) == ("volume", "mass") else ""
            raise GrowError(
                f'{argument.name} is "{text}", which measures {measured}: {weigh}give a {self.name} such as '
                f'"{self.example}"'
            )
        return self.factors(part_unit)


LENGTH = Quantity("length", "in", "dm", "42 in", "inches")

VOLUME = Quantity("volume", "gal", "L", "34 gal", "gallons")

MASS = Quantity("mass", "g", "g", "68 g", "grams")

PACKAGE = Quantity("mass", "lb", "g", "10 lb", "pounds")

CONCENTRATION = Quantity("mass per volume", "ppm", "ppm", "150 ppm", "ppm")

RATE = Quantity("mass per volume", "g/gal", "g/L", "2 g/gal", "grams a gallon")

TEMPERATURE = Quantity(
    "temperature",
    "°C",
    "°C",
    "21 °C",
    "degrees Celsius",
    adds_up=False,
)

CONDUCTIVITY = Quantity(
    "conductivity",
    "mS/cm",
    "mS/cm",
    "1.8 mS/cm",
    "mS/cm",
    {"mS": "mS/cm", "uS": "uS/cm", "µS": "uS/cm", "μS": "uS/cm"},
)

POWER = Quantity("power", "W", "W", "300 W", "watts")

TIME = Quantity("time", "h", "h", "4 h", "hours")

WEEKS = Quantity("time", "week", "week", "2 week", "weeks")


@dataclass(frozen=True)
class Number(Kind):
    """A number without a unit."""

    example: str = "5"

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        return read_number(cell, argument, self.example)


NUMBER = Number("number")


class Fraction(Number):
    """A share of a whole, as a fraction or a text with a percent sign."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        number = parse_number(cell.rstrip()[:-1]) if isinstance(cell, str) and cell.rstrip().endswith("%") else None
        share = read_number(cell, argument, self.example) if number is None else number / 100
        if share > 1:
            raise OutOfRange(f"{argument.name} is {shown(cell)}: give a fraction such as {self.example}")
        return share


FRACTION = Fraction("fraction", '0.85 or a text such as "85 %"')


class Count(Number):
    """A whole number of things."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        number = read_number(cell, argument, self.example)
        if not number.is_integer():
            raise GrowError(f"{argument.name} is {shown(cell)}: give a whole number such as {self.example}")
        return number


COUNT = Count("whole number", "12")


class Money(Number):
    """An amount in whatever currency the log is kept in; a currency sign in a text is passed over."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        if isinstance(cell, str):
            cell = cell.strip().strip("$€£¥").strip()
        return read_number(cell, argument, self.example)


MONEY = Money("money", "31.5")


class Strength(Kind):
    """Anything proportional to concentration: a conductivity or a concentration, one of them throughout a call."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        if not isinstance(cell, str):
            return read_number(cell, argument, "1.8")
        number = parse_number(cell)
        if number is not None:
            return finite(number, argument)
        try:
            return MeasuredStrength(CONDUCTIVITY.read(cell, argument), CONDUCTIVITY.name)
        except GrowError:
            pass
        try:
            return MeasuredStrength(CONCENTRATION.read(cell, argument), CONCENTRATION.name)
        except GrowError:
            raise GrowError(
                f'{argument.name} is "{cell}": give a number or a text such as "1.8 mS/cm" or "900 ppm"'
            ) from None


class MeasuredStrength(float):
    """A strength given with its unit; ``measures`` tells a conductivity from a concentration."""

    measures: str

    def __new__(cls, number: float, measures: str) -> MeasuredStrength:
        strength = super().__new__(cls, number)
        strength.measures = measures
        return strength


STRENGTH = Strength("strength")


class Text(Kind):
    """Any text; a number is read as the text that it shows."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> str:
        if isinstance(cell, float) and cell.is_integer():
            return str(int(cell))
        return str(cell).strip()


TEXT = Text("text")


@dataclass(frozen=True)
class Named(Kind):
    """A name of something: ``find`` gives what it stands for, and raises GrowError where it stands for nothing."""

    find: Callable[[str], object]
    meant: str
    """What to give, as a sentence ends: ``a nutrient as text, such as N``."""
    unchecked: Callable[[str], str] = field(default=lambda name: "", compare=False)
    """What was not checked of what a name stands for."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> object:
        if not isinstance(cell, str):
            raise GrowError(f"{argument.name} is {shown(cell)}: give {self.meant}")
        try:
            return self.find(cell.strip())
        except GrowError as problem:
            raise type(problem)(f"{argument.name}: {problem}") from None

    def remark(self, cell: object) -> str:
        return self.unchecked(cell) if isinstance(cell, str) else ""


class UnitText(Kind):
    """The name of a unit."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> str:
        if not isinstance(cell, str):
            raise GrowError(f'{argument.name} is {shown(cell)}: give a unit as text, such as "gal" or "L"')
        return cell.strip()


UNIT = UnitText("unit")


@dataclass(frozen=True)
class Choice(Kind):
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> str:
        word = str(cell).strip().lower()
        if word not in self.words:
            raise UnknownName(f"{argument.name} is {shown(cell)}: give one of {', '.join(self.words)}")
        return word


class Date(Kind):
    """A day, as a real date of the spreadsheet (a serial number) or an ISO text; read as a serial number [day]."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        if isinstance(cell, datetime.datetime):
            midnight = datetime.datetime.combine(SPREADSHEET_EPOCH, datetime.time())
            return (cell.replace(tzinfo=None) - midnight) / datetime.timedelta(days=1)
        if isinstance(cell, datetime.date):
            return float((cell - SPREADSHEET_EPOCH).days)
        if isinstance(cell, str):
            try:
                return float((datetime.date.fromisoformat(cell.strip()) - SPREADSHEET_EPOCH).days)
            except ValueError:
                raise GrowError(
                    f'{argument.name} is "{cell}": give a real date of the spreadsheet or a text such as "2026-11-25"'
                ) from None
        serial = read_number(cell, argument, "46351, or a date")
        if not 0 < serial < LAST_SERIAL + 1:
            raise OutOfRange(
                f"{argument.name} is {figure(serial)}: give a date, which is a number from 1 to {figure(LAST_SERIAL)}"
            )
        return serial


LAST_SERIAL = 2958465
"""31 December 9999, the last date of a spreadsheet (ISO/IEC 29500-1, 18.17.4.1)."""

DATE = Date("date")


class Anything(Kind):
    """A cell or range that is handed on as it is."""

    longest = LONGEST_TEXT
    whole = True
    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> object:
        return cell


ANYTHING = Anything("anything")
