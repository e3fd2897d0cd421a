"""What a formula is made of, and how the engine is given it.

The engine knows native functions, cells and ranges. Here go the rest: defined names and table references become cells,
TODAY and NOW become numbers, and each GROW_ call is lifted out: the formula refers to a cell of a helper sheet in its
place, and the call's arguments are told apart, so that they can be evaluated and handed to growcells.
How formulas are stored: ISO/IEC 29500-1, 18.17, and [MS-XLSX] 2.2.2 for prefixes and table references.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from ..gate import FileProblem
from .cells import MAX_ROWS
from .copies import taken_apart
from .days import DAYS_BETWEEN
from .native import (
    ANYWHERE,
    FORCES_ARRAYS,
    GIVES_MANY,
    GIVES_ONE,
    HIDES_ERRORS,
    KNOWS_ONE_OF_EACH,
    LOOKED_UP,
    MODES,
    PASSES_BLANKS,
    RANDOM,
)
from .package import Book, Table
from .readings import NOW_MARK, TODAY_MARK, Argument, ArgumentKind, Call, Reading, Use, call_mark, sheet_numbers
from .references import MOVING, quoted, read_area_of, shifted, table_area, unquoted
from .rewriting import NEAREST, rewritten, searched, shown
from .tokens import FIRST_MARK, OWN_ROW, Kind, NotComputed, Token, tokens_of

_NAME_DEPTH = 20  # names that use names that use names: deeper than that is a circle or a trap
_MAX_MOVING = 8_192  # references in a formula that move with it: as many as it may have characters
_MAX_FORMULA = 65_536  # characters; Excel takes 8,192 and names may swell it
_PREFIX = re.compile(r"^(?:_xlfn\.|_xlws\.|_xludf\.|_xll\.)+", re.IGNORECASE)
_FORMS_TOLD_APART = 4  # argument positions; later ones count as the last two in turn, as in COUNTIFS
_FORWARDS = 3  # arguments of XMATCH, the next of which may ask for the last place
_CLOCK = {"NOW": NOW_MARK, "TODAY": TODAY_MARK}
_BINDS_LESS = ("=", "<>", "<", ">", "<=", ">=")
_WHOLE_COLUMNS = re.compile(r"(\$?[A-Za-z]{1,3}):(\$?[A-Za-z]{1,3})")
_LONG_COLUMNS = re.compile(r"(\$?[A-Za-z]{1,3}\$?)([1-9][0-9]{0,6}):(\$?[A-Za-z]{1,3}\$?)([1-9][0-9]{0,6})")
MAX_WHOLE, MAX_TURNED = 100, 10_000
"""Most whole columns of a formula, and most cells of a range that is turned or multiplied as a matrix: ours."""


class _Marked(Exception):
    """A name in the formula looks like a cell, and was taken for a moving reference."""


class _Operator(str):
    """An operator among the pieces of an argument."""


class _Range(str):
    """A range among the pieces of an argument; ``where`` is its sheet as it stands before it."""

    where = ""


@dataclass
class _Frame:
    """What is open while a formula is read: a call, a parenthesis, an array constant, or the formula itself."""

    head: str = ""
    name: str = ""
    is_grow: bool = False
    uses_variable: bool = False
    arguments: list[list[str]] = field(default_factory=lambda: [[]])
    atoms: list[list[str]] = field(default_factory=lambda: [[]])
    """The form of each operand of each argument."""
    operators: list[list[str]] = field(default_factory=lambda: [[]])
    areas: list[int] = field(default_factory=lambda: [0])
    """The number of the last reference in each argument."""

    def text(self, index: int) -> str:
        """An argument as the engine gets it: numbers that & joins to a text rounded to what Excel shows of them."""
        pieces = self.arguments[index]
        if "&" not in self.operators[index]:
            return "".join(pieces)
        operands: list[str] = [""]
        made: list[str] = []
        joins = False
        for piece in (*pieces, _Operator("=")):
            if isinstance(piece, _Operator) and piece in _BINDS_LESS:
                made.append("&".join(shown(operand) for operand in operands) if joins else operands[0])
                made.append(piece)
                operands, joins = [""], False
            elif isinstance(piece, _Operator) and piece == "&":
                operands.append("")
                joins = True
            else:
                operands[-1] += piece
        return "".join(made[:-1])

    def form(self, index: int) -> str:
        """The form of an argument: n number, t text, l truth, e error, c cell, r range, a array, o left out, x one
        computed value, y computed values, v variable, g a GROW_ call, h one that may give several cells."""
        atoms, operators = self.atoms[index], self.operators[index]
        if not atoms:
            return "o"
        if len(atoms) == 1 and (not operators or (operators in (["-"], ["+"]) and atoms[0] == "n")):
            return atoms[0] if not operators else operators[0] + "n"
        return "y" if any(atom in "rayh" for atom in atoms) else "x"


@dataclass
class Reader:
    """Reads the formulas of one workbook.

    ``grow`` is the names of the growcells functions, ``tables`` those of them that give tables.
    """

    book: Book
    grow: frozenset[str]
    tables: frozenset[str]
    last_row: int
    """The last row that is filled on any sheet."""
    spreads: Callable[[str, int], bool]
    """Whether a growcells function computes each row of a range that is its argument of that index."""
    _known: dict[tuple[str, bool, str], Reading] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._sheets = {name.casefold(): name for name in self.book.sheets}
        self.numbers = sheet_numbers(self.book)
        self.days_before = DAYS_BETWEEN if self.book.starts_1904 else 0

    def read(self, formula: str, sheet: str, row: int, column: int, *, arrays: bool) -> tuple[Reading, list[str]]:
        """A formula's reading and its moving references.

        Most formulas of a log are copies that differ in their moving references alone, and are read once.
        """
        marked, moving = taken_apart(formula)
        key = (sheet, arrays, marked)
        reading = self._known.get(key)
        if reading is not None and (reading.rows is None or reading.rows[0] <= row <= reading.rows[1]):
            return reading, moving
        if len(formula) > _MAX_FORMULA or len(moving) > _MAX_MOVING:
            return Reading(formula, refusal="the formula is too long"), []
        single = _Single(self, sheet, row, column, arrays)
        try:
            try:
                reading = single.whole(marked)
            except _Marked:
                single, moving = _Single(self, sheet, row, column, arrays, movable=False), []
                reading = single.whole(formula)
        except NotComputed as problem:
            reading = Reading(marked, refusal=str(problem), areas=tuple(single.areas), movable=single.movable)
        if reading.movable:
            self._known[key] = reading
        return reading, moving

    def sheet_of(self, scope: str, own: str) -> str:
        """The sheet that a reference's scope names; raises NotComputed."""
        if not scope:
            return own
        if any(ord(sign) >= FIRST_MARK for sign in scope):
            raise _Marked
        title = unquoted(scope[:-1])
        if "[" in title or ".xla" in title.lower():
            raise NotComputed("it reads another workbook")
        known = self._sheets.get(title.casefold())
        if known is not None:
            return known
        if ":" in title:
            raise NotComputed("it reads the same cells of several sheets")
        raise NotComputed(f"it reads {title[:40]}, which is no sheet of cells here")


