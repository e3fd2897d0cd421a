"""Untidy logs made from a known truth: every value is found or listed with its cell, and no value is made up."""

from __future__ import annotations

import datetime
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from openpyxl.cell import Cell
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import range_boundaries

from growcells_workbooks.log_check import count_problems, lines_of
from growcells_workbooks.reading import GrowLog, map_beside, map_text, put_map, read_log

Draw = Callable[[st.SearchStrategy[Any]], Any]
Truth = tuple[str, datetime.date, str, float]
"""Bed, day, field and value, in the units of the log."""

BEDS = ["T1", "T2", "North tank", "b 7"]
FIELDS: dict[str, tuple[st.SearchStrategy[float], str, list[str]]] = {
    "ph": (st.integers(45, 80).map(lambda tenth: tenth / 10), "", ["pH", " PH", "ph", "pH (pen)"]),
    "ec": (
        st.integers(20, 350).map(lambda hundredth: hundredth / 100),
        "mS/cm",
        ["EC mS", "EC (mS/cm)", "ec, mS/cm", "Conductivity [mS/cm]"],
    ),
    "temperature": (st.integers(50, 90).map(float), "°F", ["water °F", "Temp (°F)", "water temp, F"]),
    "water_added": (st.integers(1, 30).map(float), "gal", ["added gal", "Water added (gal)", "top-up [gal]"]),
}
NO_VALUES = ["six", "?", "-", "n/a", "7..1", "#", "ask J.", True, "1.2.3"]
DATE_HEADINGS = ["Date", "date ", "DAY", "When"]
BED_HEADINGS = ["Bed", "tub", "Tank ", "RESERVOIR"]


@dataclass
class Page:
    """A workbook being written, and which truths each of its cells holds."""

    draw: Draw
    book: Workbook = field(default_factory=Workbook)
    holds: dict[tuple[str, int, int], list[Truth]] = field(default_factory=dict)

    def put(self, sheet: Any, row: int, column: int, value: object, *truths: Truth) -> None:
        """Write a cell."""
        sheet.cell(row, column, value)
        if value is not None and str(value).strip():
            self.holds.setdefault((sheet.title, row, column), []).extend(truths)

    def choose(self, *values: Any) -> Any:
        """One of some values."""
        return self.draw(st.sampled_from(values))


@st.composite
def truths(draw: Draw) -> tuple[list[str], list[datetime.date], dict[tuple[str, datetime.date], dict[str, float]]]:
    """Beds, days in order, and what was measured of each bed on each day."""
    beds = draw(st.lists(st.sampled_from(BEDS), min_size=1, max_size=4, unique=True))
    first = draw(st.dates(datetime.date(2024, 1, 1), datetime.date(2027, 1, 1)))
    steps = draw(st.lists(st.integers(1, 9), min_size=1, max_size=5))
    days = [first + datetime.timedelta(days=sum(steps[:count])) for count in range(len(steps))]
    names = draw(st.lists(st.sampled_from(sorted(FIELDS)), min_size=1, max_size=4, unique=True))
    measured = {
        (bed, day): {name: draw(FIELDS[name][0]) for name in names if draw(st.integers(0, 5))}
        for day in days
        for bed in beds
    }
    return beds, days, measured


def spelled_date(day: datetime.date, style: str) -> object:
    """A date as a person writes it."""
    return {
        "real": day,
        "iso": day.isoformat(),
        "us": f"{day.month}/{day.day}/{day.year}",
        "eu": f" {day.day}.{day.month}.{day.year}",
        "words": f"{day.day} {day:%b} {day.year}",
    }[style]


def spelled_number(page: Page, name: str, value: float, comma: bool) -> object:
    """A number as a person writes it: a number, a text, a text with its unit."""
    style = page.choose("number", "number", "text", "unit")
    unit = FIELDS[name][1]
    if style == "number" and not comma:
        return value
    text = f"{value:g}".replace(".", ",") if comma else f"{value:g}"
    if style == "unit" and unit:
        return f"{text} {unit}"
    return f" {text} "


def spelled_bed(page: Page, bed: str) -> str:
    """A name as a person writes it."""
    return page.choose(bed, bed, f" {bed}", bed.lower(), bed.upper(), f"{bed}  ")


def list_of_beds(page: Page, beds: list[str]) -> None:
    """A sheet that lists the beds."""
    sheet = page.book.create_sheet("our beds")
    start = page.draw(st.integers(1, 3))
    for column, heading in enumerate((page.choose(*BED_HEADINGS), "Crop", "Volume gal"), 1):
        page.put(sheet, start, column, heading)
    for row, bed in enumerate(beds, start + 1):
        for column, value in enumerate((bed, "basil", 30), 1):
            page.put(sheet, row, column, value)


