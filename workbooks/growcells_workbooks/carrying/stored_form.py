"""Formulas as Excel stores them: with prefixes before its newer functions and before what LET and LAMBDA name.

``_xlfn.`` and ``_xlpm.``: [MS-XLSX] 2.2.2 and 2.2.3; ``_xlop.`` before an optional parameter in the list of a LAMBDA,
as in files that Excel saved. A function without its prefix shows #NAME? until its cell is edited.
"""

from __future__ import annotations

import functools
import re

from ..data import read_data

LONGEST_FORMULA = 8192
"""Characters of the longest formula: Excel specifications and limits."""
DEEPEST = 64
"""Levels of nesting: Excel specifications and limits."""
LONGEST_NAME = 255
"""Characters of the longest name, and of its comment: Excel specifications and limits."""

_TOKEN = re.compile(
    r"""(?P<text>"(?:[^"]|"")*")|(?P<error>\#[A-Z/0!?]+)|(?P<number>\d[\d.]*(?:E[+-]?\d+)?)|(?P<sheet>\w+!\$[A-Z$0-9:]+)
    |\[(?P<optional>[a-z]\w*)\]|(?P<local>[a-z]\w*)|(?P<name>[A-Z_][\w.]*)|(?P<space>\s+)|(?P<other>.)""",
    re.VERBOSE,
)
_LIKE_A_CELL = re.compile(r"[a-z]{1,3}\d+|[rc]\d*(?:c\d*)?")


@functools.cache
def prefixes() -> dict[str, str]:
    """The prefix of each function that Excel has had since 2010."""
    return {row["name"]: row["prefix"] for row in read_data("native_functions.csv")}


def stored(formula: str) -> str:
    """A formula in its stored form; what stands in small letters is a local name, and white space is dropped."""
    pieces = []
    for match in _TOKEN.finditer(formula):
        kind, text = match.lastgroup, match[0]
        if kind in ("local", "optional"):
            name = match["local"] or match["optional"]
            if _LIKE_A_CELL.fullmatch(name):
                raise ValueError(f"{name} is no local name: Excel takes it for a cell")
            text = ("_xlpm." if kind == "local" else "_xlop.") + name
        elif kind == "name" and formula[match.end() : match.end() + 1] == "(":
            text = prefixes().get(text, "") + text
        elif kind == "space":
            continue
        pieces.append(text)
    return "".join(pieces)


def as_typed(formula: str) -> str:
    """A stored formula as a person types it."""
    return re.sub(r"_xl(?:fn\.(?:_xlws\.)?|pm\.)", "", re.sub(r"_xlop\.(\w+)", r"[\1]", formula))


def depth(formula: str) -> int:
    """How many levels of brackets stand in one another."""
    deepest = level = 0
    for sign in re.sub(r'"(?:[^"]|"")*"', "", formula):
        level += (sign == "(") - (sign == ")")
        deepest = max(deepest, level)
    return deepest
