"""What does the mapping file say? What tables are, where guessing cannot tell. TOML, beside the log or named.

It names tables by their sheet and headings, not by their place, so that it holds when the log grows.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growcells.cells.kinds import Quantity

from ..gate import FileProblem, check_new_file, read_file, status_of, write_whole
from .model.entries import name_key
from .model.found import Certainty, ColumnFound, TableFound
from .vocabulary.date_texts import Order
from .vocabulary.several import measures_headed
from .vocabulary.units import Unit, meter_unit, unit_of
from .vocabulary.words import LABEL_POINTS, Claim, Field, field_of, fields, label_key

if TYPE_CHECKING:
    from .columns.column import Column
    from .model.log import GrowLog


class Layout(StrEnum):
    """How a table lies on its sheet."""

    ROWS = "a row for each"
    COLUMNS = "a column for each"
    BEDS_ACROSS = "a column for each bed"
    DATES_ACROSS = "a column for each date"
    LABELS = "labels and values"


@dataclass(frozen=True)
class Settings:
    """What a mapping file says of a table as a whole; "" where it says nothing."""

    bed: str = ""
    dates: str = ""
    decimals: str = ""


IGNORE = "ignore"
"""The kind of a table, or the field of a column, that is to be passed over."""
METER_SCALE = "meter_scale"
"""The key of the scale on which meters of conductivity show ppm."""
DECIMALS = ("comma", "point")
DATES = (Order.DAY_FIRST.value, Order.MONTH_FIRST.value)
MOST_MAP_BYTES = 2**20
"""Largest mapping file read [bytes]: ours, some hundred times the largest that a log needs."""
COMMENT = """\
# How growcells reads {name}. Tables are known by their sheet and headings: add nothing for tables it reads well.
# kind: beds, feeds, readings, weights, or ignore. field: as below, or ignore. unit: the unit of plain numbers.
# measured: the field of all numbers of a table with a column for each bed or date. Fill in what is "".
# dates: "day first" or "month first". decimals: "comma" or "point". bed: the bed of a table that does not name it.
# bed: of a column whose numbers are of one bed. [beds] gives other names of listed beds, as: "big tank" = "T1"
# meter_scale = 500 (or 640, 700), above all tables, says on which scale a meter shows ppm.
"""


@dataclass(frozen=True)
class MapColumn:
    """A column of a mapped table: its heading in the log, and what it is."""

    heading: str
    field: str
    unit: Unit | None = None
    bed: str = ""
    """The bed of its numbers, where the table has a column for each."""


@dataclass(frozen=True)
class MapTable:
    """A table of a mapping file."""

    sheet: str
    kind: str
    layout: Layout = Layout.ROWS
    columns: tuple[MapColumn, ...] = ()
    title: str = ""
    """A text right above the table or in its corner, where the sheet has several tables alike."""
    measured_claim: Claim | None = None
    """What all numbers of a table with a column for each bed or date are."""
    settings: Settings = field(default_factory=Settings)

    def is_on(self, sheet: str) -> bool:
        """Whether it speaks of a sheet."""
        return name_key(self.sheet) == name_key(sheet)

    def has_title(self, texts: Iterable[str]) -> bool:
        """Whether it may speak of a table under these texts."""
        return not self.title or label_key(self.title) in map(label_key, texts)


@dataclass(frozen=True)
class LogMap:
    """A mapping file as read; without one it is empty."""

    path: Path | None = None
    tables: tuple[MapTable, ...] = ()
    beds: Mapping[str, str] = field(default_factory=dict)
    """The listed names of beds by the keys of their other names."""
    meter: Unit | None = None
    """The unit of meters that show ppm."""

    def on(self, sheet: str) -> list[MapTable]:
        """What it says of a sheet."""
        return [table for table in self.tables if table.is_on(sheet)]


def map_beside(log: Path) -> Path:
    """Where the mapping file of a log stands: ``log.map.toml`` beside ``log.xlsx``."""
    return log.with_name(f"{log.stem}.map.toml")


def load_map(log: Path, path: Path | None = None) -> LogMap:
    """The mapping file at ``path``, or the one beside a log, if there is one. Raises FileProblem."""
    found = path or map_beside(log)
    if status_of(found) is None:
        if path is None:
            return LogMap()
        raise FileProblem(f"{found} does not exist: growcells check {log.name} --write-map makes a mapping file")
    import tomllib  # few logs have such a file

    try:
        content = tomllib.loads(read_file(found, MOST_MAP_BYTES).decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as problem:
        raise FileProblem(f"{found} is no mapping file: {problem}") from None
    except ValueError:  # Python reads no number of so many digits
        raise FileProblem(f"{found} is no mapping file: a number in it has thousands of digits") from None
    return _Checker(found).whole(content)


class _Checker:
    """Checks each entry of a mapping file; what is wrong is one sentence that says where."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.where = "the mapping file"

    def fail(self, sentence: str) -> FileProblem:
        return FileProblem(f"{self.path}: in {self.where} {sentence}")

    def keys(self, entry: Any, known: tuple[str, ...]) -> dict[str, Any]:
        if not isinstance(entry, dict):
            raise self.fail(f"there is {entry!r}: give a table with {', '.join(known)}")
        for key in entry:
            if key not in known:
                raise self.fail(f'there is "{key}": known are {", ".join(known)}')
        return entry

    def text(self, entry: dict[str, Any], key: str) -> str:
        value = entry.get(key, "")
        if not isinstance(value, str):
            raise self.fail(f'{key} is {value!r}: give a text such as {key} = "…"')
        return value

    def choice(self, entry: dict[str, Any], key: str, words: tuple[str, ...], default: str = "") -> str:
        value = self.text(entry, key) or default
        if value and value not in words:
            raise self.fail(f'{key} is "{value}": give one of {", ".join(words)}')
        return value

    def whole(self, content: dict[str, Any]) -> LogMap:
        entry = self.keys(content, ("table", "beds", METER_SCALE, METER_SCALE.replace("_", " ")))
        tables = entry.get("table", [])
        if not isinstance(tables, list):
            raise self.fail("table is no list: begin each table with [[table]]")
        self.where = "[beds]"
        beds = entry.get("beds", {})
        if not isinstance(beds, dict):
            raise self.fail('there is no table of names: write [beds], and below it "other name" = "listed name"')
        names = {name_key(other): self.text(beds, other) for other in beds}
        scale = entry.get(METER_SCALE, entry.get(METER_SCALE.replace("_", " ")))
        self.where = METER_SCALE
        meter = None if scale is None else meter_unit(str(scale))
        if scale is not None and meter is None:
            raise self.fail(f"there is {scale!r}: give 500, 640 or 700")
        found = tuple(self.table(number, table) for number, table in enumerate(tables, 1))
        return LogMap(self.path, found, names, meter)

    def table(self, number: int, given: Any) -> MapTable:
        self.where = f"table {number}"
        known = ("sheet", "kind", "layout", "title", "measured", "unit", "bed", "dates", "decimals", "column")
        entry = self.keys(given, known)
        sheet = self.text(entry, "sheet")
        if not sheet:
            raise self.fail('no sheet is named: give one such as sheet = "log"')
        kind = self.choice(entry, "kind", (*fields(), IGNORE))
        if not kind:
            raise self.fail(f"no kind is given: give one of {', '.join((*fields(), IGNORE))}")
        layout = Layout(self.choice(entry, "layout", tuple(Layout), Layout.ROWS))
        columns = entry.get("column", [])
        if not isinstance(columns, list):
            raise self.fail("column is no list: begin each column with [[table.column]]")
        measured = self.choice(entry, "measured", tuple(known.name for known in fields()["readings"]))
        unit = self.unit(field_of("readings", measured), self.text(entry, "unit")) if measured else None
        claim = Claim(field_of("readings", measured), unit, LABEL_POINTS) if measured else None
        return MapTable(
            sheet,
            kind,
            layout,
            tuple(self.column(number, place, kind, column) for place, column in enumerate(columns, 1)),
            self.text(entry, "title"),
            claim,
            Settings(
                self.text(entry, "bed"), self.choice(entry, "dates", DATES), self.choice(entry, "decimals", DECIMALS)
            ),
        )

    def column(self, number: int, place: int, kind: str, given: Any) -> MapColumn:
        self.where = f"table {number}, column {place},"
        entry = self.keys(given, ("heading", "field", "unit", "bed"))
        names = tuple(known.name for known in fields().get(kind, ()))
        name = self.choice(entry, "field", (*names, IGNORE))
        unit = self.unit(field_of(kind, name), self.text(entry, "unit")) if name in names else None
        return MapColumn(self.text(entry, "heading"), name, unit, self.text(entry, "bed"))

    def unit(self, known: Field, text: str) -> Unit | None:
        unit = unit_of(known.quantity.removesuffix(" range"), text) if text else None
        if text and unit is None:
            example = known.kind.unit if isinstance(known.kind, Quantity) else "none"
            raise self.fail(f'the unit of {known.name} is "{text}": give one such as {example}')
        return unit