def rows_log(page: Page, beds: list[str], days: list[datetime.date], measured: Any, listed: bool) -> None:
    """A row for each reading."""
    sheet = page.book.create_sheet("log")
    names = sorted({name for values in measured.values() for name in values})
    columns = page.draw(st.permutations(["date", "bed", *names, "notes"]))
    left = page.draw(st.integers(1, 3))
    row = 1
    for title in page.draw(st.lists(st.sampled_from(["our log", "pen calibrated 11/1", ""]), max_size=2)):
        page.put(sheet, row, left, title)
        row += 1
    headings = {"date": page.choose(*DATE_HEADINGS), "bed": page.choose(*BED_HEADINGS), "notes": "Notes"}
    for place, name in enumerate(columns):
        page.put(sheet, row, left + place, headings.get(name) or page.choose(*FIELDS[name][2]))
    style, comma = page.choose("real", "iso", "us", "eu", "words"), page.choose(False, False, True)
    carried = page.choose(False, True)
    for day in days:
        for count, bed in enumerate(beds):
            row += 1
            values = measured[bed, day]
            known = [(bed, day, name, value) for name, value in values.items()]
            for place, name in enumerate(columns):
                column = left + place
                if name == "date" and not (carried and count):
                    typed = style if style == "real" else page.choose(style, style, "real")
                    page.put(sheet, row, column, spelled_date(day, typed), *known)
                elif name == "bed":
                    page.put(sheet, row, column, spelled_bed(page, bed), *known)
                elif name in values:
                    bad = page.draw(st.integers(0, 15)) == 0
                    cell = page.choose(*NO_VALUES) if bad else spelled_number(page, name, values[name], comma)
                    page.put(sheet, row, column, cell, (bed, day, name, values[name]))
                elif name == "notes" and page.draw(st.integers(0, 4)) == 0:
                    page.put(sheet, row, column, page.choose("-> aphids", "leaf tips", "total mess", "ok"))
            untidy_row(page, sheet, row, left, columns, listed)
            if page.draw(st.integers(0, 9)) == 0:
                row += 2


def untidy_row(page: Page, sheet: Any, row: int, left: int, columns: list[str], listed: bool) -> None:
    """Perhaps a cell to the right of the table that nobody explains."""
    if page.draw(st.integers(0, 9)) == 0:
        page.put(sheet, row, left + len(columns) + page.draw(st.integers(0, 2)), page.choose("look here", 7, "17 gal"))


def beds_log(page: Page, beds: list[str], days: list[datetime.date], measured: Any, listed: bool) -> None:
    """Dates down, beds across: a sheet for each quantity."""
    for name in sorted({name for values in measured.values() for name in values}):
        sheet = page.book.create_sheet(f"sheet {name}")
        page.put(sheet, 1, 1, page.choose(*FIELDS[name][2]))
        page.put(sheet, 3, 1, page.choose(*DATE_HEADINGS))
        for column, bed in enumerate(beds, 2):
            page.put(sheet, 3, column, spelled_bed(page, bed))
        style, comma = page.choose("real", "iso", "us", "eu", "words"), page.choose(False, True)
        for row, day in enumerate(days, 4):
            known = [(bed, day, name, measured[bed, day][name]) for bed in beds if name in measured[bed, day]]
            page.put(sheet, row, 1, spelled_date(day, style), *known)
            for column, bed in enumerate(beds, 2):
                if name in measured[bed, day]:
                    value = measured[bed, day][name]
                    page.put(sheet, row, column, spelled_number(page, name, value, comma), (bed, day, name, value))


def dates_log(page: Page, beds: list[str], days: list[datetime.date], measured: Any, listed: bool) -> None:
    """Dates across; a row for each bed and quantity."""
    sheet = page.book.create_sheet("log")
    names = sorted({name for values in measured.values() for name in values})
    headings = {name: page.choose(*FIELDS[name][2]) for name in names}
    page.put(sheet, 2, 1, page.choose(*BED_HEADINGS))
    style, once = page.choose("real", "iso", "us", "eu", "words"), page.choose(False, True)
    for column, day in enumerate(days, 3):
        known = [(bed, day, name, value) for bed in beds for name, value in measured[bed, day].items()]
        page.put(sheet, 2, column, spelled_date(day, style), *known)
    row = 2
    for bed in beds:
        for count, name in enumerate(names):
            row += 1
            known = [(bed, day, name, measured[bed, day][name]) for day in days if name in measured[bed, day]]
            if not (once and count):
                page.put(sheet, row, 1, spelled_bed(page, bed), *known)
            page.put(sheet, row, 2, headings[name], *known)
            for column, day in enumerate(days, 3):
                if name in measured[bed, day]:
                    value = measured[bed, day][name]
                    page.put(sheet, row, column, spelled_number(page, name, value, False), (bed, day, name, value))


