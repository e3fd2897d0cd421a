"""Numbers as people write them: in a unit of their own, with a decimal comma where the whole column has it."""

from __future__ import annotations

import math
import re
import statistics
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from growcells.cells.errors import CellError, GrowError
from growcells.cells.kinds import Quantity
from growcells.cells.kinds import shown as quoted

from ..model.log_cells import LogCell
from ..vocabulary.several import values_in
from ..vocabulary.shapes import NOT_MEASURED
from ..vocabulary.units import Unit, is_liquid, unit_of
from ..vocabulary.words import ARGUMENTS, Field
from .plausible import Range, impossible, range_of

FAHRENHEIT_FROM = 40.0
"""Water at 40 °C kills roots, and water at 40 °F hardly feeds them: a middle reading above is °F. Ours."""
MICROSIEMENS_FROM = 20.0
"""No feed reaches 20 mS/cm, and no water is below 20 µS/cm: a middle reading above is µS/cm. Ours."""
THOUSAND_FOLD = 300.0
"""A reading so many times the middle of its column, or so small a share of it, was typed in another unit. Ours."""
LARGEST_SURE = 1e15
"""Whole numbers up to here are exact as floats; larger ones are looked at more closely. Ours."""


class NotMeasured(Exception):
    """A cell that says that nothing was measured."""


class Decimals(StrEnum):
    """The sign before the decimals of a column."""

    COMMA = "comma"
    POINT = "point"
    UNKNOWN = ""


_PARTS = re.compile(r"(?P<number>[+-]?\s*(?:\d[\d\s\u00a0\u202f.,']*|[.,]\d+))\s*(?P<unit>.*)", re.DOTALL)
_COMMA_DECIMAL = re.compile(r"[+-]?(?:\d+,(?:\d{1,2}|\d{4,})|0,\d+|\d{1,3}(?:\.\d{3})+,\d+)")
_POINT_DECIMAL = re.compile(r"[+-]?(?:\d*\.(?:\d{1,2}|\d{4,})|0\.\d+|\d{1,3}(?:,\d{3})+\.\d+)")
_GROUPED = {sign: re.compile(rf"\d{{1,3}}(?:{re.escape(sign)}\d{{3}})+") for sign in ",. '"}


def split_text(text: str) -> tuple[str, str] | None:
    """The number and the unit in a text, as they are written; None where it does not begin with a number."""
    match = _PARTS.fullmatch(text.strip())
    if match is None:
        return None
    number, unit = match["number"].strip(), match["unit"].strip()
    ending = number[len(number.rstrip(",. ")) :]
    return (number.rstrip(",. "), f"{ending.strip()}{unit}") if ending.strip() else (number, unit)


def decimals_of(texts: Iterable[str]) -> Decimals:
    """The decimal sign that most texts of a column can only have."""
    comma = point = 0
    for text in texts:
        parts = split_text(text)
        if parts:
            comma += _COMMA_DECIMAL.fullmatch(parts[0]) is not None
            point += _POINT_DECIMAL.fullmatch(parts[0]) is not None
    if comma > point:
        return Decimals.COMMA
    return Decimals.POINT if point else Decimals.UNKNOWN


def meanings(text: str, decimals: Decimals, ruled: bool = False) -> list[float]:
    """The numbers that a text may be in a column of these decimals; ``ruled`` where a mapping file says them."""
    plain = re.sub(r"[\s\u00a0\u202f]+", " ", text).strip()
    sign, digits = (-1.0, plain[1:].strip()) if plain[:1] == "-" else (1.0, plain.removeprefix("+").strip())
    return [sign * number for number in _meanings(digits, decimals, ruled)]


