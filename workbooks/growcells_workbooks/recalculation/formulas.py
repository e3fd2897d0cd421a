"""Formulas as the file holds them, made into formulas that the engine computes.

The engine knows cells, ranges and functions. Here go the rest: prefixes of add-ins and of later functions, shared
formulas, defined names, table references, left-out arguments, and the rule that an ordinary formula gives one value.
How formulas are stored: ISO/IEC 29500-1, 18.17, and [MS-XLSX] 2.2.2 for prefixes and table references.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import formualizer

from .package import Book, Table
from .sheet_xml import MAX_COLUMNS, MAX_ROWS, cell_name, column_letters, column_number

LEFT_OUT = "\ue000"
"""Stands in a call for an argument left out, which the engine would hand over as 0; a private-use character."""
FIT = "GROWCELLS_FIT"
"""The engine's name for the function that makes a result as large as the cells of an array formula."""

_CELL = re.compile(r"(\$?)([A-Za-z]{1,3})(\$?)([0-9]{1,7})")
_COLUMNS = re.compile(r"(\$?)([A-Za-z]{1,3}):(\$?)([A-Za-z]{1,3})")
_ROWS = re.compile(r"(\$?)([0-9]{1,7}):(\$?)([0-9]{1,7})")
_AREA = re.compile(rf"{_CELL.pattern}(?::{_CELL.pattern})?|{_COLUMNS.pattern}|{_ROWS.pattern}")
_LATER_PREFIXES = ("_XLFN.", "_XLWS.", "_XLUDF.", "_XLL.")
_NAME_DEPTH = 20  # names that use names that use names: deeper than that is a circle or a trap
_MAX_FORMULA = 65_536  # characters; Excel takes 8,192 and names may swell it

# Functions that compute on whole arrays, so that a range in arithmetic inside them is not cut down to one cell
# (OpenFormula calls such parameters ForceArray). The later ones were made for arrays from the start.
_ARRAY_FUNCTION_NAMES = (
    "SUMPRODUCT MMULT MINVERSE MDETERM TRANSPOSE FREQUENCY LOOKUP INDEX MODE MODE.MULT LINEST LOGEST TREND GROWTH "
    "SUMX2MY2 SUMX2PY2 SUMXMY2 CORREL COVAR FORECAST INTERCEPT SLOPE RSQ PEARSON PROB FTEST TTEST "
    "FILTER SORT SORTBY UNIQUE SEQUENCE LET LAMBDA XLOOKUP XMATCH TEXTJOIN CONCAT ARRAYTOTEXT VSTACK HSTACK "
    "CHOOSECOLS CHOOSEROWS TOCOL TOROW TAKE DROP EXPAND WRAPCOLS WRAPROWS MAP REDUCE SCAN BYROW BYCOL"
)
_ARRAY_FUNCTIONS = frozenset(_ARRAY_FUNCTION_NAMES.split())
_REFERENCE_OPERATORS = (":", ",", " ")

_FUNCTION, _PARENTHESIS, _ARRAY = (
    formualizer.TokenType.Func,
    formualizer.TokenType.Paren,
    formualizer.TokenType.Array,
)
_OPEN, _CLOSE, _RANGE = (
    formualizer.TokenSubType.Open,
    formualizer.TokenSubType.Close,
    formualizer.TokenSubType.Range,
)


class NotComputed(Exception):
    """A formula that cannot be computed here; the text says why, in a few words."""


@dataclass(slots=True)
class _Frame:
    """A function call, parenthesis or array constant that is open while a formula is read."""

    grow: bool
    whole: bool
    waiting: bool = True
    """Whether the argument that begins here is still empty."""
    commas: int = 0


