"""Leads through the rooms: tables found, records read one by one, and every cell that was not read accounted for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from ..gate import FileProblem, Progress
from ..recalculation.cells import read_place
from .columns.column import OTHER, ROUND_FIELDS, SIZES, Column
from .inputs.log_cells import FATE_RANKS, PROGRESS_STEP, Sheet, cut
from .mapping import IGNORE, Layout, LogMap
from .model.found import CellNote, Certainty, ColumnFound, Fate, TableFound
from .model.log import GrowLog
from .model.rounds import assign, assign_cut, numbered
from .records.builder import Builder
from .records.dates import settle_dates
from .records.events import read_fill, read_harvest, read_reading, read_weight
from .records.leftovers import leave_the_rest
from .records.plans import drop_reversed_bands, read_bed, read_feed
from .records.split import Record
from .records.table_reader import TableReader
from .tables.across import find_tables
from .tables.grids import Table
from .tables.labels import Pair, described_beds
from .tables.nameless import name_by_titles, of_several_beds
from .tables.statements import meter_scale, stated_units
from .vocabulary.names import Names
from .vocabulary.shapes import Shape, looks_like_data, shape_of
from .vocabulary.words import MEASURED

READERS: dict[str, Callable[[TableReader, Record], Fate]] = {
    "beds": read_bed,
    "feeds": read_feed,
    "fills": read_fill,
    "readings": read_reading,
    "weights": read_weight,
    "harvests": read_harvest,
}
"""How a record of each kind of table is read, in the order in which they are."""


def read_tables(
    sheets: list[Sheet], path: Path, log_map: LogMap | None = None, progress: Progress | None = None
) -> GrowLog:  # fmt: skip
    """Read the sheets of a log: beds and feeds first, since readings are read against the beds listed."""
    log_map = log_map or LogMap()
    _check_sheets(log_map, sheets)
    names = Names(_listed(sheets, log_map), log_map.beds)
    found = {sheet.title: find_tables(sheet, names, log_map.on(sheet.title)) for sheet in sheets}
    _check_tables(log_map, found)
    name_by_titles([table for of_sheet in found.values() for table in of_sheet])
    pairs = {sheet.title: _described(sheet, found[sheet.title], names, log_map) for sheet in sheets}
    meter, scale_cells = meter_scale(sheets)
    tables = [table for sheet in sheets for table in (*found[sheet.title], *(table for table, _ in pairs[sheet.title]))]
    builder = Builder(log_map, names, log_map.meter or meter, _written(tables))
    builder.of_several = of_several_beds(tables)
    builder.stated = stated_units((sheet, found[sheet.title]) for sheet in sheets)
    readers = {
        id(table): TableReader(builder, table) for table in tables if table.kind in READERS and not table.problem
    }
    settle_dates([reader.dates for reader in readers.values()], sheets, path)
    told: list[TableFound] = []
    for kind in (*READERS, OTHER, IGNORE):
        for table in tables:
            if table.kind == kind:
                told.append(_read(builder, table, readers.get(id(table)), progress))
    for cell in scale_cells:
        if cell.fate is None:
            cell.settle(Fate.READ)
    drop_reversed_bands(builder, {sheet.title: sheet for sheet in sheets})
    rounds = numbered(builder.rounds, list(builder.beds.values()))
    assign(rounds, builder.readings, builder.fills)
    assign_cut(rounds, builder.weights, builder.harvests)
    areas: list[CellNote] = []
    title = leave_the_rest(builder, sheets, found, areas)
    order = {sheet.title: place for place, sheet in enumerate(sheets)}
    counts = {sheet.title: _counted(sheet) for sheet in sheets}
    left_out = [*builder.left_out(), *areas]
    return GrowLog(
        path=path,
        title=title,
        beds=tuple(builder.beds.values()),
        feeds=tuple(builder.feeds.values()),
        readings=tuple(builder.readings),
        weights=tuple(builder.weights),
        tables=tuple(sorted(told, key=lambda table: (order[table.sheet], table.heading_row))),
        left_out=tuple(sorted(left_out, key=lambda left: (order[left.sheet], *_first_place(left.cell)))),
        units=dict(builder.units),
        money=builder.money,
        rows={title: rows for title, (rows, _) in counts.items()},
        cells={title: cells for title, (_, cells) in counts.items()},
        rounds=tuple(rounds),
        harvests=tuple(builder.harvests),
        fills=tuple(builder.fills),
        doubts=tuple(builder.doubts),
    )


def _check_sheets(log_map: LogMap, sheets: Sequence[Sheet]) -> None:
    """Raise FileProblem where a mapping file names a sheet that the log does not have."""
    for entry in log_map.tables:
        if not any(entry.is_on(sheet.title) for sheet in sheets):
            there = ", ".join(f'"{sheet.title}"' for sheet in sheets)
            raise FileProblem(
                f'{log_map.path} speaks of the sheet "{entry.sheet}", which the log does not have: it has {there}'
            )


def _check_tables(log_map: LogMap, found: Mapping[str, Sequence[Table]]) -> None:
    """Raise FileProblem where a mapping file names columns that stand together on no row of the sheet."""
    for entry in log_map.tables:
        if not entry.columns:
            continue
        tables = [table for title, of in found.items() if entry.is_on(title) for table in of]
        if any(table.entry is entry for table in tables):
            continue
        there = "; ".join(", ".join(f'"{column.heading}"' for column in table.columns) for table in tables)
        wanted = ", ".join(f'"{column.heading}"' for column in entry.columns)
        under = f' under "{entry.title}"' if entry.title else ""
        raise FileProblem(
            f'{log_map.path} speaks of a table with the columns {wanted}{under}, which the sheet "{entry.sheet}" does '
            f"not have: " + (f"its tables have {there}" if there else "no table is known on it")
        )


def _listed(sheets: Sequence[Sheet], log_map: LogMap) -> list[str]:
    """The names in tables of beds, and of the beds that a table or labels and values describe alone."""
    nobody = Names((), log_map.beds)
    found: list[str] = []
    for sheet in sheets:
        listed: list[str] = []
        alone: list[str] = []
        tables = find_tables(sheet, nobody, log_map.on(sheet.title))
        for table in tables:
            if table.kind == "beds":
                place = next(
                    (column.place for column in table.columns if column.field and column.field.name == "bed"), None
                )
                if place is None:
                    if not _is_of_unnamed(table):
                        alone.append(table.settings.bed or table.context.bed)
                    continue
                reader = TableReader(Builder(log_map, nobody), table)
                listed += [
                    record.cells["bed"].text
                    for record in reader.records
                    if "bed" in record.cells and shape_of(record.cells["bed"]) is not Shape.ERROR
                ]
        for table, block in _described(sheet, tables, nobody, log_map):
            named = next((pair.value.text for pair in block if pair.claim.field.name == "bed"), table.context.bed)
            alone.append(named)
        # A sheet that lists beds is not named after one: what stands beside its list without a bed is part of it.
        found += [*listed, *(name for name in alone if not listed or name != sheet.title)]
    return [name for name in dict.fromkeys(found) if name]


def _is_of_unnamed(table: Table) -> bool:
    """Whether only its sheet names the bed of a table of several rows that are no plantings."""
    fields = {column.field.name for column in table.columns if column.field}
    by_sheet = not table.settings.bed and table.context.bed == table.sheet.title
    return by_sheet and not fields & ROUND_FIELDS and sum(1 for _ in table.rows()) > 1


def _described(sheet: Sheet, tables: Sequence[Table], names: Names, log_map: LogMap) -> list[tuple[Table, list[Pair]]]:
    if any(entry.kind == IGNORE and not entry.columns for entry in log_map.on(sheet.title)):
        return []
    return described_beds(sheet, tables, names)


def _written(tables: Iterable[Table]) -> dict[str, Counter[str]]:
    """By quantity, the units that headings write."""
    found: dict[str, Counter[str]] = {}
    for table in tables:
        for column in table.columns:
            if column.field is not None and column.unit is not None and not column.unit.asks and column.unit.name:
                quantity = column.field.quantity
                if quantity in ("length", "volume"):
                    found.setdefault(quantity, Counter())[column.unit.name] += 1
    return found


def _read(builder: Builder, table: Table, reader: TableReader | None, progress: Progress | None) -> TableFound:
    counts: Counter[Fate] = Counter()
    carried = 0
    if table.problem:
        for cell in table.heading_cells:
            cell.settle(Fate.HEADING)
        for _, row in table.rows():
            for cell in row.values():
                builder.leave(cell, Fate.UNREADABLE if looks_like_data(cell) else Fate.IGNORED, table.problem)
    elif reader is None:
        told = "the mapping file says to ignore it" if table.kind == IGNORE else "a table of what is not used here"
        for cell in table.heading_cells:
            cell.settle(Fate.IGNORED)
        for _, row in table.rows():
            for cell in row.values():
                builder.leave(cell, Fate.IGNORED, told)
    else:
        what = f"understanding {table.sheet.title}"
        counts = reader.read(
            READERS[table.kind], (lambda done, total: progress(what, done, total)) if progress else None, PROGRESS_STEP
        )
        carried = reader.split.carried
        _leave_columns(builder, reader)
    return _found(table, reader, counts, carried)


def _leave_columns(builder: Builder, reader: TableReader) -> None:
    """Note what stands in the columns of a table that are not used."""
    table = reader.table
    columns = {column.place: column for column in table.columns}
    for record in reader.records:
        for cell in record.others:
            column = columns.get(table.grid.place(cell)[1])
            head = cut(column.heading) if column else ""
            if column is not None and column.other:
                said = "the mapping file says to ignore it" if column.settled else f'"{head}" is not used here'
                builder.leave(cell, Fate.IGNORED, said)
            elif column is not None and column.why and (cell.row, cell.column) not in table.sheet.computed:
                reader.leave_unused(cell, f'the heading "{head}" is not used: {column.why}')
            else:
                reader.leave_unused(cell, f'the heading "{head}" is not known' if head else "its column has no heading")


def _found(table: Table, reader: TableReader | None, counts: Counter[Fate], carried: int) -> TableFound:
    across = table.layout in (Layout.BEDS_ACROSS, Layout.DATES_ACROSS)
    dates = reader.dates.columns if reader else {}
    date = dates.get("date") or next(iter(dates.values()), None)
    measured = {column.field.name for column in table.columns if column.field and column.field.name in MEASURED}
    named = [column for column in table.columns if column.bed]
    own = {claim.field.name for claim in [table.context.measured()] if claim} if across else set()
    decimals = any(how.column.decimals == "comma" for how in reader.numbers.values()) if reader else False
    rounds = {column.field.name for column in table.columns if column.field} & ROUND_FIELDS
    sizes = {column.field.name for column in table.columns if column.field} & (SIZES | {"ph_low", "ec_low", "dose"})
    return TableFound(
        kind="plantings" if table.kind == "beds" and len(rounds) > 1 and not sizes else table.kind,
        sheet=table.sheet.title,
        heading_row=table.heading_row,
        columns=tuple(_column_found(column, reader) for column in table.columns),
        rows=dict(counts),
        date_order=str(date.order) if date else "",
        layout=table.layout.value,
        title=table.title if across or table.layout is Layout.COLUMNS else "",
        measured=next(iter(measured)) if across and len(measured) == 1 and named and measured == own else "",
        decimals="comma" if decimals else "",
        carried=carried,
        records=counts[Fate.READ],
        problem=table.problem,
    )


_WHY = {
    "values": "no unit is written; its numbers look like {unit}",
    "usual": "no unit is written; {unit} is usual",
    "stated": "a text of the log says {unit}",
}


def _column_found(column: Column, reader: TableReader | None) -> ColumnFound:
    cell = column.cell
    known = column.field
    if known is None and column.units_of:
        return ColumnFound(cell.name, column.heading, "unit", bed=column.bed)
    if known is None:
        return ColumnFound(cell.name, column.heading, None, why=column.why, other=column.other)
    how = reader.numbers.get(id(column)) if reader else None
    unit, unit_from = (how.column.unit.label, how.column.unit_from) if how else ("", "")
    certainty, why = Certainty.SURE, ""
    if how is not None and how.column.unit.asks:
        certainty, why = Certainty.GUESSED, how.column.unit.asks
        unit = "" if unit_from in _WHY else unit
    elif reader and any(other.units_of == known.name for other in reader.table.columns):
        unit, unit_from = "", "cells"
    elif unit_from in _WHY and not column.settled:
        certainty, why = Certainty.GUESSED, _WHY[unit_from].format(unit=unit)
    elif not column.exact:
        certainty, why = Certainty.LIKELY, "the heading is spelled in another way"
    if known.quantity == "date" and reader is not None and (of := reader.dates.columns.get(known.name)):
        if of.order_needed:
            certainty, why = Certainty.GUESSED, "nothing in the column tells the day from the month"
        elif of.why:
            certainty, why = Certainty.LIKELY, of.why
    return ColumnFound(cell.name, column.heading, known.name, unit, unit_from, certainty, why, column.bed)


def _first_place(cells: str) -> tuple[int, int]:
    return read_place(cells.partition(":")[0])


def _counted(sheet: Sheet) -> tuple[Counter[Fate], Counter[Fate]]:
    """The filled rows of a sheet by what became of them, the best of their cells, and its filled cells."""
    rows: Counter[Fate] = Counter()
    cells: Counter[Fate] = Counter()
    for row in sheet.rows.values():
        fates = [cell.fate for cell in row.values() if cell.fate is not None]
        assert len(fates) == len(row), "every cell is settled by now"
        # Nearly all rows are of one fate; to count is quicker than to hash each.
        kinds = {fates[0]} if fates.count(fates[0]) == len(fates) else set(fates)
        rows[max(kinds, key=FATE_RANKS.__getitem__)] += 1
        for fate in kinds:
            cells[fate] += fates.count(fate)
    return rows, cells
