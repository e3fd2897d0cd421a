"""More ways in which growers lay out their readings, for the random logs. All beds and figures are invented."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from growcells_workbooks.reading.model import name_key
from log_pages import Page, Truth
from log_vocabulary import BED_HEADS, DATES, MEASURES, NOTES

if TYPE_CHECKING:
    from random_logs import Writer

FORMATS = ("{} {}", "{}: {}", "{}={}", "{} = {}")


def heads_of(w: Writer) -> dict[str, str]:
    """A heading for each measure, on one line."""
    return {name: w.head(name).replace("\n", " ") for name in w.names}


def named_by_looks(w: Writer) -> None:
    """Have the beds listed where neither digits nor a word for a bed tell that they are beds."""
    if not any(sign.isdigit() for sign in w.beds[0]) and not w.beds[0].startswith("Bed"):
        w.listed = True


def headings(w: Writer, page: Page, row: int, texts: Sequence[str], left: int = 1) -> int:
    """A row of headings; gives the row below."""
    for place, text in enumerate(texts, left):
        page.put(row, place, text)
    return row + 1


def year_month_day(w: Writer) -> None:
    """Year, month and day in columns of their own, perhaps written once for the rows below."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    heads = [
        r.choice(("Year", "Yr")),
        r.choice(("Month", "Mon")),
        "Day",
        r.choice(BED_HEADS[:8]),
        *heads_of(w).values(),
    ]
    row = headings(w, page, w.title(page), heads)
    named, once = r.random() < 0.4, r.random() < 0.4
    before: tuple[object, ...] = ()
    for day in w.days:
        for bed in w.beds:
            parts = (day.year, f"{day:%b}" if named else day.month, day.day)
            for place, part in enumerate(parts):
                if not (once and place < 2 and before[: place + 1] == parts[: place + 1]):
                    page.put(row, place + 1, part)
            before = parts
            page.put(row, 4, bed)
            w.record(page, row, 5, bed, day)
            row += 1


def days_across(w: Writer) -> None:
    """A sheet for each month with its days across as numbers, a row for each bed and measure."""
    r = w.r
    named_by_looks(w)
    heads = heads_of(w)
    months = sorted({(day.year, day.month) for day in w.days})
    for year, month in months:
        page = w.page(f"{datetime.date(year, month, 1):%b} {year}")
        first, last = r.choice((1, 1, 2)), r.choice((28, 28, 15))
        w.days = [datetime.date(year, month, day) for day in range(first, last + 1)]
        row = headings(w, page, 1, [r.choice(BED_HEADS[:6]), r.choice(("What", "Measure", "Reading"))])
        for column, day in enumerate(w.days, 3):
            page.put(1, column, day.day)
        for bed in w.beds[:2]:
            for count, name in enumerate(w.names):
                page.put(row, 1, bed if count == 0 or r.random() < 0.5 else None)
                page.put(row, 2, heads[name])
                for column, day in enumerate(w.days, 3):
                    w.place(page, row, column, bed, day, name)
                row += 1


def _week(w: Writer) -> tuple[str, list[str]]:
    """Have the days be those of a week; gives the text above it and the names of its days."""
    r = w.r
    first = w.days[0] - datetime.timedelta(w.days[0].weekday() + r.choice((0, 0, 1)))
    w.days = [first + datetime.timedelta(place) for place in range(r.choice((5, 7)))]
    written = r.choice((f"{first:%Y-%m-%d}", f"{first.day} {first:%b %Y}", f"{first:%B} {first.day}, {first.year}"))
    shape = r.choice(("%a", "%A"))
    return r.choice(("Week of {}", "Week of: {}", "Week starting {}")).format(written), [f"{d:{shape}}" for d in w.days]


def weekdays_across(w: Writer) -> None:
    """The date of a week above its days across, a row for each bed and measure."""
    page = w.page(w.r.choice(("log", "Readings")))
    title, names = _week(w)
    heads = heads_of(w)
    named_by_looks(w)
    page.put(1, 1, title)
    row = headings(w, page, 2, [w.r.choice(BED_HEADS[:6]), w.r.choice(("What", "Measure", "Reading")), *names])
    for bed in w.beds:
        for name in w.names:
            page.put(row, 1, bed)
            page.put(row, 2, heads[name])
            for column, day in enumerate(w.days, 3):
                w.place(page, row, column, bed, day, name)
            row += 1


def weekdays_down(w: Writer) -> None:
    """The date of a week above its days down the side, with the bed in each row."""
    page = w.page(w.r.choice(("log", "Readings")))
    title, names = _week(w)
    heads = heads_of(w)
    page.put(1, 1, title)
    row = headings(w, page, 2, [w.r.choice(("Day", "Weekday")), w.r.choice(BED_HEADS[:6]), *heads.values()])
    for day, name_of_day in zip(w.days, names, strict=True):
        for bed in w.beds:
            page.put(row, 1, name_of_day)
            page.put(row, 2, bed)
            for column, name in enumerate(w.names, 3):
                w.place(page, row, column, bed, day, name)
            row += 1


