"""Reading a grow log: tables found, rows read one by one, and every row that was not read accounted for."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple

from growcells.errors import GrowError
from growcells.kinds import Quantity

from .columns import Column, NotMeasured, Row, columns_of
from .grid import LogCell, Sheet
from .model import Bed, ColumnFound, Doubt, Fate, Feed, GrowLog, LeftOut, Reading, TableFound, Weight, name_key
from .plausible import doubt_of
from .tables import Table, find_tables
from .words import NEEDED

TOTALS = frozenset({"total", "totals", "sum", "average", "mean", "avg", "subtotal", "grand total"})
DEAD = frozenset({"dead", "died", "lost"})
"""What people write in place of a weight for a plant that died; common practice, no source."""

BED_NUMBERS = (
    *("plants", "length", "width", "depth", "lowest", "volume", "rate", "dose", "n_ppm"),
    *("ph_low", "ph_high", "ec_low", "ec_high", "temp_low", "temp_high", "water_ec"),
)
FEED_NUMBERS = ("package", "price", "rate", "on_hand", "use", "lead", "scale")
READING_NUMBERS = ("ph", "ec", "temperature", "water_added", "feed_added", "depth")
PLAIN_MONEY = "#,##0.00"
LONGEST_TITLE = 80


class Ignore(Exception):
    """Why a row is ignored; ``cell`` is the cell that says so, ``problem`` whether something was lost by it."""

    def __init__(self, reason: str, cell: LogCell, problem: bool = False) -> None:
        super().__init__(reason)
        self.cell = cell
        self.problem = problem


@dataclass
class Reader:
    """What has been read so far."""

    beds: dict[str, Bed] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    weights: list[Weight] = field(default_factory=list)
    tables: list[TableFound] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    units: dict[str, str] = field(default_factory=dict)
    money: str = PLAIN_MONEY
    fates: dict[tuple[str, int], Fate] = field(default_factory=dict)
    beds_listed: bool = False

    def leave(self, cell: LogCell, fate: Fate, reason: str, problem: bool = False) -> None:
        """Note a cell that is not used."""
        problem = problem or fate is Fate.UNREADABLE
        self.left_out.append(LeftOut(cell.sheet, cell.name, cell.text, fate, reason, problem))

    def settle(self, sheet: str, row: int, fate: Fate) -> None:
        """Note what became of a row; the best of several tables side by side counts."""
        rank = (Fate.READ, Fate.UNREADABLE, Fate.HEADING, Fate.IGNORED)
        known = self.fates.get((sheet, row))
        if known is None or rank.index(fate) < rank.index(known):
            self.fates[sheet, row] = fate


def read_tables(sheets: list[Sheet], path: Path) -> GrowLog:
    """Read the sheets of a log: beds and feeds first, since readings are read against the beds listed."""
    reader = Reader()
    tables = [table for sheet in sheets for table in find_tables(sheet)]
    for kind in ("beds", "feeds", "readings", "weights"):
        for table in tables:
            if table.match.table == kind:
                _read_table(reader, table)
        if kind == "beds":
            reader.beds_listed = bool(reader.beds)
    title = _leave_the_rest(reader, sheets, tables)
    order = {sheet.title: place for place, sheet in enumerate(sheets)}
    return GrowLog(
        path=path,
        title=title,
        beds=tuple(reader.beds.values()),
        feeds=tuple(reader.feeds.values()),
        readings=tuple(reader.readings),
        weights=tuple(reader.weights),
        tables=tuple(sorted(reader.tables, key=lambda table: (order[table.sheet], table.heading_row))),
        left_out=tuple(sorted(reader.left_out, key=lambda left: (order[left.sheet], *_place(left.cell)))),
        units=dict(reader.units),
        money=reader.money,
        rows=_rows_by_fate(reader, sheets),
        doubts=tuple(reader.doubts),
    )


def _place(cell: str) -> tuple[int, int]:
    return coordinate_to_tuple(cell.split(":")[0])


def _rows_by_fate(reader: Reader, sheets: list[Sheet]) -> dict[str, Counter[Fate]]:
    rows: dict[str, Counter[Fate]] = {sheet.title: Counter() for sheet in sheets}
    for (sheet, _), fate in reader.fates.items():
        rows[sheet][fate] += 1
    return rows


def _read_table(reader: Reader, table: Table) -> None:
    columns = columns_of(table)
    for column in columns.values():
        if isinstance(column.field.kind, Quantity):
            reader.units.setdefault(column.key, column.unit)
    by_field = {column.field.name: column for column in columns.values()}
    places = {column.field.name: place for place, column in columns.items()}
    read_row = _ROW_READERS[table.match.table]
    counts: Counter[Fate] = Counter()
    reader.settle(table.sheet.title, table.heading_row, Fate.HEADING)
    for number, cells in table.rows.items():
        row = Row(number, {name: cells[place] for name, place in places.items() if place in cells}, by_field)
        fate = _settle_row(reader, table, row, cells, read_row)
        counts[fate] += 1
        reader.settle(table.sheet.title, number, fate)
    order = next((str(column.order) for column in columns.values() if column.field.name == "date"), "")
    found = tuple(_found(cell, columns.get(place)) for place, cell in sorted(table.headings.items()))
    reader.tables.append(
        TableFound(table.match.table, table.sheet.title, table.heading_row, found, dict(counts), order)
    )


def _found(heading: LogCell, column: Column | None) -> ColumnFound:
    if column is None:
        return ColumnFound(heading.name, heading.text, None)
    certainty, why = column.certainty
    return ColumnFound(heading.name, heading.text, column.field.name, column.unit, column.unit_from, certainty, why)


def _settle_row(
    reader: Reader,
    table: Table,
    row: Row,
    cells: dict[int, LogCell],
    read_row: Callable[[Reader, Table, Row], Fate],
) -> Fate:
    try:
        _check_is_row(table, row, cells)
        return read_row(reader, table, row)
    except Ignore as reason:
        reader.leave(reason.cell, Fate.IGNORED, str(reason), reason.problem)
        return Fate.IGNORED


def _check_is_row(table: Table, row: Row, cells: dict[int, LogCell]) -> None:
    """Raise Ignore for rows that stand in a table and are not of it: totals, notes."""
    first = cells[min(cells)]
    for cell in cells.values():
        if isinstance(cell.value, str) and cell.text.casefold().rstrip(":") in TOTALS:
            raise Ignore("a row of totals", cell)
    if len(cells) == 1 and isinstance(first.value, str):
        raise Ignore("a note beside the table, not a row of it", first)
    if not row.cells:
        raise Ignore("stands only in columns that are not used", first)


def _number(reader: Reader, row: Row, name: str) -> tuple[float | None, bool]:
    """The number in a field, and whether there was one that could not be read."""
    cell = row.cells.get(name)
    if cell is None:
        return None, False
    column = row.columns[name]
    try:
        unit = reader.units.get(column.key, "")
        number = column.number(cell, unit)
        doubt = doubt_of(column.field, number, unit)
        if doubt:
            reader.doubts.append(Doubt(cell.sheet, cell.name, cell.text, doubt))
        return number, False
    except NotMeasured as reason:
        reader.leave(cell, Fate.IGNORED, str(reason))
        return None, False
    except GrowError as problem:
        reader.leave(cell, Fate.UNREADABLE, str(problem))
        return None, True


def _numbers(reader: Reader, row: Row, names: Iterable[str]) -> tuple[dict[str, float | None], set[str]]:
    """The numbers in several fields, and the fields that could not be read."""
    values: dict[str, float | None] = {}
    failed = set()
    for name in names:
        values[name], bad = _number(reader, row, name)
        if bad:
            failed.add(name)
    return values, failed


def _text(reader: Reader, row: Row, name: str) -> str:
    try:
        return row.text(name)
    except GrowError as problem:
        reader.leave(row.cells[name], Fate.UNREADABLE, str(problem))
        return ""


def _date(reader: Reader, table: Table, row: Row, name: str) -> tuple[datetime.date | None, bool]:
    try:
        day = row.date(name, table)
    except NotMeasured as reason:
        reader.leave(row.cells[name], Fate.IGNORED, str(reason))
        return None, False
    except GrowError as problem:
        reader.leave(row.cells[name], Fate.UNREADABLE, str(problem))
        return None, True
    assert day is None or isinstance(day, datetime.date)
    return day, False


def _named(row: Row, name: str, what: str) -> str:
    text = row.text(name) if name in row.cells else ""
    if not text:
        raise Ignore(f"no {what} is named in this row", next(iter(row.cells.values())), problem=True)
    return text


def _merge(known: Bed | Feed, values: dict[str, object], row: Row, sheet: str) -> None:
    """Fill the fields that are still empty; what an earlier table says stays."""
    for name, value in values.items():
        if value not in (None, "") and getattr(known, name) in (None, ""):
            setattr(known, name, value)
            known.cells[name] = f"{sheet}!{row.cells[name].name}"


def _read_bed(reader: Reader, table: Table, row: Row) -> Fate:
    name = _named(row, "bed", "bed")
    numbers, failed = _numbers(reader, row, BED_NUMBERS)
    planted, _ = _date(reader, table, row, "planted")
    texts = {field: _text(reader, row, field) for field in ("crop", "feed", "shape", "notes")}
    bed = reader.beds.setdefault(name_key(name), Bed(name))
    _merge(bed, {**texts, **numbers, "planted": planted}, row, table.sheet.title)
    bed.failed |= failed
    return Fate.READ


def _read_feed(reader: Reader, table: Table, row: Row) -> Fate:
    name = _named(row, "feed", "feed")
    numbers, _ = _numbers(reader, row, FEED_NUMBERS)
    counted, _ = _date(reader, table, row, "counted")
    texts = {field: _text(reader, row, field) for field in ("product", "analysis", "notes")}
    feed = reader.feeds.setdefault(name_key(name), Feed(name))
    _merge(feed, {**texts, **numbers, "counted": counted}, row, table.sheet.title)
    if "price" in row.cells and reader.money == PLAIN_MONEY and row.cells["price"].number_format != "General":
        reader.money = row.cells["price"].number_format
    return Fate.READ


def _read_reading(reader: Reader, table: Table, row: Row) -> Fate:
    if "date" not in row.cells:
        raise Ignore("no date in this row", next(iter(row.cells.values())), problem=True)
    bed = _bed_name(reader, table, row)
    day, _ = _date(reader, table, row, "date")
    numbers, _ = _numbers(reader, row, READING_NUMBERS)
    notes = _text(reader, row, "notes")
    if day is None:
        return Fate.UNREADABLE
    if not notes and all(value is None for value in numbers.values()):
        if any(name in row.cells for name in READING_NUMBERS):
            return Fate.UNREADABLE
        raise Ignore("a date with no reading and no note", row.cells["date"])
    reader.readings.append(Reading(bed, day, **numbers, notes=notes, sheet=table.sheet.title, row=row.number))
    return Fate.READ


def _bed_name(reader: Reader, table: Table, row: Row) -> str:
    """The bed of a reading or weight, as the list of beds spells it; a sheet without a bed column is one bed's.

    Raises Ignore where the bed is not listed.
    """
    if "bed" in row.columns:
        name, cell = _named(row, "bed", "bed"), row.cells["bed"]
    elif len(reader.beds) == 1 and reader.beds_listed:
        return next(iter(reader.beds.values())).name
    else:
        name, cell = table.sheet.title, next(iter(row.cells.values()))
    key = name_key(name)
    if key not in reader.beds:
        if reader.beds_listed:
            raise Ignore(f'"{name}" is not in the list of beds', cell, problem=True)
        reader.beds[key] = Bed(name)
    return reader.beds[key].name


def _read_weight(reader: Reader, table: Table, row: Row) -> Fate:
    bed = _bed_name(reader, table, row) if "bed" in row.columns else ""
    treatment, plant, notes = (_text(reader, row, name) for name in ("treatment", "plant", "notes"))
    day, bad_date = _date(reader, table, row, "date")
    cell = row.cells.get("mass")
    if cell is None:
        raise Ignore("no weight in this row", next(iter(row.cells.values())))
    dead = cell.text.casefold() in DEAD
    mass, failed = (None, False) if dead else _number(reader, row, "mass")
    if failed or bad_date:
        return Fate.UNREADABLE
    if mass is None and not dead:
        return Fate.IGNORED
    where = {"sheet": table.sheet.title, "row": row.number}
    reader.weights.append(Weight(bed, treatment, plant, mass, dead, day, notes, **where))  # type: ignore[arg-type]
    return Fate.READ


_ROW_READERS: dict[str, Callable[[Reader, Table, Row], Fate]] = {
    "beds": _read_bed,
    "feeds": _read_feed,
    "readings": _read_reading,
    "weights": _read_weight,
}
assert _ROW_READERS.keys() == NEEDED.keys()


def _leave_the_rest(reader: Reader, sheets: list[Sheet], tables: list[Table]) -> str:
    """Note every cell outside the tables; gives the title of the log, a text above the first table."""
    inside = {
        (cell.sheet, cell.row, cell.column)
        for table in tables
        for cells in (table.headings, *table.rows.values())
        for cell in cells.values()
    }
    titles: list[str] = []
    first_sheet = next((table.sheet for table in tables), None)
    for sheet in sheets:
        starts = [table.heading_row for table in tables if table.sheet is sheet]
        for number, cells in sheet.rows.items():
            outside = [cell for cell in cells.values() if (cell.sheet, cell.row, cell.column) not in inside]
            for cell in outside if starts else ():
                above = number < min(starts)
                reader.leave(cell, Fate.IGNORED, "a title above a table" if above else "stands beside the tables")
                if above and sheet is first_sheet and _is_title(cell):
                    titles.append(cell.text)
            if outside:
                reader.settle(sheet.title, number, Fate.IGNORED)
        if sheet.rows and not starts:
            reader.left_out.append(_whole_sheet(sheet))
    return titles[0] if titles else ""


def _is_title(cell: LogCell) -> bool:
    """Whether a text above a table says more than its sheet's name and less than an instruction."""
    text = cell.text
    return isinstance(cell.value, str) and name_key(text) != name_key(cell.sheet) and len(text) <= LONGEST_TITLE


def _whole_sheet(sheet: Sheet) -> LeftOut:
    """One entry for a sheet without a table, which may be a guide of many pages."""
    cells = [cell for row in sheet.rows.values() for cell in row.values()]
    first = f"{get_column_letter(min(cell.column for cell in cells))}{min(cell.row for cell in cells)}"
    last = f"{get_column_letter(max(cell.column for cell in cells))}{max(cell.row for cell in cells)}"
    area = first if first == last else f"{first}:{last}"
    content = cells[0].text if len(cells) == 1 else f"{len(cells)} filled cells"
    return LeftOut(sheet.title, area, content, Fate.IGNORED, "no table is known on this sheet")
