"""Reading the records of tables: beds, feeds, readings, weights."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import TypeVar

from growcells.cells.errors import CellError, GrowError
from growcells.terms.plant_values import is_loss

from .cells import LogCell, shown
from .columns import Column, NotMeasured, NumberReader, checked, error_sentence
from .dates import looks_like_date, read_date, read_time
from .model import READING_NUMBERS, Bed, Doubt, Fate, Feed, Reading, Weight, name_key
from .plausible import doubt_of
from .reader import PLAIN_MONEY, Ignore, Reader
from .tables import Layout, Record, Table

T = TypeVar("T")

_TOTAL = re.compile(
    r"(?:(?:sub|grand|week(?:ly)?|month(?:ly)?|season|year(?:ly)?|overall)[\s-]*)?"
    r"(?:totals?|sum|averages?|avg|mean|median|min(?:imum)?|max(?:imum)?)(?:\s+\w+)?[:.]?"
)
"""What people write in front of a row of totals; common practice, no source."""
"""What people write in place of a weight for a plant that died; common practice, no source."""

BED_NUMBERS = (
    *("plants", "length", "width", "depth", "lowest", "volume", "rate", "dose", "n_ppm"),
    *("ph_low", "ph_high", "ec_low", "ec_high", "temp_low", "temp_high", "water_ec"),
)
FEED_NUMBERS = ("package", "price", "rate", "on_hand", "use", "lead", "scale")


@dataclass
class TableReader:
    """Reads the records of one table."""

    reader: Reader
    table: Table
    columns: dict[str, Column]
    bed_cell: LogCell | None = None
    """A cell that names the bed of the records, where no column does."""
    numbers: dict[str, NumberReader] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)
    """Those of the record being read: they count only if it is used."""

    def __post_init__(self) -> None:
        for name, column in self.columns.items():
            if column.heading.field.quantity not in ("text", "date"):
                self.numbers[name] = NumberReader(column, self.reader.units.get(column.key, ""))

    def _attempt(self, cell: LogCell, read: Callable[[LogCell], T]) -> tuple[T | None, bool]:
        """What a cell is read as, and whether it could not be; where it is not read, it is noted why."""
        try:
            return read(cell), False
        except NotMeasured as reason:
            self.reader.leave(cell, Fate.IGNORED, str(reason))
            return None, False
        except GrowError as problem:
            self.reader.leave(cell, Fate.UNREADABLE, str(problem))
            return None, True

    def number(self, record: Record, name: str) -> tuple[float | None, bool]:
        """The number in a field, and whether there was one that could not be read."""
        cell = record.cells.get(name)
        if cell is None:
            return None, False
        how = self.numbers[name]
        if (sure := how.sure(cell)) is not None:
            return sure, False
        number, bad = self._attempt(cell, how.read)
        doubt = doubt_of(number, how.plausible) if number is not None else ""
        if doubt:
            self.doubts.append(Doubt(cell.sheet, cell.name, cell.text, doubt))
        return number, bad

    def all_numbers(self, record: Record, names: Iterable[str]) -> tuple[dict[str, float | None], set[str]]:
        """The numbers in several fields, and the fields that could not be read."""
        values: dict[str, float | None] = {}
        failed = set()
        for name in names:
            values[name], bad = self.number(record, name)
            if bad:
                failed.add(name)
        return values, failed

    def text(self, record: Record, name: str) -> str:
        """The text in a field, "" where there is none; an error is noted."""
        cell = record.cells.get(name)
        if cell is None:
            return ""
        if isinstance(cell.value, CellError):
            self.reader.leave(cell, Fate.UNREADABLE, error_sentence(cell.value))
            return ""
        return cell.text

    def date(self, record: Record, name: str) -> tuple[datetime.date | None, bool]:
        """The date in a field, and whether there was one that could not be read."""
        cell = record.cells.get(name)
        if cell is None:
            return None, False
        order, epoch = self.columns[name].order, self.table.sheet.epoch

        def read(cell: LogCell) -> datetime.date:
            checked(cell)
            return read_date(cell, order, epoch)

        return self._attempt(cell, read)

    def time(self, record: Record) -> datetime.time | None:
        """The time of day of a record: in a column of its own or beside its date."""
        cell, epoch = record.cells.get("time"), self.table.sheet.epoch
        if cell is None:
            return read_time(record.cells["date"].value, epoch)
        time = read_time(cell.value, epoch)
        if time is None:
            self.reader.leave(cell, Fate.IGNORED, f"{shown(cell.value)} is no time of day, such as 8:30")
        return time

    def named(self, record: Record, name: str, what: str) -> str:
        """The name in a field. Raises Ignore where there is none."""
        text = self.text(record, name)
        if not text:
            raise Ignore(f"no {what} is named in this row", first_cell(record), problem=True)
        return text

    def bed_name(self, record: Record) -> str:
        """The bed of a reading or weight, as the list of beds spells it. Raises Ignore where it is not listed."""
        if "bed" in record.cells or ("bed" in self.columns and not self.table.settings.bed):
            name, cell = self.named(record, "bed", "bed"), record.cells["bed"]
        elif self.table.settings.bed:
            name, cell = self.table.settings.bed, first_cell(record)
        elif self.bed_cell is not None:
            name, cell = self.bed_cell.text, first_cell(record)
        else:
            raise Ignore(
                f'"{self.table.sheet.title}" is not in the list of beds, and nothing else names the bed of this '
                "table: name it in a column, above the table, as the name of the sheet, or in the mapping file "
                "(growcells check --write-map)",
                first_cell(record),
                problem=True,
            )
        known = self.reader.bed(name)
        if known is None:
            if self.reader.beds_listed:
                raise Ignore(f'"{name}" is not in the list of beds', cell, problem=True)
            known = self.reader.beds[name_key(name)] = Bed(name)
        return known.name


def first_cell(record: Record) -> LogCell:
    """A cell by which a record can be found: its first that is not shared with other records."""
    own = [cell for cell in record.cells.values() if cell.row == record.number]
    return min([*own, *record.others] or list(record.cells.values()), key=lambda cell: cell.column)


def _merge(reader: Reader, known: Bed | Feed, values: dict[str, object], record: Record) -> None:
    """Fill the fields that are still empty; where an earlier table says otherwise, that is noted."""
    for name, value in values.items():
        if value in (None, ""):
            continue
        cell = record.cells[name]
        before = getattr(known, name)
        if before in (None, ""):
            setattr(known, name, value)
            known.cells[name] = f"{cell.sheet}!{cell.name}"
        elif before != value and name != "notes":
            what = name.replace("_", " ")
            where = known.cells.get(name, "an earlier table")
            reader.leave(
                cell, Fate.IGNORED, f"the {what} of {known.name} is {_plain(before)} in {where}, which counts", True
            )
        elif before != value:
            setattr(known, name, f"{before}; {value}")


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def read_bed(to: TableReader, record: Record) -> Fate:
    """Take a bed."""
    name = to.named(record, "bed", "bed")
    numbers, failed = to.all_numbers(record, BED_NUMBERS)
    planted, _ = to.date(record, "planted")
    texts = {field: to.text(record, field) for field in ("crop", "feed", "shape", "notes")}
    bed = to.reader.bed(name) or to.reader.beds.setdefault(name_key(name), Bed(name))
    _merge(to.reader, bed, {**texts, **numbers, "planted": planted}, record)
    bed.failed |= failed
    return Fate.READ


def read_feed(to: TableReader, record: Record) -> Fate:
    """Take a feed."""
    name = to.named(record, "feed", "feed")
    numbers, _ = to.all_numbers(record, FEED_NUMBERS)
    counted, _ = to.date(record, "counted")
    texts = {field: to.text(record, field) for field in ("product", "analysis", "notes")}
    feed = to.reader.feeds.setdefault(name_key(name), Feed(name))
    _merge(to.reader, feed, {**texts, **numbers, "counted": counted}, record)
    price = record.cells.get("price")
    if price is not None and to.reader.money == PLAIN_MONEY and price.number_format != "General":
        to.reader.money = price.number_format
    return Fate.READ


def read_reading(to: TableReader, record: Record) -> Fate:
    """Take a reading."""
    date = record.cells.get("date")
    if date is None:
        raise Ignore("no date in this row", first_cell(record), problem=True)
    if record.cells.keys() <= {"date", "time", "bed"}:
        raise Ignore("a date with no reading and no note", date if date.row == record.number else first_cell(record))
    bed = to.bed_name(record)
    day, _ = to.date(record, "date")
    numbers, _ = to.all_numbers(record, READING_NUMBERS)
    notes = to.text(record, "notes")
    if day is None:
        if date.row != record.number or to.table.layout is not Layout.ROWS:
            for cell in _own_cells(record):
                to.reader.leave(cell, Fate.UNREADABLE, f"its date, in {date.name}, cannot be read")
        return Fate.UNREADABLE
    if not notes and all(value is None for value in numbers.values()):
        return Fate.UNREADABLE if any(_fate_of(record, name) for name in READING_NUMBERS) else Fate.IGNORED
    place = {"sheet": to.table.sheet.title, "row": record.number}
    to.reader.readings.append(Reading(bed, day, **numbers, notes=notes, time=to.time(record), **place))  # type: ignore[arg-type]
    return Fate.READ


def _fate_of(record: Record, name: str) -> bool:
    cell = record.cells.get(name)
    return cell is not None and cell.fate is Fate.UNREADABLE


def _own_cells(record: Record) -> Iterator[LogCell]:
    """The cells of a record that belong to no other."""
    for name, cell in record.cells.items():
        if name not in ("date", "bed"):
            yield cell


def read_weight(to: TableReader, record: Record) -> Fate:
    """Take a plant that was weighed or died."""
    cell = record.cells.get("mass")
    if cell is None:
        raise Ignore("no weight in this row", first_cell(record), problem=True)
    bed = to.bed_name(record) if "bed" in to.columns or to.table.settings.bed else ""
    treatment, plant, notes = (to.text(record, name) for name in ("treatment", "plant", "notes"))
    day, bad_date = to.date(record, "date")
    dead = is_loss(cell.text)
    mass, failed = (None, False) if dead else to.number(record, "mass")
    if failed or bad_date:
        return Fate.UNREADABLE
    if mass is None and not dead:
        return Fate.IGNORED
    where = {"sheet": to.table.sheet.title, "row": record.number}
    to.reader.weights.append(Weight(bed, treatment, plant, mass, dead, day, notes, **where))  # type: ignore[arg-type]
    return Fate.READ


READERS: dict[str, Callable[[TableReader, Record], Fate]] = {
    "beds": read_bed,
    "feeds": read_feed,
    "readings": read_reading,
    "weights": read_weight,
}


def read_record(to: TableReader, record: Record) -> Fate:
    """Read a record and settle what became of each of its cells."""
    try:
        _check_is_record(to.table, record)
        fate = READERS[to.table.kind](to, record)
    except Ignore as reason:
        fate = Fate.IGNORED
        if reason.problem and to.table.layout is not Layout.ROWS:
            for cell in _own_cells(record):
                to.reader.leave(cell, fate, str(reason), True)
        else:
            others = len(record.cells) + len(record.others) > 1
            # A name or date that stands once for several rows would hide which of them are lost.
            cell = reason.cell if reason.cell.row == record.number else first_cell(record)
            to.reader.leave(cell, fate, str(reason), reason.problem, whole_row=others)
    if fate is Fate.READ:
        to.reader.doubts += to.doubts
    to.doubts.clear()
    for cell in record.cells.values():
        # What was left out of a record stays left out; what several records share is read where one of them is.
        if cell.fate is None or (fate is Fate.READ and (cell.sheet, cell.name) not in to.reader.left_out):
            cell.settle(fate)
    for cell in record.others:
        cell.settle(Fate.IGNORED)
    return fate


def _check_is_record(table: Table, record: Record) -> None:
    """Raise Ignore for rows that stand in a table and are not of it: totals, notes."""
    if table.layout is not Layout.ROWS:
        return
    cells = record.cells
    date = cells.get("date")
    if date is None or not looks_like_date(date.value):
        for cell in (*(cell for name, cell in cells.items() if name != "notes"), *record.others):
            if isinstance(cell.value, str) and _TOTAL.fullmatch(cell.text.casefold()):
                raise Ignore("a row of totals", cell)
    if len(cells) + len(record.others) == 1:
        only = next(iter(cells.values()), None) or record.others[0]
        if isinstance(only.value, str) and not looks_like_date(only.value):
            raise Ignore("a note beside the table, not a row of it", only)
    if not cells:
        raise Ignore("stands only in columns that are not used", record.others[0])
