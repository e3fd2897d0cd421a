"""What a printed report looks like: its PDF read letter by letter, over logs of few and of many beds and feeds.

    python tests/printed_pages.py            every log of the grid
    python tests/printed_pages.py --beds 13 --feeds 3 --keep FOLDER

Prints how many pages each report has, and what is wrong with them: letters below 9 points, words cut off or printed
over each other, headings at the foot of a page, half a page left empty. The exit code is 1 where anything is. All beds
and feeds are invented.
"""

from __future__ import annotations

import argparse
import ctypes
import datetime
import itertools
import random
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium
from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

if __name__ == "__main__":
    root = Path(__file__).parent.parent
    sys.path[:0] = [str(Path(__file__).parent), *(str(root / room) for room in ("functions", "addin", "workbooks"))]

from growcells_workbooks.report import build_report
from growcells_workbooks.sheets.text_size import text_width, wrapped_lines
from report_books import report_book

BEDS, FEEDS = (1, 4, 13, 40), (1, 3, 8)
MOST_PAGES = {4: 6, 13: 10}
"""Of the part before the divider, by the number of beds."""
SUNDAY = datetime.date(2026, 11, 22)
LEAST_SIZE = 8.95
"""Nine points, but for what rounding takes."""
OVERLAP = 1.0
"""How far boxes of letters may reach into each other [points]: ascenders do."""
GREEN = (0x4A, 0x6A, 0x5E)
"""The colour of headings within a page."""
TO_WRITE_ON = "Notes"
"""The heading of lines that fill a page."""
FOOT = 50
"""Height of the footer [points]."""
CROPS = ("lettuce", "basil", "pak choi", "chard")
NAMES = ("Raft", "Gutter", "Tub", "Channel by the door")
ANALYSES = ("17-7-21", "7-9-26 Mg 3.5", "13-4-29", "16-7-19", "11-6-19", "10-9-19 Ca 6 Mg 2", "19-11-3", "8-9-25")


def write_log(path: Path, beds: int, feeds: int, seed: int = 1) -> Path:
    """A log of four weeks: readings every other day, some out of their bands, notes, stock, two treatments weighed."""
    chance = random.Random(seed)
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    tanks, plants, bags, diary, scale = (book.create_sheet(n) for n in ("Beds", "Targets", "Feeds", "Diary", "Weights"))
    tanks.append(["Bed", "Crop", "Feed", "Water depth in", "Volume gal", "Planted", "Plants"])
    plants.append(
        ["Bed", "pH low", "pH high", "EC low mS/cm", "EC high mS/cm", "Temp low °F", "Temp high °F", "Lowest water in"]
    )
    bags.append(
        ["Feed", "Product", "Analysis", "g/gal", "Price $", "Package lb", "On hand g", "Order takes week", "Scale g"]
    )
    diary.append(
        ["Date", "Bed", "pH", "EC mS/cm", "water °F", "Depth now in", "Water added gal", "Feed added g", "Notes"]
    )
    scale.append(["Bed", "Plant", "Mass g"])
    names = [f"{NAMES[place % len(NAMES)]} {place + 1}" for place in range(beds)]
    mixes = [f"mix {chr(ord('A') + place)}" for place in range(feeds)]
    for place, name in enumerate(names):
        tanks.append(
            [name, CROPS[place % 4], mixes[place % feeds], 10, 30 + 3 * place, SUNDAY - datetime.timedelta(24), 12]
        )
        plants.append([name, 5.5, 6.5, 1.2, 2.0, 60, 75, 5])
        for plant in range(4 if place % 4 == 0 else 0):  # a trial is of one crop
            scale.append([name, plant + 1, round(chance.gauss(140, 12), 1)])
    for place, mix in enumerate(mixes):
        for part in ("base", "calcium nitrate") if place % 2 == 0 else ("whole",):
            analysis = "13.3-0-0 Ca 18" if part != "base" and part != "whole" else ANALYSES[place]
            bags.append([mix, f"{part} {place + 1}", analysis, 1.2, 27.5, 10, 900 + 100 * place, 2, 0.1])
    for back, (place, name) in itertools.product(range(26, -1, -2), enumerate(names)):
        day, off = SUNDAY - datetime.timedelta(back), place % 4 == 1 and back == 0
        row = [day, name, 6.9 if off else round(chance.gauss(6, 0.1), 1), round(chance.gauss(1.6, 0.1), 2)]
        added = [2.5, 9.0] if back % 6 == 0 else [None, None]
        note = "two plants wilting" if place % 5 == 2 and back == 2 else None
        diary.append([*row, round(chance.gauss(68, 1)), round(9.6 - 0.1 * (back % 4), 1), *added, note])
    book.save(path)
    return path


@dataclass(frozen=True)
class Words:
    """Some letters of a page: their size, their box [points from the left and from the foot], whether a heading."""

    text: str
    size: float
    left: float
    foot: float
    right: float
    top: float
    heading: bool


def words_of(page: pypdfium2.PdfPage) -> list[Words]:
    """All words of a page, those of its charts among them, without what stands at its foot."""
    found = []
    texts = page.get_textpage()
    for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_TEXT], textpage=texts):
        text, box = thing.extract().strip(), thing.get_bounds()
        if text and box[3] > FOOT:
            size = thing.get_font_size() * abs(thing.get_matrix().d)
            found.append(Words(text, size, *box, _colour(thing) == GREEN))
    return found


