"""Which formulas the engine is trusted with: those of functions, in forms, that gave what Excel stored."""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from ..data_files import read_data
from .formulas import RANDOM, Reading, Use

FIRM_COMPARED = 20
"""Values of a function's form compared, all equal, from which on a stored value that differs is stale: ours."""
FIRM_WORKBOOKS = 3
"""Workbooks that they must come from: ours."""


class Trust(IntEnum):
    """How far the engine's value of a formula is trusted."""

    NONE = 0
    COMPUTES = 1
    """It is written where a value has to change."""
    FIRM = 2
    """It tells that a stored value is stale."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Where the engine is known not to agree with Excel; ``where`` finds it in a formula, within ``scope``."""

    function: str
    scope: str
    where: re.Pattern[str]
    why: str


@functools.cache
def proven() -> dict[Use, tuple[int, int]]:
    """For each function, argument and form that agreed with Excel: values compared, and workbooks they came from."""
    return {
        (row["function"], int(row["argument"]), row["form"]): (int(row["compared"]), int(row["workbooks"]))
        for row in read_data("proven_functions.csv")
        if int(row["wrong"]) == 0
    }


@functools.cache
def gaps() -> tuple[Gap, ...]:
    """All rows of ``data/engine_gaps.csv`` that keep formulas from being computed."""
    return tuple(
        Gap(row["function"], row["scope"], re.compile(row["where"], re.IGNORECASE), row["why"])
        for row in read_data("engine_gaps.csv")
        if row["where"]
    )


def trust_of(reading: Reading, scopes: frozenset[str]) -> tuple[Trust, str]:
    """How far a formula's value is trusted, and why no further; ``scopes`` tell what holds for its sheet and book."""
    for gap in gaps():
        if (not gap.scope or gap.scope in scopes) and gap.where.search(reading.text):
            return Trust.NONE, gap.why
    level = Trust.FIRM
    for function, argument, form in _native(reading):
        compared, workbooks = proven().get((function, argument, form), (0, 0))
        if not compared:
            return Trust.NONE, f"{function} {_said(argument, form)} is not proven equal to Excel here"
        if compared < FIRM_COMPARED or workbooks < FIRM_WORKBOOKS:
            level = Trust.COMPUTES
    return level, ""


def _native(reading: Reading) -> Iterator[Use]:
    for use in reading.uses:
        if use[0] not in RANDOM:  # any number within its limits is right
            yield use


_FORMS = {
    "n": "a number",
    "-n": "a negative number",
    "+n": "a number",
    "t": "a text",
    "l": "TRUE or FALSE",
    "e": "an error",
    "c": "a cell",
    "r": "a range",
    "a": "an array",
    "o": "nothing",
    "x": "a computed value",
    "y": "computed values",
    "v": "a variable",
    "g": "a growcells function",
}


def _said(argument: int, form: str) -> str:
    if argument == 0:
        return f"with {form} arguments"
    where = " in an array formula" if form.isupper() else ""
    return f"with {_FORMS.get(form.lower(), form)} as argument {argument}{where}"
