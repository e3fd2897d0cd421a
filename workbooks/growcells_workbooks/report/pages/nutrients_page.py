"""The page on nutrients: what each feed puts into the water, beside a published recipe."""

from __future__ import annotations

from openpyxl.utils import get_column_letter

from growcells.nutrients import ALWAYS_LISTED, nutrients
from growcells.tables import read_data

from ...sheets.sheet_writer import Page
from ...sheets.table_columns import Column, Formula, Value
from ..figures.in_words import number
from ..figures.week_figures import FeedWeek, Figures
from .paper import Paper, finish

MARKS = {"short": "▼ short", "over": "▲ over", "fine": "fine", "absent": "○ absent"}
"""Marks beside the words of GROW_GAPS."""
LEAST_WIDTH = 88
"""Of the page on nutrients [digits], so that its sentences have room beside a single feed."""
PPM = "[>=1]#,##0.0;[=0]0;0.000"
"""Trace elements are wanted in thousandths."""


def nutrients_page(paper: Paper) -> None:
    """What each feed puts into the water at its rate, beside a published recipe."""
    figures = paper.figures
    shown = [feed for feed in figures.feeds if feed.ppm is not None]
    comparison = _comparison_columns(shown)
    page = paper.page("Nutrients", "Nutrients in the water", comparison, landscape=len(shown) > 3)
    page.section("Each feed at its rate")
    for feed in figures.feeds:
        page.paragraph(_told(figures, feed))
    for feed in figures.feeds:
        if feed.problem:
            page.paragraph(f"{feed.feed.name}: {feed.problem}.")
    page.gap()
    if shown:
        _beside_recipe(page, figures, comparison, shown)
    for text in (
        "ppm is mg/L of the element in water with nothing else in it: what the source water brings is not counted. P "
        "and K of a label are oxides (P2O5, K2O) and stand here as elements.",
        "Absent means that the label does not list the element; it may still be there in traces. An absent sulfur is "
        "often only unlisted.",
    ):
        page.paragraph(text, "small")
    finish(page)


def _told(figures: Figures, feed: FeedWeek) -> str:
    """A feed in a line: its name, its label, its rate, what it is."""
    rate = f" at {number(feed.feed.rate)} {figures.unit_label('feeds.rate')}" if feed.feed.rate else ""
    product = f" ({feed.feed.product})" if feed.feed.product else ""
    return f"{feed.feed.name}: {feed.feed.analysis or 'no analysis'}{rate}{product}"


def _comparison_columns(feeds: list[FeedWeek]) -> list[Column]:
    columns = [Column("Nutrient", 16, wrap=True), Column("recipe\n[ppm]", 10, PPM)]
    mark = max(11.0, (LEAST_WIDTH - 26) / max(len(feeds), 1) - 17)
    for feed in feeds:
        columns += [
            Column("\n[ppm]", 9, PPM, group=feed.feed.name),
            Column("of the\nrecipe", 8, "0%", group=feed.feed.name),
            Column("", mark, group=feed.feed.name),
        ]
    # A page without a feed still has a width for its sentences.
    return columns if feeds else [*columns, Column("", 60)]


def _beside_recipe(page: Page, figures: Figures, columns: list[Column], feeds: list[FeedWeek]) -> None:
    page.section(f"Beside the recipe {figures.recipe}")
    wanted = {gap.nutrient: gap.target for gap in feeds[0].gaps}
    names = [name for name in ALWAYS_LISTED if name in wanted or any((feed.ppm or {})[name] for feed in feeds)]
    first = page.row + 2
    rows = []
    for place, name in enumerate(names):
        row: list[Value] = [f"{name}   {nutrients()[name].name}", wanted.get(name)]
        for order, feed in enumerate(feeds):
            row += _gap_cells(feed, name, first + place, get_column_letter(3 + 3 * order))
        rows.append(row)
    page.table(columns, rows)
    source = next(entry for entry in read_data("recipes.csv") if entry["recipe"] == figures.recipe)
    page.paragraph(
        "Below 80 % is short, above 125 % over (common practice, no source). Published recipes differ by a factor of "
        f"two and all grow plants. {figures.recipe}: {source['source']}; {source['certainty']}.",
        "small",
    )


def _gap_cells(feed: FeedWeek, name: str, row: int, letter: str) -> list[Value]:
    """A feed's ppm of a nutrient, its part of the recipe's, and the word for it."""
    assert feed.ppm is not None
    found = next((gap for gap in feed.gaps if gap.nutrient == name), None)
    if found is None:
        return [feed.ppm[name], None, "no figure"]
    share = None if found.percent is None else Formula(f"={letter}{row}/B{row}", found.percent / 100)
    return [found.ppm, share, MARKS[found.verdict.split(":")[0]]]
