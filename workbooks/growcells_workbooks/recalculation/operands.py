"""The values of a formula: typed ones, cells, and tables and names made into cells.

How they are stored: ISO/IEC 29500-1, 18.17.2, and [MS-XLSX] 2.2.2 for table references.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from .frames import Range
from .native import PASSES_BLANKS
from .package import Table
from .range_sizes import refuse_large
from .references import MOVING, engine_name, is_of_own_row, quoted, shifted, table_area
from .tokens import FIRST_MARK, Kind, Marked, NotComputed, Token

if TYPE_CHECKING:
    from .formula_walk import Walk

_NAME_DEPTH = 20  # names that use names that use names: deeper than that is a circle or a trap
MAX_FORMULA = 65_536
"""Characters of a formula; Excel takes 8,192 and names may swell it."""
_TYPED = {Kind.TEXT: "t", Kind.NUMBER: "n", Kind.TRUTH: "l", Kind.ERROR: "e"}
"""What is typed, and its form as that of an argument."""


def put_operand(walk: Walk, token: Token) -> None:
    """Put a value of the formula; raises NotComputed."""
    if token.kind in _TYPED:
        walk.put(token.text, _TYPED[token.kind])
    elif token.kind is Kind.AREA:
        put_area(walk, walk.reader.sheet_of(token.scope, walk.sheet), token.text, bool(token.scope))
    elif token.kind is Kind.TABLE:
        put_table(walk, token)
    else:
        put_name(walk, token)


def put_area(walk: Walk, sheet: str, text: str, scoped: bool) -> None:
    """Put a reference to cells of a sheet; raises NotComputed where it is too large."""
    walk.areas.append((sheet, text))
    # The engine tells the names of sheets apart by case, so that each is given as its tab has it.
    where = f"{quoted(engine_name(sheet))}!" if scoped or walk.qualified else ""
    if ":" in text and walk.frames[-1].name in PASSES_BLANKS:
        piece = Range(where + text)
        piece.where = where
        walk.put(piece, "r")  # cut when the whole call is known
        return
    if ":" in text:
        refuse_large(walk, text)
    walk.put(where + text, "r" if ":" in text else "c")


def put_table(walk: Walk, token: Token) -> None:
    """Put a table reference, made into cells; raises NotComputed."""
    if token.scope and "[" in token.scope:
        raise NotComputed("it reads another workbook")
    if any(ord(sign) >= FIRST_MARK for sign in token.text):
        raise Marked
    name, _, inner = token.text.partition("[")
    table = _own_table(walk) if not name else walk.reader.book.tables.get(name.upper())
    if table is None:
        raise NotComputed(f"the table {name or 'around it'} is not there")
    inner = inner[:-1]
    if is_of_own_row(inner):
        first = table.area.first_row + table.heading_rows
        last = table.area.last_row - table.totals_rows
        if not first <= walk.row <= last:
            walk.movable = False
            walk.put("#VALUE!", "e")
            return
        low, high = walk.rows or (first, last)
        walk.rows = (max(low, first), min(high, last))
    found = table_area(table, inner, walk.row)
    if found.startswith("#"):
        walk.put(found, "e")
    else:
        put_area(walk, table.sheet, found, table.sheet != walk.sheet)


def _own_table(walk: Walk) -> Table | None:
    """The table that the formula stands in."""
    walk.movable = False
    here = (walk.row, walk.column)
    tables = walk.reader.book.tables.values()
    return next((table for table in tables if table.sheet == walk.sheet and table.area.has(*here)), None)


def put_name(walk: Walk, token: Token) -> None:
    """Put a defined name, made into what it stands for, or a variable of LET or LAMBDA; raises NotComputed."""
    text, book = token.text, walk.reader.book
    scope = walk.reader.sheet_of(token.scope, walk.sheet) if token.scope else walk.sheet
    for key in ((scope, text.upper()), (None, text.upper())):
        definition = book.names.get(key)
        if definition is not None:
            return _put_defined(walk, definition)
    if text.upper() in book.tables and not token.scope:
        return put_table(walk, Token(Kind.TABLE, f"{text}[]"))
    if not any(frame.name in ("LET", "LAMBDA") for frame in walk.frames):
        walk.undefined = walk.undefined or text[:40]
        return walk.put("#NAME?", "e")
    for frame in walk.frames:
        if frame.is_grow:
            frame.uses_variable = True
    walk.put(text, "v")
    return None


def names_something(walk: Walk, text: str) -> bool:
    """Whether a text is a name that the workbook defines, or one of its tables."""
    book, name = walk.reader.book, text.upper()
    return (walk.sheet, name) in book.names or (None, name) in book.names or name in book.tables


def _put_defined(walk: Walk, definition: str) -> None:
    """Put what a defined name stands for in this cell; raises NotComputed."""
    walk.expanded += len(definition)
    if walk.depth >= _NAME_DEPTH or walk.expanded > MAX_FORMULA:
        raise NotComputed("its names refer to one another in a circle, or make it too long")
    if MOVING.search(definition):
        walk.movable = False
        definition = shifted(definition, walk.row - 1, walk.column - 1, around=True)
    walk.depth += 1
    text, form = walk.read(definition)
    walk.depth -= 1
    walk.put(text if form in ("c", "r", "g", "h", "n", "t", "l", "e") else f"({text})", form)
