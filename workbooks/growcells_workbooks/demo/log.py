"""The log of the demo as a workbook: written once, and once more with a longer tank."""

from __future__ import annotations

import datetime
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.cell import Cell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from ..sheets.styles import FACE, new_book
from ..sheets.table_columns import DATE
from ..sheets.workbook_files import put_text, save_workbook
from .scenario import FEEDS, LAST_DAY, PLANTED, TANKS, TITLE, Tank, readings

HEADING_ROW, FIRST_ROW = 3, 4
TANK_HEADINGS = (
    "Tank",
    "Crop",
    "Feed",
    "Length (in)",
    "Width (in)",
    "Water (in)",
    "gal",
    "feed g",
    "N ppm",
    "Planted",
    "Plants",
)
FEED_HEADINGS = (
    "Feed",
    "Product",
    "Analysis",
    "Bag lb",
    "Price",
    "g per gal",
    "On hand g",
    "Scale g",
    "Order takes week",
)
TARGET_HEADINGS = (
    *("Tank", "pH low", "pH high", "EC low mS/cm", "EC high mS/cm", "Temp low °F", "Temp high °F"),
    *("Lowest water in", "Source water EC mS/cm"),
)
READING_HEADINGS = ("Date", "Tank", "pH", "EC mS/cm", "water °F", "inches now", "added gal", "added g", "notes")
LENGTH_COLUMN = TANK_HEADINGS.index("Length (in)") + 1
BOLD = Font(name=FACE, size=10, bold=True)


def write_log(path: Path) -> Path:
    """Write the invented log with its formulas uncomputed. Raises FileProblem."""
    book = new_book()
    tanks, targets, feeds, diary = (book.create_sheet(name) for name in ("Tanks", "Targets", "Feeds", "Diary"))
    for sheet, title, headings in (
        (tanks, TITLE, TANK_HEADINGS),
        (targets, "What we want (invented)", TARGET_HEADINGS),
        (feeds, "Feeds on the shelf (invented)", FEED_HEADINGS),
        (diary, "What we measured and added (invented)", READING_HEADINGS),
    ):
        _head(sheet, title, headings)
    for row, tank in enumerate(TANKS, FIRST_ROW):
        _tank(tanks, row, tank)
        _row(targets, row, [tank.name, *tank.targets])
    for row, feed in enumerate(FEEDS, FIRST_ROW):
        _row(feeds, row, list(feed))
    for row, reading in enumerate(readings(), FIRST_ROW):
        _row(diary, row, reading)
        diary.cell(row, 1).number_format = DATE
    save_workbook(book, path, LAST_DAY)
    return path


def _tank(sheet: Worksheet, row: int, tank: Tank) -> None:
    """A tank with the formulas that its grower typed: volume, feed to weigh and nitrogen."""
    _row(sheet, row, [tank.name, tank.crop, tank.feed, tank.length, tank.width, tank.depth])
    sizes = {"length": f"D{row}", "width": f"E{row}", "depth": f"F{row}"}
    sheet.cell(row, 7, tank.volume_formula.format(**sizes)).number_format = "0.0"
    sheet.cell(row, 8, f"=GROW_DOSE(G{row},{_of_feed('F', row)})").number_format = "0.0"
    sheet.cell(row, 9, f'=GROW_PPM(H{row},G{row},{_of_feed("C", row)},"N")').number_format = "0"
    sheet.cell(row, 10, PLANTED).number_format = DATE
    sheet.cell(row, 11, tank.plants)


def _of_feed(column: str, row: int) -> str:
    """The part of a formula that looks up a column of the feeds for the feed of a tank."""
    last = FIRST_ROW + len(FEEDS) - 1
    return f"INDEX(Feeds!${column}${FIRST_ROW}:${column}${last},MATCH(C{row},Feeds!$A${FIRST_ROW}:$A${last},0))"


def _head(sheet: Worksheet, title: str, headings: tuple[str, ...]) -> None:
    sheet["A1"] = title
    sheet["A1"].font = BOLD
    for column, heading in enumerate(headings, 1):
        sheet.cell(HEADING_ROW, column, heading).font = BOLD
        sheet.column_dimensions[get_column_letter(column)].width = 13
    sheet.freeze_panes = f"B{FIRST_ROW}"


def _row(sheet: Worksheet, row: int, values: list[str | float | datetime.date | None]) -> None:
    for column, value in enumerate(values, 1):
        cell = sheet.cell(row, column)
        assert isinstance(cell, Cell)
        if isinstance(value, str):
            put_text(cell, value)
        else:
            cell.value = value


def change_size(source: Path, output: Path, tank: str, length: float) -> float:
    """Write a copy of the log in which a tank has another length [in]; gives the old one. Raises FileProblem."""
    book = load_workbook(source)
    cell = book["Tanks"].cell(FIRST_ROW + [known.name for known in TANKS].index(tank), LENGTH_COLUMN)
    old = cell.value
    assert isinstance(old, (int, float))
    cell.value = length
    save_workbook(book, output, LAST_DAY)
    return float(old)
