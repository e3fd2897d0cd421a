"""Random logs of mixes, liquids, rounds, harvests and rate changes, their doses held against arithmetic of its own.

    python tests/random_seasons.py --logs 2000

All beds, feeds and figures are invented. A dose is right within 2 %, or it must be said not to be known: blank, with
the reason beside it. The same holds for a top-up whose truth the log tells, and for what harvests came to. The exit
code is 1 where any is wrong.
"""

from __future__ import annotations

import argparse
import datetime
import math
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":
    root = Path(__file__).parent.parent
    sys.path[:0] = [str(Path(__file__).parent), *(str(root / room) for room in ("functions", "addin", "workbooks"))]

from growcells_workbooks.export import FRAMES
from growcells_workbooks.reading import GrowLog
from growcells_workbooks.reading.frames import frames_of
from growcells_workbooks.reading.read import read_tables
from log_pages import Page, sheet_of

NEAR = 0.02
LITRES = {"gal": 231 * 2.54**3 / 1000, "L": 1.0}  # NIST Handbook 44, appendix C
CENTIMETRES = {"in": 2.54, "cm": 1.0}  # NIST SP 811
LAST = datetime.date(2026, 11, 29)
POWDERS = (
    ("base", "7-9-26 Mg 3.5"),
    ("bloom base", "6-11-23"),
    ("calcium nitrate", "13.3-0-0 Ca 18"),
    ("Epsom salt", "MgSO4.7H2O"),
    ("potassium sulfate", "K2SO4"),
    ("potassium nitrate", "KNO3"),
)
LIQUIDS = (("green liquid", "3-1.2-4.4 density 1.15"), ("silica liquid", "0-0-3 Si 5"))
CROPS = ("lettuce", "basil", "pak choi")


@dataclass
class Part:
    """A part as the log writes it: grams or mL in a litre."""

    name: str
    analysis: str
    rate: float
    liquid: bool


@dataclass
class Season:
    """A log of a season as pages, with what is true of it on its last day."""

    seed: int
    pages: list[Page] = field(default_factory=list)
    doses: dict[tuple[str, str], float] = field(default_factory=dict)
    """g, or mL of a liquid, by bed and part; of beds whose dose the log tells."""
    top_ups: dict[tuple[str, str], float] = field(default_factory=dict)
    incomes: dict[tuple[str, datetime.date], float] = field(default_factory=dict)
    rounds: dict[str, int] = field(default_factory=dict)

    def read(self) -> GrowLog:
        """The log as it is read."""
        return read_tables([sheet_of(page) for page in self.pages], Path("season.xlsx"))


