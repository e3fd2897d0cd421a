"""Writing the sheets of a starter log with openpyxl."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from growcells.registry import CellFunction, functions
from growcells.version import VERSION

from ..cautions import cautions
from ..report.look import BODY, FACE, GREY, HEAD, LETTER, RULE, Column, Page, Value, set_up_print
from ..writing import put_text
from .layout import DATE, FIRST_ROW, TABLES, Field, Table

COMPUTED = Font(name=FACE, size=9, italic=True, color=GREY)
_RULE = Side(style="thin", color=RULE)
_DARK = Side(style="thin", color="000000")
_NAME = re.compile(r"\{([\w.]+)(@row)?\}")

LONGEST_EXAMPLE = 130
"""Letters of a formula that a person still reads."""

BY_KEY = {table.key: table for table in TABLES}


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


def write_table(book: Workbook, table: Table, examples: Sequence[Mapping[str, object]]) -> None:
    """A sheet with a table: headings, formulas and dropdowns in every row, examples in the first ones."""
    sheet = book.create_sheet(table.sheet)
    assert isinstance(sheet, Worksheet)
    page = Page(sheet, table.title, table.hint, len(table.fields))
    page.widths([Column(field.heading, field.width) for field in table.fields])
    for place, field in enumerate(table.fields, 1):
        _heading(sheet, place, field)
    sheet.row_dimensions[FIRST_ROW - 1].height = 28
    formulas = any(field.formula for field in table.fields)
    last = table.last_row if formulas else FIRST_ROW - 1 + len(examples)
    for row in range(FIRST_ROW, last + 1):
        values = examples[row - FIRST_ROW] if row - FIRST_ROW < len(examples) else {}
        for place, field in enumerate(table.fields, 1):
            cell = sheet.cell(row, place)
            assert isinstance(cell, Cell)
            _fill(cell, filled(field.formula, table, row) if field.formula else values.get(field.name), field)
    for field in table.fields:
        _validate(sheet, table, field)
    sheet.freeze_panes = sheet.cell(FIRST_ROW, 2).coordinate
    set_up_print(sheet, landscape=True, paper=LETTER, footer=table.title, title_rows=f"{FIRST_ROW - 1}:{FIRST_ROW - 1}")
    if examples:
        _name_examples(book, table, len(examples))


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


def _fill(cell: Cell, value: object, field: Field) -> None:
    cell.font = BODY
    cell.border = Border(bottom=_RULE)
    cell.number_format = field.format
    cell.alignment = _alignment(field, cell.column)
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
        rule.error = f"{' '.join(field.heading.split())}: a number from {field.low:g} on" + (
            f" to {field.high:g}." if field.high is not None else "."
        )
    else:
        return
    rule.errorStyle = "warning"
    rule.errorTitle = table.title
    sheet.add_data_validation(rule)
    rule.add(f"{letter}{FIRST_ROW}:{letter}{table.last_row}")


def _name_examples(book: Workbook, table: Table, count: int) -> None:
    """A name for the cells of the examples, so that they are chosen and cleared in one go."""
    typed = [place for place, field in enumerate(table.fields, 1) if not field.formula]
    areas: list[list[int]] = []
    for place in typed:
        if areas and areas[-1][1] == place - 1:
            areas[-1][1] = place
        else:
            areas.append([place, place])
    last = FIRST_ROW + count - 1
    cells = ",".join(
        f"{table.sheet}!${get_column_letter(left)}${FIRST_ROW}:${get_column_letter(right)}${last}"
        for left, right in areas
    )
    name = f"Examples_{table.sheet}"
    book.defined_names[name] = DefinedName(name, attr_text=cells)


STEPS = (
    "Everything that stands in the log now is an example and invented. To clear it, choose Examples_Beds in the name "
    "box to the left of the formula bar, press Delete, and do the same with Examples_Targets, Examples_Feeds, "
    "Examples_Readings, Examples_Weights and Examples_Climate. Formulas stay.",
    "Feeds: name each feed as you use it, with the analysis that its label prints and the rate that its label allows.",
    "Beds: measure each bed inside, choose its shape and its feed. Volume, feed to weigh and N follow; change a size "
    "and they change with it. Plain numbers are in the unit of the heading; a text such as 114 cm or 3 ft 9 in works "
    "too.",
    "Other shapes than box, round and oval: type the formula into the volume cell, such as "
    "=GROW_VOLUME_TAPER(30,20,26,16,12) for a tapered tote or =GROW_VOLUME_PIPE(4,120,2) for a pipe.",
    "Readings, Weights and Climate: a row each time. Columns may be left empty, moved or renamed.",
    "Trial says how many beds and seeds to plan for, compares your feeds at equal nitrogen, and tells what the weights "
    "show. Mix says what goes into the water with what you weigh, and what it lacks beside a published recipe.",
    "The formulas need growcells in the spreadsheet program (growcells install libreoffice, growcells install excel), "
    "or growcells recalc, which computes the file without one. growcells report writes the weekly page.",
)


def write_guide(book: Workbook) -> None:
    """The first sheet: how to use the log, and every cell function with an example."""
    sheet = book.create_sheet("Guide", 0)
    assert isinstance(sheet, Worksheet)
    columns = [
        Column("Function", 24),
        Column("What it gives", 46, wrap=True),
        Column("Example", 44, wrap=True),
        Column("gives", 20, "0.0###", wrap=True),
    ]
    page = Page(sheet, "A grow log", f"made by growcells {VERSION}", len(columns))
    page.widths(columns)
    page.section("How to use it")
    for number, text in enumerate(STEPS, 1):
        page.paragraph(f"{number}. {text}")
    page.gap()
    page.section("Cautions")
    for caution in cautions():
        page.paragraph(f"{caution.about}. {caution.text}")
    page.gap()
    page.section("The cell functions")
    families: dict[str, list[CellFunction]] = {}
    for function in functions().values():
        families.setdefault(function.family, []).append(function)
    for family, members in families.items():
        page.line(family, "small")
        page.table(columns, [_function_row(function) for function in members])
        page.gap()
    set_up_print(sheet, landscape=False, paper=LETTER, footer="A grow log")


def _function_row(function: CellFunction) -> Sequence[Value]:
    """A function with the first example that is short enough to read, or else with its signature."""
    for example in function.examples:
        formula = example.formula(function.name)
        if len(formula) <= LONGEST_EXAMPLE:
            value = example.value
            return [function.name, function.help, formula, value if isinstance(value, (str, float, int)) else "a table"]
    return [function.name, function.help, function.signature, ""]