def dates_over_measures(w: Writer) -> None:
    """A row for each bed; dates over its measures."""
    page = w.page(w.r.choice(("log", "Readings")))
    row = w.title(page)
    heads = heads_of(w)
    named_by_looks(w)
    merged = w.r.random() < 0.5 and len(w.names) > 1
    page.put(row + 1, 1, w.r.choice(BED_HEADS[:6]))
    for place, bed in enumerate(w.beds, row + 2):
        page.put(place, 1, bed)
    column = 2
    for day in w.days:
        w.put_date(page, row, column, day)
        if merged:
            page.merged.append((row, column, row, column + len(w.names) - 1))
        for name in w.names:
            page.put(row + 1, column, heads[name])
            for place, bed in enumerate(w.beds, row + 2):
                w.place(page, place, column, bed, day, name)
            column += 1


def measures_down(w: Writer) -> None:
    """A row for each date and measure, a column for each bed."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    heads = heads_of(w)
    named_by_looks(w)
    row = headings(w, page, w.title(page), [r.choice(DATES[:8]), r.choice(("What", "Measure", "", "Test")), *w.beds])
    once = r.random() < 0.5
    for day in w.days:
        for count, name in enumerate(w.names):
            if not (once and count):
                w.put_date(page, row, 1, day)
            page.put(row, 2, heads[name])
            for column, bed in enumerate(w.beds, 3):
                w.place(page, row, column, bed, day, name)
            row += 1


def several_in_a_cell(w: Writer) -> None:
    """What was read of a bed in one cell, each number behind its label: ``pH 6.1, EC 1.4 mS``."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    names = [name for name in ("ph", "ec") if name in w.names] or ["ph"]
    w.ways["ec"] = MEASURES["ec"].ways[r.choice((0, 1))]
    w.cells_carry = dict.fromkeys(MEASURES, False)
    w.ways.setdefault("ph", MEASURES["ph"].ways[0])
    w.comma, form, sign = False, r.choice(FORMATS), r.choice((", ", "; ", " / ", " "))
    across = r.random() < 0.6
    named_by_looks(w)
    row = headings(w, page, w.title(page), ["Date", *(w.beds if across else ("Bed", "Readings"))])
    for day in w.days:
        for place, bed in enumerate(w.beds, 2):
            found = []
            for name in names:
                shown, true = w.number(name, w.value_of(name))
                unit = f" {w.ways[name].spelled[0]}" if name == "ec" else ""
                found.append((form.format({"ph": "pH", "ec": "EC"}[name], f"{shown}{unit}"), name, true))
            column = place if across else 3
            w.put_date(page, row, 1, day)
            if not across:
                page.put(row, 2, bed)
            sheet, cell = page.put(row, column, sign.join(text for text, _, _ in found))
            w.truths += [Truth(("reading", name_key(bed), day, name), true, sheet, cell) for _, name, true in found]
            row += not across
        row += across


