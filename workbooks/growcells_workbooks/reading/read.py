"""Reading a grow log: tables found, records read one by one, and every cell that was not read accounted for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple

from growcells.cells.kinds import Quantity

from ..gate import Progress
from .carrying import carry_down, take_sections
from .cells import FATE_RANKS, LogCell
from .columns import Column, columns_of
from .dates import Order
from .finding import find_tables
from .grid import PROGRESS_STEP, Sheet
from .headings import titles_above
from .mapping import IGNORE, LogMap
from .model import ColumnFound, Fate, GrowLog, LeftOut, TableFound, name_key
from .reader import Reader
from .rows import READERS, TableReader, read_record
from .tables import Layout, Table
from .words import MEASURED, NEEDED

LONGEST_TITLE = 80
"""Characters beyond which a text above a table is no title; ours."""
LISTED_SINGLY = 4
"""Cells of a column outside all tables that are listed one by one; more are listed as an area."""

assert READERS.keys() == NEEDED.keys()


def read_tables(
    sheets: list[Sheet], path: Path, log_map: LogMap | None = None, progress: Progress | None = None
) -> GrowLog:  # fmt: skip
    """Read the sheets of a log: beds and feeds first, since readings are read against the beds listed."""
    reader = Reader(log_map or LogMap())
    tables = find_tables(sheets, reader.log_map)
    for kind in READERS:
        for table in tables:
            if table.kind == kind:
                _read_table(reader, table, tables, progress)
        if kind == "beds":
            reader.beds_listed = bool(reader.beds)
    title = _leave_the_rest(reader, sheets, tables)
    order = {sheet.title: place for place, sheet in enumerate(sheets)}
    counts = {sheet.title: _counted(sheet) for sheet in sheets}
    left_out = sorted(reader.left_out.values(), key=lambda left: (order[left.sheet], *_place(left.cell)))
    return GrowLog(
        path=path,
        title=title,
        beds=tuple(reader.beds.values()),
        feeds=tuple(reader.feeds.values()),
        readings=tuple(reader.readings),
        weights=tuple(reader.weights),
        tables=tuple(sorted(reader.tables, key=lambda table: (order[table.sheet], table.heading_row))),
        left_out=tuple(left_out),
        units=dict(reader.units),
        money=reader.money,
        rows={title: rows for title, (rows, _) in counts.items()},
        cells={title: cells for title, (_, cells) in counts.items()},
        doubts=tuple(reader.doubts),
    )


def _place(cell: str) -> tuple[int, int]:
    return coordinate_to_tuple(cell.split(":")[0])


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


def _read_table(reader: Reader, table: Table, tables: Sequence[Table], progress: Progress | None) -> None:
    for cell in table.heading_cells:
        cell.settle(Fate.HEADING)
    for cell in table.unread:
        reader.leave(cell, Fate.UNREADABLE, table.problem)
    sections = take_sections(table, reader) if table.kind == "readings" else 0
    carried = carry_down(table) if table.kind in ("readings", "weights") else 0
    columns = columns_of(table)
    for column in columns.values():
        if isinstance(column.heading.field.kind, Quantity):
            reader.units.setdefault(column.key, column.unit)
    to = TableReader(reader, table, columns)
    if table.kind == "readings" and "bed" not in columns and not sections:
        to.bed_cell = _bed_of(reader, table, tables)
    counts: Counter[Fate] = Counter()
    for done, record in enumerate(table.records):
        counts[read_record(to, record)] += 1
        if progress and done % PROGRESS_STEP == 0:
            progress(f"understanding {table.sheet.title}", done, len(table.records))
    _leave_columns(reader, table)
    reader.tables.append(_found(table, columns, counts, carried))


def _bed_of(reader: Reader, table: Table, tables: Sequence[Table]) -> LogCell | None:
    """The cell, or the name of the sheet, that names the one bed of a table."""
    sheet = LogCell(table.sheet.title, 0, 0, table.sheet.title)
    titles = titles_above(table.sheet, table.heading_cells[0].row, table.left, table.right)
    alike = sum(
        other.sheet is table.sheet and other.kind == "readings" and "bed" not in other.headings for other in tables
    )
    for cell in (*titles, sheet):
        named = [name for name in _names_in(cell.text) if reader.bed(name)]
        if named and reader.beds_listed:
            cell.settle(Fate.HEADING)
            return LogCell(cell.sheet, cell.row, cell.column, named[0])
    if not reader.beds_listed:
        if alike > 1 and titles:
            titles[0].settle(Fate.HEADING)
            return titles[0]
        return sheet
    if len(reader.beds) == 1:
        return LogCell(sheet.sheet, 0, 0, next(iter(reader.beds.values())).name)
    return None


def _names_in(text: str) -> Iterator[str]:
    """The names that a title may give: the whole of it, or words of it, the most first."""
    yield text
    words = text.replace(":", " ").replace(",", " ").replace("(", " ").replace(")", " ").split()
    for size in range(min(4, len(words)), 0, -1):
        for start in range(len(words) - size + 1):
            yield " ".join(words[start : start + size])


def _leave_columns(reader: Reader, table: Table) -> None:
    """Note the columns of a table that are not used, each as an area."""
    columns: dict[int, list[LogCell]] = {}
    for record in table.records:
        for cell in record.others:
            columns.setdefault(cell.column, []).append(cell)
    heads = {cell.column: text for cell, text in table.listed}
    for column, cells in columns.items():
        cells = [cell for cell in cells if (cell.sheet, cell.name) not in reader.left_out]
        head = " ".join(heads.get(column, "").split())  # a heading may have line breaks
        if table.layout is Layout.COLUMNS:
            reason = "the heading of its row is not known"
        else:
            reason = f'the heading "{head}" is not known' if head else "its column has no heading"
        for cell in cells:
            cell.settle(Fate.IGNORED)
        _leave_area(reader, cells, reason)


def _leave_area(reader: Reader, cells: Sequence[LogCell], reason: str) -> None:
    """One entry for several cells of a column."""
    if not cells:
        return
    first, last = min(cells, key=lambda cell: cell.row), max(cells, key=lambda cell: cell.row)
    if len(cells) == 1:
        reader.leave(first, Fate.IGNORED, reason)
        return
    area = f"{first.name}:{last.name}"
    reader.left_out[first.sheet, area] = LeftOut(
        first.sheet, area, f"{len(cells)} filled cells", Fate.IGNORED, reason
    )  # fmt: skip


def _found(table: Table, columns: dict[str, Column], counts: Counter[Fate], carried: int) -> TableFound:
    by_cell = {(column.heading.cell.row, column.heading.cell.column): column for column in columns.values()}
    across = table.layout in (Layout.BEDS_ACROSS, Layout.DATES_ACROSS)
    if across:
        named = {id(column.heading.cell): column for column in columns.values()}
        found = tuple(
            _column_found(column.heading.cell, column.heading.cell.text, column) for column in columns.values()
        ) + tuple(
            _column_found(cell, text, None) for cell, text in table.listed if id(cell) not in named
        )  # fmt: skip
    else:
        found = tuple(_column_found(cell, text, by_cell.get((cell.row, cell.column))) for cell, text in table.listed)
    order = columns["date"].order if "date" in columns else Order.UNKNOWN
    measured = [name for name in columns if name in MEASURED]
    return TableFound(
        kind=table.kind,
        sheet=table.sheet.title,
        heading_row=table.heading_row,
        columns=found,
        rows=dict(counts),
        date_order=str(order) if "date" in columns else "",
        layout=table.layout.value,
        title=table.title,
        measured=measured[0] if across and len(measured) == 1 else "",
        decimals="comma" if any(column.comma for column in columns.values()) else "",
        carried=carried,
        records=counts[Fate.READ],
        problem=table.problem,
    )


def _column_found(cell: LogCell, text: str, column: Column | None) -> ColumnFound:
    if column is None:
        return ColumnFound(cell.name, text, None)
    certainty, why = column.certainty
    return ColumnFound(cell.name, text, column.heading.field.name, column.unit, column.unit_from, certainty, why)


def _leave_the_rest(reader: Reader, sheets: Iterable[Sheet], tables: Sequence[Table]) -> str:
    """Note every cell outside the tables; gives the title of the log, a text above the first table."""
    titles: list[str] = []
    first_sheet = tables[0].sheet if tables else None
    for sheet in sheets:
        starts = [min(cell.row for cell in table.heading_cells) for table in tables if table.sheet is sheet]
        if sheet.rows and not starts:
            _leave_sheet(reader, sheet, lost=not tables)
            continue
        top = min(starts, default=0)
        outside: dict[int, list[LogCell]] = {}
        for number, cells in sheet.rows.items():
            for cell in cells.values():
                if number < top and sheet is first_sheet and _is_title(cell):
                    titles.append(cell.text)
                if cell.fate is None:
                    cell.settle(Fate.IGNORED)
                    if number < top:
                        reader.leave(cell, Fate.IGNORED, "a title above a table")
                    else:
                        outside.setdefault(cell.column, []).append(cell)
        for column in outside.values():
            if len(column) > LISTED_SINGLY:
                _leave_area(reader, column, "stand beside the tables")
            else:
                for cell in column:
                    reader.leave(cell, Fate.IGNORED, "stands beside the tables")
    return titles[0] if titles else ""


def _is_title(cell: LogCell) -> bool:
    """Whether a text above a table says more than its sheet's name and less than an instruction."""
    text = cell.text
    return isinstance(cell.value, str) and name_key(text) != name_key(cell.sheet) and len(text) <= LONGEST_TITLE


def _leave_sheet(reader: Reader, sheet: Sheet, lost: bool) -> None:
    """One entry for a sheet without a table, which may be a guide of many pages."""
    cells = [cell for row in sheet.rows.values() for cell in row.values()]
    for cell in cells:
        cell.settle(Fate.IGNORED)
    first = f"{get_column_letter(min(cell.column for cell in cells))}{min(cell.row for cell in cells)}"
    last = f"{get_column_letter(max(cell.column for cell in cells))}{max(cell.row for cell in cells)}"
    area = first if first == last else f"{first}:{last}"
    content = cells[0].text if len(cells) == 1 else f"{len(cells)} filled cells"
    told = any(entry.kind == IGNORE for entry in reader.log_map.on(sheet.title))
    reason = "the mapping file says to ignore it" if told else "no table is known on this sheet"
    reader.left_out[sheet.title, area] = LeftOut(sheet.title, area, content, Fate.IGNORED, reason, lost and not told)
