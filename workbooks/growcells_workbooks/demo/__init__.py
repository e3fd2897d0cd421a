"""The demo: an invented log, a tank that grows, the doses before and after, and the weekly report."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.cell import Cell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from ..reading import Bed, read_log
from ..recalculation import FileProblem, recalculate
from ..report import Report, build_report
from ..report.look import FACE, new_book
from ..report.week import week_of
from ..writing import check_new_workbook, put_text, save_workbook
from .scenario import CHANGED_TANK, FEEDS, LAST_DAY, NEW_LENGTH, PLANTED, TANKS, TITLE, WEEKS, readings

__all__ = ["Demo", "DoseChange", "change_size", "dose_changes", "run", "write_log"]

HEADING_ROW = 3
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


@dataclass(frozen=True)
class DoseChange:
    """A tank before and after the change: volume [gal] and feed to weigh [g]."""

    bed: str
    feed: str
    old_volume: float
    new_volume: float
    old_dose: float
    new_dose: float

    @property
    def changed(self) -> bool:
        """Whether the dose is another one."""
        return self.old_dose != self.new_dose


@dataclass(frozen=True)
class Demo:
    """What the demo wrote, what it changed, and what came of it."""

    log: Path
    changed_log: Path
    report: Report
    tank: str
    old_length: float
    new_length: float
    doses: tuple[DoseChange, ...]


def write_log(path: Path, *, overwrite: bool = False) -> Path:
    """Write the invented log with its formulas uncomputed. Raises FileProblem."""
    check_new_workbook(path, overwrite)
    book = new_book()
    tanks, targets, feeds, diary = (book.create_sheet(name) for name in ("Tanks", "Targets", "Feeds", "Diary"))
    for sheet, title, headings in (
        (tanks, TITLE, TANK_HEADINGS),
        (targets, "What we want (invented)", TARGET_HEADINGS),
        (feeds, "Feeds on the shelf (invented)", FEED_HEADINGS),
        (diary, "What we measured and added (invented)", READING_HEADINGS),
    ):
        _head(sheet, title, headings)
    for row, tank in enumerate(TANKS, HEADING_ROW + 1):
        _row(tanks, row, [tank.name, tank.crop, tank.feed, tank.length, tank.width, tank.depth])
        sizes = {"length": f"D{row}", "width": f"E{row}", "depth": f"F{row}"}
        tanks.cell(row, 7, tank.volume_formula.format(**sizes)).number_format = "0.0"
        tanks.cell(row, 8, f"=GROW_DOSE(G{row},{_of_feed('F', row)})").number_format = "0.0"
        tanks.cell(row, 10, PLANTED).number_format = "d mmm yyyy"
        tanks.cell(row, 11, tank.plants)
        _row(targets, row, [tank.name, *tank.targets])
        tanks.cell(row, 9, f'=GROW_PPM(H{row},G{row},{_of_feed("C", row)},"N")').number_format = "0"
    for row, feed in enumerate(FEEDS, HEADING_ROW + 1):
        _row(feeds, row, list(feed))
    for row, reading in enumerate(readings(), HEADING_ROW + 1):
        _row(diary, row, reading)
        diary.cell(row, 1).number_format = "d mmm yyyy"
    save_workbook(book, path, LAST_DAY)
    return path


def _of_feed(column: str, row: int) -> str:
    """The part of a formula that looks up a column of the feeds for the feed of a tank."""
    first, last = HEADING_ROW + 1, HEADING_ROW + len(FEEDS)
    return f"INDEX(Feeds!${column}${first}:${column}${last},MATCH(C{row},Feeds!$A${first}:$A${last},0))"


def _head(sheet: Worksheet, title: str, headings: tuple[str, ...]) -> None:
    sheet["A1"] = title
    sheet["A1"].font = BOLD
    for column, heading in enumerate(headings, 1):
        sheet.cell(HEADING_ROW, column, heading).font = BOLD
        sheet.column_dimensions[get_column_letter(column)].width = 13
    sheet.freeze_panes = f"B{HEADING_ROW + 1}"


def _row(sheet: Worksheet, row: int, values: list[str | float | datetime.date | None]) -> None:
    for column, value in enumerate(values, 1):
        cell = sheet.cell(row, column)
        assert isinstance(cell, Cell)
        if isinstance(value, str):
            put_text(cell, value)
        else:
            cell.value = value


def change_size(source: Path, output: Path, tank: str, length: float, *, overwrite: bool = False) -> float:
    """Write a copy of the demo's log in which a tank has another length [in]; gives the old one. Raises FileProblem."""
    check_new_workbook(output, overwrite)
    book = load_workbook(source)
    sheet = book["Tanks"]
    row = HEADING_ROW + 1 + [known.name for known in TANKS].index(tank)
    old = sheet.cell(row, LENGTH_COLUMN).value
    assert isinstance(old, (int, float))
    sheet.cell(row, LENGTH_COLUMN).value = length
    save_workbook(book, output, LAST_DAY)
    return float(old)


def dose_changes(before: Path, after: Path) -> tuple[DoseChange, ...]:
    """Volume and dose of each tank in two logs, their formulas computed anew. Raises FileProblem."""
    old, new = read_log(before, LAST_DAY), read_log(after, LAST_DAY)
    return tuple(_change(bed, other) for bed, other in zip(old.beds, new.beds, strict=True))


def _change(old: Bed, new: Bed) -> DoseChange:
    assert old.volume is not None and new.volume is not None and old.dose is not None and new.dose is not None
    return DoseChange(old.name, old.feed, old.volume, new.volume, old.dose, new.dose)


def run(folder: Path, say: Callable[[str], None], *, overwrite: bool = False) -> Demo:
    """Write an invented log into a folder, compute it, make a tank longer, compute again and write the report.

    ``say`` is told of each step as it is done. Raises FileProblem.
    """
    make_folder(folder)
    log, changed = folder / "shed-log.xlsx", folder / "shed-log-longer-tank.xlsx"
    page = folder / f"shed-{week_of(LAST_DAY)}.xlsx"
    for path in (log, changed, page):
        check_new_workbook(path, overwrite)
    with tempfile.TemporaryDirectory() as workshop:
        typed = write_log(Path(workshop) / "typed.xlsx")
        done = recalculate(typed, log, overwrite=overwrite, as_of=LAST_DAY)
        say(f"Wrote {log}: {len(TANKS)} tanks, {len(FEEDS)} feeds, {WEEKS} weeks of readings, all of it invented.")
        say(f"Computed its {done.formulas} formulas without a spreadsheet program.")
        retyped = Path(workshop) / "retyped.xlsx"
        old_length = change_size(log, retyped, CHANGED_TANK, NEW_LENGTH)
        recalculate(retyped, changed, overwrite=overwrite, as_of=LAST_DAY)
    say(f"Made {CHANGED_TANK} {NEW_LENGTH:g} in long, {old_length:g} in before, and computed again: {changed}")
    doses = dose_changes(log, changed)
    report = build_report(changed, page, previous=log, as_of=LAST_DAY, overwrite=overwrite)
    say(f"Wrote the report of {report.week.title}: {page}")
    return Demo(log, changed, report, CHANGED_TANK, old_length, NEW_LENGTH, doses)


def make_folder(folder: Path) -> None:
    """Make a folder where there is none yet. Raises FileProblem."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise FileProblem(f"{folder} cannot be made: {problem.strerror}; give the name of another folder") from None
