"""The mapping file of a log: what its tables are, where guessing cannot tell. TOML, beside the log or named.

It names tables by their sheet and headings, not by their place, so that it holds when the log grows.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growcells.cells.errors import GrowError
from growcells.cells.kinds import Quantity

from ..gate import FileProblem, check_new_file, read_file, status_of, write_whole
from .dates import Order
from .model import Certainty, ColumnFound, TableFound, name_key
from .tables import Layout, Settings
from .words import fields, fits, label_key

if TYPE_CHECKING:
    from .model import GrowLog

IGNORE = "ignore"
"""The kind of a table, or the field of a column, that is to be passed over."""
DECIMALS = ("comma", "point")
DATES = (Order.DAY_FIRST.value, Order.MONTH_FIRST.value)
MOST_MAP_BYTES = 2**20
"""Largest mapping file read [bytes]: ours, some hundred times the largest that a log needs."""

COMMENT = """\
# How growcells reads {name}. Tables are known by their sheet and headings: add nothing for tables it reads well.
# kind: beds, feeds, readings, weights, or ignore. field: as below, or ignore. unit: the unit of plain numbers.
# measured: the field of all numbers of a table with a column for each bed or date. Fill in what is "".
# dates: "day first" or "month first". decimals: "comma" or "point". bed: the bed of a table that does not name it.
# [beds] gives other names of listed beds, as: "big tank" = "T1"
"""


@dataclass(frozen=True)
class MapColumn:
    """A column of a mapped table: its heading in the log, and what it is."""

    heading: str
    field: str
    unit: str = ""


@dataclass(frozen=True)
class MapTable:
    """A table of a mapping file."""

    sheet: str
    kind: str
    layout: Layout = Layout.ROWS
    columns: tuple[MapColumn, ...] = ()
    title: str = ""
    """A text right above the table or in its corner, where the sheet has several tables alike."""
    measured: str = ""
    """The field of all numbers of a table with a column for each bed or date."""
    unit: str = ""
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
    try:
        content = tomllib.loads(read_file(found, MOST_MAP_BYTES).decode("utf-8"))
    except (ValueError, RecursionError) as problem:  # an integer of thousands of digits is a ValueError of its own
        raise FileProblem(f"{found} is no mapping file: {problem}") from None
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
        entry = self.keys(content, ("table", "beds"))
        tables = entry.get("table", [])
        if not isinstance(tables, list):
            raise self.fail("table is no list: begin each table with [[table]]")
        self.where = "[beds]"
        beds = entry.get("beds", {})
        if not isinstance(beds, dict):
            raise self.fail('there is no table of names: write [beds], and below it "other name" = "listed name"')
        names = {name_key(other): self.text(beds, other) for other in beds}
        return LogMap(self.path, tuple(self.table(number, table) for number, table in enumerate(tables, 1)), names)

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
        unit = self.unit("readings", measured, self.text(entry, "unit")) if measured else ""
        return MapTable(
            sheet,
            kind,
            layout,
            tuple(self.column(number, place, kind, column) for place, column in enumerate(columns, 1)),
            self.text(entry, "title"),
            measured,
            unit,
            Settings(
                self.text(entry, "bed"), self.choice(entry, "dates", DATES), self.choice(entry, "decimals", DECIMALS)
            ),
        )

    def column(self, number: int, place: int, kind: str, given: Any) -> MapColumn:
        self.where = f"table {number}, column {place},"
        entry = self.keys(given, ("heading", "field", "unit"))
        names = tuple(known.name for known in fields().get(kind, ()))
        name = self.choice(entry, "field", (*names, IGNORE), IGNORE)
        unit = self.text(entry, "unit")
        return MapColumn(self.text(entry, "heading"), name, self.unit(kind, name, unit) if name in names else "")

    def unit(self, kind: str, name: str, unit: str) -> str:
        known = next(known for known in fields()[kind] if known.name == name)
        try:
            if unit and not fits(known.kind, unit):
                example = known.kind.unit if isinstance(known.kind, Quantity) else "none"
                raise self.fail(f'the unit of {name} is "{unit}": give one such as {example}')
        except GrowError as problem:
            raise self.fail(str(problem)) from None
        return unit


def proposed(log: GrowLog) -> dict[str, Any]:
    """The mapping file that says what a log was taken for, to be corrected by its keeper."""
    return {"table": [_table(table) for table in log.tables], "beds": {}}


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
    if layout in (Layout.ROWS, Layout.COLUMNS):
        entry["column"] = [_column(column) for column in table.columns]
    elif table.measured or table.problem:
        entry["measured"] = table.measured
        unit = next((column.unit for column in table.columns if column.field == table.measured), "")
        if unit:
            entry["unit"] = unit
    return entry


def _column(column: ColumnFound) -> dict[str, str]:
    entry = {"heading": column.heading, "field": column.field or IGNORE}
    if column.unit:
        entry["unit"] = column.unit
    return entry


def map_text(log: GrowLog) -> str:
    """The proposed mapping file of a log."""
    import tomli_w

    return COMMENT.format(name=log.path.name) + "\n" + tomli_w.dumps(proposed(log))


def put_map(text: str, path: Path, overwrite: bool = False) -> None:
    """Write a proposed mapping file. Raises FileProblem where there is one already."""
    check_new_map(path, overwrite)
    write_whole(path, text.encode("utf-8"))


def check_new_map(path: Path, overwrite: bool) -> None:
    """Raise FileProblem where a mapping file cannot be written."""
    if status_of(path) is not None and not overwrite:
        raise FileProblem(f"{path} exists already: change it by hand, or allow to replace it with --overwrite")
    check_new_file(path, overwrite)
