"""The log of the demo as a workbook."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ..sheets.cell_writer import CellWriter, Computed, Content
from ..sheets.styles import Painter, Style
from ..sheets.table_columns import DATE
from ..sheets.workbook_files import Book, save_workbook
from .scenario import FEEDS, FILLED, LAST_DAY, PLANTED, TITLE, Tank, readings

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
    "N ppm at this rate",
)
FILL_HEADINGS = ("Filled on", "Tank", "Feed", "Filled gal", "g per gal")
TARGET_HEADINGS = (
    *("Tank", "pH low", "pH high", "EC low mS/cm", "EC high mS/cm", "Temp low °F", "Temp high °F"),
    *("Lowest water in", "Source water EC mS/cm"),
)
READING_HEADINGS = ("Date", "Tank", "pH", "EC mS/cm", "water °F", "inches now", "added gal", "added g", "notes")
WIDTH = 13
"""Of every column [characters]."""
TITLED = Style("strong", across="general", down="bottom")
FORMATS = {
    **dict.fromkeys(("Planted", "Filled on", "Date"), DATE),
    **dict.fromkeys(("gal", "feed g"), "0.0"),
    **dict.fromkeys(("N ppm", "N ppm at this rate"), "0"),
}
"""Number formats by the heading of their column."""


def write_log(path: Path, tanks: Sequence[Tank]) -> Path:
    """Write the invented log of some tanks with its formulas uncomputed. Raises FileProblem."""
    book = Book()
    painter = Painter(book)
    sheets: Sequence[tuple[str, str, Sequence[str], Sequence[Sequence[Content]]]] = (
        ("Tanks", TITLE, TANK_HEADINGS, [_tank(row, tank) for row, tank in enumerate(tanks, FIRST_ROW)]),
        ("Targets", "What we want (invented)", TARGET_HEADINGS, [[tank.name, *tank.targets] for tank in tanks]),
        (
            "Feeds",
            "Feeds on the shelf, part by part (invented)",
            FEED_HEADINGS,
            [[*feed, Computed(f'=GROW_PPM(F{row},1,C{row},"N")')] for row, feed in enumerate(FEEDS, FIRST_ROW)],
        ),
        ("Fills", "Tanks filled with fresh solution (invented)", FILL_HEADINGS, [_fill(tank) for tank in tanks]),
        ("Diary", "What we measured and added (invented)", READING_HEADINGS, readings()),
    )
    for name, title, headings, rows in sheets:
        sheet = CellWriter(book.add_worksheet(name), painter)
        sheet.column_widths = dict.fromkeys(range(1, len(headings) + 1), WIDTH)
        sheet.freeze(FIRST_ROW, 2)
        sheet.put(1, 1, title)
        sheet.paint(1, 1, TITLED)
        for column, heading in enumerate(headings, 1):
            sheet.put(HEADING_ROW, column, heading)
            sheet.paint(HEADING_ROW, column, TITLED)
            for row, values in enumerate(rows, FIRST_ROW):
                sheet.put(row, column, values[column - 1])
                if heading in FORMATS:
                    sheet.paint(row, column, Style(across="general", down="bottom", format=FORMATS[heading]))
        sheet.finish()
    save_workbook(book, path, LAST_DAY)
    return path


def _tank(row: int, tank: Tank) -> list[Content]:
    """A tank with the formulas that its grower typed: volume, feed to weigh and nitrogen."""
    sizes = {"length": f"D{row}", "width": f"E{row}", "depth": f"F{row}"}
    return [
        *(tank.name, tank.crop, tank.feed, tank.length, tank.width, tank.depth),
        Computed(tank.volume_formula.format(**sizes)),
        Computed(f"=GROW_DOSE(G{row},{_of_feed('F', row)})"),
        Computed(f"={_of_feed('J', row)}"),
        *(PLANTED, tank.plants),
    ]


def _of_feed(column: str, row: int) -> str:
    """The part of a formula that adds up a column of the feeds over the parts of the feed of a tank."""
    last = FIRST_ROW + len(FEEDS) - 1
    return f"SUMIF(Feeds!$A${FIRST_ROW}:$A${last},C{row},Feeds!${column}${FIRST_ROW}:${column}${last})"


def _fill(tank: Tank) -> list[Content]:
    """The fresh solution that a tank was filled with when it was planted."""
    rate = sum(part[5] for part in FEEDS if part[0] == tank.feed)
    return [PLANTED, tank.name, tank.feed, FILLED[tank.name], rate]
