"""The card of a bed on a sheet: its readings beside their bands in a line, and below it what to do."""

from __future__ import annotations

from collections.abc import Sequence

from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import Style
from ...sheets.table_columns import EDGE, INDENT, LINE_HEIGHT, TICK, Column, placed
from ...sheets.text_size import wrapped_lines
from ..pages.page import Card
from .grid import CARD, TO_DO, Grid

HEAD_ROOM = 6
"""Room above and below the names and readings of a bed [points]."""


def draw_card(writer: SheetWriter, grid: Grid, card: Card) -> None:
    """Draw a bed in the week."""
    title = f"{card.title} · {card.about}" if card.about else card.title
    if card.marks:
        marks = [f"{mark.measure} {mark.reading}\n{mark.verdict}".rstrip() for mark in card.marks]
        fonts = ["strong" if mark.side else "body" for mark in card.marks]
        _row(writer, grid.laid(CARD), [title, *marks], ["strong", *fonts])
    else:
        _row(writer, grid.laid([Column("", sum(column.width for column in CARD))]), [title], ["section"])
    columns = grid.laid(TO_DO)
    for entry in card.to_do:
        fonts = ["body", "strong" if entry.urgent else "body", "body", "small"]
        _row(writer, columns, [TICK, entry.when, entry.what, entry.why], fonts, rule="")
    rest = Column("", sum(column.width for column in columns[1:]), span=sum(column.span for column in columns[1:]))
    for note in card.notes:
        _row(writer, [columns[0], rest], ["", note], ["body", "body"], rule="")


def _row(
    writer: SheetWriter, columns: Sequence[Column], texts: Sequence[str], fonts: Sequence[str], rule: str = "top"
) -> None:
    """A row of texts; with a rule above it begins a card."""
    lines = 1
    for (place, column), text, font in zip(placed(columns), texts, fonts, strict=True):
        writer.put(writer.row, place, text)
        for under in range(place, place + column.span):
            writer.paint(writer.row, under, Style(font, rule, "left", "top", indent=int(place > 1), wrap=True))
        writer.merge(writer.row, place, place + column.span - 1)
        lines = max(lines, wrapped_lines(text, column.width - (INDENT if place > 1 else EDGE)))
    writer.set_height(writer.row, LINE_HEIGHT * lines + (HEAD_ROOM if rule else 3))
    writer.row += 1