@dataclass(frozen=True)
class Translator:
    """Makes the engine's formulas for one workbook.

    ``knows`` says whether the engine has a function; ``grow`` is the names of the growcells functions.
    """

    book: Book
    knows: Callable[[str], bool]
    grow: frozenset[str]
    inlined: dict[tuple[tuple[str | None, str], str], str] = field(default_factory=dict)
    """What names stand for that mean the same in every cell."""

    def ordinary(self, formula: str, sheet: str, row: int, column: int) -> str:
        """The formula of a cell that shows one value; raises NotComputed."""
        return f"@({self._translate(formula, sheet, row, column, one_value=True)})"

    def dynamic(self, formula: str, sheet: str, row: int, column: int) -> str:
        """The formula of a cell whose result spills as far as it needs; raises NotComputed."""
        return self._translate(formula, sheet, row, column, one_value=False)

    def fitted(self, formula: str, sheet: str, row: int, column: int, rows: int, columns: int) -> str:
        """The array formula that fills ``rows`` and ``columns``; raises NotComputed."""
        return f"{FIT}({self._translate(formula, sheet, row, column, one_value=False)},{rows},{columns})"

    def _translate(self, formula: str, sheet: str, row: int, column: int, one_value: bool, depth: int = 0) -> str:
        if len(formula) > _MAX_FORMULA or depth > _NAME_DEPTH:
            raise NotComputed("the formula is too long, or its names refer to one another in a circle")
        pieces: list[str] = []
        frames: list[_Frame] = []
        tokens = tokens_of(formula)
        for index, token in enumerate(tokens):
            kind, part, text = token.token_type, token.subtype, token.value
            if kind == formualizer.TokenType.Sep:
                if frames:
                    self._leave_argument(frames[-1], pieces, closing=False)
                pieces.append(text)
                continue
            if part == _CLOSE:
                frame = frames.pop() if frames else None
                if frame is not None:
                    self._leave_argument(frame, pieces, closing=True)
                pieces.append(text)
                continue
            if frames and kind != formualizer.TokenType.Whitespace:
                frames[-1].waiting = False
            if part == _OPEN:
                whole = bool(frames) and frames[-1].whole
                if kind == _FUNCTION:
                    name = self._function(text[:-1])
                    grow = name.upper() in self.grow
                    frames.append(_Frame(grow, whole or grow or name.upper() in _ARRAY_FUNCTIONS))
                    pieces.append(f"{name}(")
                else:
                    frames.append(_Frame(False, whole or kind == _ARRAY))
                    pieces.append(text)
            elif kind == formualizer.TokenType.Operand and part == _RANGE:
                operand = self._operand(text, sheet, row, column, depth)
                cut = one_value and not (frames and frames[-1].whole) and _is_beside_operator(tokens, index)
                pieces.append(f"@{operand}" if cut and ":" in operand else operand)
            else:
                pieces.append(text)
        return "".join(pieces)

    @staticmethod
    def _leave_argument(frame: _Frame, pieces: list[str], closing: bool) -> None:
        # GROW_X() has no argument, GROW_X(1,) has two.
        if frame.grow and frame.waiting and (frame.commas or not closing):
            pieces.append(f'"{LEFT_OUT}"')
        frame.waiting = True
        frame.commas += 1

    def _function(self, name: str) -> str:
        """The engine's name for a function; raises NotComputed where it has none."""
        if "!" in name:
            origin, name = name.rsplit("!", 1)
            if "[" not in origin and ".xla" not in origin.lower():
                raise NotComputed(f"the function {name} belongs to {origin}")
        if self.knows(name):
            return name
        bare = name
        while bare.upper().startswith(_LATER_PREFIXES):
            bare = bare.split(".", 1)[1]
        if bare.upper() == "SINGLE":
            return "@"  # how the engine writes the function that gives one value
        if bare != name and self.knows(bare):
            return bare
        raise NotComputed(f"the function {bare} is not known here")

    def _operand(self, text: str, sheet: str, row: int, column: int, depth: int) -> str:
        """A reference, with names and table references made into cells; raises NotComputed."""
        scope, _, local = text.rpartition("!")
        if "[" in scope or (scope and ".xla" in scope.lower()):
            raise NotComputed("it reads another workbook")
        if _AREA.fullmatch(local):
            return text
        if "[" in text:
            return self._table_reference(text, sheet, row)
        scope_sheet = unquoted(scope) if scope else sheet
        for key in ((scope_sheet, local.upper()), (None, local.upper())):
            if key in self.book.names:
                return self._name(key, scope_sheet, row, column, depth)
        if local.upper() in self.book.tables:
            return self._table_reference(f"{local}[]", sheet, row)
        return text

    def _name(self, key: tuple[str | None, str], sheet: str, row: int, column: int, depth: int) -> str:
        """What a defined name stands for in that cell; raises NotComputed."""
        definition = self.book.names[key]
        moves = definition != shifted(definition, 1, 1, around=True)
        if not moves and (key, sheet) in self.inlined:
            return self.inlined[key, sheet]
        here = shifted(definition, row - 1, column - 1, around=True) if moves else definition
        inlined = self._translate(here, sheet, row, column, False, depth + 1)
        if len(inlined) > _MAX_FORMULA:
            raise NotComputed(f"what the name {key[1]} stands for is too long")
        # A single reference needs no parenthesis, and INDEX and OFFSET need it as a reference.
        inlined = inlined if _is_reference(inlined) else f"({inlined})"
        if not moves:
            self.inlined[key, sheet] = inlined
        return inlined

    def _table_reference(self, text: str, sheet: str, row: int) -> str:
        name, _, inner = text.partition("[")
        table = self._own_table(sheet, row) if not name else self.book.tables.get(name.upper())
        if table is None:
            raise NotComputed(f"the table {name or 'of this cell'} is not in the workbook")
        return table_area(table, inner[:-1], sheet, row)

    def _own_table(self, sheet: str, row: int) -> Table | None:
        return next(
            (
                table
                for table in self.book.tables.values()
                if table.sheet == sheet and table.area.first_row <= row <= table.area.last_row
            ),
            None,
        )