def mapped(entries: Sequence[MapTable], columns: Sequence[Column], titles: Sequence[str]) -> MapTable | None:
    """What a mapping file says of the table with these columns under these titles; its columns are then settled."""
    keys = [{label_key(column.heading), label_key(column.lowest)} for column in columns]
    for entry in sorted(entries, key=lambda entry: not entry.columns):  # one that names columns says more
        if not entry.has_title(titles):
            continue
        if entry.columns:
            if len(entry.columns) != len(columns) or not all(
                label_key(column.heading) in key for column, key in zip(entry.columns, keys, strict=True)
            ):
                continue
            for settled, column in zip(entry.columns, columns, strict=True):
                column.settled, column.other = bool(settled.field), settled.field == IGNORE or entry.kind == IGNORE
                if settled.field and not column.other:
                    column.field, column.unit, column.bed = (
                        field_of(entry.kind, settled.field),
                        settled.unit,
                        settled.bed,
                    )
                    column.headed = measures_headed(column.lowest)
        return entry
    return None


def proposed(log: GrowLog) -> dict[str, Any]:
    """The mapping file that says what a log was taken for, to be corrected by its keeper.

    A mapping file knows tables of a sheet by their headings and titles alone: those that share them are one entry, or
    none where they were not taken for the same.
    """
    known: dict[tuple[object, ...], list[dict[str, Any]]] = {}
    for number, table in enumerate(log.tables):
        if table.kind in fields():
            entry = _table(table)
            headings = tuple(column["heading"] for column in entry.get("column", ()))
            known_by = (table.sheet, entry.get("title"), headings) if headings else (number,)
            known.setdefault(known_by, []).append(entry)
    return {"table": [same[0] for same in known.values() if all(one == same[0] for one in same)], "beds": {}}


