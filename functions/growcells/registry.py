"""The registry: each cell function declared once; every bridge, text and test comes from the declaration."""

from __future__ import annotations

import functools
import importlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType

from .calling import CellFunction
from .declaring import Argument, Example, Result
from .kinds import UNIT, Quantity
from .ranges import Column

__all__ = ["Argument", "CellFunction", "Example", "Result", "cell_function", "functions"]

MODULES = (
    "volume",
    "water",
    "dose",
    "stock",
    "nutrients",
    "ppm",
    "charges",
    "recipes",
    "conductivity",
    "acid",
    "stock_check",
    "cost",
    "seed",
    "growth",
    "trial",
    "factors",
    "climate",
    "help",
)
"""The modules that declare cell functions, in the order in which people read about them."""
FAMILIES = (
    "Volume and water",
    "Dose",
    "ppm and chemistry",
    "Conductivity, pH, water",
    "Cost and stock on hand",
    "Seed, trial, climate",
    "Help",
)
"""The families of cell functions, in the order in which people read about them."""

_functions: dict[str, CellFunction] = {}


def cell_function(
    name: str,
    *,
    family: str,
    help: str,
    arguments: Sequence[Argument],
    result: Result,
    examples: Sequence[Example],
    formula: str,
    source: str,
    needs: Sequence[str] = (),
    advice: str = "",
    elementwise: bool = False,
) -> Callable[[Callable[..., object]], CellFunction]:
    """Declare the decorated calculation as a cell function.

    The unit arguments follow the arguments given, one for each unit name in the order in which they come, the
    result's last. The calculation is handed every argument but these, in the units of calculations; ``elementwise``
    says that it is arithmetic alone and takes arrays as it takes numbers.
    """

    def declare(calculation: Callable[..., object]) -> CellFunction:
        function = CellFunction(
            name=name,
            family=family,
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
        _functions[name] = function
        return function

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


@functools.cache
def functions() -> Mapping[str, CellFunction]:
    """All cell functions by name, in the order in which people read about them."""
    for module in MODULES:
        importlib.import_module(f"growcells.{module}")

    def place(function: CellFunction) -> tuple[int, int]:
        # A module may have been imported before its turn by another that uses it.
        module = function.calculation.__module__.removeprefix("growcells.")
        return FAMILIES.index(function.family), MODULES.index(module)

    found = sorted(_functions.values(), key=place)
    return MappingProxyType({function.name: function for function in found})
