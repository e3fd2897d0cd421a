"""Formulas with one LET that names all: LibreOffice 25.2 gives #NAME? for a LET in another."""

from __future__ import annotations

import re
from collections.abc import Iterator

_LET = "_xlfn.LET("
_NAME = "_xlpm."


def flattened(formula: str) -> str:
    """A stored formula whose LETs are put into one around it, each name given once."""
    bindings: list[tuple[str, str]] = []
    body = _taken_out(formula, bindings)
    return f"{_LET}{','.join(f'{name},{value}' for name, value in bindings)},{body})" if bindings else formula


def _taken_out(formula: str, bindings: list[tuple[str, str]]) -> str:
    """A formula without its LETs, whose names and values are added to ``bindings`` in the order in which they stand."""
    place = formula.find(_LET)
    if place < 0:
        return formula
    *parts, end = arguments_of(formula, place + len(_LET))
    pieces = [str(part) for part in parts]
    while len(pieces) > 1:
        name, value, *pieces = pieces
        value = _taken_out(value, bindings)
        fresh = _fresh(name, {taken for taken, _ in bindings})
        if fresh != name:
            pieces = [_renamed(piece, name, fresh) for piece in pieces]
        bindings.append((fresh, value))
    inner = _taken_out(pieces[0], bindings)
    return f"{formula[:place]}({inner}){_taken_out(formula[int(end) :], bindings)}"


def _fresh(name: str, taken: set[str]) -> str:
    number = 1
    fresh = name
    while fresh in taken:
        number += 1
        fresh = f"{name}{number}_"
    return fresh


def _renamed(formula: str, name: str, fresh: str) -> str:
    return re.sub(rf"{re.escape(name)}(?!\w)", fresh, formula)


def arguments_of(formula: str, start: int) -> Iterator[str | int]:
    """The arguments of a call whose bracket opens before ``start``, then where the call ends."""
    level, begun, place = 0, start, start
    while place < len(formula):
        sign = formula[place]
        if sign in "\"'":  # a text, or the name of a sheet
            place = formula.index(sign, place + 1)
        elif sign in "({":
            level += 1
        elif sign in ")}" and level:
            level -= 1
        elif level == 0 and sign in ",)":
            yield formula[begun:place]
            begun = place + 1
            if sign == ")":
                yield begun
                return
        place += 1
