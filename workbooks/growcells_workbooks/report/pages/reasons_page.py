"""The page with the reasons of the advice in full."""

from __future__ import annotations

from collections.abc import Iterator

from ...sheets.table_columns import Column
from .material import Material
from .page import Page, Table


def reasons_page(material: Material) -> Iterator[Page]:
    """Each piece of advice with the figures that it rests on; nothing where there is none."""
    found = material.actions
    if found:
        columns = [Column("Where", 12, wrap=True), Column("What to do", 34, wrap=True), Column("Why", 44, wrap=True)]
        rows = [[action.about, action.what, action.why] for action in found]
        yield material.page("Reasons", "The advice and its reasons", [Table(columns, rows)], behind=True)