def _table(table: TableFound) -> dict[str, Any]:
    entry: dict[str, Any] = {"sheet": table.sheet, "kind": table.kind}
    layout = Layout(table.layout)
    if layout is not Layout.ROWS:
        entry["layout"] = layout.value
        if table.title:
            entry["title"] = table.title
    undecided = any(column.field == "date" and column.certainty is not Certainty.SURE for column in table.columns)
    if table.date_order in DATES or undecided:
        entry["dates"] = table.date_order if table.date_order in DATES else ""
    if table.decimals:
        entry["decimals"] = table.decimals
    if layout is Layout.LABELS:
        return entry
    if table.measured or table.problem:
        entry["measured"] = table.measured
        unit = next((column.unit for column in table.columns if column.field == table.measured), "")
        if unit:
            entry["unit"] = unit
    else:
        entry["column"] = [_column(column) for column in table.columns if not _is_second(column, table.columns)]
    return entry


def _is_second(column: ColumnFound, columns: Sequence[ColumnFound]) -> bool:
    """Whether the days of a column that names the beds too: a mapping file speaks of a heading once."""
    return column.field == "date" and any(one.field == "bed" and one.cell == column.cell for one in columns)


def _column(column: ColumnFound) -> dict[str, str]:
    entry = {"heading": column.heading, "field": column.field or (IGNORE if column.other else "")}
    if column.unit or column.unit_from:
        entry["unit"] = column.unit
    if column.bed:
        entry["bed"] = column.bed
    return entry


def map_text(log: GrowLog) -> str:
    """The proposed mapping file of a log."""
    import tomli_w

    return COMMENT.format(name=log.path.name) + "\n" + tomli_w.dumps(proposed(log))


def put_map(text: str, path: Path, overwrite: bool = False) -> None:
    """Write a proposed mapping file. Raises FileProblem where there is one already."""
    check_new_map(path, overwrite)
    write_whole(path, text.encode("utf-8", "replace"))


def check_new_map(path: Path, overwrite: bool) -> None:
    """Raise FileProblem where a mapping file cannot be written."""
    if status_of(path) is not None and not overwrite:
        raise FileProblem(f"{path} exists already: change it by hand, or allow to replace it with --overwrite")
    check_new_file(path, overwrite)
