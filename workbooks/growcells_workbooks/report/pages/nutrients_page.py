"""The page on nutrients: what each feed puts into the water, beside a published recipe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from growcells.chemistry.nutrient_bases import ALWAYS_LISTED, nutrients
from growcells.data import read_data
from growcells.families.recipes import OVER, SHORT

from ...reading import Part
from ...sheets.table_columns import PPM, Column, Formula, Value
from ..figures.in_words import number
from ..figures.week_figures import FeedWeek, Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

MARKS = {"short": "▼ short", "over": "▲ over", "fine": "fine", "absent": "○ absent"}
"""Marks beside the words of GROW_GAPS."""
ON_A_TABLE = 3
"""Feeds beside each other in a table."""


def nutrients_page(material: Material) -> Iterator[Page]:
    """What each feed puts into the water at its rate, beside a published recipe."""
    figures = material.figures
    shown = [feed for feed in figures.feeds if feed.ppm is not None]
    yield material.page("Nutrients", "Nutrients in the water", _blocks(figures, shown), behind=True)


def _blocks(figures: Figures, shown: list[FeedWeek]) -> Iterator[Block]:
    yield Section("Each feed at its rate")
    for feed in figures.feeds:
        yield Text(_told(figures, feed))
    for feed in figures.feeds:
        if feed.problem:
            yield Text(f"{feed.feed.name}: {feed.problem}.")
    yield Gap()
    if shown:
        yield from _beside_recipe(figures, shown)
    for text in (
        "ppm is mg of the element in a litre of water. What the source water itself brings is not counted. Labels give "
        "P and K as oxides (P2O5, K2O); here they stand as elements.",
        "Absent means that the label does not list the element. It may still be there in traces, and sulfur is often "
        "left off the label of a feed that holds it.",
    ):
        yield Text(text, small=True)


def _told(figures: Figures, feed: FeedWeek) -> str:
    """A feed in a line: its name, its label, its rate, what it is."""
    if feed.feed.is_mix:
        return f"{feed.feed.name}: {', '.join(_part_told(figures, part) for part in feed.feed.parts)}"
    rate = f" at {number(feed.feed.rate)} {figures.unit_label('feeds.rate')}" if feed.feed.rate else ""
    product = f" ({feed.feed.product})" if feed.feed.product else ""
    return f"{feed.feed.name}: {feed.feed.analysis or 'no analysis'}{rate}{product}"


def _part_told(figures: Figures, part: Part) -> str:
    """A part of a mix: its product, its label and its rate."""
    unit = part.units.get("rate") or figures.unit_label("feeds.rate")
    rate = f" at {number(part.rate)} {unit}" if part.rate else ""
    return f"{part.product}{f' ({part.analysis})' if part.analysis else ''}{rate}"


def _comparison_columns(feeds: Sequence[FeedWeek]) -> list[Column]:
    columns = [Column("Nutrient", 16, wrap=True), Column("recipe\n[ppm]", 8, PPM)]
    for feed in feeds:
        columns += [
            Column("\n[ppm]", 7, PPM, group=feed.feed.name),
            Column("of the\nrecipe", 6, "0%", group=feed.feed.name),
            Column("", 7, group=feed.feed.name),
        ]
    return columns


def _beside_recipe(figures: Figures, feeds: list[FeedWeek]) -> Iterator[Block]:
    yield Section(f"Beside the recipe {figures.recipe}")
    wanted = {gap.nutrient: gap.target for gap in feeds[0].gaps}
    names = [name for name in ALWAYS_LISTED if name in wanted or any((feed.ppm or {})[name] for feed in feeds)]
    for first in range(0, len(feeds), ON_A_TABLE):
        some = feeds[first : first + ON_A_TABLE]
        if first:
            yield Gap()
        rows = []
        for name in names:
            row: list[Value] = [f"{name}   {nutrients()[name].name}", wanted.get(name)]
            for order, feed in enumerate(some):
                row += _gap_cells(feed, name, 2 + 3 * order)
            rows.append(row)
        yield Table(_comparison_columns(some), rows)
    source = next(entry for entry in read_data("recipes.csv") if entry["recipe"] == figures.recipe)
    yield Text(
        f"Below {SHORT * 100:g} % of the recipe counts as short, above {OVER * 100:g} % as over (common practice, no "
        "source). Published recipes differ from each other by a factor of two, and plants grow in all of them. Source "
        f"of {figures.recipe}: {source['source']}; {source['certainty']}.",
        small=True,
    )


def _gap_cells(feed: FeedWeek, name: str, place: int) -> list[Value]:
    """A feed's ppm of a nutrient, from this column on, its part of the recipe's, and the word for it."""
    assert feed.ppm is not None
    found = next((gap for gap in feed.gaps if gap.nutrient == name), None)
    if found is None:
        return [feed.ppm[name], None, "no figure"]
    share = None if found.percent is None else Formula(f"={{{place}}}/{{1}}", found.percent / 100)
    return [found.ppm, share, MARKS[found.verdict.split(":")[0]]]
