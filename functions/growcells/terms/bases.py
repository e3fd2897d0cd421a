"""What people write of a base that raises pH: its name, alone or with its percent."""

from __future__ import annotations

import functools
from dataclasses import replace

from ..cells.kinds import Named
from ..cells.units import MOST_TEXTS
from ..chemistry.alkalis import Base, bases
from .names import look_up, name_and_percent, names_in

OTHERWISE = "give potassium hydroxide, potassium carbonate or potassium bicarbonate"


@functools.lru_cache(MOST_TEXTS)
def find_base(name: str) -> Base:
    """The base of this name, with the percent that a name such as ``potassium hydroxide 45%`` tells.

    Raises UnknownName with the names known, OutOfRange for a percent that cannot be.
    """
    alone, percent = name_and_percent(name)
    base = bases()[look_up(alone, names_in("bases.csv", "base"), "base", OTHERWISE)]
    return base if percent is None else replace(base, percent=percent)


BASE = Named("base", find_base, "a base as text, such as potassium carbonate")