def tokens_of(formula: str) -> list[formualizer.Token]:
    """The tokens of a formula; raises NotComputed where it is none."""
    try:
        return formualizer.tokenize("=" + formula.strip()).tokens()
    except (formualizer.TokenizerError, ValueError) as problem:
        raise NotComputed(f"the formula cannot be read ({problem})") from None


def _is_beside_operator(tokens: list[formualizer.Token], index: int) -> bool:
    """Whether the operand takes part in arithmetic, comparison or joining of texts."""
    for neighbour in (_significant(tokens, index, -1), _significant(tokens, index, 1)):
        if neighbour is None:
            continue
        kind = neighbour.token_type
        if kind in (formualizer.TokenType.OpPrefix, formualizer.TokenType.OpPostfix):
            return neighbour.value not in ("#", "@")
        if kind == formualizer.TokenType.OpInfix and neighbour.value not in _REFERENCE_OPERATORS:
            return True
    return False


def _significant(tokens: list[formualizer.Token], index: int, step: int) -> formualizer.Token | None:
    index += step
    while 0 <= index < len(tokens):
        if tokens[index].token_type != formualizer.TokenType.Whitespace:
            return tokens[index]
        index += step
    return None


def _is_reference(formula: str) -> bool:
    return _AREA.fullmatch(formula.rpartition("!")[2]) is not None and "(" not in formula.rpartition("!")[0]


def shifted(formula: str, rows: int, columns: int, around: bool = False) -> str:
    """A formula with its relative references moved, as a shared formula is for each of its cells.

    A reference that leaves the sheet becomes ``#REF!``; with ``around`` it comes back on the other side, as in names.
    Raises NotComputed for what is no formula.
    """
    if not rows and not columns:
        return formula
    pieces = []
    for token in tokens_of(formula):
        text = token.value
        if token.subtype == _RANGE and token.token_type == formualizer.TokenType.Operand and "[" not in text:
            scope, mark, local = text.rpartition("!")
            if _AREA.fullmatch(local):
                moved = _moved(local, rows, columns, around)
                text = f"{scope}{mark}{moved}" if moved else "#REF!"
        pieces.append(text)
    return "".join(pieces)


def _moved(area: str, rows: int, columns: int, around: bool) -> str:
    ends = []
    for end in area.split(":"):
        match = re.fullmatch(r"(\$?)([A-Za-z]*)(\$?)([0-9]*)", end)
        assert match is not None, "an area is made of such ends"
        fixed_column, letters, fixed_row, number = match.groups()
        if not letters:  # the single mark of a row such as $3
            fixed_column, fixed_row = "", fixed_column or fixed_row
        if letters and not fixed_column:
            column = column_number(letters.upper()) + columns
            column = (column - 1) % MAX_COLUMNS + 1 if around else column
            if not 1 <= column <= MAX_COLUMNS:
                return ""
            letters = column_letters(column)
        if number and not fixed_row:
            row = int(number) + rows
            row = (row - 1) % MAX_ROWS + 1 if around else row
            if not 1 <= row <= MAX_ROWS:
                return ""
            number = str(row)
        ends.append(f"{fixed_column}{letters}{fixed_row}{number}")
    return ":".join(ends)


