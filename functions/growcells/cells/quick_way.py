"""The quick way through a call whose cells are plain numbers within limits or texts read before.

Most cells of a log go through here, at a tenth of the cost of the long way. For each function it is written out as
Python source, an argument after the other, as dataclasses writes ``__init__``: a loop over the arguments takes half as
long again.
"""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import CodeType
from typing import Any

from ..no_answer import NoAnswer
from .arguments import Route

Quick = Callable[[Sequence[Any]], float | None]


@dataclass(frozen=True)
class Way:
    """What is known of a call with certain unit arguments: the routes of the other arguments, the quick way, slope and
    offset from the unit of the result to that of calculations, and whether the result is a liquid by its volume."""

    routes: tuple[Route, ...]
    quick: Quick
    factors: tuple[float, float]
    by_volume: bool


LONG_WAY = (ArithmeticError, ImportError, NoAnswer, KeyError)
"""Errors of which the long way says what is wrong; the last is that of a text not read before."""

ARGUMENT = """\
        if (type(cell{i}) is float or type(cell{i}) is int) and low{i} <= cell{i} <= high{i}:
            cell{i} *= factor{i}
        elif type(cell{i}) is str or cell{i} is None:
            cell{i} = known{i}[cell{i}]
        else:
            return None
"""

CALL = """\
def quick(cells):
    if len(cells) != {count}:
        return others(cells)
    [{cells}] = cells
    try:
{arguments}
        result = calculation({cells})
    except long_way:
        return None
    return result / slope if type(result) is float and lowest <= result <= most else None
"""


def never(cells: Sequence[Any]) -> None:
    """The quick way of a function that has none."""
    return None


def quick_way(
    calculation: Callable[..., object],
    routes: tuple[Route, ...],
    slope: float,
    lowest: float,
    ways: Mapping[tuple[object, ...], Way],
) -> Quick:
    """A short way through a call: it gives what the long way gives, or None where only the long way will do.

    ``slope`` is the factor from the result's unit to that of calculations; ``ways`` has the quick ways for unit
    arguments, which stand behind the others.
    """
    count = len(routes)

    def others(cells: Sequence[Any]) -> float | None:
        """Fewer cells, of which the last are left out, or more, which are unit arguments."""
        if len(cells) < count:
            return quick((*cells, *(None,) * (count - len(cells))))
        try:
            way = ways[tuple(cells[count:])]
        except (KeyError, TypeError):  # not seen before, or a range
            return None
        return way.quick(cells[:count])

    most = sys.float_info.max * min(1.0, slope)
    names: dict[str, Any] = {"calculation": calculation, "others": others, "long_way": LONG_WAY}
    names |= {"slope": slope, "lowest": lowest, "most": most}
    for place, (low, high, factor, known) in enumerate(routes):
        names |= {f"low{place}": low, f"high{place}": high, f"factor{place}": factor, f"known{place}": known}
    exec(written_out(count), names)
    quick: Quick = names["quick"]
    return quick


@functools.lru_cache(maxsize=32)
def written_out(count: int) -> CodeType:
    """The quick way of a function of so many arguments, as Python code."""
    cells = ", ".join(f"cell{place}" for place in range(count))
    arguments = "".join(ARGUMENT.format(i=place) for place in range(count))
    return compile(CALL.format(count=count, cells=cells, arguments=arguments), "<quick way>", "exec")
