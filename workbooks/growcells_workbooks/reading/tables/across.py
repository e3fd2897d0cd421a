"""The tables of a sheet, in rows and across: labels down the side, dates or beds over the columns."""

from __future__ import annotations

import datetime
from bisect import bisect
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from ..columns.column import ROUND_FIELDS
from ..inputs.log_cells import LogCell, Sheet
from ..mapping import IGNORE, MapTable
from ..vocabulary.date_texts import month_within, weekday_of
from ..vocabulary.names import Names
from ..vocabulary.shapes import Shape, is_text, shape_of
from ..vocabulary.words import all_claims, is_known
from .finder import Finder
from .grids import Grid, Table, may_be_heading, not_taken, outside

MOST_LABELS = 100
"""Labels down the side of a table without dates: more rows than that are no table that lies across; ours."""
FEWEST_DAYS = 5
"""Numbers one after the other over the columns of a month that are its days; ours."""
LABEL_COLUMNS = 3
"""Columns of labels left of a row of dates; ours."""


def find_tables(sheet: Sheet, names: Names, entries: Sequence[MapTable]) -> list[Table]:
    """The tables of a sheet, row by row and then across."""
    if any(entry.kind == IGNORE and not entry.columns and not entry.title for entry in entries):
        return []
    finder = Finder(sheet, Grid(sheet.rows, sheet.merged), names, entries)
    tables = finder.tables()
    for rows, titles in _bands(sheet, tables):
        for part in _beside_each_other(rows):
            tables += _across(sheet, part, titles, names, entries)
    return sorted(tables, key=lambda table: _top(table))


def _top(table: Table) -> tuple[int, int]:
    first = min(table.heading_cells, key=lambda cell: (cell.row, cell.column), default=None)
    return (first.row, first.column) if first else (table.first_row, table.left)


def _bands(sheet: Sheet, tables: Sequence[Table]) -> Iterator[tuple[dict[int, dict[int, LogCell]], list[LogCell]]]:
    """Rows that no table takes and that may be one that lies across, with the titles above."""
    rows: list[tuple[int, dict[int, LogCell]]] = []
    month = month_within(sheet.title)
    for number, row, spans in not_taken(sheet, tables):
        cells = _with_days(row, *month)
        if spans:
            cells = outside(spans, cells)
        if cells:
            rows.append((number, cells))
    own = {number for number, _ in rows}
    of_tables = sorted(number for number in sheet.rows if number not in own)
    band: dict[int, dict[int, LogCell]] = {}
    titles: list[LogCell] = []
    waiting: list[tuple[int, dict[int, LogCell]]] = []
    last = 0
    for number, cells in rows:
        dated = _is_dated(cells) or (_names_days(cells) and not (band and _is_dated(next(iter(band.values())))))
        title = len(cells) <= 2 and all(may_be_heading(cell) for cell in cells.values()) and not _is_labelled(cells)
        if title and len(cells) == 2 and min(sheet.rows.get(number + 1, cells)) < min(cells):
            title = False  # names over the columns of what lies across
        gap = number - last > 1
        if bisect(of_tables, number) > bisect(of_tables, last):
            waiting = []  # what stood above a table is no title below it
        if band and (dated or (gap and not _continues(band, cells))):
            yield band, titles
            band, titles = {}, [cell for _, row in reversed(waiting) for cell in row.values()]
            waiting = []
        if title and (gap or not band):
            if band:
                yield band, titles
                band = {}
                titles = []
            waiting.append((number, cells))
        else:
            if not band:
                titles = [cell for _, row in reversed(waiting) for cell in row.values()]
                waiting = []
            band[number] = cells
        last = number
    if band:
        yield band, titles


def _with_days(cells: dict[int, LogCell], year: int, month: int) -> dict[int, LogCell]:
    """A row in which the days of the month that a sheet is named after stand as numbers, as dates."""
    if not (year and month):
        return cells
    days = {column: cell for column, cell in cells.items() if type(cell.value) in (int, float)}
    numbers = [float(cell.value) for cell in days.values()]  # type: ignore[arg-type]  # are numbers
    if len(days) < FEWEST_DAYS or len(cells) - len(days) > LABEL_COLUMNS:
        return cells
    # One may be missing, its column is then of no day, or a blank column may stand between them.
    follow = all(later - earlier == 1 for earlier, later in pairwise(numbers))
    shifts = {number - column for column, number in zip(days, numbers, strict=True)}
    if not (follow or len(shifts) == 1) or not 1 <= numbers[0] <= numbers[-1]:
        return cells
    try:
        return cells | {
            column: cell.piece(datetime.datetime(year, month, int(day)))
            for (column, cell), day in zip(days.items(), numbers, strict=True)
        }
    except ValueError:  # the month has no such day
        return cells


