"""Labels with their values beside them, as the size of a bed stands on a sheet of its own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from ..columns.column import ROUND_FIELDS, SIZES, Column, Context, column_claims
from ..inputs.log_cells import LogCell, Sheet
from ..mapping import Layout
from ..vocabulary.names import Names, is_generic, numbered_in
from ..vocabulary.shapes import Shape, is_text, shape_of
from ..vocabulary.units import MOST_TEXTS
from ..vocabulary.words import Claim, claims
from .grids import Grid, Table, not_taken, outside

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
    for _, row, spans in not_taken(sheet, tables):
        used: set[int] = set()
        for place, cell in outside(spans, row).items():
            if place in used or not is_text(cell):
                continue
            if pair := _in_one(cell):
                yield pair
                continue
            value = row.get(place + 1) or row.get(place + 2)
            claim = _claim(cell.text, value) if value is not None else None
            if value is not None and claim is not None and not (is_text(value) and claims(value.text, "beds")):
                used.add(value.column)
                yield Pair(cell, value, claim)


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
