"""Dates and beds that stand once for several rows: carried down to the rows below, where a column does so."""

from __future__ import annotations

from collections.abc import Iterator

from .cells import LogCell
from .dates import looks_like_date
from .model import Fate, name_key
from .reader import Reader
from .tables import Layout, Record, Table

CARRIED = ("date", "bed", "treatment")
ENOUGH = 2
"""A column is carried down where at least one row in so many of those with a value follows without one; ours.

A single blank among many filled cells is a thing forgotten, and is listed.
"""


def carry_down(table: Table) -> int:
    """Give the rows of a table the date or bed above, where its column is filled in that way; counts those rows."""
    if table.layout is not Layout.ROWS:
        return 0
    rows: set[int] = set()
    for name in CARRIED:
        if name in table.headings and _is_carried(table, name):
            rows.update(_carry(table, name))
    return len(rows)


def _measures(record: Record) -> bool:
    """Whether a record holds more than names, a date and notes."""
    return any(name not in (*CARRIED, "time", "notes", "plant") for name in record.cells)


def _is_carried(table: Table, name: str) -> bool:
    if name == "date" and table.kind == "readings" and "bed" not in table.headings:
        return False  # two readings of one bed, and nothing tells that they are of one day
    lacking = sum(name not in record.cells and _measures(record) for record in table.records)
    if not lacking or not any(name in record.cells for record in table.records):
        return False
    having = sum(name in record.cells and _measures(record) for record in table.records)
    return lacking * ENOUGH >= having


def _carry(table: Table, name: str) -> Iterator[int]:
    above: LogCell | None = None
    beds: set[str] = set()
    kept: list[Record] = []
    for record in table.records:
        bed = record.cells.get("bed")
        key = name_key(bed.text) if bed else ""
        cell = record.cells.get(name)
        if cell is not None:
            # After a text where a date should be, what follows may be of any day.
            above = cell if name != "date" or looks_like_date(cell.value) or _measures(record) else None
            beds = {key} if _measures(record) else set()
        elif (
            above is not None
            and cell is None
            and _measures(record)
            # A second reading of the same bed under a date may be of another day.
            and (name != "date" or table.kind != "readings" or (bed is not None and key not in beds))
        ):
            record.cells[name] = above
            beds.add(key)
            if kept and _only(kept[-1], name, above):
                kept.pop()
            yield record.number
        kept.append(record)
    table.records[:] = kept


def _only(record: Record, name: str, cell: LogCell) -> bool:
    """Whether a record is nothing but the cell that is carried down."""
    return record.cells == {name: cell} and not record.others


def take_sections(table: Table, reader: Reader) -> int:
    """Rows that hold nothing but the name of a listed bed name it for the rows below; counts those rows."""
    if table.layout is not Layout.ROWS or "bed" in table.headings or not reader.beds_listed:
        return 0
    kept: list[Record] = []
    bed: LogCell | None = None
    sections = 0
    for record in table.records:
        cells = [*record.cells.values(), *record.others]
        if len(cells) == 1 and isinstance(cells[0].value, str) and reader.bed(cells[0].text):
            bed = cells[0]
            sections += 1
            bed.settle(Fate.HEADING)
            continue
        if bed is not None:
            record.cells["bed"] = bed
        kept.append(record)
    table.records[:] = kept
    return sections
