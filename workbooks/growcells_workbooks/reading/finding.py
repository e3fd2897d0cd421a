"""Finding the tables of a log, however they lie on their sheets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from itertools import groupby

from .dates import looks_like_date
from .grid import Sheet
from .headings import columns_heads, may_be_heading, rows_heads
from .heads import Head, RowsHead
from .mapping import IGNORE, LogMap, MapTable
from .model import name_key
from .tables import Layout, Table
from .wide import beds_head, dates_head


def find_tables(sheets: Sequence[Sheet], log_map: LogMap) -> list[Table]:
    """The tables of a log in reading order."""
    rows = {sheet.title: rows_worth_a_look(sheet) for sheet in sheets}
    beds = _listed_beds(sheets, rows, log_map)
    return [table for sheet in sheets for table in _tables_of(sheet, rows[sheet.title], beds, log_map.on(sheet.title))]


def rows_worth_a_look(sheet: Sheet) -> list[int]:
    """The rows that may head a table: with two texts, nothing but texts, or dates at their end."""
    found = []
    for row, cells in sheet.rows.items():
        texts = sum(may_be_heading(cell) for cell in cells.values() if isinstance(cell.value, str))
        if texts > 1 or texts == len(cells):
            found.append(row)
        elif len(cells) > 1:
            last, before, *_ = reversed(cells.values())
            if looks_like_date(last.value) and looks_like_date(before.value):
                found.append(row)
    return found


def _listed_beds(sheets: Iterable[Sheet], rows: Mapping[str, Sequence[int]], log_map: LogMap) -> Set[str]:
    """The keys of the names in tables of beds, and of their other names: by them, other tables are known."""
    names: set[str] = set(log_map.beds)
    for sheet in sheets:
        heads = _row_by_row(sheet, rows[sheet.title], frozenset(), log_map.on(sheet.title))
        heads += _columns_heads(sheet, heads, log_map.on(sheet.title))
        for head, end in _with_ends(heads, sheet):
            if getattr(head, "kind", "") == "beds":
                names |= {
                    name_key(record.cells["bed"].text) for record in head.table(end).records if "bed" in record.cells
                }
    return names


def _tables_of(sheet: Sheet, rows: Sequence[int], beds: Set[str], mapped: Sequence[MapTable]) -> Iterator[Table]:
    if any(entry.kind == IGNORE and not entry.columns for entry in mapped):
        return
    heads = _row_by_row(sheet, rows, beds, mapped)
    heads += _columns_heads(sheet, heads, mapped)
    heads.sort(key=lambda head: (head.first_row, head.left))
    for head, end in _with_ends(heads, sheet):
        yield head.table(end)


def _row_by_row(sheet: Sheet, rows: Sequence[int], beds: Set[str], mapped: Sequence[MapTable]) -> list[Head]:
    """What heads a table in a row of headings or of dates."""
    found: list[Head] = []
    down = [entry for entry in mapped if entry.layout is Layout.ROWS]
    last = 0
    for row in rows:
        if row <= last:
            continue
        heads: list[Head] = [head for head in rows_heads(sheet, row, down) if not _is_record_of(head, found)]
        settled = any(isinstance(head, RowsHead) and _is_settled(head) for head in heads)
        if not settled:
            lowest = max((head.last_row for head in heads), default=row)
            across = beds_head(sheet, lowest, beds, mapped) or dates_head(sheet, row, beds, mapped)
            heads = [across] if across else heads
        while found and any(_stands_in(found[-1], other) for other in heads):
            found.pop()
        found += heads
        last = max((head.last_row for head in heads), default=last)
    return found


def _is_record_of(head: RowsHead, above: Sequence[Head]) -> bool:
    """Whether what seems to head a table is a record of one above whose headings are known better.

    The texts of a record may hold the words of headings, such as "Tank 4" and "the feed for leaves".
    """
    upper = next((other for other in reversed(above) if other.left <= head.right and head.left <= other.right), None)
    if not isinstance(upper, RowsHead) or _is_settled(head) or upper.known <= head.known:
        return False
    row = head.first_row
    if _holds_values(upper, row):
        return True
    follows = len(head.sheet.numbers_between(upper.last_row, row)) == row - upper.last_row - 1
    return follows and not head.known and not _holds_values(head, head.last_row + 1)


def _holds_values(head: RowsHead, row: int) -> bool:
    """Whether a row has a number or a date where these headings ask for one."""
    return any(
        column in head.headings and head.headings[column].field.quantity != "text" and not may_be_heading(cell)
        for column, cell in head.sheet.rows.get(row, {}).items()
    )


def _is_settled(head: RowsHead) -> bool:
    return any(heading.settled for heading in head.headings.values()) or head.kind == IGNORE


def _stands_in(head: Head, other: Head) -> bool:
    """Whether what seemed to head a table is the upper part of what heads another."""
    return other.first_row <= head.first_row and head.last_row <= other.last_row and head is not other


def _columns_heads(sheet: Sheet, heads: Sequence[Head], mapped: Sequence[MapTable]) -> list[Head]:
    """What heads a table whose records are columns, in the rows that no other table takes."""
    taken: set[int] = set()
    for head, end in _with_ends(heads, sheet):
        taken.update((head.first_row, head.last_row), sheet.numbers_between(head.first_row, end))
    rows = [row for row in sorted(sheet.rows) if row not in taken]
    across = [entry for entry in mapped if entry.layout is Layout.COLUMNS]
    return list(columns_heads(sheet, rows, across))


def _with_ends(heads: Sequence[Head], sheet: Sheet) -> list[tuple[Head, int]]:
    """Each head with the row where the next table under it begins."""
    end = max(sheet.rows, default=0) + 1
    ends: list[tuple[Head, int]] = []
    next_in: dict[int, int] = {}
    # From the bottom up, so that of each column only the next table below need be known.
    for _, row in groupby(sorted(heads, key=lambda head: -head.first_row), key=lambda head: head.first_row):
        abreast = list(row)
        for head in abreast:
            columns = range(head.left, head.right + 1)
            below = [next_in[column] for column in columns if next_in.get(column, 0) > head.last_row]
            ends.append((head, min(below, default=end)))
        for head in abreast:
            next_in.update(dict.fromkeys(range(head.left, head.right + 1), head.first_row))
    return sorted(ends, key=lambda found: (found[0].first_row, found[0].left))
