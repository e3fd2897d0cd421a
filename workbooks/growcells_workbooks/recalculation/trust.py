"""Which formulas the engine is trusted with: those of functions, in forms, that gave what Excel stored."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from enum import IntEnum

from ..data import read_data, read_rows
from .look_up_calls import NEAREST
from .native import RANDOM
from .readings import Reading, Use

MOST_WRONG = 0.025
"""Most of the values of a function's form that may differ from Excel's where it is computed at all: ours. What differs
in the suites is mostly beside the point: circles, files that were not computed."""
ENOUGH, ONE_OF = 5, 20
"""Values compared from which on a form speaks for itself, and from which on one may differ: ours."""
MOST_ERRORS, MOST_ERRORS_OF_ALL = 8, 0.15
"""Most values that may differ where Excel gives an error, and most of all values: ours. Suites ask for errors on
purpose, of lists of different lengths or with errors in them, and a log shows them as errors either way or has none."""
STANDS_OUT = 0.1
"""Fewest of the values of a kind that differ for it to stand out among kinds: ours."""
FIRM_COMPARED, FIRM_WORKBOOKS, FIRM_WRONG = 50, 3, 0.004
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
    where: str
    why: str

    def is_in(self, reading: Reading, scopes: frozenset[str]) -> bool:
        """Whether a formula has it."""
        return (not self.scope or self.scope in scopes) and bool(re.search(self.where, reading.written, re.IGNORECASE))


KIND = "."
"""Stands between a form and the kind of what the cells hold, in the table."""


@dataclass(slots=True)
class Evidence:
    """What was compared with Excel: values, those that differed, those among them where Excel gives an error, and
    workbooks that they came from."""

    compared: int = 0
    wrong: int = 0
    errors: int = 0
    workbooks: int = 0

    @property
    def trust_in_all(self) -> Trust:
        """The trust where errors that differ count as anything else that does."""
        return Evidence(self.compared, self.wrong, 0, self.workbooks).trust

    @property
    def trust(self) -> Trust:
        most = max(1.0, MOST_WRONG * self.compared) if self.compared >= ONE_OF else 0.0
        if not self.compared or self.wrong - self.errors > most:
            return Trust.NONE
        if self.errors > min(max(MOST_ERRORS, MOST_WRONG * self.compared), MOST_ERRORS_OF_ALL * self.compared):
            return Trust.NONE
        firm = self.compared >= FIRM_COMPARED and self.workbooks >= FIRM_WORKBOOKS
        return Trust.FIRM if firm and self.wrong <= FIRM_WRONG * self.compared else Trust.COMPUTES


Proof = dict[tuple[int, str], Evidence]
"""What was compared for a function, by argument and form."""


@functools.cache
def _rows() -> dict[str, list[list[str]]]:
    """The rows of the table by function: a workbook uses few of them, and the others are read no further."""
    found: dict[str, list[list[str]]] = {}
    for row in read_rows("proven_functions.csv"):
        found.setdefault(row[0], []).append(row)
    return found


@functools.cache
def proven(function: str) -> Proof:
    """What was compared for each argument and form of a function, and for each kind of forms together."""
    known: Proof = {}
    for _, place, form, *numbers, _ in _rows().get(function, ()):
        argument = int(place)
        found = known[argument, form] = Evidence(*map(int, numbers))
        if argument and form != "-n" and form[0] != "=" and KIND not in form:
            # modes, kinds of contents, and often negative numbers, stand for themselves
            together = known.setdefault((argument, kind_of(form)), Evidence())
            together.compared += found.compared
            together.wrong += found.wrong
            together.errors += found.errors
            together.workbooks = max(together.workbooks, found.workbooks)
    return known


def of_kind(use: Use, kind: str) -> Use:
    """A use told apart by what the cells of its argument hold: see ``contents.py``."""
    return use[0], use[1], use[2] + KIND + kind


@functools.cache
def trust_of_kinds(use: Use) -> dict[str, Trust]:
    """The kinds of what cells hold for which a use is trusted less than for the others, and how far.

    Where a form is proven with all kinds together, a kind is not unless it stands out.
    """
    function, argument, form = use
    differing = {
        row[2].removeprefix(form + KIND): Evidence(*map(int, row[3:7]))
        for row in _rows().get(function, ())
        if row[2].startswith(form + KIND) and row[1] == str(argument)
    }
    differing = {kind: known for kind, known in differing.items() if known.wrong > FIRM_WRONG * known.compared}
    whole = proven(function).get((argument, form), Evidence())
    wrong = sum(known.wrong for known in differing.values())  # which are not among those of the form
    together = Evidence(whole.compared + wrong, whole.wrong + wrong, 0, whole.workbooks).trust
    found: dict[str, Trust] = {}
    for kind, known in differing.items():
        stands_out = known.wrong >= STANDS_OUT * known.compared
        trust = Trust.COMPUTES if together >= Trust.COMPUTES and not stands_out else known.trust_in_all
        found[kind] = min(trust, Trust.COMPUTES)
    return found


def kind_of(form: str) -> str:
    """What forms have in common: one value, several, several in an array formula."""
    if form in "rayRAY":
        return "several" if form.islower() else "several in arrays"
    return "one" if form not in ("e", "o", "-n") else form


def evidence(use: Use) -> Evidence:
    """What was compared for a use; where that is too little to say, for its kind."""
    function, argument, form = use
    known = proven(function)
    found = known.get((argument, form), Evidence())
    if found.compared >= ENOUGH or found.wrong or not argument or form[0] == "=":
        return found
    kind = "one" if form == "-n" and not found.compared else kind_of(form)
    together = known.get((argument, kind), found)
    if found.compared:  # its own few are right: what others of its kind do with errors says nothing
        return Evidence(together.compared, together.wrong - together.errors, 0, together.workbooks)
    return together


@functools.cache
def gaps() -> tuple[Gap, ...]:
    """All rows of ``data/engine_gaps.csv`` that keep formulas from being computed."""
    return tuple(
        Gap(row["function"], row["scope"], row["where"], row["why"])
        for row in read_data("engine_gaps.csv")
        if row["where"]
    )


def gap_in(reading: Reading, scopes: frozenset[str]) -> str:
    """Why the engine is known to be wrong for a formula, nothing where it is not."""
    return next((gap.why for gap in gaps() if gap.is_in(reading, scopes)), "")


def trust_of(reading: Reading, scopes: frozenset[str]) -> tuple[Trust, str]:
    """How far a formula's value is trusted, and why no further; ``scopes`` tell what holds for its sheet and book."""
    gap = gap_in(reading, scopes)
    if gap:
        return Trust.NONE, gap
    level = Trust.FIRM
    for function, argument, form in sorted(reading.uses):
        if function in RANDOM:  # any number within its limits is right
            continue
        found = evidence((function, argument, form)).trust
        if found is Trust.NONE:
            return Trust.NONE, f"{function or 'the formula'} {_said(argument, form)} is not proven equal to Excel here"
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
}


def _said(argument: int, form: str) -> str:
    if argument == 0:
        return "for the nearest smaller value" if form == NEAREST else f"with {form} arguments"
    if form[0] == "=":
        return f"with {form[1:]} as argument {argument}"
    where = " in an array formula" if form.isupper() else ""
    return f"with {_FORMS.get(form.lower(), form)} as argument {argument}{where}"
