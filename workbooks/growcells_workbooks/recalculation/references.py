"""References in formulas: reading them, moving them, and table references made into cells.

How they are stored: ISO/IEC 29500-1, 18.17.2, and [MS-XLSX] 2.2.2 for table references.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from .cells import MAX_COLUMNS, MAX_ROWS, Area, column_letters, column_number, read_area
from .package import Table
from .tokens import OWN_ROW, Kind, NotComputed, tokens_of

_CELL = r"\$?[A-Za-z]{1,3}\$?[0-9]{1,7}"
_COLUMNS = r"\$?[A-Za-z]{1,3}:\$?[A-Za-z]{1,3}"
_ROWS = r"\$?[0-9]{1,7}:\$?[0-9]{1,7}"
AREA = re.compile(rf"{_CELL}(?::{_CELL})?|{_COLUMNS}|{_ROWS}")
"""Cells, ranges, whole columns and whole rows, without their sheet."""
_EXCLAMATION = "\uf8f0"
"""Stands for an exclamation mark; a sign for private use, which is in no other name."""
MOVING = re.compile(r"(?<![\w.$])(\$?[A-Za-z]{1,3}[1-9][0-9]{0,6}|[A-Za-z]{1,3}\$[1-9][0-9]{0,6})(?![\w.(!\['\]])")
"""A cell whose row or column moves where the formula is copied; the same letters in a text or a name do no harm."""


def shifted(formula: str, rows: int, columns: int, around: bool = False) -> str:
    """A formula with its relative references moved, as a shared formula is for each of its cells.

    A reference that leaves the sheet becomes ``#REF!``; with ``around`` it comes back on the other side, as in names.
    Raises NotComputed for what is no formula.
    """
    if not rows and not columns:
        return formula
    pieces = []
    for token in tokens_of(formula):
        text = token.text
        if token.kind is Kind.AREA:
            text = _moved(text, rows, columns, around)
        pieces.append(token.scope + text if text else "#REF!")
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


def read_area_of(text: str) -> Area:
    """The area that a reference without its sheet names, whole rows and columns too; raises FileProblem."""
    first, _, last = text.replace("$", "").upper().partition(":")
    last = last or first
    if first.isdecimal():
        return read_area(f"A{first}:{column_letters(MAX_COLUMNS)}{last}")
    if first.isalpha():
        return read_area(f"{first}1:{last}{MAX_ROWS}")
    return read_area(f"{first}:{last}")


def unquoted(sheet: str) -> str:
    """The name of a sheet as its tab shows it."""
    return sheet[1:-1].replace("''", "'").replace(_EXCLAMATION, "!") if sheet.startswith("'") else sheet


def engine_name(sheet: str) -> str:
    """The name of a sheet in the engine, which takes the first exclamation mark of a reference for its end."""
    return sheet.replace("!", _EXCLAMATION)


def quoted(sheet: str) -> str:
    """The name of a sheet as a formula holds it."""
    return "'" + sheet.replace("'", "''") + "'"


def is_of_own_row(inner: str) -> bool:
    """Whether ``Table[inner]`` is cells of the row that it stands in; raises NotComputed."""
    return "#THIS ROW" in _table_items(inner)[0]


def table_area(table: Table, inner: str, row: int) -> str:
    """The cells that ``Table[inner]`` is, as a reference without its sheet; raises NotComputed.

    What lies in the own row has the mark of it in place of its number.
    """
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
            raise NotComputed(f"the table {table.name} has no column {name}")
        numbers.append(area.first_column + known.index(name.casefold()))
    left, right = (min(numbers), max(numbers)) if numbers else (area.first_column, area.last_column)
    if "#THIS ROW" in items:
        first, last = column_letters(left) + OWN_ROW, column_letters(right) + OWN_ROW
    else:
        first, last = f"${column_letters(left)}${top}", f"${column_letters(right)}${bottom}"  # no copy moves it
    return first if first == last else f"{first}:{last}"


_TABLE_PIECE = re.compile(r"\[((?:[^\[\]']|'.)*)\]|((?:[^\[\]']|'.)+)")
"""In brackets of its own, one of several; without, all that there is: commas and colons in it are part of its name."""


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


def references_in(formula: str, sheet: str) -> Iterator[tuple[str, str]]:
    """The sheet and the area text of each reference to cells in a formula; raises NotComputed."""
    for token in tokens_of(formula):
        if token.kind is Kind.AREA:
            yield (unquoted(token.scope[:-1]) if token.scope else sheet), token.text.replace("$", "")
