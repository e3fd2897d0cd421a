"""The sheets of a starter log that hold tables."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.styles.styleable import StyleableObject
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from ..sheets.print_setup import LETTER, set_up_print
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import BODY, FACE, GREY, HEAD, RULE
from ..sheets.table_columns import DATE, Column
from ..sheets.workbook_files import put_text
from .season_tables import FIRST_ROW, LAST_ROW, TABLES, Field, Table

COMPUTED = Font(name=FACE, size=9, italic=True, color=GREY)
_RULE = Side(style="thin", color=RULE)
_DARK = Side(style="thin", color="000000")
_NAME = re.compile(r"\{([\w.]+)(@row)?\}")

BY_KEY = {table.key: table for table in TABLES}

EXAMPLES_NAME = "Examples_"
"""How the name of the cells that hold a sheet's examples begins; the name of the sheet follows."""


def write_table(book: Workbook, table: Table, examples: Sequence[Mapping[str, object]]) -> None:
    """A sheet with a table: headings, ruled rows with formulas and dropdowns, examples in the first ones."""
    sheet = book.create_sheet(table.sheet)
    assert isinstance(sheet, Worksheet)
    page = SheetWriter(sheet, table.title, table.hint, len(table.fields))
    page.widths([Column(field.heading, field.width) for field in table.fields])
    for place, field in enumerate(table.fields, 1):
        _heading(sheet, place, field)
        _dress(sheet.column_dimensions[get_column_letter(place)], field, place)
    sheet.row_dimensions[FIRST_ROW - 1].height = 28
    for row in range(FIRST_ROW, LAST_ROW + 1):
        values = examples[row - FIRST_ROW] if row - FIRST_ROW < len(examples) else {}
        for place, field in enumerate(table.fields, 1):
            cell = sheet.cell(row, place)
            assert isinstance(cell, Cell)
            _fill(cell, filled(field.formula, table, row) if field.formula else values.get(field.name), field)
    for field in table.fields:
        _validate(sheet, table, field)
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 2).coordinate
    set_up_print(sheet, landscape=True, paper=LETTER, footer=table.title, title_rows=f"{FIRST_ROW - 1}:{FIRST_ROW - 1}")
    if table.overruns:
        sheet.print_area = f"A1:{get_column_letter(len(table.fields))}{LAST_ROW}"
    if examples:
        name_examples(book, table.sheet, FIRST_ROW, len(examples), len(table.typed))


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


def name_examples(book: Workbook, sheet: str, first_row: int, rows: int, columns: int) -> None:
    """Name the cells of a sheet's examples, which begin in its first column, so that they are cleared in one go.

    The name box of LibreOffice takes names of one block of cells only.
    """
    name = EXAMPLES_NAME + sheet
    area = f"{sheet}!$A${first_row}:${get_column_letter(columns)}${first_row + rows - 1}"
    book.defined_names[name] = DefinedName(name, attr_text=area)


def _heading(sheet: Worksheet, place: int, field: Field) -> None:
    cell = sheet.cell(FIRST_ROW - 1, place)
    assert isinstance(cell, Cell)
    put_text(cell, field.heading)
    cell.font = COMPUTED if field.formula else HEAD
    cell.alignment = _alignment(field, place, wrap=True)
    cell.border = Border(bottom=_DARK)


def _alignment(field: Field, place: int, wrap: bool = False) -> Alignment:
    """Texts and dates stand to the left, a little away from the numbers before them; numbers to the right."""
    if field.format in ("General", "@", DATE):
        return Alignment(horizontal="left", vertical="bottom", indent=place > 1, wrap_text=wrap)
    return Alignment(horizontal="right", vertical="bottom", wrap_text=wrap)


def _dress(cells: StyleableObject, field: Field, place: int) -> None:
    """Give a cell, or the cells of a column below the ruled rows, the look of what is typed there."""
    cells.font = BODY
    cells.number_format = field.format
    cells.alignment = _alignment(field, place)


def _fill(cell: Cell, value: object, field: Field) -> None:
    _dress(cell, field, cell.column)
    cell.border = Border(bottom=_RULE)
    if isinstance(value, str) and not field.formula:
        put_text(cell, value)
    elif value is not None:
        cell.value = value  # type: ignore[assignment]  # numbers, dates and our own formulas


def _validate(sheet: Worksheet, table: Table, field: Field) -> None:
    """A dropdown, or a warning that can be overridden: a cell may hold a text with a unit."""
    letter = table.letter(field.name)
    if field.choices:
        key, _, column = field.choices.partition(".")
        listed = f"{BY_KEY[key].area(column)}" if column else f'"{field.choices}"'
        rule = DataValidation("list", formula1=listed, allow_blank=True)
        rule.error = "Choose one from the list."
    elif field.low is not None and not field.formula:
        cell = f"{letter}{FIRST_ROW}"
        limits = f"{cell}>={field.low:g}" + (f",{cell}<={field.high:g}" if field.high is not None else "")
        rule = DataValidation("custom", formula1=f"OR(ISTEXT({cell}),AND({limits}))", allow_blank=True)
        most = f" and no more than {field.high:g}" if field.high is not None else ""
        rule.error = f"{' '.join(field.heading.split())}: give a number of {field.low:g} or more{most}."
    else:
        return
    rule.errorStyle = "warning"
    rule.errorTitle = table.title
    sheet.add_data_validation(rule)
    rule.add(f"{letter}{FIRST_ROW}:{letter}{table.last_row}")
