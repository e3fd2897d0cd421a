"""Which day is each record of? By its own cell, by the title of its table, by the name of its sheet."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from growcells.cells.errors import CellError, GrowError

from ..inputs.log_cells import LogCell, Sheet, cut
from ..model.found import Fate
from ..tables.grids import Table
from ..values.date_columns import (
    DateColumn,
    date_column,
    order_of,
    read_date,
    shared_order,
    sure_date,
    with_order,
    with_parts,
)
from ..values.numbers import NotMeasured, error_sentence
from ..vocabulary.date_texts import WEEKDAYS, Order, date_within, month_within, weekday_of
from ..vocabulary.shapes import Shape, shape_of
from .builder import Lost
from .split import Record

_ENDS = re.compile(r"\bend(?:s|ed|ing)?\b", re.IGNORECASE)
"""What says that the date above a week is that of its last day."""


class TableDates:
    """The dates of one table: how each of its columns of dates is read, and the day that stands above it."""

    def __init__(self, table: Table, by_column: Mapping[int, Sequence[LogCell]]) -> None:
        self.table, self.by_column = table, by_column
        self.columns: dict[str, DateColumn] = {}
        """By field; "" is the date above the table."""

    def settle(self, order: Order) -> None:
        """Read dates that do not tell their order in that of the log's other tables."""
        self.columns = {name: with_order(column, order) for name, column in self.columns.items()}

    @property
    def title_day(self) -> LogCell | None:
        """The date above a table without a column of dates, or in the name of its sheet."""
        if any(column.field and column.field.name == "date" for column in self.table.columns):
            return None
        sheet = self.table.sheet
        for cell in (*self.table.context.titles, LogCell(sheet.title, 0, 0, sheet.title)):
            if shape_of(cell) is Shape.DATE:
                return cell
            if isinstance(cell.value, str) and (text := date_within(cell.text)):
                return cell.piece(text)
        return None

    def open(self) -> Iterator[LogCell]:
        """The dates of readings in columns that do not tell the day from the month."""
        for column in self.table.columns if self.table.kind == "readings" else ():
            if column.field and column.field.name == "date" and self.columns["date"].order_needed:
                yield from self.by_column.get(id(column), ())

    def sure_years(self) -> set[int]:
        """The years of the dates of the table that say theirs."""
        dates = [column for column in self.table.columns if column.field and column.field.quantity == "date"]
        cells = (cell for column in dates for cell in self.by_column.get(id(column), ()))
        return {day.year for cell in cells if (day := sure_date(cell))}

    def look_at(self, year: int) -> None:
        """Judge each column of dates as a whole."""
        of_sheet = month_within(self.table.sheet.title)
        for column in self.table.columns:
            if column.field is None or column.field.quantity != "date":
                continue
            cells = list({id(cell): cell for cell in self.by_column.get(id(column), ())}.values())
            titled = next((m for text in self.table.context.texts() if (m := month_within(text)) != (0, 0)), (0, 0))
            known_year = of_sheet[0] or titled[0] or year
            month = of_sheet[1] or titled[1]
            readings = self.table.kind == "readings"
            self.columns[column.field.name] = date_column(cells, self.table.settings.dates, known_year, month, readings)

    def read(self, record: Record, name: str, cell: LogCell) -> datetime.date:
        """The date that a cell of a record holds. Raises GrowError, NotMeasured."""
        if isinstance(cell.value, CellError):
            raise GrowError(error_sentence(cell.value))
        if shape_of(cell) is Shape.NOTHING:
            raise NotMeasured(f'"{cut(cell.text)}" is taken for no date')
        column = self.columns[name]
        if name == "date":
            column = with_parts(column, record.cells.get("year"), record.cells.get("month"))
        return read_date(cell, column, self.table.sheet.epoch)

    @cached_property
    def weekdays(self) -> dict[int, tuple[int, LogCell]]:
        """By row of the grid the day of the week that stands in it, Monday being 0, and its cell."""
        places = {column.place for column in self.table.columns if column.names_weekdays}
        found: dict[int, tuple[int, LogCell]] = {}
        for number, row in self.table.rows() if places else ():
            for place, cell in row.items():
                if place in places and isinstance(cell.value, str):
                    weekday = weekday_of(cell.text.strip(" .:"))
                    if weekday is not None:
                        found.setdefault(number, (weekday, cell))
        return found

    def checked(self, day: datetime.date, record: Record) -> datetime.date:
        """The day of a record. Raises Lost where another day of the week stands beside it."""
        if not self.weekdays:
            return day
        weekday, cell = self.weekdays.get(record.number, (day.weekday(), None))
        if cell is not None and weekday != day.weekday():
            raise Lost(f"its date, {day}, is a {day:%A}, and {cut(cell.text)} stands beside it")
        return day

    def of_table(self, record: Record) -> datetime.date:
        """The day of a record in a table without a column of dates. Raises Lost.

        Where days of the week stand in the table, they are those of one week, and the date above is the first of them.
        """
        day = self._above()
        if not self.weekdays:
            return day
        if not self._are_of_week(day):
            raise Lost(f"the date above, {day}, is not surely that of the first of these days: write each date")
        if record.number not in self.weekdays:
            raise Lost("no day of the week in this row")
        weekday, cell = self.weekdays[record.number]
        cell.settle(Fate.HEADING)
        return day + datetime.timedelta(_days_after(day, weekday))

    def _are_of_week(self, day: datetime.date) -> bool:
        """Whether the days of the week that stand in the table are, in their order, those of a week from this day."""
        after = [_days_after(day, weekday) for weekday, _ in self.weekdays.values()]
        return after[0] == 0 and after == sorted(after) and not any(map(_ENDS.search, self.table.context.texts()))

    def _above(self) -> datetime.date:
        cell = self.title_day
        if cell is None:
            raise Lost("no date in this row")
        column = self.columns.get("", DateColumn())
        column = replace(column, year=month_within(self.table.sheet.title)[0] or column.year)
        try:
            day = read_date(cell, self._order_for(column), self.table.sheet.epoch)
        except GrowError as problem:
            raise Lost(str(problem)) from None
        cell.settle(Fate.HEADING)
        return day

    def _order_for(self, column: DateColumn) -> DateColumn:
        return DateColumn(Order(self.table.settings.dates), False, column.year) if self.table.settings.dates else column


def _days_after(day: datetime.date, weekday: int) -> int:
    return (weekday - day.weekday()) % len(WEEKDAYS)


def settle_dates(tables: Sequence[TableDates], sheets: Sequence[Sheet], path: Path) -> None:
    """Judge all columns of dates; where one does not tell its order, the others of the log may."""
    years = {year for sheet in sheets if (year := month_within(sheet.title)[0])} or {month_within(path.stem)[0]} - {0}
    years = years or set().union(*(dates.sure_years() for dates in tables))
    year = years.pop() if len(years) == 1 else 0
    for dates in tables:
        dates.look_at(year)
    titled = [(dates, day) for dates in tables if (day := dates.title_day) is not None]
    above = date_column([day for _, day in titled], "", year, 0, is_readings=True)
    for dates, _ in titled:
        dates.columns[""] = above
    order = shared_order(column for dates in tables for column in dates.columns.values())
    if order is Order.UNKNOWN:  # tables of one date each tell their order together
        order = order_of([cell for dates in tables for cell in dates.open()], year, is_readings=True)
    for dates in tables:
        dates.settle(order)