def _meanings(digits: str, decimals: Decimals, ruled: bool) -> list[float]:
    for space in (" ", "'"):
        if space in digits:
            whole = re.split(r"[.,]", digits, maxsplit=1)[0]
            if not _GROUPED[space].fullmatch(whole):
                return []
            digits = digits.replace(space, "")
    last = max(digits.rfind(","), digits.rfind("."))
    if last < 0:
        return [float(digits)]
    sign, other = digits[last], "," if digits[last] == "." else "."
    whole, fraction = digits[:last], digits[last + 1 :]
    if other in whole:
        if sign in whole or not _GROUPED[other].fullmatch(whole) or not fraction:
            return []
        return [float(f"{whole.replace(other, '')}.{fraction}")]
    if sign in whole:
        return [float(digits.replace(sign, ""))] if _GROUPED[sign].fullmatch(digits) else []
    if not fraction and not whole:
        return []
    as_decimal = float(f"{whole or '0'}.{fraction or '0'}")
    if not (_GROUPED[sign].fullmatch(digits) and not whole.startswith("0")):
        # 6.3 among decimal commas can only be what it looks like; so can 6,3, but not among decimal points.
        return [] if sign == "," and decimals is Decimals.POINT else [as_decimal]
    thousands = float(whole + fraction)
    if sign == ("," if decimals is Decimals.COMMA else "."):
        return [as_decimal]
    if decimals is Decimals.UNKNOWN:
        return [as_decimal, thousands]
    return [thousands] if sign == "," or ruled else [thousands, as_decimal]


@dataclass(frozen=True)
class NumberColumn:
    """How the numbers of a field are read in the columns of a table that have one unit."""

    field: Field
    unit: Unit
    unit_from: str
    decimals: Decimals = Decimals.UNKNOWN
    ruled: bool = False
    """Whether the decimals are those of a mapping file."""
    middle: float = math.nan
    """The middle of its plain numbers."""
    log_unit: str = ""
    """The unit in which the log keeps the field."""

    @property
    def is_liquid(self) -> bool:
        """Whether it measures a product by volume."""
        return self.field.quantity in ("package", "rate") and is_liquid(self.unit.name)