def _colour(thing: pypdfium2.PdfTextObj) -> tuple[int, ...]:
    parts = [ctypes.c_uint() for _ in range(4)]
    pdfium.FPDFPageObj_GetFillColor(thing.raw, *parts)
    return tuple(part.value for part in parts[:3])


def overlaps(words: list[Words]) -> Iterator[str]:
    """Words that are printed over each other: what was cut off at the edge of a cell lies under its neighbour."""
    ordered = sorted(words, key=lambda one: -one.top)
    for place, one in enumerate(ordered):
        for other in ordered[place + 1 :]:
            if other.top < one.foot:
                break
            across = min(one.right, other.right) - max(one.left, other.left)
            down = min(one.top, other.top) - max(one.foot, other.foot)
            if across > OVERLAP and down > OVERLAP:
                yield f"“{one.text}” over “{other.text}”"


def cut_off(workbook: Path) -> Iterator[str]:
    """Cells whose text is wider or has more lines than there is room for, by the metrics of the face."""
    for sheet in report_book(workbook).worksheets:
        merged = {(area.min_row, area.min_col): area for area in sheet.merged_cells.ranges}
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type != "s" or sheet.sheet_state == "hidden":
                    continue
                area = merged.get((cell.row, cell.column))
                last = area.max_col if area else cell.column
                widths = [sheet.column_dimensions[get_column_letter(at)].width for at in range(cell.column, last + 1)]
                size = cell.font.size / 10
                if cell.alignment.wrap_text:
                    lines = wrapped_lines(cell.value, sum(widths) / size)
                    if lines * 11.4 * size > (sheet.row_dimensions[cell.row].height or 0) + 2:
                        yield f"{sheet.title}!{cell.coordinate}: {lines} lines of “{cell.value[:40]}”"
                elif (beside(sheet, cell.row, last) or area) and text_width(cell.value) * size > sum(widths) + 0.5:
                    yield f"{sheet.title}!{cell.coordinate}: no room for “{cell.value[:40]}”"


def beside(sheet: Worksheet, row: int, last: int) -> bool:
    """Whether something stands in the cells to the right, over which a text would run."""
    return any(sheet.cell(row, at).value for at in range(last + 1, last + 4))


def faults(pdf: Path, beds: int) -> tuple[int, int, list[str]]:
    """The pages of a report before the divider, all its pages, and what is wrong with them."""
    wrong = []
    document = pypdfium2.PdfDocument(pdf)
    pages = [(words_of(page), page.get_size()) for page in document]
    document.close()
    divider = next((at for at, (words, _) in enumerate(pages) if _holds(words, "Behind this line")), len(pages))
    for number, (words, (width, height)) in enumerate(pages, 1):
        small = [one for one in words if one.size < LEAST_SIZE]
        wrong += [f"page {number}: “{one.text}” in {one.size:.1f} points" for one in small[:1]]
        wrong += [
            f"page {number}: “{one.text}” beyond the paper" for one in words if one.right > width - 20 or one.left < 20
        ]
        wrong += [f"page {number}: {text}" for text in overlaps(words)]
        wrong += [f"page {number}: ### for a number" for one in words if "###" in one.text]
        lowest = min(words, key=lambda one: one.foot)
        if lowest.text == TO_WRITE_ON:
            continue
        if lowest.heading:
            wrong.append(f"page {number}: the heading “{lowest.text}” at its foot")
        if lowest.foot > height / 2 and number not in (divider, len(pages)):
            wrong.append(f"page {number}: half of it is empty")
    if divider > MOST_PAGES.get(beds, divider):
        wrong.append(f"{divider} pages before the divider, and no more than {MOST_PAGES[beds]} are wanted")
    return divider, len(pages), wrong


def _holds(words: list[Words], text: str) -> bool:
    return any(one.text.startswith(text) for one in words)


def printed(folder: Path, beds: int, feeds: int, paper: str) -> tuple[int, int, list[str]]:
    """The pages and faults of the report of a log with so many beds and feeds."""
    log = write_log(folder / f"{beds}-beds-{feeds}-feeds.xlsx", beds, feeds)
    output = folder / f"{log.stem}.{paper}.week.xlsx"
    made = build_report(log, output, as_of=SUNDAY, paper=paper, pdf=True, overwrite=True)
    assert made.pdf is not None
    before, pages, wrong = faults(made.pdf, beds)
    return before, pages, [*wrong, *cut_off(made.output)]


def main() -> int:
    """Print the grid."""
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("--beds", type=int, nargs="*", default=BEDS)
    parser.add_argument("--feeds", type=int, nargs="*", default=FEEDS)
    parser.add_argument("--paper", nargs="*", default=("Letter", "A4"))
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    bad = 0
    with tempfile.TemporaryDirectory() as temporary:
        folder = asked.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        print("beds feeds paper   before the divider  in all  faults")
        for beds, feeds, paper in itertools.product(asked.beds, asked.feeds, asked.paper):
            before, pages, wrong = printed(folder, beds, feeds, paper)
            print(f"{beds:4} {feeds:5} {paper:6}  {before:18}  {pages:6}  {len(wrong):6}", flush=True)
            for text in wrong:
                print(f"     {text}")
            bad += len(wrong)
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main())