def two_in_a_column(w: Writer) -> None:
    """pH and EC in one column, as ``6.1 / 1.4`` under ``pH / EC (mS)``."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    sign = r.choice((" / ", "/", " & ", ", "))
    row = headings(w, page, w.title(page), ["Date", "Bed", r.choice(("pH / EC", "pH/EC (mS)", "pH & EC", "pH and EC"))])
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, 1, day)
            page.put(row, 2, bed)
            values = {"ph": round(w.value_of("ph"), 1), "ec": round(w.value_of("ec"), 1)}
            sheet, cell = page.put(row, 3, sign.join(f"{value:.1f}" for value in values.values()))
            w.truths += [Truth(("reading", name_key(bed), day, name), of, sheet, cell) for name, of in values.items()]
            row += 1


def labelled_cells(w: Writer) -> None:
    """Cells that say again what they are: ``pH 6.1`` under pH."""
    page = w.page("log")
    heads = heads_of(w)
    row = headings(
        w, page, w.title(page), ["Date", w.r.choice(BED_HEADS[:6]), "pH", *(heads[n] for n in w.names if n != "ph")]
    )
    names = ["ph", *(name for name in w.names if name != "ph")]
    w.names = names
    w.complete()
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, 1, day)
            page.put(row, 2, bed)
            for column, name in enumerate(names, 3):
                if name == "ph":
                    shown, true = w.number("ph", w.value_of("ph"))
                    sheet, cell = page.put(row, column, w.r.choice((f"pH {shown}", f"{shown} pH", f"pH: {shown}")))
                    w.truths.append(Truth(("reading", name_key(bed), day, name), true, sheet, cell))
                else:
                    w.place(page, row, column, bed, day, name)
            row += 1


def records_across(w: Writer) -> None:
    """A column for each reading: its date, its bed and what was measured, down the side."""
    page = w.page(w.r.choice(("log", "Readings")))
    row = w.title(page)
    heads = heads_of(w)
    for place, text in enumerate([w.r.choice(DATES[:8]), w.r.choice(BED_HEADS[:8]), *heads.values()]):
        page.put(row + place, 1, text)
    column = 2
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, column, day)
            page.put(row + 1, column, bed)
            for place, name in enumerate(w.names, row + 2):
                w.place(page, place, column, bed, day, name)
            column += 1


def cards(w: Writer) -> None:
    """A block for each visit of a bed: labels with their values beside them."""
    page = w.page(w.r.choice(("log", "Cards")))
    heads = heads_of(w)
    sign = w.r.choice((":", ""))
    row = 1
    for day in w.days[:4]:
        for bed in w.beds[:2]:
            page.put(row, 1, f"Date{sign}")
            w.put_date(page, row, 2, day)
            page.put(row + 1, 1, f"Bed{sign}")
            page.put(row + 1, 2, bed)
            for place, name in enumerate(w.names, row + 2):
                page.put(place, 1, f"{heads[name]}{sign}")
                w.place(page, place, 2, bed, day, name)
            row += len(w.names) + 3


def grouped(w: Writer) -> None:
    """Headings under words for a group of them, some of what is not used."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    row = w.title(page)
    heads = heads_of(w)
    page.put(row, 3, r.choice(("Nutrient solution", "Water", "Solution", "Reservoir readings")))
    page.put(row, 3 + len(w.names), r.choice(("Air", "Greenhouse", "Weather")))
    if r.random() < 0.5 and len(w.names) > 1:
        page.merged.append((row, 3, row, 2 + len(w.names)))
    row = headings(w, page, row + 1, ["Date", "Bed", *heads.values(), "Temp (F)", "RH"])
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, 1, day)
            page.put(row, 2, bed)
            w.record(page, row, 3, bed, day)
            page.put(row, 3 + len(w.names), r.randint(55, 85))
            page.put(row, 4 + len(w.names), r.randint(40, 80))
            row += 1


def named_above(w: Writer) -> None:
    """Tables side by side, each under ``Bed:`` and the name or number of its bed."""
    page = w.page("log")
    heads = list(heads_of(w).values())
    number = w.r.random() < 0.5
    left = 1
    for count, bed in enumerate(w.beds, 1):
        name = str(count) if number else bed
        page.put(1, left, "Bed:")
        page.put(1, left + 1, count if number else bed)
        row = headings(w, page, 2, ["Date", *heads], left)
        for day in w.days:
            w.put_date(page, row, left, day)
            for column, measure in enumerate(w.names, left + 1):
                w.place(page, row, column, name, day, measure)
            row += 1
        left += len(w.names) + 2
    w.listed = w.listed and not number


def units_in_title(w: Writer) -> None:
    """A text above the table, or beside it, says in which units its numbers are."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    ways = {"depth": ("Depth in {}", ("in", "cm", "mm")), "water_added": ("water in {}", ("gallons", "L", "mL"))}
    w.names = ["ph", *ways]
    said = []
    for name, (text, units) in ways.items():
        unit = r.choice(units)
        w.ways[name] = next(way for way in MEASURES[name].ways if unit in way.spelled)
        said.append(text.format(unit))
    w.complete()
    w.cells_carry = dict.fromkeys(w.names, False)
    w.textual = w.comma = False
    text = r.choice((", ", "; ", " and ")).join(said)
    above, left = r.choice(((True, 1), (False, 1), (False, 3)))
    if above:
        page.put(1, left, text)
    else:
        page.put(r.choice((3, 4)), 7 if left == 1 else 1, text)
    row = headings(w, page, 3, ["Date", "Bed", "pH", "Depth", "Water added"], left)
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, left, day)
            page.put(row, left + 1, bed)
            w.record(page, row, left + 2, bed, day)
            row += 1


def scale_in_note(w: Writer) -> None:
    """A column PPM, and a cell that says on which scale the meter shows it."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    scale = r.choice((500, 700))
    w.names = ["ph", "ec"]
    w.ways["ec"] = next(way for way in MEASURES["ec"].ways if f"ppm {scale}" in way.spelled)
    w.complete()
    w.cells_carry = dict.fromkeys(w.names, False)
    w.textual = w.comma = False
    text = r.choice(("Meter scale: {}", "ppm on the {} scale", "meter conversion factor {} (ppm)"))
    below = r.random() < 0.4
    if not below:
        page.put(1, 1, text.format(scale))
    row = headings(w, page, 3, ["Date", "Bed", "pH", r.choice(("PPM", "TDS", "ppm", "TDS (ppm)", "ppm (NaCl)"))])
    for day in w.days:
        for bed in w.beds:
            w.put_date(page, row, 1, day)
            page.put(row, 2, bed)
            w.place(page, row, 3, bed, day, "ph")
            w.place(page, row, 4, bed, day, "ec")
            row += 1
    if below:
        page.put(row + 1, 1, text.format(scale))