class NumberReader:
    """Reads the numbers of a column in the log's unit of its field ("" where it has none)."""

    def __init__(self, column: NumberColumn, meter: Unit | None) -> None:
        self.column, self.meter = column, meter
        self.field = column.field
        self.argument = ARGUMENTS[self.field.quantity]
        self.kind = self.argument.kind
        self.own = column.is_liquid
        self.target = column.unit.name if self.own else column.log_unit
        self.plausible: Range | None = None if self.own else range_of(self.field, self.target)
        self.slope, self.offset = self._from(column.unit)
        self.as_typed = (self.slope, self.offset) == (1.0, 0.0) and not column.unit.asks
        self.low, self.high = self._limits()

    def _from(self, unit: Unit) -> tuple[float, float]:
        """Slope and offset from a unit to the log's."""
        if not isinstance(self.kind, Quantity) or unit.name == self.target:
            return unit.factor, 0.0
        slope, offset = self.kind.factors(unit.name)
        back, zero = self.kind.factors(self.target)
        return slope * unit.factor / back, (offset - zero) / back

    def _limits(self) -> tuple[float, float]:
        """Numbers between these need no closer look, where they are in the log's unit."""
        low, high = -math.inf if self.argument.negative else 0.0, LARGEST_SURE
        if not self.argument.zero and not self.argument.negative:
            low = math.ulp(0.0)
        if self.plausible:
            low, high = max(low, self.plausible.low), min(high, self.plausible.high)
        middle = self.column.middle
        if not math.isnan(middle) and self.field.quantity == "conductivity":
            low, high = max(low, middle / THOUSAND_FOLD), min(high, middle * THOUSAND_FOLD)
        return low, high

    def sure(self, cell: LogCell) -> float | None:
        """The number in a cell where it is a plausible one in the log's unit, as nearly all are; None for others."""
        value = cell.value
        if self.as_typed and (type(value) is float or type(value) is int) and self.low <= value <= self.high:
            return float(value)
        return None

    def read(self, cell: LogCell) -> float:
        """The number in a cell. Raises GrowError where there is none, NotMeasured where the cell says so."""
        value = checked(cell)
        if isinstance(value, str):
            return self._checked(self._read_text(value), value)
        # Its limits are those of the column's unit: 140 is no temperature of water in °C, and one in °F.
        unit = None if self.column.unit.asks else self.column.unit.name or None
        number = self.argument.read_single(value, self.kind, unit)
        assert isinstance(number, float)
        if self.column.unit.asks:
            raise GrowError(self.column.unit.asks)
        plain = float(value)  # type: ignore[arg-type]  # read_single has read it as a number
        self._check_unit(plain)
        return self._checked(self._converted(plain, self.column.unit), value)

    def _converted(self, number: float, unit: Unit) -> float:
        slope, offset = (self.slope, self.offset) if unit is self.column.unit else self._from(unit)
        if (slope, offset) == (1.0, 0.0):
            return number
        # Seven times a factor and back may differ from seven in the last bit.
        return float(f"{number * slope + offset:.12g}")

    def _check_unit(self, number: float) -> None:
        middle = self.column.middle
        if self.field.quantity != "conductivity" or math.isnan(middle) or number <= 0 or middle <= 0:
            return
        if not 1 / THOUSAND_FOLD < number / middle < THOUSAND_FOLD:
            raise GrowError(
                f"{number:g} among numbers around {middle:g} seems to be in another unit: write the unit in the cell"
            )

    def _checked(self, number: float, value: object) -> float:
        name = self.argument.name
        if not math.isfinite(number):
            raise GrowError(f"{name} is {number}: give a number that can be measured")
        if number < 0 and not self.argument.negative:
            raise GrowError(f"{name} is {quoted(value)}: give a number that is not negative")
        if number == 0 and not self.argument.zero and not self.argument.negative:
            raise GrowError(f"{name} is {quoted(value)}: leave the cell empty where nothing was measured")
        if not isinstance(self.kind, Quantity) and not self.argument.low <= number <= self.argument.high:
            raise GrowError(
                f"{name} is {quoted(value)}: give a number from {self.argument.low:g} to {self.argument.high:g}"
            )
        if sentence := impossible(number, self.plausible):
            raise GrowError(sentence)
        return number

    def _read_text(self, text: str) -> float:
        if len(labelled := values_in(text)) == 1 and labelled[0][0].field.name == self.field.name:
            text = labelled[0][1] if labelled[0][0].unit is None else text
        parts = split_text(text.strip().lstrip("$€£¥ ") if self.field.quantity in ("money", "price") else text)
        if parts is None:
            raise GrowError(f"{self.argument.name} is {quoted(text)}: give a number such as {_example(self.kind)}")
        unit = self._unit_in(text, parts[1])
        if unit is None:
            return self._read_long(text)
        if unit.asks:
            raise GrowError(unit.asks)
        numbers = [
            self._converted(number, unit) for number in meanings(parts[0], self.column.decimals, self.column.ruled)
        ]
        if len(numbers) == 2:
            numbers = self._likelier(numbers)
        if not numbers:
            raise GrowError(
                f"{self.argument.name} is {quoted(text)}, which may be a decimal comma or a thousand: write it with a "
                "point, or say the decimals in the mapping file"
            )
        if len(numbers) == 2:
            raise GrowError(
                f"{self.argument.name} is {quoted(text)}, which may be {numbers[0]:g} or {numbers[1]:g}: write it "
                "without a thousands sign, or say the decimals in the mapping file"
            )
        if unit is self.column.unit:
            self._check_unit(numbers[0] / (self.slope or 1.0) if self.offset == 0 else numbers[0])
        return numbers[0]

    def _likelier(self, numbers: list[float]) -> list[float]:
        """Of two numbers the only one that can be measured, where the unit is written; else both."""
        if self.column.decimals is Decimals.COMMA or self.plausible is None:
            return numbers
        if self.column.unit_from not in ("heading", "map", "cells", "values") and isinstance(self.kind, Quantity):
            return numbers
        small = self.plausible.high / THOUSAND_FOLD
        fitting = [number for number in numbers if small <= number <= self.plausible.high]
        return fitting if len(fitting) == 1 else numbers

    def _unit_in(self, text: str, unit_text: str) -> Unit | None:
        """The unit behind the number of a cell: that of the column where there is none; None for one not known."""
        unit_text = unit_text.rstrip(".")
        if not unit_text:
            return self.column.unit
        if not isinstance(self.kind, Quantity):
            known = {"ph": ("ph",), "number": ("pcs", "heads", "plants", "ea", "head", "plant", "bunches")}
            if unit_text.casefold() in known.get(self.field.quantity, ()) or unit_text in ("$", "€", "£"):
                return self.column.unit
            return None
        unit = unit_of(self.field.quantity, unit_text)
        if unit and self.own != (self.field.quantity in ("package", "rate") and is_liquid(unit.name)):
            raise GrowError(f"{quoted(text)} is in {unit.label}, its column in {self.column.unit.label}: one of them")
        if unit and unit.asks and self.meter and self.field.quantity == "conductivity":
            return self.meter
        return unit

    def _read_long(self, text: str) -> float:
        """A text such as ``3 ft 6 in`` or ``3 1/2 in``, as the cell functions read it."""
        if self.own or self.column.unit.asks:
            raise GrowError(f"{quoted(text)} is not understood as {self.column.unit.label}")
        number = self.argument.read_single(text, self.kind, self.column.unit.name or None)
        assert isinstance(number, float)
        if not isinstance(self.kind, Quantity):
            return number
        back, zero = self.kind.factors(self.target)
        return float(f"{(number - zero) / back:.12g}")


