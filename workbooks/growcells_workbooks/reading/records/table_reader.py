"""Reads the fields of the records of one table, each column judged as a whole."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import groupby
from typing import Any, TypeVar

from growcells.cells.errors import CellError, GrowError
from growcells.cells.units import split_number

from ..columns.column import Column
from ..inputs.log_cells import LogCell, cut
from ..model.entries import name_key
from ..model.found import CellNote, Fate
from ..tables.grids import Table
from ..values.numbers import Decimals, NotMeasured, NumberReader, decimals_of, error_sentence, number_column
from ..values.plausible import doubt_of
from ..vocabulary.date_texts import read_time
from ..vocabulary.names import looks_like_bed
from ..vocabulary.shapes import holds_value, looks_like_data
from ..vocabulary.units import Unit, is_liquid, is_unit, unit_of
from ..vocabulary.words import MEASURED, Field, claims
from .builder import Builder, Lost, NotRecord
from .dates import TableDates
from .split import Record, split

T = TypeVar("T")
METRIC = frozenset({"cm", "mm", "m", "L", "mL"})
NO_UNIT_BESIDE = "no unit stands beside it, and one does in other rows"


class TableReader:
    """Reads the records of one table into the model."""

    def __init__(self, builder: Builder, table: Table) -> None:
        self.builder, self.table = builder, table
        self.split = split(table, builder.names)
        self.records = self.split.records
        self.beside = frozenset(column.units_of for column in table.columns)
        self.doubts: list[CellNote] = []
        self.decimals = Decimals(table.settings.decimals)
        self.by_column = self._cells_of()
        self.context = self._table_decimals()
        self.numbers: dict[int, NumberReader] = {}
        self._long: dict[tuple[str, str], NumberReader] = {}
        self._read_numbers()
        self.dates = TableDates(table, self.by_column)

    def _cells_of(self) -> dict[int, list[LogCell]]:
        """The cells in each column, by its identity, record by record."""
        found: dict[int, list[LogCell]] = {}
        for _, records in groupby(self.records, key=lambda record: id(record.columns)):
            some = list(records)
            for name, column in some[0].columns.items():
                if cells := [record.cells[name] for record in some if name in record.cells]:
                    found.setdefault(id(column), []).extend(cells)
            for column, cell in (part for record in some for part in record.parts):
                found.setdefault(id(column), []).append(cell)
        return found

    def _table_decimals(self) -> Decimals:
        known = {id(record.columns): record.columns for record in self.records}
        columns = {id(column): column for of_some in known.values() for column in of_some.values()}
        numbers = [
            self.by_column.get(place, ())
            for place, column in columns.items()
            if column.field and (column.field.is_number or column.field.quantity == "value")
        ]
        return decimals_of(cell.value for cells in numbers for cell in cells if isinstance(cell.value, str))

    def _read_numbers(self) -> None:
        """Decide the unit and the decimals of each field over all columns that have the same heading for it."""
        groups: dict[tuple[str, Unit | None, bool], list[Column]] = {}
        every = [one for column in self.table.columns for one in (column, *column.pieces.values())]
        for column in every:
            if column.field is not None and column.field.is_number and not column.field.quantity.endswith("range"):
                groups.setdefault((column.field.name, column.unit, column.settled), []).append(column)
        for (_, unit, settled), columns in groups.items():
            cells = [cell for column in columns for cell in self.by_column.get(id(column), ())]
            reader = self._reader(columns[0].field, unit, cells, settled)  # type: ignore[arg-type]  # has a field
            for column in columns:
                self.numbers[id(column)] = reader

    def _reader(self, known: Field, unit: Unit | None, cells: Sequence[LogCell], settled: bool) -> NumberReader:
        column = number_column(known, unit, cells, self.decimals, self.context, settled, self.builder.meter)
        if column.unit_from == "usual" and (stated := self._stated(known)) is not None:
            column = replace(column, unit=stated, unit_from="stated")
        if column.unit_from == "usual" and known.quantity in ("length", "volume"):
            column = replace(column, unit=self._usual(known.quantity), unit_from="usual")
        key = f"{known.table}.{known.name}"
        if not column.is_liquid and column.unit.name:
            column = replace(column, log_unit=self.builder.units.setdefault(key, column.unit.name))
        return NumberReader(column, self.builder.meter)

    def _stated(self, known: Field) -> Unit | None:
        """The unit that a text of the sheet, or else of the log, gives for a field."""
        keys = ((sheet, known.table, known.name) for sheet in (self.table.sheet.title, ""))
        stated = next((found for key in keys if (found := self.builder.stated.get(key))), None)
        if stated is None:
            return None
        if stated.unit.asks:
            return self.builder.meter if self.builder.meter and known.name == "ec" else stated.unit
        for cell in stated.cells:
            cell.settle(Fate.READ)
        return stated.unit

    def _usual(self, quantity: str) -> Unit:
        """The unit of numbers without one: that of the cell functions, unless the headings of the log write others."""
        usual = "in" if quantity == "length" else "gal"
        every = {unit for units in self.builder.written.values() for unit in units}
        own = set(self.builder.written.get(quantity, ()))
        if own <= {usual} and (own or not every or every - METRIC):
            return Unit(usual)
        example = "cm" if quantity == "length" else "L"
        asks = f"no unit is written, and the log has others: write one in the heading, such as ({example})"
        return Unit(usual, asks=asks)

    def read(
        self,
        how: Callable[[TableReader, Record], Fate],
        progress: Callable[[int, int], None] | None = None,
        step: int = 5000,
    ) -> Counter[Fate]:
        """Read all records; gives how many had which fate."""
        counts: Counter[Fate] = Counter()
        for cell in self.table.heading_cells:
            if holds_value(cell.text):
                self.builder.leave(cell, Fate.UNREADABLE, "a value among the headings of a table")
            else:
                cell.settle(Fate.HEADING)
        for cell in (*self.split.sections, *filter(None, [self.table.context.bed_cell])):
            cell.settle(Fate.HEADING)
        for cell in self.split.notes:
            self.builder.leave(cell, Fate.IGNORED, "a note beside the table, not a row of it")
        for cell in self.split.totals:
            self.builder.leave(cell, Fate.IGNORED, "a row of totals")
        for cell, reason in self.split.dropped:
            self.leave_unused(cell, reason)
        for done, record in enumerate(self.records):
            counts[self._record(record, how)] += 1
            if progress and done % step == 0:
                progress(done, len(self.records))
        return counts

    def leave_unused(self, cell: LogCell, reason: str) -> None:
        """Note a cell that belongs to no record: lost, unless it is a text or what a formula works out."""
        if (cell.row, cell.column) in self.table.sheet.computed:
            self.builder.leave(cell, Fate.IGNORED, f"worked out by a formula; {reason}")
        else:
            self.builder.leave(cell, Fate.UNREADABLE if looks_like_data(cell) else Fate.IGNORED, reason)

    def _record(self, record: Record, how: Callable[[TableReader, Record], Fate]) -> Fate:
        """Read a record and settle what became of each of its cells."""
        try:
            fate = how(self, record)
        except Lost as reason:
            fate = Fate.UNREADABLE
            for name, cell in record.cells.items():
                if name not in ("date", "bed") or self.table.grid.place(cell)[0] == record.number:
                    self.builder.leave(cell, fate, str(reason))
            for _, cell in record.parts:
                self.builder.leave(cell, fate, str(reason))
        except NotRecord as reason:
            fate = Fate.IGNORED
            for cell in record.cells.values():
                if self.table.grid.place(cell)[0] == record.number:
                    self.builder.leave(cell, fate, str(reason))
        if fate is Fate.READ:
            left = self.builder.left
            self.builder.doubts += self.doubts
            for cell in record.cells.values():
                if id(cell.whole or cell) not in left:
                    cell.settle(fate)
            if record.units or record.parts:
                for cell in (*record.units.values(), *(cell for _, cell in record.parts)):
                    if id(cell.whole or cell) not in left:
                        cell.settle(fate)
            for name in ("date", "bed"):  # what several records share is read where one of them is
                if name in record.cells:
                    record.cells[name].settle(fate)
        else:
            for cell in record.cells.values():
                if cell.fate is None and self.table.grid.place(cell)[0] == record.number:
                    self.builder.leave(cell, Fate.IGNORED, "nothing else in its row could be read")
        self.doubts = []
        return fate

    def attempt(self, cell: LogCell, read: Callable[[LogCell], T]) -> tuple[T | None, bool]:
        """What a cell is read as, and whether it could not be; where it is not read, it is noted why."""
        try:
            return read(cell), False
        except NotMeasured as reason:
            self.builder.leave(cell, Fate.IGNORED, str(reason))
            return None, False
        except GrowError as problem:
            self.builder.leave(cell, Fate.UNREADABLE, str(problem))
            return None, True

    def number(self, record: Record, name: str) -> tuple[float | None, bool]:
        """The number in a field, and whether there was one that could not be read."""
        cell = record.cells.get(name)
        if cell is None or name not in record.columns:
            return None, False
        return self._number_in(cell, self._with_unit(record, name, cell))

    def _with_unit(self, record: Record, name: str, cell: LogCell) -> NumberReader:
        """How the number in a field is read: in the unit of its column, or that which stands beside it."""
        reader, beside = self.numbers[id(record.columns[name])], record.units.get(name)
        if beside is None:
            told = name not in self.beside or isinstance(cell.value, str)
            asked = Unit(reader.column.unit.name, asks=NO_UNIT_BESIDE)
            return reader if told else self._reader_in(reader, asked, cell)
        unit = unit_of(reader.field.quantity, beside.text)
        if unit is None:
            unknown = f'its unit, "{beside.text}" in {beside.name}, is not understood'
            self.builder.leave(beside, Fate.UNREADABLE, f'"{beside.text}" is no unit of a {name.replace("_", " ")}')
            unit = Unit(reader.column.unit.name, asks=unknown)
        return self._reader_in(reader, unit, cell)

    def _reader_in(self, reader: NumberReader, unit: Unit, cell: LogCell) -> NumberReader:
        """How a field is read in another unit than that of its column."""
        key = (reader.field.name, unit.label + unit.asks)
        if key not in self._long:
            self._long[key] = self._reader(reader.field, unit, [cell], True)
        return self._long[key]

    def _number_in(self, cell: LogCell, how: NumberReader) -> tuple[float | None, bool]:
        if (sure := how.sure(cell)) is not None:
            return sure, False
        number, bad = self.attempt(cell, how.read)
        doubt = doubt_of(number, how.plausible) if number is not None else ""
        if doubt:
            self.doubts.append(CellNote(cell.sheet, cell.name, cell.text, Fate.READ, doubt))
        return number, bad

    def all_numbers(self, record: Record, names: Iterable[str]) -> tuple[dict[str, Any], set[str]]:
        """The numbers in several fields, and the fields that could not be read."""
        values: dict[str, Any] = {}
        failed = set()
        cells, columns, beside = record.cells, record.columns, self.beside
        for name in names:
            cell, column = cells.get(name), columns.get(name)
            if cell is None or column is None:
                values[name] = None
            # Nearly all numbers are what they look like, in the unit of their column.
            elif name not in beside and (sure := self.numbers[id(column)].sure(cell)) is not None:
                values[name] = sure
            else:
                values[name], bad = self.number(record, name)
                if bad:
                    failed.add(name)
        return values, failed

    def amount(self, record: Record, name: str) -> tuple[float | None, str, bool]:
        """The number in a field of a product, its unit where it is not the log's, and whether it could not be read.

        A column may hold powders and liquids: a cell of the other kind than its column is read in its own unit.
        """
        cell = record.cells.get(name)
        if cell is None or name not in record.columns:
            return None, "", False
        reader = self._with_unit(record, name, cell)
        if (unit := self._own_unit(cell, reader)) is not None:
            reader = self._reader_in(reader, unit, cell)
        number, bad = self._number_in(cell, reader)
        return number, reader.target if reader.own and number is not None else "", bad

    def _own_unit(self, cell: LogCell, reader: NumberReader) -> Unit | None:
        """The unit in a cell where it measures by mass what its column measures by volume, or the other way round."""
        if not isinstance(cell.value, str):
            return None
        try:
            parts = split_number(cell.text)
        except GrowError:
            return None
        unit = unit_of(reader.field.quantity, parts[1].rstrip(".")) if parts and parts[1] else None
        return unit if unit and is_liquid(unit.name) != reader.own else None

    def amounts(self, record: Record, names: Iterable[str]) -> tuple[dict[str, float | None], dict[str, str], set[str]]:
        """The numbers in several fields of a product, the units that are not the log's, and what could not be read."""
        values: dict[str, float | None] = {}
        units: dict[str, str] = {}
        failed: set[str] = set()
        for name in names:
            values[name], unit, bad = self.amount(record, name)
            units |= {name: unit} if unit else {}
            failed |= {name} if bad else set()
        return values, units, failed

    def text(self, record: Record, name: str) -> str:
        """The text in a field, "" where there is none; an error is noted."""
        cell = record.cells.get(name)
        if cell is None:
            return ""
        if isinstance(cell.value, CellError):
            self.builder.leave(cell, Fate.UNREADABLE, error_sentence(cell.value))
            return ""
        return cell.text

    def date(self, record: Record, name: str) -> tuple[datetime.date | None, bool]:
        """The date in a field, and whether there was one that could not be read."""
        cell = record.cells.get(name)
        if cell is None:
            return None, False
        if type(cell.value) is datetime.datetime:
            return cell.value.date(), False
        return self.attempt(cell, lambda cell: self.dates.read(record, name, cell))

    def day(self, record: Record) -> datetime.date | None:
        """The day of a record: in its own cell or, where the table has no column of dates, of its title or sheet."""
        if "date" in record.cells:
            day, bad = self.date(record, "date")
            if day is None:
                raise Lost(
                    f"its date, in {record.cells['date'].name}, cannot be read" if bad else "no date in this row"
                )
            return self.dates.checked(day, record)
        if any(column.field and column.field.name == "date" for column in self.table.columns):
            raise Lost("no date in this row")
        return self.dates.of_table(record)

    def time(self, record: Record) -> datetime.time | None:
        """The time of day of a record: in a column of its own or beside its date."""
        cell, epoch = record.cells.get("time"), self.table.sheet.epoch
        if cell is None:
            date = record.cells.get("date")
            return (
                read_time(date.value, epoch) if date is not None and not isinstance(date.value, (int, float)) else None
            )
        time = read_time(cell.value, epoch)
        if time is None:
            self.builder.leave(cell, Fate.IGNORED, f"{cut(cell.text)} is no time of day, such as 8:30")
        return time

    def bed_name(self, record: Record) -> str:
        """The bed of a record, as the list of beds spells it. Raises Lost where it is not listed."""
        builder, table = self.builder, self.table
        if record.bed:
            return builder.bed_of(record.bed)
        if "bed" in record.cells and not (table.settings.bed and "bed" not in record.columns):
            name = self.text(record, "bed")
            if not name:
                raise Lost("no bed is named in this row")
            return builder.bed_of(name)
        if table.settings.bed:
            return builder.bed_of(table.settings.bed)
        if any(column.field and column.field.name == "bed" for column in table.columns):
            raise Lost("no bed is named in this row")
        return self._bed_of_table()

    def _bed_of_table(self) -> str:
        builder, context = self.builder, self.table.context
        is_of_several = id(self.table) in builder.of_several
        if context.bed and not is_of_several:
            found = builder.names.find(context.bed)
            if found is not None or not builder.names:
                found = builder.known(found or context.bed)
                for cell in context.titles:
                    if isinstance(cell.value, str) and name_key(context.bed) in name_key(cell.text):
                        cell.settle(Fate.HEADING)
                return found
        if len(builder.names.names) == 1 and not looks_like_bed(context.bed) and not is_of_several:
            return builder.known(builder.names.names[0])
        if not builder.names and not context.bed and not is_of_several:
            return builder.bed_of(self.table.sheet.title)
        unknown = (
            f'"{cut(context.bed or self.table.sheet.title)}" is not in the list of beds, and ' if builder.names else ""
        )
        raise Lost(
            f"{unknown}nothing {'else ' if unknown else ''}names the bed of this table: name it in a column, above the "
            "table, as the name of the sheet, or in the mapping file (growcells check --write-map)"
        )

    def place_of(self, record: Record) -> dict[str, Any]:
        """Where a record stands: its sheet, and the row and column of its first cell of its own."""
        cells, number = record.cells.values(), record.number
        if self.table.grid.turned:
            place = min([cell.row for cell in cells if cell.column == number], default=0), number
        else:
            place = number, min([cell.column for cell in cells if cell.row == number], default=0)
        row, column = place if all(place) else min([(cell.row, cell.column) for cell in cells])
        return {"sheet": self.table.sheet.title, "row": row, "column": column}

    def long_value(self, record: Record) -> tuple[str, float | None]:
        """The field and the number of a row that holds one measure, named in a column of its own."""
        label, cell = record.cells.get("measure"), record.cells.get("value")
        if cell is None or label is None:
            raise Lost("no measure is named in this row" if cell is not None else "no value in this row")
        unit_cell = record.cells.get("unit") or self._unit_right_of(cell)
        text = f"{label.text} ({unit_cell.text})" if unit_cell is not None else label.text
        offers = [claim for claim in claims(text, "readings") if claim.field.name in MEASURED]
        offers = offers or [claim for claim in claims(label.text, "readings") if claim.field.name in MEASURED]
        best = max(offers, key=lambda claim: claim.points, default=None)
        if best is None or sum(claim.points == best.points for claim in offers) > 1:
            raise Lost(f'"{cut(text)}" is no measure that is known here')
        key = (best.field.name, best.unit.label if best.unit else "")
        if key not in self._long:
            cells = [
                other.cells["value"]
                for other in self.records
                if "value" in other.cells and "measure" in other.cells and other.cells["measure"].text == label.text
            ]
            self._long[key] = self._reader(best.field, best.unit, cells, False)
        reader = self._long[key]
        if best.unit is None and unit_cell is None and label.text in self._with_units:
            reader = self._reader_in(reader, Unit(reader.column.unit.name, asks=NO_UNIT_BESIDE), cell)
        return best.field.name, self._number_in(cell, reader)[0]

    def _unit_right_of(self, cell: LogCell) -> LogCell | None:
        """The unit that stands right beside a value, in a column without a heading."""
        table = self.table
        beside = None if table.grid.turned else table.sheet.rows[cell.row].get(cell.column + 1)
        if beside is None or beside.column <= table.right or not is_unit(beside.text):
            return None
        beside.settle(Fate.READ)
        return beside

    @cached_property
    def _with_units(self) -> frozenset[str]:
        """The names of measures beside which a unit stands in some row."""
        rows = (record.cells for record in self.records if "unit" in record.cells)
        return frozenset(cells["measure"].text for cells in rows if "measure" in cells)
