"""The report as one file for a browser: it needs no other file, no network and no script."""

from __future__ import annotations

import base64
import functools
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ...gate.safe_xml import writable
from ...sheets.shown_values import text_of
from ...sheets.table_columns import TICK, Column, Value
from ..pages import DIVIDER
from ..pages.page import Block, Card, ChartGrid, Document, Page, PhotoRow, Section, Table, Text
from .drawn_chart import drawn

if TYPE_CHECKING:
    from jinja2 import Environment


@dataclass(frozen=True)
class Cell:
    """A cell of a table: its text or a box to tick, its heading for where it stands alone, and its classes."""

    text: str
    label: str = ""
    classes: str = ""
    tick: bool = False


def html_bytes(document: Document, creator: str) -> bytes:
    """The file of the report; the same document gives the same bytes."""
    environment = _environment()
    loader = environment.loader
    assert loader is not None
    style, _, _ = loader.get_source(environment, "report.css")
    pages = [page for page in document.pages if page.printed]
    first = next((page for page in pages if page.behind), None)
    written = environment.get_template("report.html").render(
        document=document,
        creator=creator,
        divider=DIVIDER,
        style=_Trusted(style),
        pages=[_page(page, page is first) for page in pages],
    )
    return f"{written}\n".encode()


@functools.cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined  # few reports are written for a browser

    return Environment(
        loader=PackageLoader("growcells_workbooks.report.look"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda value: writable(value) if type(value) is str else value,
    )


class _Trusted(str):
    """A text that is ours and stands in the file as it is."""

    def __html__(self) -> str:
        return self


def _page(page: Page, divider: bool) -> dict[str, Any]:
    return {
        "id": page.name.lower().replace(" ", "-"),
        "name": page.name,
        "title": page.title,
        "subtitle": page.subtitle,
        "divider": divider,
        "blocks": list(_blocks(page.blocks)),
    }


def _blocks(blocks: Sequence[Block]) -> Iterator[tuple[str, Any]]:
    """The blocks as the template takes them: cards in a row together, a table under the heading above it."""
    above = ""
    for is_card, some in itertools.groupby(blocks, key=lambda block: isinstance(block, Card)):
        if is_card:
            yield "cards", list(some)
            continue
        for block in some:
            match block:
                case Section():
                    above = block.title
                    yield "section", block
                case Text():
                    yield "text", block
                case Table() if block.rows:
                    yield "table", _table(block, above)
                case ChartGrid():
                    yield "charts", [drawn(chart) for row in block.rows for chart in row]
                case PhotoRow():
                    photos = [base64.b64encode(photo.jpeg).decode() if photo else "" for photo in block.photos]
                    yield "photos", list(zip(photos, block.captions, strict=True))


def _table(table: Table, name: str) -> dict[str, Any]:
    columns = table.columns
    rows = [(row, False) for row in table.rows]
    rows += [(table.totals, True)] if table.totals else []
    above = ""
    shown = []
    for row, total in rows:
        again = row[0] in ("", None) and bool(above) and not total
        cells = [_cell(column, value, at) for at, (column, value) in enumerate(zip(columns, row, strict=True))]
        if again:
            cells[0] = Cell(above, "", "again")
        above = cells[0].text
        shown.append({"cells": cells, "total": total})
    return {
        "name": name,
        "by_hand": table.by_hand,
        "groups": list(_groups(columns)),
        "headings": [{"text": _heading(column), "number": not column.is_text} for column in columns],
        "rows": shown,
    }


def _groups(columns: Sequence[Column]) -> Iterator[dict[str, Any]]:
    """The headings above headings; none where no column has one."""
    if any(column.group for column in columns):
        for text, some in itertools.groupby(columns, key=lambda column: column.group):
            yield {"text": text, "span": len(list(some))}


def _heading(column: Column) -> str:
    return column.heading.replace("\n", " ").strip()


def _cell(column: Column, value: Value, place: int) -> Cell:
    label = ", ".join(filter(None, (column.group, _heading(column)))) if place else ""
    return Cell(text_of(value, column.format), label, "" if column.is_text else "number", value == TICK)
