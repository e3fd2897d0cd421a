"""Labels with their values beside them, as the size of a bed stands on a sheet of its own, and the scale of a meter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from .cells import LogCell
from .grid import Sheet
from .headings import ROUND_FIELDS, SIZES, Column, Context, column_claims
from .mapping import Layout
from .names import Names, is_generic, numbered_in
from .shapes import Shape, is_text, shape_of
from .tables import Grid, Table
from .units import MOST_TEXTS, Unit, meter_unit, unit_of
from .words import Claim, all_claims, claims, field_of, splits

MOST_TITLES, LONGEST_STATEMENT = 2, 120
"""A row of texts with more cells is none of titles, a longer text says nothing of units; ours."""
_LENGTHS = ("length", "width", "depth", "lowest")
_OF_SYSTEM = {"depth": "in", "water_added": "gal"}
"""The measures whose usual unit is not metric."""
FEWEST = 2
"""Labels with values that describe a bed together; ours."""
_PAIR = re.compile(r"(?P<label>[^:=\d][^:=]{0,40}?)\s*[:=]\s*(?P<value>\S.{0,60})")


@dataclass(frozen=True)
class Pair:
    """A label and the value beside it, or both in one cell, as pieces of it."""

    label: LogCell
    value: LogCell
    claim: Claim


def described_beds(sheet: Sheet, tables: Sequence[Table], names: Names) -> list[tuple[Table, list[Pair]]]:
    """The beds that labels and values outside the tables of a sheet describe, each as a table of one row."""
    found: list[tuple[Table, list[Pair]]] = []
    block: list[Pair] = []
    for pair in [*_pairs(sheet, tables), None]:
        if pair is None or any(known.claim.field.name == pair.claim.field.name for known in block):
            if table := _table(sheet, block, names):
                found.append((table, block))
            block = []
        if pair is not None:
            block.append(pair)
    return found


def _table(sheet: Sheet, block: Sequence[Pair], names: Names) -> Table | None:
    fields = {pair.claim.field.name for pair in block}
    if len(fields & (SIZES | ROUND_FIELDS | {"crop", "plants", "feed", "rate"})) < FEWEST or not fields & (
        SIZES | ROUND_FIELDS
    ):
        return None
    title = sheet.title
    first = block[0].label
    above = [
        cell
        for row in range(max(1, first.row - 3), first.row)
        for cell in sheet.rows.get(row, {}).values()
        if is_text(cell)
    ]
    bed = next((name for cell in reversed(above) if (name := names.within(cell.text) or numbered_in(cell.text))), "")
    bed = bed or names.within(title) or numbered_in(title) or ("" if is_generic(title) else title)
    if not bed and "bed" not in fields:
        return None
    columns = []
    for place, pair in enumerate(block, 1):
        column = Column(place, (pair.label,), (pair.label.text,))
        column.shapes[shape_of(pair.value)] += 1
        column.take(pair.claim)
        columns.append(column)
    rows = {
        1: {place: pair.label for place, pair in enumerate(block, 1)},
        2: {place: pair.value for place, pair in enumerate(block, 1)},
    }
    heads = tuple(pair.label for pair in block if pair.label.whole is None)
    context = Context((), title, False, bed)
    return Table(Grid(rows, {}), sheet, "beds", Layout.LABELS, columns, 1, 1, 1, len(block), context, heads)


def _pairs(sheet: Sheet, tables: Sequence[Table]) -> Iterator[Pair]:
    """The labels of beds outside the tables that have a value to their right or, behind a colon, in their own cell."""
    taken = _taken(tables)
    for number, row in sheet.rows.items():
        if number in taken and all(any(left <= c <= right for left, right in taken[number]) for c in row):
            continue
        used: set[int] = set()
        for place, cell in row.items():
            if (
                place in used
                or not is_text(cell)
                or any(left <= place <= right for left, right in taken.get(number, ()))
            ):
                continue
            if pair := _in_one(cell):
                yield pair
                continue
            value = row.get(place + 1) or row.get(place + 2)
            claim = _claim(cell.text, value) if value is not None else None
            if value is not None and claim is not None and not (is_text(value) and claims(value.text, "beds")):
                used.add(value.column)
                yield Pair(cell, value, claim)


def _taken(tables: Sequence[Table]) -> Mapping[int, list[tuple[int, int]]]:
    """The columns that tables take, by the rows of the sheet."""
    found: dict[int, list[tuple[int, int]]] = {}
    for table in tables:
        grid = table.grid
        numbers = [*range(table.first_row, table.last_row + 1), *grid.between(table.last_row, table.end)]
        if not grid.turned:
            for number in numbers:
                found.setdefault(number, []).append((table.left, table.right))
        elif numbers:
            for number in range(table.left, table.right + 1):
                found.setdefault(number, []).append((min(numbers), max(numbers)))
    return found


def _claim(label: str, value: LogCell) -> Claim | None:
    column = Column(0, (), (label.strip(" :="),))
    column.shapes[shape_of(value)] += 1
    offers = [claim for claim in column_claims(column, "beds") if claim.exact and claim.field.name != "notes"]
    if not offers or (len(offers) > 1 and offers[0].points == offers[1].points):
        return None
    best = offers[0]
    shape = shape_of(value)
    if best.field.is_number and shape not in (Shape.NUMBER, Shape.ERROR):
        return None
    return best


@lru_cache(MOST_TEXTS)
def _split(text: str) -> tuple[str, str] | None:
    match = _PAIR.fullmatch(text.strip())
    return (match["label"], match["value"]) if match else None


def _in_one(cell: LogCell) -> Pair | None:
    parts = _split(cell.text)
    if parts is None:
        return None
    value = cell.piece(parts[1])
    claim = _claim(parts[0], value)
    return Pair(cell.piece(parts[0]), value, claim) if claim else None


_SCALE_WORDS = re.compile(r"\b(?:meter|ppm|tds|ec|pen|probe|conversion|conductivity)\b")
_SCALE = re.compile(r"(?<![\d.])(?:500|640|700|0?\.5|0?\.64|0?\.7|0\.50|0\.70)(?![\d.]*\d)")


@lru_cache(MOST_TEXTS)
def _speaks_of_scale(text: str) -> bool:
    plain = text.casefold()
    return ("scale" in plain or "factor" in plain) and _SCALE_WORDS.search(plain) is not None and len(plain) < 120


def meter_scale(sheets: Iterable[Sheet]) -> tuple[Unit | None, list[LogCell]]:
    """The unit of the ppm that a log's meter shows, by a cell such as ``meter scale``, and the cells that say so."""
    found: dict[Unit, list[LogCell]] = {}
    for sheet in sheets:
        for number, row in sheet.rows.items():
            for place, cell in row.items():
                if not isinstance(cell.value, str) or not _speaks_of_scale(cell.value):
                    continue
                near = (cell, row.get(place + 1), row.get(place + 2), sheet.rows.get(number + 1, {}).get(place))
                for other in near:
                    match = _SCALE.search(other.text) if other is not None else None
                    unit = meter_unit(match[0]) if match else None
                    if unit and other is not None:
                        found.setdefault(unit, []).extend({id(cell): cell, id(other): other}.values())
                        break
    # Two scales in one log say nothing of a column that names none.
    return next(iter(found.items())) if len(found) == 1 else (None, [])


