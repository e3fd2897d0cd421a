"""Logs to measure with; all that stands in them is invented."""

from __future__ import annotations

import csv
import datetime
import random
from pathlib import Path

import openpyxl
import xlsxwriter

from ods_books import write_ods

FIRST_DAY = datetime.date(2025, 3, 24)
FORMULAS_IN_ROW = 5
READINGS_IN_DAY = 4
BEDS = ("A1", "A2", "B1", "B2", "C1", "C2")
FEEDS = (("leaf", "16-7-19 Ca 4 Mg 1.5", 2.0), ("fruit", "7-9-26 Mg 3.5", 2.4))
LAST_COLUMN = "J"


def write_formula_log(path: Path, rows: int) -> Path:
    """A log with five formulas in each row, two of them GROW_ functions."""
    chance = random.Random(8)
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        sheet, feeds = book.add_worksheet("Log"), book.add_worksheet("Feeds")
        for row, feed in enumerate(FEEDS):
            feeds.write_row(row, 0, feed)
        headings = ["Bed", "Feed", "Length [in]", "Width [in]", "Depth [in]", "gal", "g", "oz", "Mean depth", "Check"]
        sheet.write_row(0, 0, headings)
        for row in range(1, rows + 1):
            sizes = [round(chance.uniform(10, 60), 1) for _ in range(3)]
            sheet.write_row(row, 0, [BEDS[row % len(BEDS)], FEEDS[row % len(FEEDS)][0], *sizes])
            n = row + 1
            for column, formula in enumerate(
                (
                    f"=GROW_VOLUME_BOX(C{n},D{n},E{n})",
                    f"=GROW_DOSE(F{n},INDEX(Feeds!$C$1:$C$2,MATCH(B{n},Feeds!$A$1:$A$2,0)))",
                    f"=ROUND(G{n}/28.349523125,1)",
                    f"=AVERAGE(E{max(2, n - 6)}:E{n})",
                    f'=IF(E{n}<I{n}*0.8,"low","ok")',
                ),
                5,
            ):
                sheet.write_formula(row, column, formula)
    return path


def last_values(path: Path, rows: int) -> list[object]:
    """The stored values of the last row of a log with formulas."""
    sheet = openpyxl.load_workbook(path, read_only=True, data_only=True)["Log"]
    return [cell.value for cell in next(sheet.iter_rows(min_row=rows + 1, max_row=rows + 1))]


def write_readings_log(path: Path, readings: int) -> Path:
    """A log of six beds with four readings a day of each."""
    chance = random.Random(9)
    with xlsxwriter.Workbook(path) as book:
        beds, feeds, diary = (book.add_worksheet(name) for name in ("Beds", "Feeds", "Readings"))
        day_format = book.add_format({"num_format": "yyyy-mm-dd"})
        headings = ["Bed", "Crop", "Feed", "Length (in)", "Width (in)", "Water (in)", "gal", "feed g", "N ppm"]
        beds.write_row(0, 0, headings)
        for row, bed in enumerate(BEDS, 1):
            beds.write_row(row, 0, [bed, "lettuce", FEEDS[row % len(FEEDS)][0], 40 + row, 31, 9])
            n, place = row + 1, f"MATCH(C{row + 1},Feeds!$A$2:$A$3,0)"
            beds.write_formula(row, 6, f"=GROW_VOLUME_BOX(D{n},E{n},F{n})")
            beds.write_formula(row, 7, f"=GROW_DOSE(G{n},INDEX(Feeds!$C$2:$C$3,{place}))")
            beds.write_formula(row, 8, f'=GROW_PPM(H{n},G{n},INDEX(Feeds!$B$2:$B$3,{place}),"N")')
        feeds.write_row(0, 0, ["Feed", "Analysis", "g per gal"])
        for row, feed in enumerate(FEEDS, 1):
            feeds.write_row(row, 0, feed)
        diary.write_row(0, 0, ["Date", "Bed", "pH", "EC mS/cm", "water °F", "inches now", "added gal", "notes"])
        for row in range(1, readings + 1):
            day = FIRST_DAY + datetime.timedelta(days=(row - 1) // (len(BEDS) * READINGS_IN_DAY))
            diary.write_datetime(row, 0, datetime.datetime.combine(day, datetime.time()), day_format)
            measured = [chance.uniform(5.5, 6.5), chance.uniform(1.2, 2.0), chance.uniform(62, 75), 9.0, 0.5]
            diary.write_row(row, 1, [BEDS[row % len(BEDS)], *(round(value, 2) for value in measured)])
            if row % 50 == 0:
                diary.write(row, 7, "thinned, roots white")
    return path


def write_sheet(path: Path, rows: int, columns: int) -> Path:
    """A sheet of dates, names, numbers and notes, in the kind of file that the ending of its name says."""
    chance = random.Random(10)
    values = (
        [
            FIRST_DAY + datetime.timedelta(days=row // READINGS_IN_DAY),
            BEDS[row % len(BEDS)],
            *(round(chance.uniform(0, 10), 2) for _ in range(columns - 3)),
            "fine" if row % 5 else f"note {row}",
        ]
        for row in range(rows)
    )
    if path.suffix == ".ods":
        return write_ods(path, {"Log": values})
    if path.suffix == ".csv":
        with path.open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(values)
        return path
    with xlsxwriter.Workbook(path, {"constant_memory": True, "default_date_format": "yyyy-mm-dd"}) as book:
        sheet = book.add_worksheet("Log")
        for number, row in enumerate(values):
            sheet.write_row(number, 0, row)
    return path


def readings_in(days: int) -> int:
    """How many readings a log of six beds has after these days."""
    return days * len(BEDS) * READINGS_IN_DAY