def sheets_log(page: Page, beds: list[str], days: list[datetime.date], measured: Any, listed: bool) -> None:
    """A sheet for each bed."""
    for bed in beds:
        sheet = page.book.create_sheet(page.choose(bed, f"{bed} log", f"tank {bed}") if listed else bed)
        names = sorted({name for (of, _), values in measured.items() if of == bed for name in values})
        for column, name in enumerate(["date", *names], 1):
            page.put(sheet, 2, column, "Date" if name == "date" else page.choose(*FIELDS[name][2]))
        for row, day in enumerate(days, 3):
            values = measured[bed, day]
            page.put(sheet, row, 1, day, *[(bed, day, name, value) for name, value in values.items()])
            for column, name in enumerate(names, 2):
                if name in values:
                    cell = spelled_number(page, name, values[name], False)
                    page.put(sheet, row, column, cell, (bed, day, name, values[name]))


def groups_log(page: Page, beds: list[str], days: list[datetime.date], measured: Any, listed: bool) -> None:
    """Beds over quantities."""
    sheet = page.book.create_sheet("log")
    names = sorted({name for values in measured.values() for name in values})
    headings = {name: page.choose(*FIELDS[name][2]) for name in names}
    page.put(sheet, 2, 1, "Date")
    merged = page.choose(False, True)
    for place, bed in enumerate(beds):
        start = 2 + place * len(names)
        page.put(sheet, 1, start, spelled_bed(page, bed))
        if merged and len(names) > 1:
            sheet.merge_cells(start_row=1, end_row=1, start_column=start, end_column=start + len(names) - 1)
        for column, name in enumerate(names, start):
            page.put(sheet, 2, column, headings[name])
            for row, day in enumerate(days, 3):
                if name in measured[bed, day]:
                    value = measured[bed, day][name]
                    page.put(sheet, row, column, spelled_number(page, name, value, False), (bed, day, name, value))
    for row, day in enumerate(days, 3):
        known = [(bed, day, name, value) for bed in beds for name, value in measured[bed, day].items()]
        page.put(sheet, row, 1, day, *known)


LAYOUTS = [rows_log, beds_log, dates_log, sheets_log, groups_log]


@st.composite
def untidy_logs(draw: Draw) -> tuple[Page, set[Truth]]:
    """A log and the truth that is in it."""
    beds, days, measured = draw(truths())
    page = Page(draw)
    assert page.book.active is not None
    page.book.remove(page.book.active)
    layout = draw(st.sampled_from(LAYOUTS))
    listed = layout in (beds_log, groups_log, dates_log) or draw(st.booleans())
    if listed:
        missing = draw(st.integers(0, 9)) == 0 and layout is rows_log and len(beds) > 1
        list_of_beds(page, beds[1:] if missing else beds)
    layout(page, beds, days, measured, listed)
    truth = {(bed, day, name, value) for (bed, day), values in measured.items() for name, value in values.items()}
    return page, truth


def key(name: str) -> str:
    return "".join(name.split()).casefold()


def read_truths(log: GrowLog) -> list[Truth]:
    """What was read, in the units in which the truth is."""
    return [
        (key(reading.bed), reading.date, name, round(value, 6))
        for reading in log.readings
        for name in FIELDS
        if (value := getattr(reading, name)) is not None
    ]


def listed_cells(log: GrowLog) -> Callable[[str, int, int], bool]:
    """Whether a cell is listed as left out: itself or in an area."""
    areas = []
    for left in log.left_out:
        first_column, first_row, last_column, last_row = range_boundaries(left.cell)
        areas.append((left.sheet, first_row, last_row, first_column, last_column))

    def is_listed(sheet: str, row: int, column: int) -> bool:
        return any(
            sheet == title and first <= row <= last and left <= column <= right
            for title, first, last, left, right in areas
        )

    return is_listed


