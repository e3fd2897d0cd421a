"""Random grow logs with known truth, laid out as growers lay them out. All beds, feeds and figures are invented."""

from __future__ import annotations

import datetime
import random
from collections import Counter
from collections.abc import Sequence

from growcells_workbooks.reading.model import name_key
from log_layouts import LAYOUTS, NOT_SERIAL
from log_pages import EPOCH, Made, Page, Truth
from log_vocabulary import (
    BED_HEADS,
    BED_NAMES,
    CROPS,
    DATES,
    MEASURES,
    NOTE_HEADS,
    NOTES,
    OTHER_HEADS,
    TITLES,
)


class Writer:
    """Writes one random log and its truth."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.r = random.Random(seed)
        r = self.r
        self.pages: list[Page] = []
        self.truths: list[Truth] = []
        self.count = r.randint(2, 5)
        self.beds = r.choice(BED_NAMES)(self.count)[: self.count]
        self.count = len(self.beds)
        start = datetime.date(2026, r.randint(1, 10), r.randint(1, 28))
        step = r.choice((1, 1, 2, 3, 7))
        self.days = [start + datetime.timedelta(days=step * i) for i in range(r.randint(3, 9))]
        names = r.sample(sorted(MEASURES), r.randint(1, 5))
        self.names = names if "ph" in names or "ec" in names else ["ph", *names[:3]]
        self.comma = r.random() < 0.2
        self.textual = self.comma or r.random() < 0.15
        self.ways = {name: r.choice(MEASURES[name].ways) for name in self.names}
        self.cells_carry = {name: r.random() < 0.12 for name in self.names}
        self.date_style = r.choice(
            (
                "real",
                "real",
                "real",
                "real",
                "stamp",
                "iso",
                "us",
                "eu",
                "words",
                "monthday",
                "weekday",
                "dash",
                "shown eu",
                "serial",
            )
        )
        self.listed = r.random() < 0.6
        self.labels: dict[str, str] = {name: r.choice(MEASURES[name].labels) for name in self.names}
        self.scale_said = False

    # Spelling

    def page(self, title: str) -> Page:
        """A new sheet."""
        page = Page(title)
        self.pages.append(page)
        return page

    def head(self, name: str, unit: bool = True) -> str:
        """The heading of a measure, with its unit unless the cells or nothing say it."""
        r, way, label = self.r, self.ways[name], self.labels[name]
        if name == "ph":
            return label
        if (
            way.alone
            and unit
            and (r.random() < 0.5 or "ppm" in way.spelled[0] or way.spelled[0] == "CF")
            and not self.cells_carry[name]
        ):
            return r.choice(way.alone)
        if "ppm" in way.spelled[0]:
            label = r.choice(("", "EC"))
        if not unit or self.cells_carry[name] or (way.unwritten and r.random() < 0.2):
            return label or "EC"
        spelled = r.choice(way.spelled)
        if "(" in spelled:
            return f"{label} {spelled}".strip()
        label = label.rstrip("?.") if r.random() < 0.7 else label
        form = r.choice(("{} ({})", "{} [{}]", "{}, {}", "{} {}", "{} - {}", "{} in {}", "{}\n({})"))
        if spelled in ("in", '"', "in."):
            form = "{} ({})"
        return form.format(label, spelled).strip(" ,-") if label else spelled

    def number(self, name: str, fixed: float) -> tuple[object, float]:
        """A value as it is written, and what it is in the fixed unit."""
        r, way = self.r, self.ways[name]
        rounded = round((fixed - way.offset) / way.slope, way.digits)
        true = rounded * way.slope + way.offset
        value = int(rounded) if way.digits == 0 else rounded
        if self.cells_carry[name] and name != "ph":
            text = self.spelled(value)
            return f"{text}{r.choice((' ', ''))}{r.choice(way.spelled)}" if '"' not in way.spelled[
                0
            ] else f"{text} in", true
        if self.textual and r.random() < 0.9:
            return self.spelled(value), true
        return value, true

    def spelled(self, value: float) -> str:
        """A number as text."""
        if isinstance(value, int) and value >= 1000 and not self.comma and self.r.random() < 0.2:
            return f"{value:,}"
        text = f"{value:.10g}"
        return text.replace(".", ",") if self.comma else text

    def date(self, day: datetime.date) -> tuple[object, str]:
        """A day as it is written, and its number format."""
        style = self.date_style
        texts = {
            "iso": day.isoformat(),
            "us": f"{day.month}/{day.day}/{day.year}",
            "eu": f"{day.day}.{day.month}.{day.year}",
            "words": f"{day.day} {day:%b} {day.year}",
            "monthday": f"{day:%B} {day.day}, {day.year}",
            "weekday": f"{day:%a} {day.day} {day:%b} {day.year}",
            "dash": f"{day.day:02d}-{day:%b}-{day:%y}",
        }
        if style in texts:
            return texts[style], "General"
        if style == "serial":
            return (day - EPOCH.date()).days, "General"
        if style == "stamp":
            return datetime.datetime.combine(
                day, datetime.time(self.r.randint(6, 19), self.r.randint(0, 59))
            ), "m/d/yyyy h:mm"
        return day, "dd/mm/yyyy" if style == "shown eu" else self.r.choice(("yyyy-mm-dd", "m/d/yyyy", "mm-dd-yy"))

    def bed(self, bed: str) -> str:
        """A bed as it is written."""
        return self.r.choice((bed, bed, bed, bed.lower(), f" {bed} ", bed.upper()))

    def value_of(self, name: str) -> float:
        """A likely value."""
        measure = MEASURES[name]
        return self.r.uniform(measure.low, measure.high)

    def skip(self, share: float = 0.12) -> bool:
        """Whether something was not measured."""
        return self.r.random() < share

    # Pieces

    def place(self, page: Page, row: int, column: int, bed: str, day: datetime.date, name: str) -> None:
        """A value in a cell, and its truth."""
        if self.skip():
            if self.r.random() < 0.1:
                page.put(row, column, self.r.choice(("-", "n/a")))
            return
        shown, true = self.number(name, self.value_of(name))
        sheet, cell = page.put(row, column, shown)
        self.truths.append(Truth(("reading", name_key(bed), day, name), true, sheet, cell))

    def record(self, page: Page, row: int, first: int, bed: str, day: datetime.date) -> None:
        """The values of a bed and day in the columns of a row."""
        for column, name in enumerate(self.names, first):
            self.place(page, row, column, bed, day, name)

    def put_date(self, page: Page, row: int, column: int, day: datetime.date) -> None:
        """A day in a cell."""
        page.put(row, column, *self.date(day))

    def title(self, page: Page, row: int = 1) -> int:
        """Perhaps titles; gives the row after them."""
        for _ in range(self.r.choice((0, 0, 1, 1, 2))):
            page.put(row, 1, self.r.choice(TITLES))
            row += self.r.choice((1, 2))
        return row

    def list_beds(self, page: Page | None = None, row: int = 1, column: int = 1) -> Page:
        """A table of the beds with their sizes."""
        r = self.r
        page = page or self.page(r.choice(("Beds", "our tubs", "Setup", "Tanks")))
        row = self.title(page, row)
        way, lengths = r.choice(
            ((2.54, ("in", "inches")), (2.54, ("in",)), (1.0, ("cm",)), (100.0, ("m",)), (30.48, ("ft",)))
        )
        unit = r.choice(lengths)
        heads = r.choice(
            (
                [f"Length ({unit})", f"Width ({unit})", f"Depth ({unit})"],
                [f"L ({unit})", f"W ({unit})", f"Water ({unit})"],
                [f"L {unit}", f"W {unit}", f"D {unit}"],
            )
        )
        if way == 2.54 and r.random() < 0.3 and "depth" not in self.names:
            heads = ["L", "W", "Depth"]
        with_gallons = r.random() < 0.5
        columns = [
            r.choice(BED_HEADS[:10]),
            *(["Crop"] if r.random() < 0.6 else []),
            *heads,
            *(["Gallons"] if with_gallons else []),
        ]
        for place, text in enumerate(columns):
            page.put(row, column + place, text)
        for bed in self.beds:
            row += 1
            for place, text in enumerate(columns):
                if place == 0:
                    page.put(row, column, bed)
                elif text == "Crop":
                    page.put(row, column + place, r.choice(CROPS))
                elif text == "Gallons":
                    value = r.randint(10, 60)
                    sheet, cell = page.put(row, column + place, value)
                    self.truths.append(Truth(("bed", name_key(bed), "volume"), value * 3.785411784, sheet, cell))
                else:
                    name = ("length", "width", "depth")[heads.index(text)]
                    low, high = {"length": (60, 160), "width": (40, 90), "depth": (12, 30)}[name]
                    size = round(r.uniform(low, high) / way, 2)
                    sheet, cell = page.put(row, column + place, size)
                    self.truths.append(Truth(("bed", name_key(bed), name), size * way, sheet, cell))
        if r.random() < 0.2:
            page.put(
                row + 2, column, r.choice(("=> T3 leaks"[3:], "measure inside, not outside", "last one leaks a little"))
            )
        return page

    def plantings(self) -> None:
        """A table of rounds, two for some beds."""
        r = self.r
        page = self.page(r.choice(("Plan", "Plantings", "Rounds", "Planting log")))
        row = self.title(page)
        heads = [
            r.choice(BED_HEADS[:6]),
            r.choice(("Crop", "Variety")),
            r.choice(("Transplanted", "Transplant date", "Planted", "Date planted", "Set out")),
            r.choice(("Harvest by", "Expected harvest", "Est. harvest", "Ready by")),
        ]
        for place, text in enumerate(heads, 1):
            page.put(row, place, text)
        for bed in self.beds:
            for round_ in range(r.choice((1, 1, 2))):
                day = self.days[0] + datetime.timedelta(days=-20 + 40 * round_ + r.randint(0, 4))
                row += 1
                page.put(row, 1, bed)
                page.put(row, 2, r.choice(CROPS))
                sheet, cell = page.put(row, 3, day, "yyyy-mm-dd")
                page.put(row, 4, day + datetime.timedelta(days=35), "yyyy-mm-dd")
                self.truths.append(Truth(("round", name_key(bed), round_ + 1), day.toordinal(), sheet, cell))

    def feeds(self) -> None:
        """A table of feeds; truth is the rate."""
        r = self.r
        page = self.page(r.choice(("Feeds", "Nutrients", "Feed shelf")))
        row = self.title(page)
        rate, slope = r.choice(
            (
                ("g/gal", 1 / 3.785411784),
                ("g per gal", 1 / 3.785411784),
                ("Rate (g/L)", 1.0),
                ("Rate g/gal", 1 / 3.785411784),
            )
        )
        for place, text in enumerate((r.choice(("Feed", "Mix", "Fertilizer")), "Analysis", rate, "Bag lb", "Price"), 1):
            page.put(row, place, text)
        for name in ("A", "B", "C")[: r.randint(1, 3)]:
            row += 1
            value = round(r.uniform(0.4, 3), 2)
            page.put(row, 1, name)
            page.put(row, 2, r.choice(("17-7-21", "7-9-26", "11-6-19 Ca 5")))
            sheet, cell = page.put(row, 3, value)
            page.put(row, 4, r.choice((5, 10, 25)))
            page.put(row, 5, round(r.uniform(10, 60), 2), "$0.00")
            self.truths.append(Truth(("feed", name_key(name), "rate"), value * slope, sheet, cell))

    def weights(self) -> None:
        """A table of plants weighed one by one."""
        r = self.r
        page = self.page(r.choice(("weights", "Plant weights", "Trial", "weighing")))
        row = self.title(page)
        unit, slope = r.choice((("g", 1.0), ("oz", 28.349523125)))
        head = r.choice(("fresh {}", "Weight ({})", "Fresh weight {}", "Plant weight ({})"))
        heads = [
            r.choice(BED_HEADS[:5]),
            r.choice(("Mix", "Feed", "Treatment")),
            r.choice(("plant", "Plant no.", "No.", "Sample")),
            head.format(unit),
        ]
        for place, text in enumerate(heads, 1):
            page.put(row, place, text)
        for bed in self.beds[:3]:
            for plant in range(1, 4):
                row += 1
                value = round(r.uniform(30, 120) / slope, 2)
                page.put(row, 1, bed)
                page.put(row, 2, "AB"[plant % 2])
                page.put(row, 3, plant)
                sheet, cell = page.put(row, 4, value)
                self.truths.append(Truth(("weight", name_key(bed), str(plant)), value * slope, sheet, cell))

    def harvests(self) -> None:
        """A table of what was cut of whole beds."""
        r = self.r
        page = self.page(r.choice(("Harvest", "Harvests", "Sales", "Yield")))
        row = self.title(page)
        unit, slope = r.choice((("g", 1.0), ("kg", 1000.0), ("lb", 453.59237), ("oz", 28.349523125)))
        mass = r.choice(("Total weight ({})", "Weight {}", "Yield {}", "Harvest weight ({})", "Total {}"))
        heads = [
            r.choice(("Harvested on", "Date", "Harvest date", "Cut on")),
            r.choice(BED_HEADS[:5]),
            r.choice(("Heads", "Heads cut", "No. of heads")),
            mass.format(unit),
            r.choice(("Price a head", "Price per head", "Price each")),
        ]
        for place, text in enumerate(heads, 1):
            page.put(row, place, text)
        for bed in self.beds:
            row += 1
            day = self.days[-1] + datetime.timedelta(days=r.randint(0, 5))
            value = round(r.uniform(800, 4000) / slope, 2)
            page.put(row, 1, day, "yyyy-mm-dd")
            page.put(row, 2, bed)
            page.put(row, 3, r.randint(8, 30))
            sheet, cell = page.put(row, 4, value)
            page.put(row, 5, round(r.uniform(1, 4), 2))
            self.truths.append(Truth(("harvest", name_key(bed), day), value * slope, sheet, cell))

    # Layouts

    def rows(self) -> None:
        """A row for each reading."""
        self._rows_table(
            self.page(self.r.choice(("log", "Readings", "log 2026", "Diary", "Water checks"))), self.beds, self.days
        )

    def _rows_table(
        self,
        page: Page,
        beds: Sequence[str],
        days: Sequence[datetime.date],
        row: int = 0,
        left: int = 0,
        bed_column: bool = True,
    ) -> int:
        r = self.r
        row = row or self.title(page)
        left = left or r.choice((1, 1, 1, 2, 3))
        columns = [*self.names]
        r.shuffle(columns)
        front = ["date", "bed"] if bed_column else ["date"]
        if r.random() < 0.15:
            front.reverse()
        columns = [*front, *columns]
        extra = r.choice(OTHER_HEADS) if r.random() < 0.25 else None
        if extra:
            columns.insert(r.randint(len(front), len(columns)), "extra")
        if r.random() < 0.5:
            columns.append("notes")
        units_row = r.random() < 0.1 and not any(self.cells_carry.values())
        fixed = {
            "date": r.choice(DATES),
            "bed": r.choice(BED_HEADS),
            "notes": r.choice(NOTE_HEADS),
            "extra": extra[0] if extra else "",
        }
        for place, name in enumerate(columns, left):
            if name in fixed:
                page.put(row, place, fixed[name])
            elif (
                units_row
                and name != "ph"
                and "ppm" not in self.ways[name].spelled[0]
                and self.ways[name].spelled[0] != "CF"
            ):
                page.put(row, place, self.labels[name])
                page.put(row + 1, place, r.choice(self.ways[name].spelled))
            else:
                page.put(row, place, self.head(name))
        row += 1 if not units_row else 2
        carried = bed_column and len(beds) > 1 and r.random() < 0.25 and front[0] == "date"
        for day in days:
            for count, bed in enumerate(beds):
                for place, name in enumerate(columns, left):
                    if name == "date":
                        if not (carried and count):
                            self.put_date(page, row, place, day)
                    elif name == "bed":
                        page.put(row, place, self.bed(bed))
                    elif name == "notes":
                        if r.random() < 0.2:
                            page.put(row, place, r.choice(NOTES))
                    elif name == "extra":
                        if extra and r.random() < 0.8:
                            page.put(row, place, extra[1](r))
                    else:
                        self.place(page, row, place, bed, day, name)
                row += 1
            if r.random() < 0.05 and not carried:
                page.put(row, left, r.choice(("vacation", "week of rain, nobody here", "nutrients changed")))
                row += 1
            elif r.random() < 0.08:
                row += 1
        if r.random() < 0.15:
            page.put(row, left, r.choice(("average", "Avg", "Total", "mean")))
            page.put(row, left + len(front), 6.1)
        return row

    def form(self) -> None:
        """The answers of a form."""
        r = self.r
        page = self.page(r.choice(("Form Responses 1", "Form responses", "Answers")))
        asked = {
            "ph": ("pH reading", "What is the pH?", "pH"),
            "ec": ("EC reading ({})", "What is the EC ({})?", "EC ({})"),
            "temperature": ("Water temperature ({})", "What is the water temperature? ({})", "Water temp ({})"),
            "depth": ("Water depth ({})", "How deep is the water ({})?"),
            "water_added": ("How much water did you add? ({})", "Water added ({})"),
            "feed_added": ("How much feed did you add ({})?", "Feed added ({})"),
        }
        columns = ["date", "bed", *self.names, "notes"]
        for place, name in enumerate(columns, 1):
            texts = {
                "date": ("Timestamp",),
                "bed": ("Which bed?", "Which tank did you check?", "Bed", "Which tub?"),
                "notes": ("Anything else?", "Comments", "Any notes?"),
            }
            if name in texts:
                page.put(1, place, r.choice(texts[name]))
            else:
                page.put(1, place, r.choice(asked[name]).format(r.choice(self.ways[name].spelled)))
        self.cells_carry = dict.fromkeys(self.names, False)
        row = 2
        for day in self.days:
            for bed in self.beds:
                stamp = datetime.datetime.combine(
                    day, datetime.time(r.randint(6, 20), r.randint(0, 59), r.randint(0, 59))
                )
                page.put(
                    row,
                    1,
                    stamp
                    if r.random() < 0.7
                    else f"{day.month}/{day.day}/{day.year} {stamp.hour}:{stamp.minute:02d}:{stamp.second:02d}",
                    "m/d/yyyy h:mm:ss",
                )
                page.put(row, 2, bed)
                self.record(page, row, 3, bed, day)
                if r.random() < 0.2:
                    page.put(row, len(columns), r.choice(NOTES))
                row += 1

    def long(self) -> None:
        """A row for each value, with what it is in a column of its own."""
        r = self.r
        page = self.page(r.choice(("log", "data", "Measurements")))
        row = self.title(page)
        with_unit = r.random() < 0.5
        heads = [
            r.choice(DATES[:6]),
            r.choice(BED_HEADS[:6]),
            r.choice(("Measure", "Parameter", "What", "Measurement", "Variable", "Test")),
            r.choice(("Value", "Reading", "Result")),
        ]
        heads += [r.choice(("Unit", "Units"))] if with_unit else []
        for place, text in enumerate(heads, 1):
            page.put(row, place, text)
        self.cells_carry = dict.fromkeys(self.names, False)
        heads_of = {name: self.labels[name] if with_unit else self.head(name) for name in self.names}
        units = {name: r.choice(self.ways[name].spelled) for name in self.names}
        for day in self.days:
            for bed in self.beds:
                for name in self.names:
                    if self.skip():
                        continue
                    row += 1
                    self.put_date(page, row, 1, day)
                    page.put(row, 2, self.bed(bed))
                    label = heads_of[name]
                    if with_unit and "ppm" in units[name]:
                        label = "EC"
                    page.put(row, 3, label)
                    shown, true = self.number(name, self.value_of(name))
                    sheet, cell = page.put(row, 4, shown)
                    if with_unit:
                        page.put(row, 5, units[name])
                    self.truths.append(Truth(("reading", name_key(bed), day, name), true, sheet, cell))

    def _beds_across(self, over: bool) -> None:
        """A column for each bed and measure, in two rows of headings."""
        r = self.r
        page = self.page(r.choice(("log", "Readings", "2026")))
        row = self.title(page)
        if row > 1 and r.random() < 0.5:
            row += 1
        merged = r.random() < 0.5
        page.put(row if merged and r.random() < 0.5 else row + 1, 1, r.choice(DATES[:8]))
        column = 2
        places: dict[tuple[str, str], int] = {}
        heads = {name: self.head(name) for name in self.names}
        outer, inner = (self.beds, self.names) if over else (self.names, self.beds)
        for one in outer:
            page.put(row, column, one if over else heads[one])
            if merged and len(inner) > 1:
                page.merged.append((row, column, row, column + len(inner) - 1))
            for other in inner:
                page.put(row + 1, column, heads[other] if over else other)
                places[(one, other) if over else (other, one)] = column
                column += 1
        if (row, 1) in page.cells:
            page.merged.append((row, 1, row + 1, 1))
        notes = r.random() < 0.4
        if notes:
            page.put(row + 1, column, "Notes")
        row += 2
        for day in self.days:
            self.put_date(page, row, 1, day)
            for bed in self.beds:
                for name in self.names:
                    self.place(page, row, places[bed, name], bed, day, name)
            if notes and r.random() < 0.3:
                page.put(row, column, r.choice(NOTES))
            row += 1

    def beds_over_measures(self) -> None:
        """Beds over measures."""
        if len(self.names) < 2:
            self.names.append("ec" if "ec" not in self.names else "ph")
            self.complete()
        self._beds_across(True)

    def measures_over_beds(self) -> None:
        """Measures over beds."""
        self._beds_across(False)

    def complete(self) -> None:
        """Choose how the measures are written of which that is not chosen yet."""
        for name in self.names:
            self.ways.setdefault(name, self.r.choice(MEASURES[name].ways))
            self.cells_carry.setdefault(name, False)
            self.labels.setdefault(name, self.r.choice(MEASURES[name].labels))

    def combined_heads(self) -> None:
        """Headings that name a bed and a measure."""
        r = self.r
        if not self.listed and not any(ch.isdigit() for ch in self.beds[0]) and not self.beds[0].startswith("Bed"):
            self.listed = True
        page = self.page(r.choice(("log", "Readings")))
        row = self.title(page)
        page.put(row, 1, r.choice(DATES[:8]))
        form = r.choice(("{} {}", "{} - {}", "{1} {0}", "{1} ({0})"))
        heads = {name: self.head(name).replace("\n", " ") for name in self.names}
        places: dict[tuple[str, str], int] = {}
        for bed in self.beds:
            for name in self.names:
                places[bed, name] = len(places) + 2
                page.put(row, places[bed, name], form.format(bed, heads[name]))
        for day in self.days:
            row += 1
            self.put_date(page, row, 1, day)
            for (bed, name), column in places.items():
                self.place(page, row, column, bed, day, name)

    def sheet_a_measure(self) -> None:
        """A sheet for each measure, with a column for each bed."""
        r = self.r
        by_title = r.random() < 0.5
        for name in self.names:
            head = self.head(name).replace("\n", " ")
            page = self.page(
                self.labels[name].replace("?", "")[:31] if not by_title else f"sheet {self.names.index(name) + 1}"
            )
            row = 1
            if by_title or head != self.labels[name]:
                page.put(row, 1, head)
                row += r.choice((1, 2))
            page.put(row, 1, r.choice(DATES[:8]))
            for column, bed in enumerate(self.beds, 2):
                page.put(row, column, bed)
            for day in self.days:
                row += 1
                self.put_date(page, row, 1, day)
                for column, bed in enumerate(self.beds, 2):
                    self.place(page, row, column, bed, day, name)

    def dates_across(self) -> None:
        """A column for each date, a row for each bed and measure."""
        r = self.r
        page = self.page(r.choice(("log", "Readings", "by date")))
        row = self.title(page)
        bed_first = r.random() < 0.6
        if r.random() < 0.7:
            page.put(row, 1 if bed_first else 2, r.choice(BED_HEADS[:6]))
            page.put(row, 2 if bed_first else 1, r.choice(("what", "Measure", "Reading", "")))
        for column, day in enumerate(self.days, 3):
            self.put_date(page, row, column, day)
        heads = {name: self.head(name).replace("\n", " ") for name in self.names}
        once = r.random() < 0.5
        outer, inner = (self.beds, self.names) if bed_first else (self.names, self.beds)
        for one in outer:
            for count, other in enumerate(inner):
                row += 1
                bed, name = (one, other) if bed_first else (other, one)
                if not (once and count):
                    page.put(row, 1, one if bed_first else heads[one])
                page.put(row, 2, heads[other] if bed_first else other)
                for column, day in enumerate(self.days, 3):
                    self.place(page, row, column, bed, day, name)

    def dates_across_blocks(self) -> None:
        """A block for each measure, with a column for each date and a row for each bed."""
        r = self.r
        page = self.page(r.choice(("log", "Readings")))
        row = 1
        for name in self.names:
            head = self.head(name).replace("\n", " ")
            corner = r.random() < 0.5
            if not corner:
                page.put(row, 1, head)
                row += 1
            page.put(row, 1, head if corner else r.choice(BED_HEADS[:6]))
            for column, day in enumerate(self.days, 2):
                self.put_date(page, row, column, day)
            for bed in self.beds:
                row += 1
                page.put(row, 1, bed)
                for column, day in enumerate(self.days, 2):
                    self.place(page, row, column, bed, day, name)
            row += 2

    def dates_across_sections(self) -> None:
        """A column for each date; the name of each bed over the rows of its measures."""
        page = self.page("log")
        row = self.title(page)
        page.put(row, 1, self.r.choice(("Date", "", "Bed")))
        for column, day in enumerate(self.days, 2):
            self.put_date(page, row, column, day)
        heads = {name: self.head(name).replace("\n", " ") for name in self.names}
        for bed in self.beds:
            row += 1
            page.put(row, 1, bed)
            for name in self.names:
                row += 1
                page.put(row, 1, heads[name])
                for column, day in enumerate(self.days, 2):
                    self.place(page, row, column, bed, day, name)

    def sheet_a_bed(self) -> None:
        """A sheet for each bed, perhaps with its size on it."""
        r = self.r
        block = not self.listed and r.random() < 0.7
        if not self.listed and not block and not any(ch.isdigit() for ch in self.beds[0]):
            self.listed = True
        across = r.random() < 0.2
        for bed in self.beds:
            page = self.page(bed)
            row = 1
            left = 1
            if block:
                row, left = self._size_block(page, bed)
            if across:
                row = row if left == 1 else 1
                page.put(row, left, r.choice(("Date", "")))
                for column, day in enumerate(self.days, left + 1):
                    self.put_date(page, row, column, day)
                for name in self.names:
                    row += 1
                    page.put(row, left, self.head(name).replace("\n", " "))
                    for column, day in enumerate(self.days, left + 1):
                        self.place(page, row, column, bed, day, name)
            else:
                self._rows_table(page, [bed], self.days, row if left == 1 else 1, left, bed_column=False)

    def _size_block(self, page: Page, bed: str) -> tuple[int, int]:
        """The size of a bed on its sheet: above the readings or beside them; gives where they begin."""
        r = self.r
        unit, way = r.choice((("in", 2.54), ("cm", 1.0)))
        sizes = {
            "length": round(r.uniform(60, 150) / way, 1),
            "width": round(r.uniform(40, 80) / way, 1),
            "depth": round(r.uniform(12, 30) / way, 1),
        }
        words = {"length": "Length", "width": "Width", "depth": r.choice(("Depth", "Water depth"))}
        side = r.random() < 0.3
        row = 1
        style = r.choice(("unit in label", "unit in cell", "one cell"))
        if r.random() < 0.3 and not side:
            page.put(row, 1, r.choice((bed, f"{bed} log")))
            row += 1
        for name, value in sizes.items():
            if style == "unit in label":
                page.put(row, 1, f"{words[name]} ({unit})" if r.random() < 0.7 else f"{words[name]} {unit}:")
                sheet, cell = page.put(row, 2, value)
            elif style == "unit in cell":
                page.put(row, 1, r.choice((words[name], f"{words[name]}:")))
                sheet, cell = page.put(row, 2, f"{value:g} {unit}")
            else:
                sheet, cell = page.put(row, 1, f"{words[name]}: {value:g} {unit}")
            self.truths.append(Truth(("bed", name_key(bed), name), value * way, sheet, cell))
            row += 1
        if r.random() < 0.5:
            page.put(row, 1, "Crop")
            page.put(row, 2, r.choice(CROPS))
            row += 1
        return (1, 5) if side else (row + 1, 1)

    def months(self) -> None:
        """A sheet for each month."""
        r = self.r
        style = r.choice(("full", "full", "day", "no year"))
        if not self.listed and not any(ch.isdigit() for ch in self.beds[0]):
            self.listed = True
        by_month: dict[tuple[int, int], list[datetime.date]] = {}
        for day in self.days:
            by_month.setdefault((day.year, day.month), []).append(day)
        kept = self.date
        for (year, month), days in by_month.items():
            first = datetime.date(year, month, 1)
            page = self.page(
                r.choice((f"{first:%b} {year}", f"{first:%B} {year}", f"{year}-{month:02d}"))
                if style != "full"
                else f"{first:%b}{r.choice(('', f' {year}'))}"
            )
            if style == "day":
                self.date = lambda day: (day.day, "General")  # type: ignore[method-assign]
            elif style == "no year":
                self.date = lambda day: (f"{day.day} {day:%b}", "General")  # type: ignore[method-assign]
            self._rows_table(page, self.beds, days)
        self.date = kept  # type: ignore[method-assign]

    def side_by_side(self) -> None:
        """A table for each bed, one beside the other, with the bed above."""
        r = self.r
        if not self.listed and not any(ch.isdigit() for ch in self.beds[0]) and not self.beds[0].startswith("Bed"):
            self.listed = True
        page = self.page(r.choice(("log", "Readings")))
        top = self.title(page)
        gap = r.choice((1, 1, 0))
        heads = {name: self.head(name) for name in self.names}
        date_head = r.choice(DATES[:8])
        form = r.choice(("{}", "{}", "{}:", "Readings {}"))
        left = 1
        for bed in self.beds:
            row = top
            page.put(row, left, form.format(bed))
            row += 1
            for place, text in enumerate([date_head, *heads.values()], left):
                page.put(row, place, text)
            for day in self.days:
                row += 1
                self.put_date(page, row, left, day)
                self.record(page, row, left + 1, bed, day)
            left += len(self.names) + 1 + gap

    def stacked(self) -> None:
        """A table for each bed, one below the other, with the bed above."""
        r = self.r
        if not self.listed and not any(ch.isdigit() for ch in self.beds[0]) and not self.beds[0].startswith("Bed"):
            self.listed = True
        page = self.page(r.choice(("log", "Readings")))
        row = 1
        form = r.choice(("{}", "{} readings", "Bed: {}", "{}:"))
        for bed in self.beds:
            page.put(row, 1, form.format(bed))
            row = self._rows_table(page, [bed], self.days, row + 1, 1, bed_column=False) + r.choice((1, 2))

    def sections(self) -> None:
        """One table; the name of each bed over its rows."""
        r = self.r
        if not self.listed and not any(ch.isdigit() for ch in self.beds[0]) and not self.beds[0].startswith("Bed"):
            self.listed = True
        page = self.page("log")
        row = self.title(page)
        page.put(row, 1, r.choice(DATES[:8]))
        for place, name in enumerate(self.names, 2):
            page.put(row, place, self.head(name))
        for bed in self.beds:
            row += 1
            page.put(row, 1, bed)
            for day in self.days:
                row += 1
                self.put_date(page, row, 1, day)
                self.record(page, row, 2, bed, day)

    def visits(self) -> None:
        """A table for each visit, with its date above or as the name of its sheet."""
        r = self.r
        sheets = r.random() < 0.4
        page = None if sheets else self.page("visits")
        row = 1
        heads = {name: self.head(name) for name in self.names}
        bed_head = r.choice(BED_HEADS[:8])
        for day in self.days:
            if sheets:
                page = self.page(r.choice((day.isoformat(), f"{day.day} {day:%b} {day.year}")))
                row = 1
            else:
                assert page is not None
                text = r.choice((f"Visit {day.isoformat()}", f"{day:%B} {day.day}, {day.year}", None))
                page.put(row, 1, text or day, "General" if text else "yyyy-mm-dd")
                row += 1
            page.put(row, 1, bed_head)
            for place, name in enumerate(self.names, 2):
                page.put(row, place, heads[name])
            for bed in self.beds:
                row += 1
                page.put(row, 1, bed)
                self.record(page, row, 2, bed, day)
            row += 2

    LAYOUTS = (
        *(
            "rows",
            "rows",
            "rows",
            "form",
            "long",
            "beds_over_measures",
            "measures_over_beds",
            "combined_heads",
            "sheet_a_measure",
        ),
        *(
            "dates_across",
            "dates_across_blocks",
            "dates_across_sections",
            "sheet_a_bed",
            "months",
            "side_by_side",
            "stacked",
            "sections",
            "visits",
        ),
    )

    def write(self) -> Made:
        """The whole log."""
        r = self.r
        layout = r.choice((*self.LAYOUTS, *LAYOUTS))
        across = layout in (
            "measures_over_beds",
            "sheet_a_measure",
            "dates_across",
            "dates_across_blocks",
            "dates_across_sections",
            "beds_over_measures",
        )
        if across and not any(ch.isdigit() for ch in self.beds[0]) and not self.beds[0].startswith("Bed"):
            self.listed = True
        if self.date_style == "serial" and layout in (
            "dates_across",
            "dates_across_blocks",
            "dates_across_sections",
            "sheet_a_bed",
            *NOT_SERIAL,
        ):
            self.date_style = "real"
        if self.date_style in ("us", "eu") and all(day.day <= 12 for day in self.days):
            self.date_style = "iso"
        if layout in LAYOUTS:
            LAYOUTS[layout](self)
        else:
            getattr(self, layout)()
        made = list(self.pages)
        if self.listed:
            self.pages = []
            self.list_beds()
            self.pages = [*self.pages, *made] if r.random() < 0.7 else [*made, *self.pages]
        for extra in ("plantings", "feeds", "weights", "harvests"):
            if r.random() < 0.25 and (self.listed or extra == "feeds"):
                getattr(self, extra)()
        if r.random() < 0.2:
            page = self.page("notes to self")
            for row in range(1, 4):
                page.put(row, 1, r.choice(NOTES))
        titles: Counter[str] = Counter()
        for page in self.pages:
            titles[page.title.casefold()] += 1
            assert titles[page.title.casefold()] == 1 or not page.cells, page.title
        return Made(self.seed, layout, self.pages, self.truths)


def made(seed: int) -> Made:
    """The log of a seed; seeds that would write two sheets of one name are passed over."""
    while True:
        try:
            return Writer(seed).write()
        except AssertionError:
            seed += 1_000_003
