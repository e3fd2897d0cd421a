"""The records of a table: which cells of its rows belong together, whatever stands once for several of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, pairwise

from ..columns.column import SHARED, Column
from ..inputs.log_cells import LogCell
from ..mapping import Layout
from ..model.entries import name_key
from ..tables.grids import Table
from ..values.date_columns import looks_like_date
from ..vocabulary.names import Names, is_total, looks_like_bed, may_be_name
from ..vocabulary.several import pieces
from ..vocabulary.shapes import Shape, is_text, looks_like_data, shape_of
from ..vocabulary.words import MEASURED

CARRIED = ("year", "month", "date", "bed", "treatment", "feed")
ENOUGH = 2
"""A column is carried down where at least one row in so many of those with a value follows without one; ours.

A single blank among many filled cells is a thing forgotten, and is listed.
"""
OF_ALL_BEDS = SHARED | {"notes", "bed", "measure", "unit"}
"""Fields that stand once for all beds of a row."""
DITTO = frozenset({'"', "''", "”", "“", "″", "〃", ",,", "ditto", "do.", "same", '" "', "''  ''", "^"})
"""What people write where the date or the name above stands again; common practice, no source."""


@dataclass(slots=True)
class Record:
    """A bed, feed, reading or weight: its cells by field with their columns, and cells whose column is not used."""

    number: int
    cells: dict[str, LogCell]
    columns: Mapping[str, Column]
    bed: str = ""
    """The bed that the headings name."""
    others: tuple[LogCell, ...] = ()
    parts: list[tuple[Column, LogCell]] = field(default_factory=list)
    """Of a feed, the rates of its parts, each in a column of its own."""
    units: dict[str, LogCell] = field(default_factory=dict)
    """By field, the cell that holds the unit of its number."""


@dataclass
class Split:
    """The records of a table, and the rows of it that are none."""

    records: list[Record]
    notes: list[LogCell]
    """Notes among the rows."""
    totals: list[LogCell]
    """The cells of rows of totals."""
    sections: list[LogCell]
    """Names of beds that stand once for the rows below."""
    dropped: list[tuple[LogCell, str]]
    """Cells that look like data and belong to no record, and why."""
    breaks: list[int] = field(default_factory=list)
    """The rows with a text where a date should be: what follows may be of any day."""
    carried: int = 0
    """Records whose date or bed is the one above."""


def split(table: Table, names: Names) -> Split:
    """The records of a table."""
    found = Split([], [], [], [], [])
    if table.kind == "readings":
        _readings(table, names, found)
    else:
        _rows(table, found)
    if table.kind in ("readings", "weights", "harvests", "fills", "feeds"):
        ditto = _take_dittos(found)
        found.carried = _carry_down(table, found, ditto)
    return found


def _places(columns: Sequence[Column]) -> tuple[dict[int, str], dict[str, Column]]:
    used = [column for column in columns if column.field is not None]
    by_name: dict[str, Column] = {}
    for column in used:
        by_name.setdefault(column.field.name, column)  # type: ignore[union-attr]  # used
    return {column.place: name for name, column in by_name.items()}, by_name


def _rows(table: Table, found: Split) -> None:
    places, columns = _places(table.columns)
    parts = {column.place: column for column in table.columns if column.field and column.place not in places}
    units = {column.place: column.units_of for column in table.columns if column.units_of}
    used = {*places, *parts, *units}
    last = table.last_row
    for number, row in table.rows():
        cells = {places[place]: cell for place, cell in row.items() if place in places}
        of_parts = [(parts[place], cell) for place, cell in row.items() if place in parts]
        others = tuple(cell for place, cell in row.items() if place not in used)
        gap, last = number - last > 1, number
        _shared(table, number, cells, columns)
        of_units = {units[place]: cell for place, cell in row.items() if place in units}
        record = Record(number, cells, columns, "", others, of_parts, of_units)
        if _is_no_record(table, record, found):
            continue
        if gap and table.kind in ("beds", "feeds") and not _is_alike(record):
            found.dropped += [(cell, "it stands below a table whose columns it does not fit") for cell in _all(record)]
            continue
        found.records.append(record)


def _is_alike(record: Record) -> bool:
    """Whether a row below a gap has in each column what the column holds."""
    for name, cell in record.cells.items():
        column, shape = record.columns[name], shape_of(cell)
        if column.field is None or shape in (Shape.NOTHING, Shape.ERROR):
            continue
        if column.field.is_number != (shape is Shape.NUMBER) and column.is_mostly(
            Shape.NUMBER if column.field.is_number else Shape.TEXT
        ):
            return False
    return True


def _all(record: Record) -> list[LogCell]:
    return [*record.cells.values(), *record.units.values(), *record.others, *(cell for _, cell in record.parts)]


def _shared(table: Table, number: int, cells: dict[str, LogCell], columns: Mapping[str, Column]) -> None:
    """Give a row the date and the bed of a merged cell over it."""
    if not table.grid.merged:
        return
    for name in CARRIED:
        column = columns.get(name)
        if column is None or name in cells:
            continue
        above = table.grid.merged.get((number, column.place))
        if (
            above is not None
            and table.grid.place(above)[0] > table.last_row
            and table.grid.place(above)[1] == column.place
        ):
            cells[name] = above


def _is_no_record(table: Table, record: Record, found: Split) -> bool:
    """Whether a row stands in a table and is not of it: totals, notes."""
    if table.layout not in (Layout.ROWS, Layout.BEDS_ACROSS):
        return False
    cells = record.cells
    date = cells.get("date")
    if date is None or not looks_like_date(date.value):
        for cell in (*(cell for name, cell in cells.items() if name != "notes"), *record.others):
            if isinstance(cell.value, str) and is_total(cell.text):
                found.totals += _all(record)
                return True
    every = _all(record)
    if len(every) == 1:
        only = every[0]
        if is_text(only):
            found.notes.append(only)
            if cells.get("date") is only:
                found.breaks.append(record.number)
            return True
    if not cells and not record.parts:
        found.dropped += [(cell, "stands only in columns that are not used") for cell in record.others]
        return True
    return False


def _readings(table: Table, names: Names, found: Split) -> None:
    """A record for each bed of each row."""
    beds = {name_key(column.bed): column.bed for column in table.columns if column.bed and column.field}
    shared = [column for column in table.columns if column.field and not column.bed]
    if not beds:
        groups = [("", shared)]
    else:
        groups = [(bed, [c for c in table.columns if c.field and name_key(c.bed) == key]) for key, bed in beds.items()]
    with_shared = [column for column in shared if beds and column.field and column.field.name in OF_ALL_BEDS]
    lone = [column for column in shared if column not in with_shared]
    if beds and lone:
        groups.append(("", lone))
    described = [(bed, *_places([*of, *with_shared])) for bed, of in groups]
    used = {place for _, places, _ in described for place in places}
    units = [column for column in table.columns if column.units_of]
    used.update(column.place for column in units)
    own = {column.place for column in with_shared}
    section: _Over | None = None
    by_row = not beds and "bed" not in described[0][2]
    over_same_days = _over_same_days(table, described[0][2]) if by_row and not names else set()
    day: _Over | None = None
    by_days = "date" in described[0][2] and "date" not in described[0][1].values()
    for number, row in table.rows():
        others = () if row.keys() <= used else tuple(cell for place, cell in row.items() if place not in used)
        if by_days and len(row) == 1 and shape_of(only := next(iter(row.values()))) is Shape.DATE:
            day = _Over(only)
            found.sections.append(only)
            continue
        if by_row and (head := _section_in(row, names, over_same_days)):
            section = _Over(head)
            found.sections.append(head)
            found.notes += [cell for cell in row.values() if cell is not head]
            continue
        by_bed = [{name: row[place] for place, name in places.items() if place in row} for _, places, _ in described]
        whole = dict(chain.from_iterable(map(dict.items, by_bed)))
        if len(row) == 1 or "date" not in whole or not looks_like_date(whole["date"].value):
            known = set(map(id, whole.values()))
            beside = tuple(cell for cell in row.values() if id(cell) not in known)
            if _is_no_record(table, Record(number, whole, {}, "", beside), found):
                continue
        first = True
        for (bed, places, columns), cells in zip(described, by_bed, strict=True):
            if "several" in cells:
                columns = _taken_apart(cells, columns)
            if beds and not any(place not in own for place in places if place in row):
                continue
            if beds and not first and "notes" in cells and columns["notes"].place in own:
                del cells["notes"]
            _shared(table, number, cells, columns)
            record = Record(number, cells, columns, bed, others if first else ())
            if day is not None:
                day = day.unless_again(_read_of(record, "bed"))
                if day is not None:
                    cells["date"] = day.cell
            if section is not None and "bed" not in cells:
                section = section.unless_again(_read_of(record, "date"), twice=True)
                if section is not None:
                    cells["bed"] = section.cell
            if units:
                record.units = {c.units_of: row[c.place] for c in units if c.bed == bed and c.place in row}
            found.records.append(record)
            first = False
        if first and whole:
            # What is said of a day on which no bed was read.
            found.records.append(Record(number, whole, described[0][2], "", others))


def _section_in(row: Mapping[int, LogCell], names: Names, over_same_days: set[int]) -> LogCell | None:
    """The text that names the bed of the rows below, where a row holds nothing else, or beside it only a note."""
    head, *others = row.values()
    if not is_text(head) or not all(is_text(cell) and not looks_like_data(cell) for cell in others):
        return None
    if others:
        is_bed = bool(names.exactly(head.text)) if names else looks_like_bed(head.text)
    else:
        is_bed = bool(names.within(head.text)) or looks_like_bed(head.text) or id(head) in over_same_days
    return head if is_bed else None


Read = set[tuple[object, ...]]
"""What was read: of which bed or on which day, at what time, and which measures."""


def _read_of(record: Record, name: str) -> Read:
    """What a record holds, beside the bed or the day that its row names."""
    cells = record.cells
    of = record.bed or (cells[name].value if name in cells else None)
    of = name_key(of) if name == "bed" and isinstance(of, str) else of
    time = cells["time"].value if "time" in cells else None
    if "measure" in cells:
        return {(None if record.bed else of, time, cells["measure"].text)}
    return {(of, time, measure) for measure in cells.keys() & MEASURED}


@dataclass
class _Over:
    """A day or a bed that stands once over rows: as long as nothing comes again, since then another may be missing."""

    cell: LogCell
    seen: Read = field(default_factory=set)
    last: Read = field(default_factory=set)

    def unless_again(self, read: Read, twice: bool = False) -> _Over | None:
        """This, or None where what is read was read before: with ``twice`` other than in the row above."""
        again = read & self.seen
        if again and not (twice and again <= self.last):
            return None
        self.seen |= read
        self.last = read
        return self


def _taken_apart(cells: dict[str, LogCell], columns: Mapping[str, Column]) -> dict[str, Column]:
    """Put the values of a cell that holds several in its place, each under its measure; gives the columns."""
    whole, column = cells["several"], columns["several"]
    found = pieces(whole.text, column.headed)
    if not found or any(claim.field.name in cells for claim, _ in found):
        return dict(columns)
    del cells["several"]
    cells |= {claim.field.name: whole.piece(text) for claim, text in found}
    return dict(columns) | {claim.field.name: column.piece(claim) for claim, _ in found}


def _over_same_days(table: Table, columns: Mapping[str, Column]) -> set[int]:
    """The identities of texts that stand alone, each once, over rows of the same days: the names of beds."""
    date = columns.get("date")
    texts: list[LogCell] = []
    days: list[list[object]] = []
    for _, row in table.rows():
        cells = list(row.values())
        if len(cells) == 1 and is_text(cells[0]):
            texts.append(cells[0])
            days.append([])
        elif date is not None and date.place in row:
            if not days:
                return set()
            days[-1].append(row[date.place].value)
    named = {name_key(cell.text) for cell in texts if may_be_name(cell)}
    if (
        len(texts) < ENOUGH
        or len(named) < len(texts)
        or any(not of_one or len(set(of_one)) < len(of_one) for of_one in days)
        or any(set(one).isdisjoint(other) for one, other in pairwise(days))
    ):
        return set()
    return set(map(id, texts))


def measures(record: Record) -> bool:
    """Whether a record holds more than names, a date and notes."""
    return bool(record.parts) or any(
        name not in (*CARRIED, "time", "notes", "plant", "crop", "product") for name in record.cells
    )


def _take_dittos(found: Split) -> set[str]:
    """Take the marks that say ``as above`` out of the records; gives the fields in which they stand."""
    taken = set()
    named = set().union(*(record.cells for record in found.records))
    names = [name for name in CARRIED if name in named]
    for record in found.records:
        for name in names:
            cell = record.cells.get(name)
            if cell is not None and isinstance(cell.value, str) and cell.value.strip().casefold() in DITTO:
                del record.cells[name]
                found.sections.append(cell)
                taken.add(name)
    return taken


def _carry_down(table: Table, found: Split, ditto: set[str]) -> int:
    """Give the rows of a table the date or bed above, where its column is filled in that way; counts those rows."""
    own = {column.field.name for column in table.columns if column.field and not column.bed}
    if table.layout is not Layout.ROWS and not own & {"measure", "bed"}:
        return 0
    rows: set[int] = set()
    for name in CARRIED:
        column = next((c for c in table.columns if c.field and c.field.name == name and not c.bed), None)
        if column is None or (name == "feed" and table.kind != "feeds"):
            continue
        parts = name == "feed" and any(c.field and c.field.name == "product" for c in table.columns)
        if parts or name in ditto or _is_carried(table, name, found.records):
            rows.update(_carry(table, name, found))
    return len(rows)


def _is_carried(table: Table, name: str, records: Sequence[Record]) -> bool:
    named = any("bed" in record.cells or record.bed for record in records)
    if name == "date" and table.kind == "readings" and not named:
        return False  # two readings of one bed, and nothing tells that they are of one day
    lacking = sum(name not in record.cells and measures(record) for record in records)
    if not lacking or not any(name in record.cells for record in records):
        return False
    if name == "bed" and lacking < ENOUGH:
        return False  # one blank is no way to write it
    having = sum(name in record.cells and measures(record) for record in records)
    if _written_again(name, records) >= lacking:
        return False  # who writes it again where it stays the same forgot it elsewhere
    return lacking * ENOUGH >= having


def _written_again(name: str, records: Sequence[Record]) -> int:
    """How many rows hold the same as the row above, each in a cell of its own."""
    cells = (record.cells.get(name) for record in records if measures(record))
    pairs = ((one, other) for one, other in pairwise(cells) if one is not None and other is not None)
    return sum(one is not other and one.value == other.value for one, other in pairs)


def _carry(table: Table, name: str, found: Split) -> Iterator[int]:
    """Give rows the value above, as long as nothing comes again: what follows may be of another day or bed."""
    above: LogCell | None = None
    over: _Over | None = None
    kept: list[Record] = []
    breaks = found.breaks if name == "date" else []
    is_date, is_bed = name == "date" and table.kind == "readings", name == "bed"
    passed = 0
    for record in found.records:
        while passed < len(breaks) and breaks[passed] < record.number:
            above, passed = None, passed + 1
        read = _read_of(record, "date" if is_bed else "bed")
        cell = record.cells.get(name)
        if cell is not None:
            over = over if cell is above and over else _Over(cell)
            if measures(record):
                over.seen |= read
                over.last = read
            # After a text where a date should be, what follows may be of any day.
            above = cell if name != "date" or shape_of(cell) in (Shape.DATE, Shape.NUMBER) or measures(record) else None
        elif above is not None and over is not None and measures(record):
            # Beds side by side share the name of what was measured.
            twice = is_bed or bool(record.bed and "measure" in record.cells)
            if (is_date or is_bed) and over.unless_again(read, twice) is None:
                above = None
            elif not is_date or record.bed or "bed" in record.cells:
                record.cells[name] = above
                if kept and kept[-1].cells == {name: above} and not kept[-1].others:
                    kept.pop()
                yield record.number
        kept.append(record)
    found.records[:] = kept
