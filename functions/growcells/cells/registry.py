"""The registry: each cell function declared once; every bridge, text and test comes from the declaration."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import TypeVar

from .arguments import Argument, Example, Result
from .cell_function import CellFunction
from .kinds import UNIT, Quantity
from .ranges import Column


class Family(StrEnum):
    """The families of cell functions, in the order in which people read about them."""

    WATER = "Volume and water"
    DOSE = "Dose"
    CHEMISTRY = "ppm and chemistry"
    CONDUCTIVITY = "Conductivity, pH, water"
    COST = "Cost and stock on hand"
    TRIAL = "Seed, trial, climate"
    HELP = "Help"


FAMILIES = tuple(family.value for family in Family)

Calculation = TypeVar("Calculation", bound=Callable[..., object])

_functions: dict[str, CellFunction] = {}


def cell_function(
    name: str,
    *,
    family: Family,
    help: str,
    arguments: Sequence[Argument],
    result: Result,
    examples: Sequence[Example],
    formula: str,
    source: str,
    needs: Sequence[str] = (),
    advice: str = "",
    elementwise: bool = False,
) -> Callable[[Calculation], Calculation]:
    """Declare the decorated function as the calculation of a cell function, and leave it as it is; its docstring
    is completed with the formula, the source and the name in cells.

    The unit arguments follow the arguments given, one for each unit name in the order in which they come, the
    result's last. The calculation is handed every argument but these, in the units of calculations; ``elementwise``
    says that it is arithmetic alone and takes arrays as it takes numbers.
    """

    def declare(calculation: Calculation) -> Calculation:
        calculation.__doc__ = (
            f"{calculation.__doc__}\n    Formula: {formula}.\n    Source: {source}.\n    In cells: {name}.\n"
        )
        _functions[name] = CellFunction(
            name=name,
            family=family.value,
            help=help,
            arguments=(*arguments, *_unit_arguments(arguments, result)),
            result=result,
            examples=tuple(examples),
            formula=formula,
            source=source,
            calculation=calculation,
            needs=tuple(needs),
            advice=advice,
            elementwise=elementwise,
        )
        return calculation

    return declare


def _unit_arguments(arguments: Sequence[Argument], result: Result) -> Iterator[Argument]:
    seen = set()
    for argument in arguments:
        if argument.unit and argument.unit not in seen:
            seen.add(argument.unit)
            kind = argument.kind.element if isinstance(argument.kind, Column) else argument.kind
            assert isinstance(kind, Quantity)
            names = [other.name for other in arguments if other.unit == argument.unit]
            yield Argument(argument.unit, UNIT, f"unit of {' and '.join(names)}; {kind.unit} if left out", False)
    if result.unit_name:
        assert isinstance(result.kind, Quantity)
        default = f"the same as {result.follows}" if result.follows else result.kind.unit
        yield Argument(result.unit_name, UNIT, f"unit of the result; {default} if left out", False)


def declared() -> Mapping[str, CellFunction]:
    """The cell functions declared so far, by name."""
    return _functions