_STATEMENTS = re.compile(
    r"[,;.\n]\s+|\s+(?:and|&|-|–)\s+|^\s*[*(]?\s*(?:all|note|units|readings)\b[: ]*|\)\s*$", re.IGNORECASE
)
_METRIC = re.compile(r"\bmetric\b", re.IGNORECASE)
_SIZES = re.compile(
    r"\b(?:sizes?|dimensions?|inside|lengths?|measure\w*|beds?|tubs?|tanks?|totes?|setup)\b", re.IGNORECASE
)
Stated = dict[tuple[str, str, str], Unit]
"""Units by sheet, kind of table and field; the sheet is "" where the whole log has one."""


def stated_units(sheets: Iterable[Sheet], headings: Iterable[LogCell]) -> Stated:
    """The units that texts over or under tables give: ``Depth in cm, water in liters``."""
    heads = {id(cell) for cell in headings}
    found: dict[tuple[str, str, str], set[Unit]] = {}
    for sheet in sheets:
        rows = (row.values() for row in sheet.rows.values() if len(row) <= MOST_TITLES)
        texts = [cell.text for row in rows for cell in row if is_text(cell) and id(cell) not in heads]
        for claim in (claim for text in (sheet.title, *texts) for claim in _statements(text)):
            assert claim.unit is not None
            for place in (sheet.title, ""):
                found.setdefault((place, claim.field.table, claim.field.name), set()).add(claim.unit)
    return {key: next(iter(units)) for key, units in found.items() if len(units) == 1}


@lru_cache(MOST_TEXTS)
def _statements(text: str) -> tuple[Claim, ...]:
    """The fields whose unit a text gives."""
    if len(text) > LONGEST_STATEMENT:
        return ()
    if _METRIC.search(text):
        asks = f'"{text}" does not say which: write the unit in the heading'
        return tuple(Claim(field_of("readings", name), Unit(unit, asks=asks), 0.0) for name, unit in _OF_SYSTEM.items())
    claimed: list[Claim] = []
    for part in _STATEMENTS.split(text):
        known = [claim for claim in all_claims(part.strip(" ()*")) if claim.unit and not claim.bare]
        for table in {claim.field.table for claim in known}:
            offers = [claim for claim in known if claim.field.table == table]
            best = [claim for claim in offers if claim.points == max(claim.points for claim in offers)]
            claimed += best if len(best) == 1 else []
        if _SIZES.search(part):
            unit = next((unit for _, of in splits(part) if (unit := unit_of("length", of))), None)
            claimed += [Claim(field_of("beds", name), unit, 0.0) for name in _LENGTHS if unit]
    return tuple(claimed)
