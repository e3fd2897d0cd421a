"""Formulas as the file holds them, made into formulas that the engine computes.

The engine knows cells, ranges and functions. Here go the rest: prefixes of add-ins and of later functions, defined
names, table references, left-out arguments, and the two ways in which a formula meets a range: an ordinary formula
takes the one cell of it in its own row or column, an array formula computes on all of them.
How formulas are stored: ISO/IEC 29500-1, 18.17, and [MS-XLSX] 2.2.2 for the prefixes.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field

import formualizer

from .arrays import DIGITS, EACH, FIT, LAST_BELOW
from .cells import MAX_COLUMNS, column_number, read_area
from .known_functions import ARRAY_FUNCTIONS, DAY_ARGUMENTS, GIVES_MANY, GIVES_ONE, argument_class
from .package import Book, Table
from .references import AREA, RANGE, is_reference, shifted, table_area, unquoted
from .tokens import NotComputed, is_beside_operator, is_edge, is_operand, neighbour, tokens_of

LEFT_OUT = "\ue000"
"""Stands in a call for an argument left out, which the engine would hand over as 0; a private-use character."""

_LATER_PREFIXES = ("_XLFN.", "_XLWS.", "_XLUDF.", "_XLL.")
_NAME_DEPTH = 20  # names that use names that use names: deeper than that is a circle or a trap
_MAX_FORMULA = 65_536  # characters; Excel takes 8,192 and names may swell it

# Number formats of TEXT that the engine does not know and answers as if they were others.
_UNKNOWN_FORMATS = re.compile(r"E[+-]|\?|[0#][-/ ]+[0#]", re.IGNORECASE)

MAX_ARRAY_CELLS = 2**20
"""Largest range handed over whole to arithmetic on arrays [cells]: ours, a full column."""
MAX_WHOLE_COLUMNS = 100
"""Most whole columns handed over so: ours; of these only what is used counts."""

# A cell whose row or column moves where the formula is copied; the same letters in a text or a sheet's name do no harm.
_MOVING = re.compile(r"(?<![\w.$])(\$?[A-Z]{1,3}[0-9]{1,7}|[A-Z]{1,3}\$[0-9]{1,7})(?![\w.(!])")

_COMPARISONS = ("=", "<>", "<", ">", "<=", ">=")
_KIND, _PART = formualizer.TokenType, formualizer.TokenSubType


@dataclass(frozen=True)
class Translator:
    """Makes the engine's formulas for one workbook.

    ``knows`` says whether the engine has a function; ``grow`` is the names of the growcells functions, ``tables``
    those of them that give tables.
    """

    book: Book
    knows: Callable[[str], bool]
    grow: frozenset[str]
    tables: frozenset[str]
    inlined: dict[tuple[tuple[str | None, str], str], str] = field(default_factory=dict)
    """What names stand for that mean the same in every cell."""
    patterns: dict[tuple[str, ...], list[str]] = field(default_factory=dict)
    """What the texts between the relative references of a formula become, by its sheet and those texts."""

    def ordinary(self, formula: str, sheet: str, row: int, column: int) -> str:
        """The formula of a cell that shows one value; raises NotComputed.

        Most formulas of a log are copies that differ in their relative references alone, and are read once.
        """
        pieces = _MOVING.split(formula)  # texts and references in turn
        pattern = (sheet, *pieces[::2])
        known = self.patterns.get(pattern)
        if known is not None:
            pieces[::2] = known
            return "".join(pieces)
        reading = _Reading(self, sheet, row, column, arrays=False)
        made = f"@({reading.of(formula)})"
        made_pieces = _MOVING.split(made)
        if "[" not in formula and not reading.depends_on_size and made_pieces[1::2] == pieces[1::2]:
            self.patterns[pattern] = made_pieces[::2]
        return made

    def dynamic(self, formula: str, sheet: str, row: int, column: int) -> str:
        """The formula of a cell whose result spills as far as it needs; raises NotComputed."""
        return _Reading(self, sheet, row, column, arrays=True).of(formula)

    def fitted(self, formula: str, sheet: str, row: int, column: int, rows: int, columns: int) -> str:
        """The array formula that fills ``rows`` and ``columns``; raises NotComputed."""
        return f"{FIT}({self.dynamic(formula, sheet, row, column)},{rows},{columns})"


@dataclass(slots=True)
class _Frame:
    """What is open while a formula is read: a call, a parenthesis, an array constant, or the formula itself."""

    name: str = ""
    in_arrays: bool = False
    """Whether it stands where arrays are computed."""
    arrays_inside: bool = False
    """Whether what it encloses is computed on arrays."""
    is_grow: bool = False
    starts: list[int] = field(default_factory=list)
    """The piece with which each of its arguments begins."""
    is_empty: bool = True
    """Whether the argument read now is still empty."""
    has_many: bool = False
    """Whether more than one cell is meant anywhere in it."""
    spreads: bool = False
    """Whether that is in an argument that takes a single value."""
    operand_start: int = 0
    """The piece with which the operand of & begins that is read now."""
    is_joining: bool = False


@dataclass
class _Reading:
    """One formula on its way through the translator."""

    translator: Translator
    sheet: str
    row: int
    column: int
    arrays: bool
    depth: int = 0
    depends_on_size: bool = False
    """Whether it depends on how large a range with relative ends is."""
    depends_on_cell: bool = False
    """Whether a name or a table reference in it means something else in another cell."""
    pieces: list[str] = field(default_factory=list)
    frames: list[_Frame] = field(default_factory=list)

    def of(self, formula: str) -> str:
        """The formula for the engine; raises NotComputed."""
        if len(formula) > _MAX_FORMULA or self.depth > _NAME_DEPTH:
            raise NotComputed("the formula is too long, or its names refer to one another in a circle")
        self.frames = [_Frame(in_arrays=self.arrays, arrays_inside=self.arrays)]
        tokens = tokens_of(formula)
        for index, token in enumerate(tokens):
            kind, text = token.token_type, token.value
            if kind == _KIND.Sep:
                self.separate(text)
            elif token.subtype == _PART.Close:
                self.close(text)
            elif token.subtype == _PART.Open:
                self.open(kind, text)
            elif is_operand(token):
                self.operand(tokens, index)
            elif kind == _KIND.OpInfix and (text == "&" or text in _COMPARISONS):
                self.join(text)
            else:
                self.frames[-1].is_empty &= kind == _KIND.Whitespace
                self.pieces.append(text)
        self.end_operand()
        return "".join(self.pieces)

    def open(self, kind: formualizer.TokenType, text: str) -> None:
        outer = self.frames[-1]
        outer.is_empty = False
        frame = _Frame(in_arrays=outer.arrays_inside, arrays_inside=outer.arrays_inside)
        if kind == _KIND.Func:
            text = f"{self.function(text[:-1])}("
            frame.name = without_prefix(text[:-1]).upper()
            frame.is_grow = frame.name in self.translator.grow
            frame.arrays_inside |= frame.is_grow or frame.name in ARRAY_FUNCTIONS
        elif kind == _KIND.Array:
            frame.arrays_inside = frame.has_many = True
        self.pieces.append(text)
        frame.starts.append(len(self.pieces))
        frame.operand_start = len(self.pieces)
        self.frames.append(frame)

    def separate(self, text: str) -> None:
        frame = self.frames[-1]
        if len(self.frames) == 1:
            raise NotComputed(f"the formula has a {text} that stands in no function")
        self.end_operand()
        self.end_argument(frame, last=False)
        self.pieces.append(text)
        frame.starts.append(len(self.pieces))
        frame.operand_start = len(self.pieces)
        frame.is_empty = True

    def close(self, text: str) -> None:
        if len(self.frames) == 1:
            raise NotComputed("the formula has a closing bracket too many")
        self.end_operand()
        frame = self.frames.pop()
        self.end_argument(frame, last=True)
        self.pieces.append(text)
        if frame.name:
            self.finish_call(frame)
        self.mark_many(self.gives_many(frame))

    def gives_many(self, frame: _Frame) -> bool:
        """Whether the result of a call or parenthesis that has been read whole may be several cells."""
        if frame.name in GIVES_MANY or frame.name in self.translator.tables:
            return True
        return frame.spreads if frame.name in GIVES_ONE else frame.has_many

    def mark_many(self, many: bool) -> None:
        """Tell the open frame that its argument means more than one cell."""
        frame = self.frames[-1]
        frame.has_many |= many
        frame.spreads |= many and argument_class(frame.name, len(frame.starts) - 1) == "e"

    def end_argument(self, frame: _Frame, last: bool) -> None:
        # GROW_X() has no argument, GROW_X(1,) has two.
        if frame.is_grow and frame.is_empty and (len(frame.starts) > 1 or not last):
            self.pieces.append(f'"{LEFT_OUT}"')
        if len(frame.starts) <= DAY_ARGUMENTS.get(frame.name, 0) and not frame.is_empty:
            self.enclose(frame.starts[-1], "0+(")

    def enclose(self, start: int, opening: str) -> None:
        self.pieces[start] = opening + self.pieces[start]
        self.pieces[-1] += ")"

    def join(self, text: str) -> None:
        """An operator & or a comparison, which binds less: numbers become texts of 15 digits."""
        frame = self.frames[-1]
        if text == "&":
            frame.is_joining = True
        self.end_operand()
        frame.is_joining = text == "&"
        self.pieces.append(text)
        frame.operand_start = len(self.pieces)

    def end_operand(self) -> None:
        frame = self.frames[-1]
        operand = self.pieces[frame.operand_start :]
        if frame.is_joining and operand and not (len(operand) == 1 and operand[0].startswith('"')):
            self.enclose(frame.operand_start, f"{DIGITS}(")
        frame.is_joining = False

    def finish_call(self, frame: _Frame) -> None:
        """Give a call that has been read whole the form that the engine computes rightly."""
        self.refuse_faults(frame)
        head = frame.starts[0] - 1
        inside = self.pieces[frame.starts[0] : -1]
        if frame.name == "LOOKUP" and len(frame.starts) > 1 and len(self.argument(frame, 1)) > 1:
            self.pieces[head] = f"{LAST_BELOW}("
        elif frame.in_arrays and frame.name in ("ROW", "COLUMN") and len(inside) == 1 and frame.has_many:
            self.pieces[head:] = [_counted(frame.name, inside[0])]
        elif frame.in_arrays and frame.spreads:
            self.pieces[head] = f'{EACH}("{frame.name}",'

    def argument(self, frame: _Frame, index: int) -> list[str]:
        """The pieces of an argument of a call that has been read whole."""
        end = -1 if index + 1 == len(frame.starts) else frame.starts[index + 1] - 1
        return self.pieces[frame.starts[index] : end]

    def refuse_faults(self, frame: _Frame) -> None:
        """Raise NotComputed for a call that the engine is known to answer wrongly without an error."""
        if len(frame.starts) != 2:
            return
        second = "".join(self.argument(frame, 1))
        if frame.name == "TEXT" and second.startswith('"'):
            if _UNKNOWN_FORMATS.search(re.sub('""[^"]*""', "", second[1:-1])):
                raise NotComputed(f"the number format {second} is not known here")
        elif frame.name in ("CEILING", "FLOOR") and second.startswith("-"):
            raise NotComputed(f"{frame.name} to a negative step is not computed here")

    def function(self, name: str) -> str:
        """The engine's name for a function; raises NotComputed where it has none."""
        knows = self.translator.knows
        if "!" in name:
            origin, name = name.rsplit("!", 1)
            if "[" not in origin and ".xla" not in origin.lower():
                raise NotComputed(f"the function {name} belongs to {origin}")
        if knows(name):
            return name
        bare = without_prefix(name)
        if bare.upper() == "SINGLE":
            return "@"  # how the engine writes the function that gives one value
        if bare != name and knows(bare):
            return bare
        raise NotComputed(f"the function {bare} is not known here")

    def operand(self, tokens: list[formualizer.Token], index: int) -> None:
        """A reference or a name, cut down to one cell where the formula takes one."""
        frame = self.frames[-1]
        text = self.resolved(tokens[index].value)
        # A variable of LET or LAMBDA, which is no cell, may hold an array.
        many = ":" in text or not (AREA.fullmatch(text.rpartition("!")[2]) or text.startswith("("))
        before, after = neighbour(tokens, index, -1), neighbour(tokens, index, 1)
        if ":" in text and not frame.arrays_inside:
            single = argument_class(frame.name, len(frame.starts) - 1) == "e" if frame.name else False
            alone = is_edge(before) and is_edge(after)
            if (single and alone) or is_beside_operator(before, after):
                text, many = f"@{text}", False
        if ":" in text and frame.arrays_inside:
            refuse_large(text, "TRANSPOSE" in (open_frame.name for open_frame in self.frames))
            self.depends_on_size |= _MOVING.search(text) is not None
        frame.is_empty = False
        self.pieces.append(text)
        self.mark_many(many)

    def resolved(self, text: str) -> str:
        """A reference, with names and table references made into cells; raises NotComputed."""
        book = self.translator.book
        scope, _, local = text.rpartition("!")
        if "[" in scope or (scope and ".xla" in scope.lower()):
            raise NotComputed("it reads another workbook")
        if AREA.fullmatch(local):
            return text
        if ":" in local and "[" not in text:
            raise NotComputed(f"{local[:30]} is no range of cells")
        if "[" in text:
            return self.table_reference(text)
        scope_sheet = unquoted(scope) if scope else self.sheet
        for key in ((scope_sheet, local.upper()), (None, local.upper())):
            if key in book.names:
                return self.name(key, scope_sheet)
        if local.upper() in book.tables:
            return self.table_reference(f"{local}[]")
        return text

    def name(self, key: tuple[str | None, str], sheet: str) -> str:
        """What a defined name stands for in this cell; raises NotComputed."""
        inlined = self.translator.inlined
        if (key, sheet) in inlined:
            return inlined[key, sheet]
        definition = self.translator.book.names[key]
        here = shifted(definition, self.row - 1, self.column - 1, around=True)
        reading = _Reading(self.translator, sheet, self.row, self.column, True, self.depth + 1)
        meaning = reading.of(here)
        if len(meaning) > _MAX_FORMULA:
            raise NotComputed(f"what the name {key[1]} stands for is too long")
        # A single reference needs no parenthesis, and INDEX and OFFSET need it as a reference.
        meaning = meaning if is_reference(meaning) else f"({meaning})"
        if reading.depends_on_cell or definition != shifted(definition, 1, 1, around=True):
            self.depends_on_cell = True
        else:
            inlined[key, sheet] = meaning
        return meaning

    def table_reference(self, text: str) -> str:
        name, _, inner = text.partition("[")
        table = self.own_table() if not name else self.translator.book.tables.get(name.upper())
        if table is None:
            raise NotComputed(f"the table {name or 'of this cell'} is not in the workbook")
        self.depends_on_cell = True  # on its row, and on the table that it stands in
        return table_area(table, inner[:-1], self.sheet, self.row)

    def own_table(self) -> Table | None:
        """The table that the cell stands in; a reference without a name means it."""
        tables = self.translator.book.tables.values()
        place = self.row, self.column
        return next((table for table in tables if table.sheet == self.sheet and place in table.area), None)


