"""The way through a formula, token by token: what is open, which operators stand where, what has been put so far."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from .doubtful_numbers import MAY_BE_ANOTHER, may_be_another_number
from .frames import Frame, Operator, Text
from .growcells_calls import put_growcells_call
from .native import FORCES_ARRAYS, GIVES_ONE, TAKES_ONE_CELL
from .native_calls import put_native_call
from .number_texts import ARITHMETIC
from .operands import put_operand
from .readings import Call, Reading, Use
from .tokens import Kind, NotComputed, Token, tokens_of

if TYPE_CHECKING:
    from .formulas import Reader

_PREFIX = re.compile(r"^(?:_xlfn\.|_xlws\.|_xludf\.|_xll\.)+", re.IGNORECASE)
_OF_ADD_IN = re.compile(r"_xl(?:l|udf)\.", re.IGNORECASE)
"""Begins the name of a function that is none of Excel's own, though it may bear the name of one: [MS-XLSX] 2.2.2."""
_CELLS = re.compile(r"(?:'(?:[^']|'')+'|[\w.]+)!\$[A-Z]{1,3}\$[0-9]+(?::\$[A-Z]{1,3}\$[0-9]+)?", re.IGNORECASE)


@dataclass
class Walk:
    """One formula while it is read from its first token to its last, and what is known of it so far."""

    reader: Reader
    sheet: str
    row: int
    column: int
    arrays: bool
    qualified: bool = False
    frames: list[Frame] = field(default_factory=list)
    calls: list[Call] = field(default_factory=list)
    uses: set[Use] = field(default_factory=set)
    areas: list[tuple[str, str]] = field(default_factory=list)
    operands: list[tuple[Use, int]] = field(default_factory=list)
    numbers_read: set[int] = field(default_factory=set)
    located: set[int] = field(default_factory=set)
    asked: list[tuple[int, int | None]] = field(default_factory=list)
    searches: list[str] = field(default_factory=list)
    undefined: str = ""
    numbers: int = 0
    clock: bool = False
    random: bool = False
    anywhere: bool = False
    as_array: bool = False
    rows: tuple[int, int] | None = None
    movable: bool = True
    depth: int = 0
    expanded: int = 0
    """Characters of the names that it uses, and of those that these use."""

    def whole(self, formula: str) -> Reading:
        """Read the formula itself."""
        self.qualified = "GROW_" in formula.upper() or bool(self.reader.book.names)
        text, form = self.read(formula)
        if form in "ra":  # shown as one value, or spilled
            self.uses.add(("", 1, self.in_context(form)))
        return Reading(
            text=text,
            written=formula,
            calls=tuple(self.calls),
            is_call=form in "gh",
            many=form in "rayh",
            uses=frozenset(self.uses),
            areas=tuple(self.areas),
            operands=tuple(self.operands),
            numbers=tuple(sorted(self.numbers_read)),
            located=frozenset(self.located),
            asked=tuple(self.asked),
            clock=self.clock,
            random=self.random,
            anywhere=self.anywhere,
            searches=tuple(self.searches),
            undefined=self.undefined,
            as_array=self.as_array and not self.arrays,
            rows=self.rows,
            movable=self.movable,
        )

    def read(self, formula: str) -> tuple[str, str]:
        """The text for the engine, and its form; raises NotComputed."""
        outer, self.frames = self.frames, [Frame()]
        tokens = tokens_of(formula.strip())
        if not tokens:
            raise NotComputed("the formula is empty")
        waiting = True  # for an operand
        for index, token in enumerate(tokens):
            frame = self.frames[-1]
            kind = token.kind
            if kind is Kind.SPACE:
                if not waiting and index + 1 < len(tokens) and _begins_operand(tokens[index + 1]):
                    self.operator(" ")
                    waiting = True
                else:
                    frame.arguments[-1].append(token.text)
                continue
            if _begins_operand(token) and not waiting:
                raise NotComputed("the formula cannot be read: two values stand side by side")
            if kind in (Kind.CALL, Kind.OPEN, Kind.ARRAY):
                self.open(token)
                waiting = True
            elif kind in (Kind.CLOSE, Kind.ARRAY_END):
                if len(self.frames) == 1 or (kind is Kind.ARRAY_END) != (frame.head == "{"):
                    raise NotComputed("the formula has a closing bracket that opens nowhere")
                self.refuse_open_end(frame)
                self.close(token.text)
                waiting = False
            elif kind is Kind.SEPARATOR:
                if len(self.frames) == 1 and not outer:
                    raise NotComputed(f"the formula has a {token.text} that stands in no function")
                self.separate(token.text)
                waiting = True
            elif kind is Kind.OPERATOR:
                self.operator(token.text)
                waiting = token.text not in "%#"
            else:
                put_operand(self, token)
                waiting = False
        if len(self.frames) > 1 or waiting:
            raise NotComputed("the formula ends too early")
        frame = self.frames.pop()
        self.frames = outer
        self.note_operators(frame)
        return self.joined(frame)

    def joined(self, frame: Frame) -> tuple[str, str]:
        """The text and form of what stands in parentheses or behind a name: several references are a union."""
        if len(frame.arguments) == 1:
            return frame.text(0), frame.form(0)
        self.uses.add((",", 1, "y"))
        return ",".join(frame.text(index) for index in range(len(frame.arguments))), "y"

    def note_operators(self, frame: Frame) -> None:
        for index, operators in enumerate(frame.operators):
            form = "y" if any(atom in "rayh" for atom in frame.atoms[index]) else "x"
            if operators and any(atom in "rhy" for atom in frame.atoms[index]):
                self.refuse_among_all(frame)
            for operator in operators:
                self.uses.add((operator, 1, self.in_context(form)))
                if operator == ":":
                    raise NotComputed("a range in it is made by a formula")
            if not ARITHMETIC.isdisjoint(operators):
                self.note_numbers(frame, index)

    def refuse_among_all(self, frame: Frame) -> None:
        """Raise NotComputed where ranges are computed with in an ordinary formula, within a function of lists or by a
        name, which Excel computes on all of their cells."""
        among = self.depth > 0 or any(one.name in GIVES_ONE for one in (*self.frames, frame))
        if among and not self.arrays and not self.is_forced() and frame.name not in FORCES_ARRAYS:
            raise NotComputed(TAKES_ONE_CELL)

    def note_numbers(self, frame: Frame, index: int) -> None:
        """Note the cells that an argument takes for numbers; raises NotComputed for a text that may be another one."""
        self.numbers_read.update(
            number for form, number in zip(frame.atoms[index], frame.areas[index], strict=True) if form in "cr"
        )
        for piece in frame.arguments[index] if "t" in frame.atoms[index] else ():
            if piece[:1] == '"' and may_be_another_number(piece[1:-1]):
                raise NotComputed(MAY_BE_ANOTHER)

    def is_forced(self) -> bool:
        """Whether an open function makes what it encloses be computed on arrays."""
        return any(frame.name in FORCES_ARRAYS for frame in self.frames)

    def in_context(self, form: str) -> str:
        """A form with ranges told apart by whether arrays are computed; a GROW_ call is a cell to the engine."""
        form = {"g": "c", "h": "r"}.get(form, form)
        return form.upper() if form in "ray" and (self.arrays or self.is_forced()) else form

    def put(self, text: str, form: str) -> None:
        frame = self.frames[-1]
        frame.arguments[-1].append(text)
        frame.atoms[-1].append(form)
        frame.areas[-1].append(len(self.areas) - 1)

    def refuse_open_end(self, frame: Frame) -> None:
        """Raise NotComputed where an argument ends with an operator that waits for a value."""
        pieces = [piece for piece in frame.arguments[-1] if piece.strip()]
        if pieces and isinstance(pieces[-1], Operator) and pieces[-1] not in "%#":
            raise NotComputed("the formula has an operator without a value")

    def operator(self, text: str) -> None:
        frame = self.frames[-1]
        frame.arguments[-1].append(Operator(text))
        frame.operators[-1].append(text)

    def separate(self, text: str) -> None:
        frame = self.frames[-1]
        self.refuse_open_end(frame)
        if frame.head == "{":
            frame.arguments[-1].append(text)
            return
        frame.arguments.append([])
        frame.atoms.append([])
        frame.operators.append([])
        frame.areas.append([])

    def open(self, token: Token) -> None:
        frame = Frame(head=token.text)
        if token.kind is Kind.CALL:
            bare = _PREFIX.sub("", token.text[:-1]).upper()
            frame.name = bare
            frame.is_grow = bare in self.reader.grow
            if token.scope and not frame.is_grow:
                raise NotComputed(f"the function {token.text[:-1]} belongs to {token.scope[:-1]}")
            if not frame.is_grow and _OF_ADD_IN.search(token.text):
                raise NotComputed(f"the function {bare} is one of an add-in or a macro")
            if not frame.is_grow and bare.startswith("GROW_"):
                raise NotComputed(f"the function {bare} is not known here")
            defined = self.reader.book.names.get((None, bare))  # cells may bear the name of a function, such as month
            if not frame.is_grow and defined is not None and not _CELLS.fullmatch(defined):
                raise NotComputed(f"the workbook defines {bare} as a function of its own")
            if bare in ("LET", "LAMBDA"):
                frame.uses_variable = True
        self.frames.append(frame)

    def close(self, text: str) -> None:
        frame = self.frames.pop()
        self.note_operators(frame)
        if frame.head == "{":
            self.put("{" + frame.text(0) + "}", "a")
        elif not frame.name:
            inside, form = self.joined(frame)
            self.put(Text(f"({inside})") if frame.is_text(0) else f"({inside})", form)
        elif frame.is_grow:
            put_growcells_call(self, frame)
        else:
            put_native_call(self, frame, text)


def _begins_operand(token: Token) -> bool:
    return token.kind not in (
        Kind.OPERATOR,
        Kind.SEPARATOR,
        Kind.CLOSE,
        Kind.ARRAY_END,
        Kind.SPACE,
    )