def grid_form(w: Writer) -> None:
    """The answers of a form that asks for all beds in one table: ``pH [North]``."""
    page = w.page("Form Responses 1")
    heads = heads_of(w)
    named_by_looks(w)
    row = headings(w, page, 1, ["Timestamp", *(f"{heads[name]} [{bed}]" for name in w.names for bed in w.beds)])
    for day in w.days:
        page.put(row, 1, datetime.datetime.combine(day, datetime.time(8, w.r.randint(0, 59))), "m/d/yyyy h:mm")
        for column, (name, bed) in enumerate(((n, b) for n in w.names for b in w.beds), 2):
            w.place(page, row, column, bed, day, name)
        row += 1


def dittos(w: Writer) -> None:
    """The date once for all beds; below it a mark, nothing, or one merged cell."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    heads = heads_of(w)
    row = headings(w, page, w.title(page), ["Date", r.choice(BED_HEADS[:8]), *heads.values(), "Notes"])
    way = r.choice(('"', "ditto", "merged", ""))
    for day in w.days:
        if way == "merged" and len(w.beds) > 1:
            page.merged.append((row, 1, row + len(w.beds) - 1, 1))
        for count, bed in enumerate(w.beds):
            if not count:
                w.put_date(page, row, 1, day)
            elif way != "merged":
                page.put(row, 1, way)
            page.put(row, 2, bed)
            w.record(page, row, 3, bed, day)
            if r.random() < 0.2:
                page.put(row, 3 + len(w.names), r.choice(NOTES))
            row += 1


def dates_among_beds(w: Writer) -> None:
    """The date alone in the column of the beds, over those that were read on it."""
    page = w.page(w.r.choice(("log", "Readings")))
    heads = heads_of(w)
    row = headings(w, page, w.title(page), [w.r.choice(BED_HEADS[:8]), *heads.values()])
    for day in w.days:
        w.put_date(page, row, 1, day)
        row += 1
        for bed in w.beds:
            page.put(row, 1, bed)
            w.record(page, row, 2, bed, day)
            row += 1


def headings_again(w: Writer) -> None:
    """The headings again for each week, under its number."""
    page = w.page(w.r.choice(("log", "Readings")))
    row = w.title(page)
    heads = ["Date", w.r.choice(BED_HEADS[:8]), *heads_of(w).values()]
    for start in range(0, len(w.days), 3):
        if w.r.random() < 0.6:
            page.put(row, 1, f"Week {start // 3 + 1}")
            row += 1
        row = headings(w, page, row, heads)
        for day in w.days[start : start + 3]:
            for bed in w.beds:
                w.put_date(page, row, 1, day)
                page.put(row, 2, bed)
                w.record(page, row, 3, bed, day)
                row += 1
        row += w.r.choice((0, 1))


def numbered_across(w: Writer) -> None:
    """Dates across; beds by their numbers down the side."""
    r = w.r
    page = w.page(r.choice(("log", "Readings")))
    row = w.title(page)
    heads = heads_of(w)
    w.listed = False
    page.put(row, 1, r.choice(("Bed", "Tank", "Tub no.", "Bed #", "Which bed?")))
    page.put(row, 2, r.choice(("What", "Reading", "Measure")))
    for column, day in enumerate(w.days, 3):
        w.put_date(page, row, column, day)
    once = r.random() < 0.5
    for number in range(1, w.count + 1):
        for count, name in enumerate(w.names):
            row += 1
            if not (once and count):
                page.put(row, 1, number)
            page.put(row, 2, heads[name])
            for column, day in enumerate(w.days, 3):
                w.place(page, row, column, str(number), day, name)


LAYOUTS: dict[str, Callable[[Writer], None]] = {
    layout.__name__: layout
    for layout in (
        *(
            weekdays_across,
            weekdays_down,
            year_month_day,
            days_across,
            dates_over_measures,
            measures_down,
            several_in_a_cell,
            two_in_a_column,
        ),
        *(labelled_cells, records_across, cards, grouped, named_above, units_in_title, scale_in_note, grid_form),
        *(dittos, dates_among_beds, headings_again, numbered_across),
    )
}
NOT_SERIAL = frozenset({"dates_over_measures", "records_across", "cards", "numbered_across", "dates_among_beds"})
"""Layouts in whose places a plain number is no date."""