def refuse_large(area_text: str, transposed: bool) -> None:
    """Raise NotComputed for a range too large to be held as an array, whole columns turned into rows included."""
    for part in RANGE.findall(area_text.replace("$", "")):
        first, last = part.split(":")
        columns = re.fullmatch(r"[A-Za-z]+", first)
        rows = re.fullmatch(r"[0-9]+", first)
        if columns:  # the engine takes of a whole column what is used of it
            wide = abs(column_number(last.upper()) - column_number(first.upper())) >= MAX_WHOLE_COLUMNS
            too_large = wide or transposed
        elif rows:
            too_large = abs(int(last) - int(first)) >= MAX_ARRAY_CELLS // MAX_COLUMNS
        else:
            area = read_area(part.upper())
            too_large = area.rows * area.columns > MAX_ARRAY_CELLS or (transposed and area.rows > MAX_COLUMNS)
        if too_large:
            raise NotComputed(f"the range {part} is too large to compute on each of its cells")


def _counted(function: str, area_text: str) -> str:
    """ROW or COLUMN of an area as the numbers that they are."""
    local = area_text.rpartition("!")[2].replace("$", "")
    if not RANGE.fullmatch(local) or not (local[0].isalpha() and local[-1].isdecimal()):
        raise NotComputed(f"{function} of {local[:30] or 'nothing'} is not computed here")
    area = read_area(local.upper())
    if function == "ROW":
        return f"SEQUENCE({area.rows},1,{area.first_row})"
    return f"SEQUENCE(1,{area.columns},{area.first_column})"


def without_prefix(name: str) -> str:
    """A function's name without what files put before functions later than their format."""
    while name.upper().startswith(_LATER_PREFIXES):
        name = name.split(".", 1)[1]
    return name
