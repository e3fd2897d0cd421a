"""The first sheet of a starter log: how to use it, cautions, and every cell function with an example."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from growcells import CellFunction, functions
from growcells.cells.arguments import Example
from growcells.cells.kinds import SPREADSHEET_EPOCH, UNIT, Date
from growcells.cells.reference import unit_of
from growcells.families.cost import PricePerMass
from growcells.version import VERSION

from ..cautions import cautions
from ..sheets.print_setup import LETTER, set_up_print
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import Painter
from ..sheets.table_columns import Column, Value
from .season_tables import FIRST_ROW, LAST_ROW

LONG_EXAMPLE, LONGEST_EXAMPLE = 70, 110
"""Letters of a formula for which a shorter one is sought, and that a person still reads."""
MOST_ON_PAGE = 24
"""Functions for which a printed page has room, whatever the length of their texts."""
DIGITS = 6
"""Digits of an example's value that are shown."""

CLEAR = (
    "The rows that stand here from the start are examples, and invented. To be rid of them run growcells "
    "clear-examples LOG.xlsx --in-place: it empties those that you have not typed over, and nothing else. Or by hand: "
    "type Examples_Feeds into the name box to the left of the formula bar, press Enter, then Delete, and do the same "
    "with Examples_Beds, Examples_Plantings, Examples_Targets, Examples_Readings, Examples_Weights, Examples_Climate "
    "and Examples_Mix. Formulas stay.",
)
STEPS = (
    "Feeds: name each feed as you use it, with the analysis that its label prints and the rate that its label allows.",
    "Beds: measure each bed inside, choose its shape and its feed. Volume, feed to weigh and N follow; change a size "
    "and they change with it. Plain numbers are in the unit of the heading; a text such as 107 cm or 3 ft 6 in works "
    f"too. There is room for {LAST_ROW - FIRST_ROW + 1}; for more, insert rows between them and copy the formulas.",
    "Other shapes than box, round and oval: type the formula into the volume cell, such as "
    "=GROW_VOLUME_TAPER(30,20,26,16,12) for a tapered tote or =GROW_VOLUME_PIPE(4,120,2) for a pipe.",
    "Readings, Weights and Climate: a row each time. Columns may be left empty, moved or renamed.",
    "Trial says how many beds and seeds to plan for, compares your feeds at equal nitrogen, and tells what the weights "
    "show. Mix says what goes into the water with what you weigh, and what it lacks beside a published recipe. Type "
    "your own figures over those that stand there.",
    "The formulas need growcells in the spreadsheet program (growcells install libreoffice, growcells install excel), "
    "or growcells recalc, which computes the file without one. growcells report writes the weekly page.",
)


def write_guide(painter: Painter, examples: bool) -> None:
    """The first sheet; ``examples`` says whether the log holds any."""
    sheet = painter.book.add_worksheet("Guide")
    columns = [
        Column("", 25),
        Column("What it gives", 44, wrap=True),
        Column("Example", 44, wrap=True),
        Column("gives", 14, "General", wrap=True),
        Column("in", 8),
    ]
    page = SheetWriter(sheet, painter, "A grow log", f"made by growcells {VERSION}", len(columns))
    page.widths(columns)
    page.section("How to use it")
    for number, text in enumerate((*(CLEAR if examples else ()), *STEPS), 1):
        page.paragraph(f"{number}. {text}")
    page.gap()
    page.section("Cautions")
    for caution in cautions():
        page.paragraph(f"{caution.about}. {caution.text}")
    page.turn()
    page.section("The cell functions")
    on_page = 0
    for family, functions_of_family in groupby(functions().values(), key=lambda function: function.family):
        members = list(functions_of_family)
        if on_page + len(members) > MOST_ON_PAGE:
            page.turn()
            on_page = 0
        page.table([replace(columns[0], heading=family), *columns[1:]], [_function_row(member) for member in members])
        page.gap()
        on_page += len(members)
    page.finish()
    set_up_print(sheet, landscape=False, paper=LETTER, footer="A grow log")


def _function_row(function: CellFunction) -> Sequence[Value]:
    """A function with an example, or with its signature where all of them are too long to read."""
    example = function.examples[0]
    if len(example.formula(function.name)) > LONG_EXAMPLE:
        example = min(function.examples, key=lambda example: len(example.formula(function.name)))
    formula = example.formula(function.name)
    if len(formula) > LONGEST_EXAMPLE:
        return [function.name, function.help, function.signature, "a table" if function.is_table else "", ""]
    return [function.name, function.help, formula, _value(function, example), _unit(function, example)]


def _value(function: CellFunction, example: Example) -> str | float:
    value = example.value
    if isinstance(value, str):
        return value
    if not isinstance(value, (int, float)):
        return "a table"
    if isinstance(function.result.kind, Date):
        return str(SPREADSHEET_EPOCH + datetime.timedelta(days=value))
    return float(f"{value:.{DIGITS}g}")


def _unit(function: CellFunction, example: Example) -> str:
    """The unit of an example's value, where the formula itself does not say it."""
    said = any(argument.kind is UNIT for argument, _ in zip(function.arguments, example.arguments, strict=False))
    if said or function.is_table:
        return ""
    return unit_of(function.result.kind, "a {}" if isinstance(function.result.kind, PricePerMass) else "{}")
