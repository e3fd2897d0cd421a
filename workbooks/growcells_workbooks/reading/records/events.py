"""Readings, fills, weights and harvests: what happened on a day."""

from __future__ import annotations

import datetime
import re
from typing import Any

from growcells.terms.plant_values import is_loss

from ..columns.column import SHARED
from ..inputs.log_cells import cut
from ..model.entries import READING_NUMBERS, Fill, Harvest, Reading, Weight
from ..model.found import Fate
from ..vocabulary.shapes import Shape, is_text, shape_of
from ..vocabulary.units import unit_of
from ..vocabulary.words import MEASURED, words_of
from .builder import Lost, NotRecord
from .split import Record
from .table_reader import TableReader

HARVEST_NUMBERS = (
    *("heads", "mass", "sold", "sold_mass", "bunches", "bunch_heads", "price", "income", "culls", "losses"),
)
NO_READING = SHARED | {"bed", "unit", "measure"}
"""Fields that by themselves are no reading."""
CUT = frozenset({"cut", "harvested", "picked"})
_PER = re.compile(r"(?:/|\bper\b|\ban?\b)\s*(\w+)", re.IGNORECASE)
"""What a price is of: ``Price ($/lb)``."""
SALE = frozenset({"sold", "sale", "price", "income", "cull", "culled", "reject", "unsold", "waste", "bunch", "donated"})
"""Words of headings of harvests that say what became of what was cut; common practice, no source."""


def read_reading(to: TableReader, record: Record) -> Fate:
    """Take a reading."""
    if record.cells.keys() <= NO_READING:
        if "date" in record.cells and is_text(record.cells["date"]):
            raise Lost("no reading and no date in this row")
        if "date" in record.cells or "bed" in record.cells:
            raise NotRecord("a date with no reading and no note")
        raise Lost("no date in this row")
    day = None
    if "date" not in record.cells and to.table.layout is not to.table.layout.LABELS:
        day = to.day(record)
    bed = to.bed_name(record)
    try:
        day = day or to.day(record)
    except Lost:
        to.all_numbers(record, READING_NUMBERS)
        raise
    numbers: dict[str, Any] = {}
    if (several := record.cells.get("several")) is not None:
        fate = Fate.IGNORED if shape_of(several) is Shape.NOTHING else Fate.UNREADABLE
        to.builder.leave(
            several, fate, f"{cut(several.text)} is not understood: write each value in a column of its own"
        )
    if "value" in record.columns and not record.columns.keys() & MEASURED:
        name, value = to.long_value(record)
        numbers = {name: value}
    else:
        numbers, _ = to.all_numbers(record, READING_NUMBERS)
        if (unnamed := record.cells.get("value")) is not None:
            to.leave_unused(unnamed, "nothing says what was measured")
    notes = to.text(record, "notes")
    if not notes and set(numbers.values()) <= {None}:
        return (
            Fate.IGNORED if all(cell.fate is not Fate.UNREADABLE for cell in record.cells.values()) else Fate.UNREADABLE
        )
    assert day is not None
    if "date" not in record.cells:
        _once_a_title(to, record, bed, day)
    to.builder.readings.append(
        Reading(
            bed, day, **numbers, notes=notes, time=to.time(record), crop=to.text(record, "crop"),
            feed=to.text(record, "feed"), **to.place_of(record),
        )
    )  # fmt: skip
    return Fate.READ


def _once_a_title(to: TableReader, record: Record, bed: str, day: datetime.date) -> None:
    """Raise Lost where a bed comes again under the one date above a table: what follows may be of another day."""
    time = record.cells["time"].text if "time" in record.cells else ""
    for measure in record.cells.keys() & (MEASURED | {"measure"}):
        what = record.cells[measure].text if measure == "measure" else measure
        if (key := (id(to.table), bed, day, time, what)) in to.builder.titled:
            raise Lost("this bed was read before under the date above: write its own date")
        to.builder.titled.add(key)


