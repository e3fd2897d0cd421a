"""Which formulas the engine is trusted with: those of functions, in forms, that gave what Excel stored."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from enum import IntEnum

from ..data_files import read_data
from .formulas import RANDOM, Reading, Use

MOST_WRONG = 0.01
"""Most of the values of a function's form that may differ from Excel's where it is computed at all: ours. What differs
in the suites is mostly beside the point: circles, files that were not computed."""
FIRM_COMPARED, FIRM_WORKBOOKS, FIRM_WRONG = 50, 3, 0.002
"""Values compared, workbooks that they come from, and most that may differ, from which on a stored value that differs
is stale: ours."""


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
def proven() -> dict[Use, Trust]:
    """How far each function, argument and form is trusted by what was compared with Excel."""
    trusted: dict[Use, Trust] = {}
    for row in read_data("proven_functions.csv"):
        compared, wrong = int(row["compared"]), int(row["wrong"])
        firm = compared >= FIRM_COMPARED and int(row["workbooks"]) >= FIRM_WORKBOOKS and wrong <= FIRM_WRONG * compared
        if wrong <= MOST_WRONG * compared:
            use = (row["function"], int(row["argument"]), row["form"])
            trusted[use] = Trust.FIRM if firm else Trust.COMPUTES
    return trusted


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
    for function, argument, form in sorted(reading.uses):
        if function in RANDOM:  # any number within its limits is right
            continue
        found = proven().get((function, argument, form), Trust.NONE)
        if found is Trust.NONE:
            return Trust.NONE, f"{function} {_said(argument, form)} is not proven equal to Excel here"
        level = min(level, found)
    return level, ""


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
