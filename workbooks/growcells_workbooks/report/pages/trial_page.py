"""The page with the standings of the trial."""

from __future__ import annotations

from collections.abc import Sequence

from growcells.errors import GrowError

from ...reading import Weight
from ...sheets.sheet_writer import Page
from ...sheets.table_columns import WHOLE, Column
from ..figures.standings import by_crop, table_of
from ..figures.week_figures import Figures
from .paper import Paper, finish

NUMBER_OF_CAUTION = -1
"""The place of the sentence on replication among the sentences."""


def trial_page(paper: Paper) -> None:
    """The standings: all weights, and those of each crop where there are several."""
    figures = paper.figures
    crops = by_crop(figures)
    if not crops:
        return
    unit = figures.unit_label("weights.mass")
    mean, difference = f"Mean [{unit}]", f"Difference from the first [{unit}]"
    columns = [
        Column("Treatment", 16, wrap=True),
        Column("n", 6, WHOLE),
        Column("lost", 6, WHOLE),
        Column("mean", 9, "0.0", group=mean),
        Column("sd", 9, "0.0", group=mean),
        Column("from", 9, "0.0", group=mean),
        Column("to", 9, "0.0", group=mean),
        Column("difference", 11, "+0.0;-0.0;0.0", group=difference),
        Column("from", 9, "+0.0;-0.0;0.0", group=difference),
        Column("to", 9, "+0.0;-0.0;0.0", group=difference),
        Column("p", 9, "0.0000"),
        Column("letters", 9),
    ]
    page = paper.page("Trial", "Standings of the trial", columns, landscape=False)
    for crop, weights in crops.items():
        _standings(page, figures, columns, f"{crop or 'All plants'}, fresh mass of a plant", weights)
    if len(crops) > 1:
        everything = [weight for weights in crops.values() for weight in weights]
        _standings(page, figures, columns, "All crops together", everything)
        page.paragraph(
            "Here the difference between crops counts as difference between beds, and hides that between treatments "
            "unless each treatment has the same crops. It is what the log as a whole can say.",
            "small",
        )
        page.gap()
    for text in (
        "From and to are the limits of the mean and of the difference at 0.95; between them the true one most likely "
        "lies. Treatments that share a letter are not shown to differ.",
        "GROW_TRIAL_TABLE gives the same table in a sheet. Weights without a date count as taken by the day of the "
        "report; a plant noted as dead counts as lost.",
    ):
        page.paragraph(text, "small")
    finish(page)


def _standings(page: Page, figures: Figures, columns: list[Column], title: str, weights: Sequence[Weight]) -> None:
    page.section(f"{title[:1].upper()}{title[1:]}")
    try:
        rows, sentences = table_of(figures, weights)
    except GrowError as problem:
        page.paragraph(f"No table: {problem}")
        page.gap()
        return
    page.table(columns, rows)
    # The sentence on replication decides what the others are worth: it comes first.
    for text in (sentences[NUMBER_OF_CAUTION], *sentences[:NUMBER_OF_CAUTION]):
        page.paragraph(text)
    page.gap()