def read_weight(to: TableReader, record: Record) -> Fate:
    """Take a plant that was weighed or died."""
    cell = record.cells.get("mass")
    if cell is None:
        raise Lost("no weight in this row")
    has_bed = "bed" in record.columns or to.table.settings.bed
    bed = to.bed_name(record) if has_bed else ""
    treatment, plant, notes, crop = (to.text(record, name) for name in ("treatment", "plant", "notes", "crop"))
    day, bad_date = to.date(record, "date")
    dead = is_loss(cell.text)
    mass, failed = (None, False) if dead else to.number(record, "mass")
    if failed or bad_date:
        return Fate.UNREADABLE
    if mass is None and not dead:
        return Fate.IGNORED
    to.builder.weights.append(Weight(bed, treatment, plant, mass, dead, day, notes, crop=crop, **to.place_of(record)))
    return Fate.READ


def read_harvest(to: TableReader, record: Record) -> Fate:
    """Take what was cut of a bed."""
    if not record.cells.keys() & {*HARVEST_NUMBERS, "notes"}:
        raise NotRecord("a row with no harvest")
    bed = to.bed_name(record)
    day = to.day(record) if any(c.field and c.field.name == "date" for c in to.table.columns) else None
    numbers, _ = to.all_numbers(record, HARVEST_NUMBERS)
    texts: dict[str, Any] = {name: to.text(record, name) for name in ("crop", "feed", "notes")}
    if all(value is None for value in numbers.values()) and not texts["notes"]:
        return Fate.UNREADABLE
    if numbers["heads"] is None and not numbers["culls"]:
        numbers["heads"] = numbers["sold"]
    headed = {name: frozenset(words_of(column.heading)) for name, column in record.columns.items()}
    to.builder.harvests.append(
        Harvest(
            bed, day, **numbers, **texts, price_per=_price_per(record) if numbers["price"] is not None else "",
            heads_cut=bool(headed.get("heads", frozenset()) & CUT), bunches_sold="sold" in headed.get("bunches", ()),
            unread=_unread_of_sale(to), **to.place_of(record),
        )
    )  # fmt: skip
    return Fate.READ


def _price_per(record: Record) -> str:
    """What a price is of, by its heading; "" where that does not say."""
    column = record.columns["price"]
    if column.unit and column.unit.name:
        return column.unit.name
    masses = (unit_of("mass", match[1]) for match in _PER.finditer(column.heading))
    if mass := next(filter(None, masses), None):
        return mass.name
    words = words_of(column.heading)
    of = next((name for name in ("bunch", "head", "plant") if name in words), "")
    if of:
        return "bunch" if of == "bunch" else "head"
    return "each" if {"each", "unit", "piece", "apiece"} & set(words) else ""


def _unread_of_sale(to: TableReader) -> str:
    """The heading of a column about what was sold that is not used, "" where there is none."""
    unread = (column.heading for column in to.table.columns if column.field is None and not column.is_empty)
    return next((heading for heading in unread if SALE & set(words_of(heading))), "")


def read_fill(to: TableReader, record: Record) -> Fate:
    """Take a bed filled with fresh solution."""
    if not record.cells.keys() & {"volume", "rate", "mass"}:
        raise NotRecord("a row with no fill")
    bed, day = to.bed_name(record), to.day(record)
    assert day is not None
    numbers, failed = to.all_numbers(record, ("volume", "mass"))
    numbers["rate"], rate_unit, bad_rate = to.amount(record, "rate")
    failed |= {"rate"} if bad_rate else set()
    if all(value is None for value in numbers.values()):
        return Fate.UNREADABLE if failed else Fate.IGNORED
    to.builder.fills.append(
        Fill(
            bed, day, feed=to.text(record, "feed"), notes=to.text(record, "notes"), rate_unit=rate_unit, **numbers,
            **to.place_of(record),
        )
    )  # fmt: skip
    return Fate.READ