@pytest.mark.slow
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(untidy_logs())
def test_every_value_is_found_or_listed_and_none_is_made_up(made: tuple[Page, set[Truth]]) -> None:
    page, truth = made
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.xlsx"
        page.book.save(path)
        log = read_log(path)
    read = read_truths(log)
    known = {(key(bed), day, name, value) for bed, day, name, value in truth}
    assert set(read) <= known, f"made up: {set(read) - known}"
    assert len(read) == len(set(read)), "a value was read twice"
    is_listed = listed_cells(log)
    places: dict[Truth, list[tuple[str, int, int]]] = {}
    for place, truths_there in page.holds.items():
        for one in truths_there:
            places.setdefault(one, []).append(place)
    for one in truth:
        if (key(one[0]), *one[1:]) not in read:
            where = [f"{sheet}!{get_column_letter(column)}{row}" for sheet, row, column in places[one]]
            assert any(is_listed(*place) for place in places[one]), f"{one} of {where} is lost"
    for sheet in log.cells:
        filled = [row for title, row, _ in page.holds if title == sheet]
        assert sum(log.cells[sheet].values()) == len(filled)
        assert sum(log.rows[sheet].values()) == len(set(filled))


WORDS = [
    *("Date", "Bed", "Tub", "pH", "EC mS", "EC ppm", "water °F", "added gal", "Notes", "Crop", "Volume gal", "Feed"),
    *("Analysis", "g/gal", "mix", "fresh g", "plant", "length in", "T1", "T2", "t1 ", "total", "average", "-", "six"),
    *("6/11/2026", "13/11/2026", "2026-11-06", "6 Nov 2026", "6,1", "1,234", "1.9 mS", "17-7-21", "dead", "T1 pH"),
    *("=1/0", "=GROW_DOSE(0,2)", "=A1", "=TODAY()", "mS/cm", "°F", "note of the week: all well"),
]
NO_CONTROLS = st.characters(codec="utf-8", exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff")
CELLS = st.one_of(
    st.none(),
    st.sampled_from(WORDS),
    st.sampled_from([0, 1, 6.1, -3, 1e300, 46332, True]),
    st.dates(datetime.date(2026, 1, 1), datetime.date(2026, 12, 31)),
    st.times(),
    st.text(NO_CONTROLS, max_size=5).filter(lambda text: not text.startswith("=")),
)
GRIDS = st.lists(st.lists(CELLS, min_size=1, max_size=7), min_size=1, max_size=9)
MERGED = st.lists(st.tuples(st.integers(1, 6), st.integers(1, 6), st.integers(0, 3), st.integers(0, 3)), max_size=2)


@pytest.mark.slow
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(GRIDS, MERGED), min_size=1, max_size=3))
@example([([["average", "O"], [None, "Bed", "Crop"]], [])])  # the texts above headings are not theirs
@example([([["Volume gal", 0, None, "Date", "pH"], ["Feed", "Date"]], [])])  # labels, and headings beside them
@example([([["pH", "Date"], ["Bed", "Date", datetime.date(2026, 1, 1)]], [])])  # days above the beds read on them
@example([([["Date", "Bed", "pH"], [46332, "T1", 6.1], [None], ["Date", "Bed", "pH"], [46333, "T1", 6.1]], [])])
def test_whatever_is_in_a_workbook_its_cells_are_counted(sheets: list[tuple[list[list[object]], Any]]) -> None:
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    for number, (rows, merged) in enumerate(sheets):
        sheet = book.create_sheet(f"T{number}")
        for row in rows:
            sheet.append(row)
        for first_row, first_column, high, wide in merged:
            sheet.merge_cells(None, first_row, first_column, first_row + high, first_column + wide)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.xlsx"
        book.save(path)
        log = read_log(path)
        put_map(map_text(log), map_beside(path))
        again = read_log(path)
    assert {taken.bed for taken in (*log.readings, *log.weights, *log.harvests)} <= {bed.name for bed in log.beds}
    formulas = {(cell.sheet, cell.cell) for cell in (*log.failed, *log.kept, *log.resting)}
    for sheet in book.worksheets:
        filled = [
            cell
            for row in sheet.iter_rows()
            for cell in row
            if isinstance(cell, Cell) and cell.value is not None and str(cell.value).strip()
        ]
        blank = sum(
            cell.data_type == "f" and cell.value == "=A1" and (sheet.title, cell.coordinate) not in formulas
            for cell in filled
        )
        # A formula may give a blank text; every other cell is counted.
        assert len(filled) - blank <= sum(log.cells[sheet.title].values()) <= len(filled)
        assert sum(again.cells[sheet.title].values()) == sum(log.cells[sheet.title].values())
    assert count_problems(log) >= len(log.failed)
    assert list(lines_of(log))