def unquoted(sheet: str) -> str:
    """The name of a sheet as its tab shows it."""
    return sheet[1:-1].replace("''", "'") if sheet.startswith("'") else sheet


def quoted(sheet: str) -> str:
    """The name of a sheet as a formula holds it."""
    return "'" + sheet.replace("'", "''") + "'"


def table_area(table: Table, inner: str, sheet: str, row: int) -> str:
    """The cells that ``Table[inner]`` is, as a reference; raises NotComputed."""
    items, columns = _table_items(inner)
    area = table.area
    first_data, last_data = area.first_row + table.heading_rows, area.last_row - table.totals_rows
    spans = {
        "#ALL": (area.first_row, area.last_row),
        "#DATA": (first_data, last_data),
        "#HEADERS": (area.first_row, area.first_row + table.heading_rows - 1),
        "#TOTALS": (area.last_row - table.totals_rows + 1, area.last_row),
        "#THIS ROW": (row, row),
    }
    chosen = [spans[item] for item in items or ["#DATA"] if item in spans]
    if len(chosen) != len(items or ["#DATA"]):
        raise NotComputed(f"the table reference {table.name}[{inner}] cannot be read")
    top, bottom = min(span[0] for span in chosen), max(span[1] for span in chosen)
    if "#THIS ROW" in items and not first_data <= row <= last_data:
        return "#VALUE!"
    if top > bottom:
        return "#REF!"
    known = [column.casefold() for column in table.columns]
    numbers = []
    for name in columns:
        if name.casefold() not in known:
            return "#REF!"
        numbers.append(area.first_column + known.index(name.casefold()))
    left, right = (min(numbers), max(numbers)) if numbers else (area.first_column, area.last_column)
    where = "" if table.sheet == sheet else f"{quoted(table.sheet)}!"
    first, last = cell_name(top, left), cell_name(bottom, right)
    return f"{where}{first}" if first == last else f"{where}{first}:{last}"


_TABLE_PIECE = re.compile(r"\[((?:[^\[\]']|'.)*)\]|((?:[^\[\]',:]|'.)+)")


def _table_items(inner: str) -> tuple[list[str], list[str]]:
    """The ``#Items`` and the column names of a table reference; raises NotComputed."""
    items, columns = [], []
    rest = inner.strip()
    if rest.startswith("@"):
        items.append("#THIS ROW")
        rest = rest[1:].strip()
    while rest:
        match = _TABLE_PIECE.match(rest)
        if match is None:
            raise NotComputed(f"the table reference [{inner}] cannot be read")
        name = match[1] if match[1] is not None else match[2]
        if name.startswith("#"):
            items.append(name.upper())
        else:
            columns.append(re.sub("'(.)", r"\1", name))
        rest = rest[match.end() :].lstrip(" ,:")
    return items, columns


def calls_in(formula: str, names: frozenset[str], sheet: str) -> Iterator[tuple[str, str]]:
    """Each call of one of ``names`` in an engine formula, innermost first: its name and its arguments.

    References get their sheet's name, so that the arguments mean the same on another sheet.
    """
    opened: list[tuple[str, int]] = []
    pieces: list[str] = []
    for token in tokens_of(formula):
        text = token.value
        if token.token_type == formualizer.TokenType.Operand and token.subtype == _RANGE and "!" not in text:
            text = f"{quoted(sheet)}!{text}"
        pieces.append(text)
        if token.subtype == _OPEN:
            opened.append((text[:-1].upper(), len(pieces)))
        elif token.subtype == _CLOSE and opened:
            name, start = opened.pop()
            if name in names:
                yield name, "".join(pieces[start:-1])


def references_in(formula: str, sheet: str) -> Iterator[tuple[str, str]]:
    """The sheet and the area text of each reference to cells in an engine formula."""
    for token in tokens_of(formula):
        if token.token_type == formualizer.TokenType.Operand and token.subtype == _RANGE:
            scope, _, local = token.value.rpartition("!")
            if _AREA.fullmatch(local):
                yield (unquoted(scope) if scope else sheet), local.replace("$", "")
