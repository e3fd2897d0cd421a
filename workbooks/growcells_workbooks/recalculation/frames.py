"""What is open while a formula is read: a call, a parenthesis, an array constant, or the formula itself."""

from __future__ import annotations

from dataclasses import dataclass, field

from .number_texts import ARITHMETIC
from .text_calls import read_as_number, shown

_BINDS_LESS = ("=", "<>", "<", ">", "<=", ">=")


class Operator(str):
    """An operator among the pieces of an argument."""


class Range(str):
    """A range among the pieces of an argument; ``where`` is its sheet as it stands before it."""

    where = ""


class Text(str):
    """A call that gives a text among the pieces of an argument."""


@dataclass
class Frame:
    """What is open while a formula is read: a call, a parenthesis, an array constant, or the formula itself."""

    head: str = ""
    name: str = ""
    is_grow: bool = False
    uses_variable: bool = False
    arguments: list[list[str]] = field(default_factory=lambda: [[]])
    atoms: list[list[str]] = field(default_factory=lambda: [[]])
    """The form of each operand of each argument."""
    operators: list[list[str]] = field(default_factory=lambda: [[]])
    areas: list[list[int]] = field(default_factory=lambda: [[]])
    """For each operand of each argument the number of the last reference up to it."""

    def text(self, index: int) -> str:
        """An argument as the engine gets it: numbers that & joins to a text rounded to what Excel shows of them."""
        pieces = self.arguments[index]
        if not ARITHMETIC.isdisjoint(self.operators[index]):
            pieces = [piece if not isinstance(piece, Text) else read_as_number(piece) for piece in pieces]
        if "&" not in self.operators[index]:
            return "".join(pieces)
        operands: list[str] = [""]
        made: list[str] = []
        joins = False
        for piece in (*pieces, Operator("=")):
            if isinstance(piece, Operator) and piece in _BINDS_LESS:
                made.append("&".join(shown(operand) for operand in operands) if joins else operands[0])
                made.append(piece)
                operands, joins = [""], False
            elif isinstance(piece, Operator) and piece == "&":
                operands.append("")
                joins = True
            else:
                operands[-1] += piece
        return "".join(made[:-1])

    def is_text(self, index: int) -> bool:
        """Whether an argument gives a text, whatever its cells hold."""
        pieces = [piece for piece in self.arguments[index] if piece.strip()]
        operators = self.operators[index]
        joins = "&" in operators and not any(operator in _BINDS_LESS for operator in operators)
        return self.form(index) == "x" and (joins or (len(pieces) == 1 and isinstance(pieces[0], Text)))

    def form(self, index: int) -> str:
        """The form of an argument: n number, t text, l truth, e error, c cell, r range, a array, o left out, x one
        computed value, y computed values, v variable, g a GROW_ call, h one that may give several cells."""
        atoms, operators = self.atoms[index], self.operators[index]
        if not atoms:
            return "o"
        if len(atoms) == 1 and (not operators or (operators in (["-"], ["+"]) and atoms[0] == "n")):
            return atoms[0] if not operators else operators[0] + "n"
        return "y" if any(atom in "rayh" for atom in atoms) else "x"