def _beside_each_other(rows: Mapping[int, Mapping[int, LogCell]]) -> list[dict[int, dict[int, LogCell]]]:
    """The parts of a band that a blank column keeps apart, each with labels of its own."""
    used = sorted({column for cells in rows.values() for column in cells})
    starts = [column for before, column in pairwise(used) if column - before > 1 and _has_labels(rows, column)]
    bounds = [0, *starts, 2**31]
    parts = []
    for left, right in pairwise(bounds):
        part = {number: {c: x for c, x in cells.items() if left <= c < right} for number, cells in rows.items()}
        parts.append({number: cells for number, cells in part.items() if cells})
    return [part for part in parts if part]


def _has_labels(rows: Mapping[int, Mapping[int, LogCell]], column: int) -> bool:
    """Whether most cells of a column are texts that head something."""
    cells = [cells[column] for cells in rows.values() if column in cells]
    return sum(may_be_heading(cell) for cell in cells) * 2 > len(cells)


def _is_labelled(cells: Mapping[int, LogCell]) -> bool:
    """Whether a row is a label and a text beside it: ``Crop | basil``."""
    return len(cells) == 2 and is_known(next(iter(cells.values())).text)


_NOT_READ_ON = ROUND_FIELDS - {"round"} | {"analysis", "counted"}
"""Labels beside which stand dates of another kind, or what looks like one: ``Analysis | 17-7-21``."""


def _is_dated(cells: Mapping[int, LogCell]) -> bool:
    """Whether a row is one of dates over what was read on them."""
    dates = sum(shape_of(cell) is Shape.DATE for cell in cells.values())
    named = {claim.field.name for cell in cells.values() if is_text(cell) for claim in all_claims(cell.text)}
    return (
        dates > 0
        and ("date" in named or not named & _NOT_READ_ON)
        and dates * 2 >= len(cells)
        and all(shape_of(cell) is Shape.DATE or may_be_heading(cell) for cell in cells.values())
    )


def _is_day(cell: LogCell) -> bool:
    return isinstance(cell.value, str) and weekday_of(cell.text.strip(" .:")) is not None


def _names_days(cells: Mapping[int, LogCell]) -> bool:
    """Whether a row is one of days of the week over what was read on them, with labels before them at most."""
    days = [_is_day(cell) for cell in cells.values()]
    several = len({cell.text for cell in cells.values() if _is_day(cell)}) > 1  # sun, sun is weather
    return several and all(days[-sum(days) :]) and len(days) - sum(days) <= LABEL_COLUMNS


def _continues(band: Mapping[int, Mapping[int, LogCell]], cells: Mapping[int, LogCell]) -> bool:
    """Whether rows after a gap go on with a table of dates: a label and numbers below its dates."""
    head = next(iter(band.values()))
    if not _is_dated(head):
        return False
    dated = {column for column, cell in head.items() if shape_of(cell) is Shape.DATE}
    values = [cell for column, cell in cells.items() if column in dated]
    return not cells.keys() - dated <= set() or bool(values)


def _across(
    sheet: Sheet, rows: Mapping[int, Mapping[int, LogCell]], titles: Sequence[LogCell], names: Names,
    entries: Sequence[MapTable],
) -> list[Table]:  # fmt: skip
    """The table in some rows of a sheet whose records are columns."""
    head = next(iter(rows.values()))
    dated = _is_dated(head) or _names_days(head)
    first_date = min(c for c, cell in head.items() if shape_of(cell) is Shape.DATE or _is_day(cell)) if dated else 0
    if not dated and len(rows) > MOST_LABELS:
        return []
    finder = Finder(sheet, Grid(rows, sheet.merged, turned=True), names, entries, tuple(titles))
    grid = finder.grid
    labels = [number for number in grid.numbers if any(may_be_heading(cell) for cell in grid.rows[number].values())]
    labels = [number for number in labels if number < first_date][-LABEL_COLUMNS:] if dated else labels[:1]
    block = finder.block_across(labels, first_date, list(rows)) if labels else None
    return [finder.begin(block)] if block else []
