"""The calls of growcells functions in a formula, lifted out of it with their arguments told apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from .frames import Frame
from .readings import Argument, ArgumentKind, Call, call_mark
from .tokens import NotComputed

if TYPE_CHECKING:
    from .formula_walk import Walk


def put_growcells_call(walk: Walk, frame: Frame) -> None:
    """Put a reference to the helper cell of a GROW_ call in the call's place."""
    arguments = [_argument(walk, frame, index) for index in range(len(frame.arguments))]
    if len(arguments) == 1 and arguments[0].kind is ArgumentKind.LEFT_OUT:
        arguments = []
    spreads = walk.reader.spreads
    many = frame.name in walk.reader.tables or any(
        (argument.many or argument.kind is ArgumentKind.AREA) and spreads(frame.name, index)
        for index, argument in enumerate(arguments)
    )
    walk.numbers += 1
    walk.calls.append(Call(frame.name, tuple(arguments), walk.numbers, many))
    walk.put(call_mark(walk.reader.numbers[walk.sheet], walk.numbers), "h" if many else "g")


def _argument(walk: Walk, frame: Frame, index: int) -> Argument:
    """An argument of a GROW_ call; raises NotComputed."""
    text, form = frame.text(index).strip(), frame.form(index)
    if form not in ("x", "y"):
        while text.startswith("("):
            text = text[1:-1].strip()
    if form == "o":
        return Argument(ArgumentKind.LEFT_OUT)
    if form in ("n", "-n", "+n", "t", "l", "e"):
        return Argument(ArgumentKind.LITERAL, text)
    if form == "c":
        return Argument(ArgumentKind.CELL, text)
    if form == "r":
        return Argument(ArgumentKind.AREA, text)
    if form in ("g", "h"):
        sheet = walk.reader.numbers[walk.sheet]
        found = next(call for call in walk.calls if text == call_mark(sheet, call.number))
        return Argument(ArgumentKind.CALL, number=found.number, many=found.many)
    many = form in "rayh" or (walk.arrays and form != "c")
    walk.numbers += 1
    return Argument(ArgumentKind.EXPRESSION, _with_variables(walk, text, frame), walk.numbers, many)


def _with_variables(walk: Walk, text: str, frame: Frame) -> str:
    """An argument with the definitions of LET before it that it may use; raises NotComputed for LAMBDA."""
    if not frame.uses_variable:
        return text
    for outer in reversed(walk.frames):
        if outer.name == "LAMBDA":
            raise NotComputed("a growcells function in it is given a variable of LAMBDA")
        if outer.name == "LET":
            pieces = [outer.text(index).strip() for index in range(len(outer.arguments))]
            defined = pieces[: (len(pieces) - 1) // 2 * 2]
            if defined:
                text = f"LET({','.join(defined)},{text})"
    return text
