"""What people write of a base that raises pH: its name, alone or with its percent."""

from __future__ import annotations

import functools
import re
from dataclasses import replace

from ..cells.errors import OutOfRange
from ..cells.kinds import Named
from ..cells.units import parse_number
from ..chemistry.alkalis import Base, bases
from ..chemistry.unit_factors import PERCENT_IN_WHOLE
from .names import look_up, names_in

OTHERWISE = "give potassium hydroxide, potassium carbonate or potassium bicarbonate"
_TOLD = re.compile(r"(?P<name>.*\S)\s+(?P<percent>[\d.]+)\s*%")


@functools.lru_cache(maxsize=4096)
def find_base(name: str) -> Base:
    """The base of this name, with the percent that a name such as ``potassium hydroxide 45%`` tells.

    Raises UnknownName with the names known, OutOfRange for a percent that cannot be.
    """
    told = _TOLD.fullmatch(name)
    base = bases()[look_up(told["name"] if told else name, names_in("bases.csv", "base"), "base", OTHERWISE)]
    if told is None:
        return base
    percent = parse_number(told["percent"]) or 0.0
    if not 0 < percent <= PERCENT_IN_WHOLE:
        raise OutOfRange(f'"{name}" cannot be: give percent by mass up to 100')
    return replace(base, percent=percent)


BASE = Named("base", find_base, "a base as text, such as potassium carbonate")
