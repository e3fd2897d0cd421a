"""Whose readings a table holds where no column, heading or listed name says it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from ..columns.column import Column
from ..inputs.log_cells import LogCell
from ..mapping import Layout
from ..model.entries import name_key
from ..vocabulary.names import is_bed_word, is_generic, looks_like_bed, may_be_name
from ..vocabulary.shapes import Shape
from ..vocabulary.words import MEASURED, claims
from .grids import Table

REPEATED = 4
"""Where one reading in so many has the day of another, the readings are of several beds; ours."""
Moment = tuple[Any, ...]


def is_nameless(table: Table) -> bool:
    """Whether nothing names the bed of a table of readings."""
    return _heads_no_bed(table) and not table.context.bed


def _heads_no_bed(table: Table) -> bool:
    return (
        table.kind == "readings"
        and not table.settings.bed
        and not any(column.field and (column.bed or column.field.name == "bed") for column in table.columns)
    )


def _is_named(table: Table) -> bool:
    """Whether a table of readings names its beds itself: in a column, in its headings or above it."""
    itself = not _heads_no_bed(table) or table.context.bed not in ("", table.sheet.title)
    return table.kind == "readings" and itself


def _is_by_sheet(table: Table) -> bool:
    """Whether only the name of its sheet, which does not look like that of a bed, names the bed of a table."""
    bed = table.context.bed
    return _heads_no_bed(table) and bool(bed) and bed == table.sheet.title and not looks_like_bed(bed)


def name_by_titles(tables: Sequence[Table]) -> None:
    """Name the beds of tables of the same days on one sheet after the texts above them, where each has its own."""
    by_sheet: dict[str, list[Table]] = {}
    for table in tables:
        if (is_nameless(table) or _is_by_sheet(table)) and table.layout in (Layout.ROWS, Layout.DATES_ACROSS):
            by_sheet.setdefault(table.sheet.title, []).append(table)
    for alike in by_sheet.values():
        titles = [_title(table) for table in alike]
        named = {name_key(name) for name in titles if name}
        if len(alike) > 1 and len(named) == len(alike) and _share_days(alike):
            for table, name in zip(alike, titles, strict=True):
                table.context = replace(table.context, bed=name)


def _title(table: Table) -> str:
    """The name in or over the corner of the dates, where it is no word for a date, else in the text nearest above."""
    date = next((column for column in table.columns if column.field and column.field.name == "date"), None)
    over = date.cells if date else ()
    if date and any(is_bed_word(cell.text.strip(" :#.")) for cell in over):  # Bed: | North
        beside = next((column for column in table.columns if column.place == date.place + 1), None)
        over = beside.cells[1:] if beside else ()
    near = next((cell for cell in table.context.titles if isinstance(cell.value, str)), None)
    return next((name for cell in (*over, near) if cell is not None and (name := _name_in(cell))), "")


def _name_in(cell: LogCell) -> str:
    """The name of a bed that a text gives, without what says nothing: ``Kale readings`` gives Kale."""
    words = cell.text.strip(" :").split()
    while (
        len(words) > 1
        and not looks_like_bed(" ".join(words))
        and is_generic(words[-1])
        and not is_bed_word(words[-1].casefold())
    ):
        words = words[:-1]
    name = " ".join(words)
    return name if may_be_name(replace(cell, value=name)) else ""


def of_several_beds(tables: Sequence[Table]) -> set[int]:
    """The identities of the tables of which nothing names the bed and which are not surely all of one.

    They may be of one where they stand on one sheet, no day comes again, and no other table names beds.
    """
    named = {table.sheet.title for table in tables if _is_named(table)}
    nameless = [table for table in tables if is_nameless(table)]
    several = {id(table) for table in nameless} if named or _are_several(nameless) else set()
    several |= {id(table) for table in tables if _names_some(table)}
    by_sheet: dict[str, list[Table]] = {}
    for table in tables:
        if _is_by_sheet(table):
            by_sheet.setdefault(table.sheet.title, []).append(table)
    for title, alike in by_sheet.items():
        if title in named or _share_days(alike) or any(map(_has_another, alike)):
            several |= {id(table) for table in alike}
    return several


def _has_another(table: Table) -> bool:
    return any(map(_is_of_another, table.columns))


def _names_some(table: Table) -> bool:
    """Whether the headings of a table of readings name the beds of some measures only."""
    measured = [column for column in table.columns if column.field and column.field.name in MEASURED]
    has_column = any(column.field and column.field.name == "bed" for column in table.columns)
    return table.kind == "readings" and not has_column and len({bool(column.bed) for column in measured}) > 1


def _are_several(nameless: Sequence[Table]) -> bool:
    titles = {name_key(title) for table in nameless if (title := _title(table))}
    if len({table.sheet.title for table in nameless}) > 1 or len(titles) > 1 or _share_days(nameless):
        return True
    for table in nameless:
        # Rows under the one day above them are of a bed each.
        moments = Counter(moment for moment in _moments(table) if moment[1] is not None or table.context.has_date)
        total = moments.total()
        if (total - len(moments)) * REPEATED > total or _has_another(table):
            return True
    return False


def _is_of_another(column: Column) -> bool:
    """Whether a column that is not used may hold what was read of another bed: numbers of a measure, or unheaded."""
    if column.field is not None or column.other or not column.is_mostly(Shape.NUMBER):
        return False
    return not column.lowest or any(claim.field.name in MEASURED for claim in claims(column.lowest, "readings"))


def _share_days(tables: Sequence[Table]) -> bool:
    """Whether a measure was read on one day in two of the tables."""
    seen: set[Moment] = set()
    for table in tables:
        own = {moment for moment in _moments(table) if moment[1] is not None}
        if own & seen:
            return True
        seen |= own
    return False


def _moments(table: Table) -> Iterator[Moment]:
    """For each reading of a table what was measured, the day and the time, as they stand in the cells."""
    fields = {column.place: column.field.name for column in table.columns if column.field}
    for _, row in table.rows():
        values = {fields[place]: cell.value for place, cell in row.items() if place in fields}
        for measure in values.keys() & MEASURED:
            yield measure, values.get("date"), values.get("time")