class Maker:
    """Makes one season."""

    def __init__(self, seed: int) -> None:
        self.r = random.Random(seed)
        self.season = Season(seed)
        self.volume_unit = self.r.choice(("gal", "L"))
        self.size_unit = self.r.choice(("in", "cm"))
        self.beds = [f"{self.r.choice(('T', 'Bed ', 'Tub '))}{n}" for n in range(1, self.r.randint(2, 5))]
        if len({name[0] for name in self.beds}) > 1:
            self.beds = [f"T{n}" for n in range(1, len(self.beds) + 1)]
        self.litres: dict[str, float] = {}
        self.feeds: dict[str, list[Part]] = {}
        self.rate_column = f"g/{self.volume_unit}"

    def table(self, title: str, heads: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
        page = Page(title)
        for number, row in enumerate([heads, *rows]):
            for place, value in enumerate(row):
                if value is not None and value != "":
                    page.put(number + 1, place + 1, value)
        self.season.pages.append(page)

    def make(self) -> Season:
        self.make_feeds()
        self.make_beds()
        self.make_rounds()
        self.season.pages = self.r.sample(self.season.pages, len(self.season.pages))
        return self.season

    def make_feeds(self) -> None:
        r = self.r
        for name in ("A", "B", "C")[: r.randint(1, 3)]:
            count = r.choice((1, 1, 2, 3))
            parts = [
                Part(product, label, round(r.uniform(0.4, 2.5), 2), False)
                for product, label in r.sample(POWDERS, count)
            ]
            if r.random() < 0.3:
                product, label = r.choice(LIQUIDS)
                liquid = Part(product, label, float(r.randint(1, 8)), True)
                parts = [liquid] if r.random() < 0.5 else [*parts, liquid]
            self.feeds[name] = parts
        across = r.random() < 0.25 and len({len(parts) for parts in self.feeds.values()}) == 1
        if across and all(len(parts) > 1 and not any(p.liquid for p in parts) for parts in self.feeds.values()):
            names = list(dict.fromkeys(part.name for parts in self.feeds.values() for part in parts))
            rows = [
                [feed, *(next((p.rate for p in parts if p.name == name), None) for name in names)]
                for feed, parts in self.feeds.items()
            ]
            self.table("Feeds", ["Feed", *(f"{name} {self.rate_column}" for name in names)], rows)
            return
        rows = []
        for feed, parts in self.feeds.items():
            for place, part in enumerate(parts):
                said: object = f"{part.rate:g} mL/{self.volume_unit}" if part.liquid else part.rate
                rows.append([feed if place == 0 or r.random() < 0.5 else "", part.name, part.analysis, said])
        heads = [
            r.choice(("Feed", "Mix", "Feed name")),
            r.choice(("Part", "Product")),
            "Analysis",
            f"Rate {self.rate_column}",
        ]
        self.table("Feeds", heads, rows)

    def make_beds(self) -> None:
        r = self.r
        sized = r.random() < 0.6
        rows = []
        for bed in self.beds:
            if sized:
                sizes = [r.randint(20, 70), r.randint(14, 40), r.randint(5, 12)]
                self.litres[bed] = math.prod(sizes) * CENTIMETRES[self.size_unit] ** 3 / 1000
                rows.append([bed, *sizes])
            else:
                volume = float(r.randint(10, 90))
                self.litres[bed] = volume * LITRES[self.volume_unit]
                rows.append([bed, volume])
        u = self.size_unit
        heads = [f"Length {u}", f"Width {u}", f"Water depth {u}"] if sized else [f"Volume {self.volume_unit}"]
        self.depths = {bed: row[3] if sized else None for bed, row in zip(self.beds, rows, strict=True)}
        self.table("Beds", ["Bed", *heads], rows)

    def make_rounds(self) -> None:
        r, season = self.r, self.season
        rated = r.random() < 0.4
        filled = r.random() < 0.6
        plantings, fills, readings, harvests = [], [], [], []
        for bed in self.beds:
            day = LAST - datetime.timedelta(days=r.randint(70, 110))
            rounds = r.randint(1, 3)
            season.rounds[bed] = rounds
            for number in range(rounds):
                feed = r.choice(sorted(self.feeds))
                parts = self.feeds[feed]
                single = len(parts) == 1 and not parts[0].liquid
                own = round(r.uniform(0.5, 3.0), 1) if rated and single and r.random() < 0.7 else None
                sown = day - datetime.timedelta(days=14)
                expected = day + datetime.timedelta(days=30)
                plantings.append([bed, r.choice(CROPS), feed, sown, day, expected, own])
                rate = own if own is not None else parts[0].rate
                last = number == rounds - 1
                if filled:
                    total = rate if single else None
                    volume = self.litres[bed] / LITRES[self.volume_unit]
                    untold = last and single and own is None and r.random() < 0.2  # only the new rate is noted
                    if not untold:
                        fills.append([day, bed, feed, round(volume, 1), total])
                    if (
                        last and single and (untold or r.random() < 0.4)
                    ):  # the rate is changed in the middle of the round
                        rate = round(rate * r.choice((0.5, 1.5, 2.5)), 2)
                        changed = day + datetime.timedelta(days=7)
                        fills.append([changed, bed, feed, round(volume, 1), rate])
                        day = changed
                if last:
                    self.truth_of(bed, feed, rate if single else None)
                    if filled and single:
                        self.measured(bed, day, rate, readings)
                else:
                    cut = day + datetime.timedelta(days=28)
                    heads, price = r.randint(10, 30), round(r.uniform(1, 4), 2)
                    harvests.append([cut, bed, heads, round(heads * r.uniform(0.2, 0.5), 1), price])
                    season.incomes[bed, cut] = heads * price
                    day = cut + datetime.timedelta(days=r.randint(1, 5))
                    day = min(day, LAST - datetime.timedelta(days=20))
        heads = ["Bed", "Crop", "Feed", "Sown", "Transplanted", "Expected harvest"]
        rate_head = [f"Rate {self.rate_column}"] if rated else []
        self.table("Plantings", [*heads, *rate_head], [row[: 6 + rated] for row in plantings])
        if fills:
            self.table(
                "Fills", ["Date", "Bed", "Feed", f"Volume filled {self.volume_unit}", f"Rate {self.rate_column}"], fills
            )
        if readings:
            depth = [f"Depth {self.size_unit}"] if any(row[4] for row in readings) else []
            self.table(
                "Readings", ["Date", "Bed", "pH", "EC mS/cm", *depth], [row[: 4 + len(depth)] for row in readings]
            )
        if harvests:
            self.table("Harvests", ["Date", "Bed", "Heads", "Total weight lb", "Price a head"], harvests)

    def truth_of(self, bed: str, feed: str, single_rate: float | None) -> None:
        """What a full fill takes, by arithmetic alone."""
        for part in self.feeds[feed]:
            rate = part.rate if single_rate is None else single_rate
            self.season.doses[bed, part.name] = rate / LITRES[self.volume_unit] * self.litres[bed]

    def measured(self, bed: str, day: datetime.date, rate: float, readings: list[list[object]]) -> None:
        """A reading of fresh solution on the day after the fill, and one when the bed is weak and low."""
        strength = round(0.5 + 0.4 * rate, 2)
        depth = self.depths[bed]
        readings.append([day + datetime.timedelta(days=1), bed, 6.0, strength, depth])
        low, weak = (round(depth * 0.7, 1) if depth else None), round(strength * 0.8, 2)
        readings.append([LAST, bed, 6.1, weak, low])
        if depth and low:
            full = self.litres[bed]
            (name,) = (n for b, n in self.season.doses if b == bed)
            grams = rate / LITRES[self.volume_unit] * (full * strength - full * low / depth * weak) / strength
            self.season.top_ups[bed, name] = grams


def outcomes(season: Season) -> Iterator[tuple[str, str, str]]:
    """What became of every figure: the table, right, said or wrong, and the figure."""
    wanted = {name: FRAMES[name] for name in ("doses", "topups", "harvests", "rounds")}
    frames = frames_of(season.read(), LAST, wanted)
    yield from _amounts(season.doses, frames["doses"], "doses")
    yield from _amounts(season.top_ups, frames["topups"], "topups")
    told = {(row["bed"], row["date"].date()): row["income"] for row in frames["harvests"].to_dict("records")}
    for key, true in season.incomes.items():
        right = key in told and abs(told[key] - true) <= NEAR * true
        yield "harvests", "right" if right else "wrong", f"{key}: {told.get(key)} for {true:.2f}"
    counted = Counter(frames["rounds"]["bed"])
    for bed, number in season.rounds.items():
        yield "rounds", "right" if counted[bed] == number else "wrong", f"{bed}: {counted[bed]} for {number}"


def _amounts(truth: dict[tuple[str, str], float], frame: object, table: str) -> Iterator[tuple[str, str, str]]:
    rows = {(row["bed"], row["part"]): row for row in frame.to_dict("records")}  # type: ignore[attr-defined]
    beds = {row["bed"]: row for row in frame.to_dict("records")}  # type: ignore[attr-defined]
    for (bed, part), true in truth.items():
        row = rows.get((bed, part)) or beds.get(bed)
        values = [v for v in ((row or {}).get("amount_g"), (row or {}).get("amount_ml")) if v == v and v is not None]
        right = any(abs(value - true) <= NEAR * true for value in values)
        if row is not None and (bed, part) in rows and values:
            yield table, "right" if right else "wrong", f"{bed} {part}: {values} for {true:.4g}"
        else:
            said = row is not None and isinstance(row.get("why"), str) and row["why"]
            yield table, "said" if said else "missing", f"{bed} {part}: {row and row.get('why')} for {true:.4g}"


def run(seeds: Sequence[int], tell: Callable[[str], None]) -> Counter[tuple[str, str]]:
    """Counts of what became of the figures of seasons; the wrong ones are told."""
    counts: Counter[tuple[str, str]] = Counter()
    for seed in seeds:
        for table, fate, what in outcomes(Maker(seed).make()):
            counts[table, fate] += 1
            if fate in ("wrong", "missing"):
                tell(f"seed {seed}, {table}, {fate}: {what}")
    return counts


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--logs", type=int, default=2000)
    parser.add_argument("--first", type=int, default=0)
    given = parser.parse_args()
    counts = run(range(given.first, given.first + given.logs), print)
    for (table, fate), number in sorted(counts.items()):
        print(f"{table:<10}{fate:<10}{number:>8,}")
    return int(any(fate in ("wrong", "missing") for _, fate in counts))


if __name__ == "__main__":
    sys.exit(main())
