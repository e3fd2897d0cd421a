"""What texts outside the tables say of their numbers: units, and the scale on which a meter shows ppm."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from ..columns.column import Column
from ..inputs.log_cells import LogCell, Sheet
from ..vocabulary.shapes import is_text
from ..vocabulary.units import MOST_TEXTS, Unit, meter_unit, unit_of
from ..vocabulary.words import Claim, all_claims, field_of, splits
from .grids import Table, not_taken, outside

MOST_TITLES, LONGEST_STATEMENT = 2, 120
"""A row of texts with more cells is none of titles, a longer text says nothing of units; ours."""
_LENGTHS = ("length", "width", "depth", "lowest")
_OF_SYSTEM = {"depth": "in", "water_added": "gal"}
"""The measures whose usual unit is not metric."""
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


class Stated(NamedTuple):
    """A unit that texts give, and their cells."""

    unit: Unit
    cells: tuple[LogCell, ...]


StatedUnits = dict[tuple[str, str, str], Stated]
"""By sheet, kind of table and field; the sheet is "" where the whole log has one."""


def stated_units(found_on: Iterable[tuple[Sheet, Sequence[Table]]]) -> StatedUnits:
    """The units that texts over, under or beside the tables of a sheet give: ``Depth in cm, water in liters``."""
    found: dict[tuple[str, str, str], list[tuple[Unit, LogCell | None]]] = {}
    for sheet, tables in found_on:
        columns = [column for table in tables for column in table.columns]
        heads = {id(cell) for column in columns if not _heads_nothing(column) for cell in column.cells}
        rows = [*sheet.rows.values(), *_beside(sheet, tables)]
        few = (row.values() for row in rows if len(row) <= MOST_TITLES)
        spare = (column.cells for column in columns if _heads_nothing(column))
        texts = [cell for cells in (*few, *spare) for cell in cells if is_text(cell) and id(cell) not in heads]
        said: list[tuple[str, LogCell | None]] = [(sheet.title, None), *((cell.text, cell) for cell in texts)]
        for claim, cell in ((claim, cell) for text, cell in said for claim in _statements(text)):
            assert claim.unit is not None
            for place in (sheet.title, ""):
                found.setdefault((place, claim.field.table, claim.field.name), []).append((claim.unit, cell))
    return {
        key: Stated(_agreed({unit for unit, _ in of}), tuple(cell for _, cell in of if cell is not None))
        for key, of in found.items()
    }


def _agreed(units: Iterable[Unit]) -> Unit:
    """The unit that all texts give; where they give several, one that is asked for."""
    first, *others = sorted(units, key=lambda unit: unit.label)
    if not others:
        return first
    said = " and ".join(unit.label for unit in (first, *others))
    return Unit(first.name, asks=f"texts of the log say both {said}: write the unit in the heading")


def _heads_nothing(column: Column) -> bool:
    """Whether a text only stands among the headings of a table."""
    return column.field is None and column.is_empty


def _beside(sheet: Sheet, tables: Sequence[Table]) -> Iterator[dict[int, LogCell]]:
    """What stands in the rows of tables, left and right of them."""
    for _, row, spans in not_taken(sheet, tables):
        yield outside(spans, row)


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