def _example(kind: object) -> str:
    return str(getattr(kind, "example", "5"))


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


def number_column(
    field: Field,
    written: Unit | None,
    cells: Sequence[LogCell],
    decimals: Decimals,
    context: Decimals,
    settled: bool = False,
    meter: Unit | None = None,
) -> NumberColumn:
    """How the cells of a field are read: in the unit written, or else in the one that the cells speak for.

    ``decimals`` are those that a mapping file rules, ``context`` those of the other columns of the table.
    """
    texts = [cell.value for cell in cells if isinstance(cell.value, str)]
    sign = decimals or decimals_of(texts) or context
    numbers = [float(cell.value) for cell in cells if type(cell.value) in (int, float)]  # type: ignore[arg-type]
    for text in texts:
        parts = split_text(text)
        if parts and not parts[1] and len(found := meanings(parts[0], sign, bool(decimals))) == 1:
            numbers.append(found[0])
    middle = statistics.median(numbers) if numbers else math.nan
    kind = field.kind
    if not isinstance(kind, Quantity):
        return NumberColumn(field, Unit(""), "", sign, bool(decimals))
    if written is not None:
        unit, unit_from = written, "map" if settled else "heading"
        if unit.asks and meter and field.quantity == "conductivity":
            unit, unit_from = meter, "meter scale"
    else:
        unit, unit_from = _unit_by_cells(field, kind, texts, numbers, middle)
    return NumberColumn(field, unit, unit_from, sign, bool(decimals), middle if len(numbers) > 2 else math.nan)


def _unit_by_cells(
    field: Field, kind: Quantity, texts: Sequence[str], numbers: Sequence[float], middle: float
) -> tuple[Unit, str]:
    below = next((unit for text in texts if (unit := unit_of(field.quantity, text.strip()))), None)
    if below is not None:  # a unit alone in its cell speaks for its column
        return below, "cells"
    found = (
        unit_of(field.quantity, parts[1].rstrip(".")) for text in texts if (parts := split_text(text)) and parts[1]
    )
    written = Counter(unit for unit in found if unit and not unit.asks)
    most = written.most_common(1)[0][0] if written else None
    # Where most cells say their unit, those that do not mean the same.
    if most and sum(written.values()) >= len(numbers):
        return most, "cells"
    guess = _unit_by_size(kind, middle) if numbers else ""
    if most and (not guess or kind.factors(most.name) == kind.factors(guess)):
        return most, "cells"
    return (Unit(guess), "values") if guess and guess != kind.unit else (Unit(kind.unit), "usual")


def _unit_by_size(kind: Quantity, middle: float) -> str:
    """The unit that the middle of a column's numbers speaks for, or "" where any would do."""
    if kind.unit == "°C":
        return "°F" if middle > FAHRENHEIT_FROM else "°C"
    if kind.unit == "mS/cm":
        return "µS/cm" if middle > MICROSIEMENS_FROM else "mS/cm"
    return ""
