"""The sheets of a starter log that hold tables."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from xlsxwriter.utility import xl_col_to_name

from ..sheets.cell_writer import Computed, Content
from ..sheets.print_setup import LETTER, set_up_print
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import Painter, Style
from ..sheets.table_columns import DATE, Column
from .season_tables import FIRST_ROW, LAST_ROW, TABLES, Field, Table

HEADING_HEIGHT = 28
"""[points]"""
WARNING = {"error_type": "warning"}
"""A rule of what is typed that can be overridden."""
CHOOSE_ONE = "Choose one from the list."
_NAME = re.compile(r"\{([\w.]+)(@row)?\}")

BY_KEY = {table.key: table for table in TABLES}

EXAMPLES_NAME = "Examples_"
"""How the name of the cells that hold a sheet's examples begins; the name of the sheet follows."""


def write_table(painter: Painter, table: Table, examples: Sequence[Mapping[str, Content]]) -> None:
    """A sheet with a table: headings, ruled rows with formulas and dropdowns, examples in the first ones."""
    sheet = painter.book.add_worksheet(table.sheet)
    page = SheetWriter(sheet, painter, table.title, table.hint, len(table.fields))
    page.widths([Column(field.heading, field.width) for field in table.fields])
    page.set_height(FIRST_ROW - 1, HEADING_HEIGHT)
    for place, field in enumerate(table.fields, 1):
        page.put(FIRST_ROW - 1, place, field.heading)
        page.paint(
            FIRST_ROW - 1, place, _style(field, place, "computed" if field.formula else "head", "dark", wrap=True)
        )
        page.column_styles[place] = _style(field, place)
        ruled = _style(field, place, rule="thin")
        for row in range(FIRST_ROW, LAST_ROW + 1):
            page.paint(row, place, ruled)
            if field.formula:
                page.put(row, place, Computed(filled(field.formula, table, row)))
        for row, values in enumerate(examples, FIRST_ROW):
            if not field.formula:
                page.put(row, place, values.get(field.name))
        _validate(page, table, field)
    page.freeze(FIRST_ROW, 2)
    page.finish()
    set_up_print(sheet, landscape=True, paper=LETTER, footer=table.title, title_row=FIRST_ROW - 1)
    if table.overruns:
        sheet.print_area(0, 0, LAST_ROW - 1, len(table.fields) - 1)
    if examples:
        name_examples(page, FIRST_ROW, len(examples), len(table.typed))


def filled(formula: str, table: Table, row: int) -> str:
    """A formula of the layout with its names turned into the cells of a row."""

    def cell(match: re.Match[str]) -> str:
        name, same_row = match.groups()
        if "." not in name:
            return f"{table.letter(name)}{row}"
        key, column = name.split(".")
        other = BY_KEY[key]
        return f"{other.sheet}!{other.letter(column)}{row}" if same_row else other.area(column)

    return _NAME.sub(cell, formula)


def name_examples(page: SheetWriter, first_row: int, rows: int, columns: int) -> None:
    """Name the cells of a sheet's examples, which begin in its first column, so that they are cleared in one go.

    The name box of LibreOffice takes names of one block of cells only.
    """
    area = f"$A${first_row}:${xl_col_to_name(columns - 1)}${first_row + rows - 1}"
    page.book.define_name(f"{EXAMPLES_NAME}{page.sheet.name}", f"={page.sheet.name}!{area}")


def _style(field: Field, place: int, font: str = "body", rule: str = "", wrap: bool = False) -> Style:
    """Texts and dates stand to the left, a little away from the numbers before them; numbers to the right."""
    left = field.format in ("General", "@", DATE)
    across, indent = ("left", int(place > 1)) if left else ("right", 0)
    return Style(font, rule, across, "bottom", indent, wrap, "General" if wrap else field.format)


def _validate(page: SheetWriter, table: Table, field: Field) -> None:
    """A dropdown, or a warning that can be overridden: a cell may hold a text with a unit."""
    letter = table.letter(field.name)
    if field.choices:
        key, _, column = field.choices.partition(".")
        source = f"={BY_KEY[key].area(column)}" if column else field.choices.split(",")
        rule = {"validate": "list", "source": source, "error_message": CHOOSE_ONE}
    elif field.low is not None and not field.formula:
        cell = f"{letter}{FIRST_ROW}"
        limits = f"{cell}>={field.low:g}" + (f",{cell}<={field.high:g}" if field.high is not None else "")
        most = f" and no more than {field.high:g}" if field.high is not None else ""
        told = f"{' '.join(field.heading.split())}: give a number of {field.low:g} or more{most}."
        rule = {"validate": "custom", "value": f"=OR(ISTEXT({cell}),AND({limits}))", "error_message": told}
    else:
        return
    area = f"{letter}{FIRST_ROW}:{letter}{table.last_row}"
    page.sheet.data_validation(area, {**rule, **WARNING, "error_title": table.title})
