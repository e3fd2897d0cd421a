"""Beds with their rounds, and feeds: what is planned, merged where several tables speak of one."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from ...recalculation.cells import read_place
from ..columns.column import ROUND_FIELDS
from ..inputs.log_cells import Sheet, cut
from ..model.entries import Bed, Feed, Part, Round, name_key
from ..model.found import Fate
from ..model.log import FIXED_UNITS, fixed_factors
from ..vocabulary.units import unit_of
from ..vocabulary.words import field_of
from .builder import PLAIN_MONEY, Builder, Lost
from .split import Record
from .table_reader import TableReader

BED_NUMBERS = (
    *("plants", "length", "width", "depth", "lowest", "volume", "dose", "n_ppm", "alkalinity"),
    *("ph_low", "ph_high", "ec_low", "ec_high", "temp_low", "temp_high", "water_ec"),
)
PART_NUMBERS = ("package", "price", "rate", "on_hand", "use", "lead", "scale")
BANDS = (("ph_low", "ph_high"), ("ec_low", "ec_high"), ("temp_low", "temp_high"))
OF_ROUND = ("crop", "feed", "rate", "rate_unit", "plants")
"""What a bed has of the round that is in it."""


def _merge(
    to: TableReader, known: Bed | Part | Round, owner: str, values: Mapping[str, object], record: Record
) -> None:
    """Fill the fields that are still empty; where an earlier table says otherwise, that is noted."""
    where_from: dict[str, str] = getattr(known, "cells", {})
    for name, value in values.items():
        if value in (None, ""):
            continue
        cell = record.cells.get(name)
        before = getattr(known, name)
        if before in (None, ""):
            setattr(known, name, value)
            if cell is not None:
                where_from[name] = f"{cell.sheet}!{cell.name}"
        elif name == "notes":
            if before != value:
                setattr(known, name, f"{before}; {value}")
        elif before != value and cell is not None and not _is_near(before, value):
            where = where_from.get(name, "an earlier table")
            what = name.replace("_", " ")
            to.builder.leave(
                cell, Fate.UNREADABLE, f"the {what} of {owner} is {_plain(before)} in {where}, which counts"
            )


def _is_near(one: object, other: object) -> bool:
    """Whether two numbers are one but for rounding."""
    return isinstance(one, float) and isinstance(other, float) and abs(one - other) <= 0.005 * max(abs(one), abs(other))


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


_NUMBERS_IN = re.compile(r"\d+(?:[.,]\d+)?")


def _several(to: TableReader, record: Record, name: str, into: Sequence[str], fewest: int) -> dict[str, float | None]:
    """The numbers of a cell that holds several, such as ``40 x 25 x 6 in`` and ``5.8-6.2``, by their fields."""
    cell = record.cells.get(name)
    if cell is None:
        return {}
    column = record.columns[name]
    found = _NUMBERS_IN.findall(cell.text)
    ending = re.sub(r"[\d.,\s]*(?:x|by|×|to|-|–|\*)?[\d.,\s]+", " ", cell.text.casefold()).strip(" .")
    target = field_of("beds", into[0])
    quantity = target.quantity
    unit = unit_of(quantity, ending) if ending else column.unit
    if not fewest <= len(found) <= len(into) or (ending and unit is None):
        to.builder.leave(
            cell, Fate.UNREADABLE, f"{cut(cell.text)} is not understood: give {len(into)} numbers and a unit"
        )
        return {}
    reader = to._reader(target, unit, [], column.settled)
    values = {}
    for number, field_name in zip(found, into, strict=False):
        value, bad = to.attempt(cell.piece(number), reader.read)
        if bad:
            return {}
        values[field_name] = value
    return values


def read_bed(to: TableReader, record: Record) -> Fate:
    """Take a bed, and the round that its row speaks of."""
    if "bed" in record.columns or "bed" in record.cells:
        name = to.text(record, "bed")
        if not name:
            raise Lost("no bed is named in this row")
    else:
        name = to.table.settings.bed or to.table.context.bed
        if not to.table.settings.bed and to.builder.names.find(name) is None:
            raise Lost("nothing names the bed of this row")
    found = to.builder.names.find(name) or name
    numbers, failed = to.all_numbers(record, BED_NUMBERS)
    numbers["rate"], rate_unit, bad_rate = to.amount(record, "rate")
    failed |= {"rate"} if bad_rate else set()
    numbers |= {k: v for k, v in _several(to, record, "size", ("length", "width", "depth"), 2).items() if v is not None}
    for ends in BANDS:
        name = ends[0].replace("_low", "_band")
        band = _several(to, record, name, ends, 2)
        failed |= set(ends) if name in record.cells and not band else set()
        numbers |= zip(ends, sorted(v for v in band.values() if v is not None), strict=False)
    dates = {name: to.date(record, name)[0] for name in ROUND_FIELDS - {"round"} if name in record.cells}
    texts = {field: to.text(record, field) for field in ("crop", "feed", "shape", "notes")} | {"rate_unit": rate_unit}
    bed = to.builder.beds.setdefault(name_key(found), Bed(found))
    if any(dates.get(name) for name in ("planted", "sown", "transplanted")):
        of_round: dict[str, object] = {**dates, **{key: {**texts, **numbers}.get(key) for key in OF_ROUND}}
        known = _round_for(to, bed, of_round, record)
        first = known is next(planted for planted in to.builder.rounds if planted.bed == bed.name)
        own = {key: value for key, value in {**texts, **numbers}.items() if key not in OF_ROUND or first}
        _merge(to, bed, bed.name, {**own, **({"planted": known.began} if first else {})}, record)
    else:
        _merge(to, bed, bed.name, {**texts, **numbers}, record)
    bed.failed |= failed
    return Fate.READ


def drop_reversed_bands(builder: Builder, sheets: Mapping[str, Sheet]) -> None:
    """Take no band of which the low end lies above the high one: one of the two is wrong, and nothing says which."""
    for bed in builder.beds.values():
        for ends in BANDS:
            low, high = (_fixed(builder, name, getattr(bed, name)) for name in ends)
            if low is None or high is None or low <= high:
                continue
            for name in ends:
                title, _, place = bed.cells.get(name, "").rpartition("!")
                if place:
                    row, column = read_place(place)
                    cell = sheets[title].rows[row][column]
                    cell.fate = None  # that it was read counts no more
                    builder.leave(cell, Fate.UNREADABLE, f"the band of {bed.name} begins above its end: check both")
            for name in ends:
                setattr(bed, name, None)
            bed.failed |= set(ends)


def _fixed(builder: Builder, name: str, value: float | None) -> float | None:
    """A number of a bed in the fixed unit of its field."""
    key = f"beds.{name}"
    if value is None or key not in FIXED_UNITS:
        return value
    slope, offset = fixed_factors(builder.units, key)
    return slope * value + offset


def _round_for(to: TableReader, bed: Bed, values: dict[str, object], record: Record) -> Round:
    """The round of a row: one that began on the same day, or a new one."""
    new = Round(bed.name, name=to.text(record, "round"), **to.place_of(record))
    days = {name: values.get(name) for name in ("sown", "transplanted", "planted")}
    for known in to.builder.rounds:
        if known.bed == bed.name and any(
            day is not None and day in (known.sown, known.transplanted, known.planted) for day in days.values()
        ):
            _merge(to, known, f"the planting of {bed.name}", values, record)
            return known
    for name, value in values.items():
        if value is not None:
            setattr(new, name, value)
    to.builder.rounds.append(new)
    return new


def read_feed(to: TableReader, record: Record) -> Fate:
    """Take a feed, or a part of one."""
    name = to.text(record, "feed") or to.text(record, "product")
    if not name:
        raise Lost("no feed is named in this row")
    feed = to.builder.feeds.setdefault(name_key(name), Feed(name))
    if record.parts:
        return _read_parts(to, record, feed)
    numbers, liquid, failed = to.amounts(record, PART_NUMBERS)
    counted, _ = to.date(record, "counted")
    texts = {field: to.text(record, field) for field in ("product", "analysis", "notes")}
    part = _part_for(feed, texts["product"])
    part.units |= liquid
    _merge(to, part, name, {**texts, **numbers, "counted": counted}, record)
    part.failed |= failed
    price = record.cells.get("price")
    if price is not None and to.builder.money == PLAIN_MONEY and price.number_format != "General":
        to.builder.money = price.number_format
    return Fate.READ


def _part_for(feed: Feed, product: str) -> Part:
    """The part of a feed that a row speaks of: the one with this product, the only one of none, or a new one."""
    for part in feed.parts:
        if name_key(part.product) == name_key(product):
            return part
    if len(feed.parts) == 1 and not (product and feed.parts[0].product):
        return feed.parts[0]
    feed.parts.append(Part())
    return feed.parts[-1]


def _read_parts(to: TableReader, record: Record, feed: Feed) -> Fate:
    columns = [(record.columns["rate"], record.cells["rate"])] if "rate" in record.cells else []
    for column, cell in (*columns, *record.parts):
        reader = to.numbers[id(column)]
        rate, bad = to._number_in(cell, reader)
        if rate or bad:
            part = _part_for(feed, column.bed or column.heading)
            part.product = column.bed or column.heading
            part.rate = rate
            if bad:
                part.failed.add("rate")
            if reader.own:
                part.units["rate"] = reader.target
    if not feed.parts:
        feed.parts.append(Part())
    feed.parts[0].notes = to.text(record, "notes") or feed.parts[0].notes
    return Fate.READ