@dataclass
class _Single:
    """One formula on its way."""

    reader: Reader
    sheet: str
    row: int
    column: int
    arrays: bool
    qualified: bool = False
    frames: list[_Frame] = field(default_factory=list)
    calls: list[Call] = field(default_factory=list)
    uses: set[Use] = field(default_factory=set)
    areas: list[tuple[str, str]] = field(default_factory=list)
    operands: list[tuple[Use, int]] = field(default_factory=list)
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
        outer, self.frames = self.frames, [_Frame()]
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
                self.operand(token)
                waiting = False
        if len(self.frames) > 1 or waiting:
            raise NotComputed("the formula ends too early")
        frame = self.frames.pop()
        self.frames = outer
        self.note_operators(frame)
        return frame.text(0), frame.form(0)

    def note_operators(self, frame: _Frame) -> None:
        for index, operators in enumerate(frame.operators):
            form = "y" if any(atom in "rayh" for atom in frame.atoms[index]) else "x"
            for operator in operators:
                self.uses.add((operator, 1, self.in_context(form)))
                if operator == ":":
                    raise NotComputed("a range in it is made by a formula")

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
        frame.areas[-1] = len(self.areas) - 1

    def refuse_open_end(self, frame: _Frame) -> None:
        """Raise NotComputed where an argument ends with an operator that waits for a value."""
        pieces = [piece for piece in frame.arguments[-1] if piece.strip()]
        if pieces and isinstance(pieces[-1], _Operator) and pieces[-1] not in "%#":
            raise NotComputed("the formula has an operator without a value")

    def operator(self, text: str) -> None:
        frame = self.frames[-1]
        frame.arguments[-1].append(_Operator(text))
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
        frame.areas.append(0)

    def open(self, token: Token) -> None:
        frame = _Frame(head=token.text)
        if token.kind is Kind.CALL:
            bare = _PREFIX.sub("", token.text[:-1]).upper()
            frame.name = bare
            frame.is_grow = bare in self.reader.grow
            if token.scope and not frame.is_grow:
                raise NotComputed(f"the function {token.text[:-1]} belongs to {token.scope[:-1]}")
            if not frame.is_grow and bare.startswith("GROW_"):
                raise NotComputed(f"the function {bare} is not known here")
            if not frame.is_grow and (None, bare) in self.reader.book.names:
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
            union = len(frame.arguments) > 1
            if union:
                self.uses.add((",", 1, "y"))
            inside = ",".join(frame.text(index) for index in range(len(frame.arguments)))
            self.put(f"({inside})", "y" if union else frame.form(0))
        elif frame.is_grow:
            self.lift(frame)
        else:
            self.native(frame, text)

    def native(self, frame: _Frame, closing: str) -> None:
        """Put a call of a native function that has been read whole."""
        name = frame.name
        if name in _CLOCK and frame.form(0) == "o" and len(frame.arguments) == 1:
            self.clock = True
            self.put(_CLOCK[name], "n")
            return
        if name == "INDIRECT" and frame.form(0) == "t" and self.names_something(frame.text(0).strip()[1:-1]):
            self.name(Token(Kind.NAME, frame.text(0).strip()[1:-1]))
            return
        self.cut_ranges(frame)
        self.random |= name in RANDOM
        self.anywhere |= name in ANYWHERE
        forms = [frame.form(index) for index in range(len(frame.arguments))]
        if forms == ["o"]:
            forms = []
        texts = [frame.text(index) for index in range(len(frame.arguments))]
        is_nearest = searched(name, forms, texts)
        number = str(len(forms)) if len(forms) <= _FORMS_TOLD_APART else "more"
        self.uses.add((name, 0, NEAREST if is_nearest else number))
        if name in FORCES_ARRAYS and "y" in forms:
            self.as_array = True
        elif name in GIVES_ONE and not self.arrays and not self.is_forced():
            for atoms, operators in zip(frame.atoms, frame.operators, strict=True):
                if operators and any(atom in "rh" for atom in atoms):
                    # Excel takes the one cell in the own row or column, the engine all of them.
                    raise NotComputed("it computes with ranges, and is no array formula")
        for index, form in enumerate(forms):
            if index in MODES.get(name, ()) and form in ("n", "-n", "+n", "t", "l"):
                self.uses.add((name, index + 1, f"={frame.text(index).strip().upper()}"))
                continue
            position = index + 1 if index < _FORMS_TOLD_APART else _FORMS_TOLD_APART - 1 + index % 2
            use = name, position, self.in_context(form)
            self.uses.add(use)
            if form in ("c", "r"):
                self.operands.append((use, frame.areas[index]))
        if name == "FORMULATEXT" and forms in (["t"], ["e"]):  # put in by constants.py
            self.put(texts[0], "x")
            return
        if is_nearest:
            if any(outer.name in HIDES_ERRORS for outer in self.frames):
                raise NotComputed("it hides whether a look-up of the nearest smaller value can be computed")
            if forms[1] == "r":
                self.searches.append(texts[1].rpartition("!")[2].strip(" ()"))
        if name in GIVES_MANY:
            many = True
        elif name in LOOKED_UP:
            many = any(index < len(forms) and forms[index] in "rayh" for index in LOOKED_UP[name])
            many |= name == "INDEX" and any(form == "o" for form in forms[1:3])
            many |= name == "INDEX" and any("".join(piece).strip() == "0" for piece in frame.arguments[1:3])
        else:
            many = name not in GIVES_ONE and any(form in "rayh" for form in forms)
        reader = self.reader
        call = rewritten(name, frame.head, texts, forms, closing, reader.days_before, reader.book.of_macintosh)
        self.put(call, "y" if many else "x")

    def lift(self, frame: _Frame) -> None:
        """Put a reference to the helper cell of a GROW_ call in the call's place."""
        arguments = [self.argument(frame, index) for index in range(len(frame.arguments))]
        if len(arguments) == 1 and arguments[0].kind is ArgumentKind.LEFT_OUT:
            arguments = []
        spreads = self.reader.spreads
        many = frame.name in self.reader.tables or any(
            (argument.many or argument.kind is ArgumentKind.AREA) and spreads(frame.name, index)
            for index, argument in enumerate(arguments)
        )
        self.numbers += 1
        self.calls.append(Call(frame.name, tuple(arguments), self.numbers, many))
        self.put(call_mark(self.reader.numbers[self.sheet], self.numbers), "h" if many else "g")

    def argument(self, frame: _Frame, index: int) -> Argument:
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
            sheet = self.reader.numbers[self.sheet]
            found = next(call for call in self.calls if text == call_mark(sheet, call.number))
            return Argument(ArgumentKind.CALL, number=found.number, many=found.many)
        many = form in "rayh" or (self.arrays and form != "c")
        self.numbers += 1
        return Argument(ArgumentKind.EXPRESSION, self.with_variables(text, frame), self.numbers, many)

    def with_variables(self, text: str, frame: _Frame) -> str:
        """An argument with the definitions of LET before it that it may use; raises NotComputed for LAMBDA."""
        if not frame.uses_variable:
            return text
        for outer in reversed(self.frames):
            if outer.name == "LAMBDA":
                raise NotComputed("a growcells function in it is given a variable of LAMBDA")
            if outer.name == "LET":
                pieces = [outer.text(index).strip() for index in range(len(outer.arguments))]
                defined = pieces[: (len(pieces) - 1) // 2 * 2]
                if defined:
                    text = f"LET({','.join(defined)},{text})"
        return text

    def operand(self, token: Token) -> None:
        kind = token.kind
        if kind is Kind.TEXT:
            self.put(token.text, "t")
        elif kind is Kind.NUMBER:
            self.put(token.text, "n")
        elif kind is Kind.TRUTH:
            self.put(token.text, "l")
        elif kind is Kind.ERROR:
            self.put(token.text, "e")
        elif kind is Kind.AREA:
            sheet = self.reader.sheet_of(token.scope, self.sheet)
            self.area(sheet, token.text, bool(token.scope))
        elif kind is Kind.TABLE:
            self.table(token)
        else:
            self.name(token)

    def area(self, sheet: str, text: str, scoped: bool) -> None:
        self.areas.append((sheet, text))
        # The engine tells the names of sheets apart by case, so that each is given as its tab has it.
        where = f"{quoted(sheet)}!" if scoped or self.qualified else ""
        if ":" in text and self.frames[-1].name in PASSES_BLANKS:
            piece = _Range(where + text)
            piece.where = where
            self.put(piece, "r")  # cut when the whole call is known
            return
        if ":" in text:
            self.refuse_large(text)
        self.put(where + text, "r" if ":" in text else "c")

    def cut_ranges(self, frame: _Frame) -> None:
        """Cut the ranges of a call that goes through them after the last row, where blanks make no difference.

        What is computed of a range gives something for its blanks as well: of that, the first blank row stands for all
        where a value that comes again changes nothing. Raises NotComputed for a range that is too large even so.
        """
        for index, pieces in enumerate(frame.arguments):
            backwards = frame.name == "XMATCH" and len(frame.arguments) > _FORWARDS  # where the last blank is a place
            cuts = (frame.form(index) == "r" and not backwards) or frame.name in KNOWS_ONE_OF_EACH
            for number, piece in enumerate(pieces):
                if isinstance(piece, _Range):
                    text = piece.removeprefix(piece.where)
                    text = cut(text, self.reader.last_row + 1) if cuts else text
                    self.refuse_large(text)
                    pieces[number] = piece.where + text

    def refuse_large(self, text: str) -> None:
        """Raise NotComputed for a range that takes the engine too long or too much memory."""
        if any(ord(sign) >= FIRST_MARK or sign == OWN_ROW for sign in text):
            return
        names = [frame.name for frame in self.frames]
        try:
            area = read_area_of(text)
        except FileProblem:
            raise NotComputed("it names a cell that no sheet has") from None
        turned = "TRANSPOSE" in names or "MMULT" in names
        if area.rows == MAX_ROWS and area.columns <= MAX_WHOLE and not turned:
            return
        if area.rows * area.columns > (MAX_TURNED if turned else MAX_ROWS):
            raise NotComputed("its range is too large")

    def table(self, token: Token) -> None:
        """A table reference, made into cells; raises NotComputed."""
        if token.scope and "[" in token.scope:
            raise NotComputed("it reads another workbook")
        if any(ord(sign) >= FIRST_MARK for sign in token.text):
            raise _Marked
        name, _, inner = token.text.partition("[")
        table = self.own_table() if not name else self.reader.book.tables.get(name.upper())
        if table is None:
            raise NotComputed(f"the table {name or 'around it'} is not there")
        inner = inner[:-1]
        if "@" in inner or "#THIS ROW" in inner.upper():
            first = table.area.first_row + table.heading_rows
            last = table.area.last_row - table.totals_rows
            if not first <= self.row <= last:
                self.movable = False
                self.put("#VALUE!", "e")
                return
            low, high = self.rows or (first, last)
            self.rows = (max(low, first), min(high, last))
        found = table_area(table, inner, self.row)
        if found.startswith("#"):
            self.put(found, "e")
        else:
            self.area(table.sheet, found, table.sheet != self.sheet)

    def own_table(self) -> Table | None:
        self.movable = False
        here = (self.row, self.column)
        tables = self.reader.book.tables.values()
        return next((table for table in tables if table.sheet == self.sheet and here in table.area), None)

    def name(self, token: Token) -> None:
        """A defined name, made into what it stands for, or a variable of LET or LAMBDA; raises NotComputed."""
        text, book = token.text, self.reader.book
        scope = self.reader.sheet_of(token.scope, self.sheet) if token.scope else self.sheet
        for key in ((scope, text.upper()), (None, text.upper())):
            definition = book.names.get(key)
            if definition is not None:
                return self.defined(definition)
        if text.upper() in book.tables and not token.scope:
            return self.table(Token(Kind.TABLE, f"{text}[]"))
        if not any(frame.name in ("LET", "LAMBDA") for frame in self.frames):
            self.undefined = self.undefined or text[:40]
            return self.put("#NAME?", "e")
        for frame in self.frames:
            if frame.is_grow:
                frame.uses_variable = True
        self.put(text, "v")
        return None

    def names_something(self, text: str) -> bool:
        """Whether a text is a name that the workbook defines, or one of its tables."""
        book, name = self.reader.book, text.upper()
        return (self.sheet, name) in book.names or (None, name) in book.names or name in book.tables

    def defined(self, definition: str) -> None:
        """What a defined name stands for in this cell; raises NotComputed."""
        self.expanded += len(definition)
        if self.depth >= _NAME_DEPTH or self.expanded > _MAX_FORMULA:
            raise NotComputed("its names refer to one another in a circle, or make it too long")
        if MOVING.search(definition):
            self.movable = False
            definition = shifted(definition, self.row - 1, self.column - 1, around=True)
        self.depth += 1
        text, form = self.read(definition)
        self.depth -= 1
        self.put(text if form in ("c", "r", "g", "h", "n", "t", "l", "e") else f"({text})", form)


def cut(text: str, last_row: int) -> str:
    """A range without the rows after ``last_row``, in which there is nothing.

    The engine looks through each of a million rows of a column, and for each look-up again.
    """
    columns = _WHOLE_COLUMNS.fullmatch(text)
    if columns is not None:
        return f"{columns[1]}$1:{columns[2]}${last_row}"
    rows = _LONG_COLUMNS.fullmatch(text)
    if rows is not None and int(rows[4]) > last_row >= int(rows[2]):
        return f"{rows[1]}{rows[2]}:{rows[3]}{last_row}"
    return text


def _begins_operand(token: Token) -> bool:
    return token.kind not in (
        Kind.OPERATOR,
        Kind.SEPARATOR,
        Kind.CLOSE,
        Kind.ARRAY_END,
        Kind.SPACE,
    )
