"""A cell function and the one way in which every bridge calls it."""

from __future__ import annotations

import functools
import math
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from ..no_answer import NoAnswer
from .arguments import Argument, Example, Result
from .errors import CellError, GrowError, Missing, OutOfRange
from .kept_results import KeptResults
from .kinds import LONGEST_TEXT, UNIT, Kind, MeasuredStrength, Quantity, is_blank, is_range
from .liquids import Measured, ProductQuantity
from .long_columns import all_at_once, as_array, as_rows, is_array
from .number_texts import count
from .quick_way import Quick, Way, never, quick_way
from .ranges import Column, shape, unwrapped, without_headings
from .units import MOST_TEXTS

MOST_UNITS = 64
"""Combinations of unit arguments kept for a function; far more than a log uses."""


@dataclass(frozen=True, eq=False)
class CellFunction:
    """A cell function: its texts, its arguments with the unit arguments behind them, and its calculation."""

    name: str
    family: str
    help: str
    arguments: tuple[Argument, ...]
    result: Result
    examples: tuple[Example, ...]
    formula: str
    source: str
    calculation: Callable[..., object]
    needs: tuple[str, ...] = ()
    advice: str = ""
    elementwise: bool = False
    """Whether the calculation is arithmetic alone, so that it takes arrays as it takes numbers."""
    _required: int = field(init=False)
    _quick: Quick = field(init=False)
    _ways: dict[tuple[object, ...], Way] = field(init=False)
    """For unit arguments seen before."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "_required", sum(argument.required for argument in self.arguments))
        object.__setattr__(self, "_quick", self._find_quick)
        object.__setattr__(self, "_ways", {})
        object.__setattr__(self, "__doc__", documentation(self))

    @property
    def is_table(self) -> bool:
        """Whether one call gives several cells."""
        return bool(self.result.columns)

    @property
    def signature(self) -> str:
        """The function as help texts write it: ``GROW_DOSE(volume, rate, [volume_unit] …)``."""
        names = (
            f"{argument.name}…" if argument.repeated else argument.name if argument.required else f"[{argument.name}]"
            for argument in self.arguments
        )
        return f"{self.name}({', '.join(names)})"

    def __call__(self, *cells: object) -> object:
        """The value for these cells; a range where a single value is expected gives a value for each of its rows.

        A range is a list or tuple of rows and gives a tuple of rows. An array or column of numpy or pandas gives a
        numpy array of its shape; where a row is wrong its error stands there as a CellError. Raises GrowError.
        """
        result = self._quick(cells)
        if result is not None:
            return result
        self._check_count(len(cells))
        if any(map(is_array, cells)):
            return self._of_arrays(cells)
        return self._of_cells(cells)

    def _of_cells(self, cells: Sequence[object]) -> object:
        spread = self.spread(cells)
        return self._each_row(list(cells), spread) if spread else self._single(cells)

    def spread(self, cells: Sequence[object]) -> list[int]:
        """The places of ranges of which each row is computed in turn."""
        ranges = [(index, cell) for index, cell in enumerate(cells) if is_range(cell)] if self.arguments else []
        return [index for index, cell in ranges if self._is_spread(index, cell)]

    def _of_arrays(self, cells: Sequence[object]) -> object:
        whole = self._at_once(cells)
        if whole is not None:
            return whole
        rows = [*map(as_rows, cells)]
        result = self._of_cells(rows)
        arrays = [cells[place] for place in self.spread(rows) if is_array(cells[place])]
        return as_array(result, arrays) if arrays else result

    def in_order(self, cells: Sequence[object], named: Mapping[str, object]) -> list[object]:
        """The cells in the order of the arguments, those given by the argument's name put where they belong.

        Raises TypeError for a name that is no argument's, or one whose cell is given already.
        """
        filled = [*cells]
        for name, cell in named.items():
            place = self._places.get(name)
            if place is None or place < len(cells):
                told = "takes no" if place is None else "was given twice its"
                raise TypeError(f"{self.name} {told} {name}: {self.signature}")
            filled += [None] * (place + 1 - len(filled))
            filled[place] = cell
        return filled

    def evaluate(self, cells: Sequence[object]) -> object:
        """The same as a call, with an error as a CellError; nothing is ever raised."""
        try:
            return self(*cells)
        except GrowError as problem:
            return problem.as_cell()
        except Exception as fault:  # a fault of ours must not take a spreadsheet program down
            return CellError("#VALUE!", f"{self.name} failed on these values, which is a fault in growcells: {fault!r}")

    def _check_count(self, given: int) -> None:
        repeated = bool(self.arguments) and self.arguments[-1].repeated
        if given < self._required:
            raise Missing(f"{self.name} lacks {self.arguments[given].name}: type {self.signature}")
        if given > len(self.arguments) and not repeated:
            raise GrowError(f"{self.name} was given {given} values and takes {len(self.arguments)}: {self.signature}")

    def _is_spread(self, index: int, cell: object) -> bool:
        argument = self.arguments[min(index, len(self.arguments) - 1)]
        return not argument.kind.takes_range(cell)

    @functools.cached_property
    def values(self) -> tuple[Argument, ...]:
        """The arguments that the calculation is handed: all but the unit arguments."""
        return tuple(argument for argument in self.arguments if argument.name not in self._unit_names)

    @functools.cached_property
    def _defaults(self) -> tuple[object, ...]:
        return tuple(argument.default for argument in self.values)

    @property
    def _lowest(self) -> float:
        return -sys.float_info.max if self.result.negative else 0.0

    def _find_quick(self, cells: Sequence[object]) -> float | None:
        """Stands for the quick way until the first call, since units are looked up only when a cell needs them."""
        # What is slow to compute is looked for among the results kept.
        quick = never if self.needs else self._way(()).quick
        object.__setattr__(self, "_quick", quick)
        return quick(cells)

    def _way(self, units: tuple[object, ...]) -> Way:
        """The way through a call with these cells as unit arguments, which must have been read without an error."""
        if units not in self._ways:
            cells = (*(None,) * len(self.values), *units)
            routes = tuple(argument.route(self._unit(argument, cells)) for argument in self.values)
            slope, offset = factors = self._result_factors(cells)
            by_volume = self._gives_volume(cells)
            lowest = math.inf if offset or by_volume else self._lowest
            quick = quick_way(self.calculation, routes, slope, lowest, self._ways)
            self._ways[units] = Way(routes, quick, factors, by_volume)
        return self._ways[units]

    def _at_once(self, cells: Sequence[object]) -> object:
        """The result for whole arrays, or None where they must be taken row by row."""
        count = len(self.values)
        units = tuple(cells[count:])
        if not self.elementwise or not all(unit is None or isinstance(unit, str) for unit in units):
            return None
        way = self._way(units)
        if way.by_volume:
            return None
        return all_at_once(self.calculation, way.routes, self._defaults, way.factors, self._lowest, cells[:count])

    def _remember(self, cells: Sequence[object], values: Sequence[object]) -> None:
        """Keep what texts and cells left out were read as, beside the unit arguments that bear on it."""
        count = len(self.values)
        units = tuple(cells[count:])
        if len(cells) > len(self.arguments) or not all(unit is None or isinstance(unit, str) for unit in units):
            return
        if units not in self._ways and len(self._ways) >= MOST_UNITS:
            return
        routes = self._way(units).routes
        filled = [*cells[:count], *(None,) * (count - len(cells))]
        for cell, value, (*_, known) in zip(filled, values, routes, strict=True):
            if (cell is None or isinstance(cell, str)) and not isinstance(value, (MeasuredStrength, Measured, list)):
                if len(known) >= MOST_TEXTS:
                    known.clear()
                known[cell] = value

    @functools.cached_property
    def kept(self) -> KeptResults:
        """The results of a function that needs packages of numerics, which take a while."""
        return KeptResults(self._computed)

    def _single(self, cells: Sequence[object]) -> object:
        return self.kept(cells) if self.needs else self._computed(cells)

    def _computed(self, cells: Sequence[object]) -> object:
        values = self._read(cells)
        try:
            result = self.calculation(*values)
        except NoAnswer as problem:
            raise OutOfRange(str(problem)) from None
        except ArithmeticError:
            raise OutOfRange(
                f"{self.name} goes beyond the largest number with these values: "
                "look for one that is far too large or far too small"
            ) from None
        except ImportError as problem:
            # Inside LibreOffice the error does not tell the package.
            package = problem.name or " and ".join(self.needs)
            raise GrowError(
                f"{self.name} needs the Python package {package}, which is not installed where this cell computes"
            ) from None
        given = self._give(result, cells)
        if isinstance(given, float) and not self.needs:  # the quick way gives numbers only
            self._remember(cells, values)
        return given

    def _read(self, cells: Sequence[object]) -> list[object]:
        arguments = self.arguments
        if arguments and arguments[-1].repeated:
            arguments = arguments + arguments[-1:] * (len(cells) - len(arguments))
        filled = [*cells, *(None,) * (len(arguments) - len(cells))]
        for argument, cell in zip(arguments, filled, strict=True):
            if type(cell) is not float and cell is not None:
                argument.check_texts(cell)
        filled = without_headings(arguments, filled)
        values: list[object] = []
        for argument, cell in zip(arguments, filled, strict=True):
            if argument.kind is UNIT and argument.name in self._unit_names:
                continue
            values.append(argument.read(cell, self._unit(argument, filled) if argument.unit else None))
        check_strengths(values)
        return values

    @functools.cached_property
    def _unit_names(self) -> frozenset[str]:
        return frozenset(argument.unit for argument in self.arguments) | {self.result.unit_name}

    @functools.cached_property
    def _places(self) -> dict[str, int]:
        return {argument.name: index for index, argument in enumerate(self.arguments)}

    def _unit(self, argument: Argument, cells: Sequence[object]) -> str | None:
        """The unit text given for an argument, or None; raises GrowError where it does not measure its kind."""
        if not argument.unit:
            return None
        kind = argument.kind.element if isinstance(argument.kind, Column) else argument.kind
        return self._unit_text(argument.unit, kind, cells)

    def _unit_text(self, name: str, kind: Kind, cells: Sequence[object]) -> str | None:
        place = self._places[name]
        unit = self.arguments[place].read(cells[place] if place < len(cells) else None)
        if unit is None:
            return None
        assert isinstance(unit, str) and isinstance(kind, Quantity)
        kind.check_unit(unit, name)
        return unit

    def _give(self, result: object, cells: Sequence[object]) -> object:
        """A result as cells show it: in the unit asked for, every number finite and none negative that cannot be."""
        kind = self.result.kind
        unit = self._result_unit(kind, cells) if isinstance(kind, Quantity) else None

        def give(value: object) -> object:
            shown = kind.shown_in(value, unit, self.name) if isinstance(kind, Quantity) else (value, 1.0, 0.0)
            return self._give_one(*shown)

        if isinstance(result, (list, tuple)):
            return tuple(tuple(give(value) for value in row) for row in result)
        return give(result)

    def _gives_volume(self, cells: Sequence[object]) -> bool:
        """Whether the unit asked for measures a liquid by its volume."""
        kind = self.result.kind
        return isinstance(kind, ProductQuantity) and kind.is_volume(self._result_unit(kind, cells))

    def _result_unit(self, kind: Quantity, cells: Sequence[object]) -> str | None:
        """The unit asked for, or that of the argument that the result follows; None for the result's own."""
        unit = self._unit_text(self.result.unit_name, kind, cells) if self.result.unit_name else None
        if unit is None and self.result.follows:
            unit = self._unit_text(self.result.follows, kind, cells)
        return unit

    def _result_factors(self, cells: Sequence[object]) -> tuple[float, float]:
        """Slope and offset from the unit asked for, or else the result's own, to the unit of calculations."""
        kind = self.result.kind
        return kind.factors(self._result_unit(kind, cells)) if isinstance(kind, Quantity) else (1.0, 0.0)

    def _give_one(self, value: object, slope: float, offset: float) -> object:
        if isinstance(value, str) and len(value) > LONGEST_TEXT:
            raise OutOfRange(f"{self.name} gives a text of {len(value):,} characters, more than a cell holds")
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            return value
        if not math.isfinite(value):
            raise OutOfRange(
                f"{self.name} has no finite result for these values: "
                "look for one that is far too large or far too small"
            )
        if value < 0 and not self.result.negative:
            raise OutOfRange(
                f"{self.name} would be negative ({value:g}) with these values: check that no two are swapped"
            )
        number = (value - offset) / slope
        if not math.isfinite(number):
            raise OutOfRange(f"{self.name} gives a number too large for the unit asked for")
        return float(number)

    def _each_row(self, cells: list[object], spread: list[int]) -> object:
        """The function on each cell of its ranges in turn; a wholly blank row stays blank."""
        for index in spread:
            cells[index] = unwrapped(cells[index])
        spread = [index for index in spread if is_range(cells[index])]
        if not spread:
            return self._single(cells)
        shapes = {index: shape(cells[index]) for index in spread}
        rows, columns = shapes[spread[0]]
        for index, other in shapes.items():
            if other != (rows, columns):
                raise GrowError(
                    f"{self.arguments[spread[0]].name} has {count(rows, 'row')} and {count(columns, 'column')}, "
                    f"{self.arguments[index].name} {count(other[0], 'row')} and {count(other[1], 'column')}: "
                    "give ranges of the same size"
                )
        if self.is_table:
            raise GrowError(
                f"{self.name} gives a whole table, so that {self.arguments[spread[0]].name} must be one value: "
                "give one cell"
            )
        return tuple(
            tuple(self._one_of_many(cells, spread, row, column) for column in range(columns)) for row in range(rows)
        )

    def _one_of_many(self, cells: list[object], spread: list[int], row: int, column: int) -> object:
        current = list(cells)
        for index in spread:
            current[index] = cells[index][row][column]  # type: ignore[index]  # checked to be a range
        try:
            if is_blank(current[spread[0]]) and all(is_blank(current[index]) for index in spread):
                return ""
            result = self._quick(current)
            return self._single(current) if result is None else result
        except GrowError as problem:
            return CellError(problem.code, f"row {row + 1}: {problem}")


def check_strengths(values: Sequence[object]) -> None:
    """Raise GrowError where one strength of a call is a conductivity and another a concentration."""
    measured = {value.measures for value in values if isinstance(value, MeasuredStrength)}
    if len(measured) > 1:
        raise GrowError(f"some strengths are a {' and others a '.join(sorted(measured))}: give all of them in one unit")


def documentation(function: CellFunction) -> str:
    """The docstring of a cell function, from its declaration."""
    lines = [function.help, "", function.signature, ""]
    lines += [f"{argument.name}: {argument.help}" for argument in function.arguments]
    lines += [
        "",
        f"Gives: {function.result.help}.",
        f"Formula: {function.formula}.",
        f"Source: {function.source}.",
    ]
    if function.advice:
        lines += ["", function.advice]
    lines += [
        f"Example: {example.formula(function.name)} gives {example.value_text}" for example in function.examples[:1]
    ]
    return "\n".join(lines)
