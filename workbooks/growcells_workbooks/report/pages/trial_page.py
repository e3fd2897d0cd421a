"""The page with the standings of the trial."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from growcells.cells.errors import GrowError

from ...reading import Weight
from ...sheets.table_columns import WHOLE, Column
from ..figures.standings import by_crop, table_of
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

NUMBER_OF_CAUTION = -1
"""The place of the sentence on replication among the sentences."""


def trial_page(material: Material) -> Iterator[Page]:
    """The standings: all weights, and those of each crop where there are several; nothing without a trial."""
    figures = material.figures
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
    yield material.page("Trial", "Standings of the trial", columns, _blocks(figures, columns, crops))


def _blocks(figures: Figures, columns: list[Column], crops: dict[str, list[Weight]]) -> Iterator[Block]:
    for crop, weights in crops.items():
        yield from _standings(figures, columns, f"{crop or 'All plants'}, fresh mass of a plant", weights)
    if len(crops) > 1:
        everything = [weight for weights in crops.values() for weight in weights]
        yield from _standings(figures, columns, "All crops together", everything)
        yield Text(
            "In this table differences between crops count as differences between beds. They hide those between "
            "treatments, unless every treatment has the same crops. More cannot be said from the log as a whole.",
            small=True,
        )
        yield Gap()
    for text in (
        "From and to are the 95 % confidence limits of the mean and of the difference: the true value most likely lies "
        "between them. Where two treatments share a letter, the trial does not show that they differ.",
        "GROW_TRIAL_TABLE gives the same table in a sheet. A weight without a date is taken to be from before the day "
        "of the report. A plant noted as dead counts as lost.",
    ):
        yield Text(text, small=True)


def _standings(figures: Figures, columns: list[Column], title: str, weights: Sequence[Weight]) -> Iterator[Block]:
    yield Section(f"{title[:1].upper()}{title[1:]}")
    try:
        rows, sentences = table_of(figures, weights)
    except GrowError as problem:
        yield Text(f"No table: {problem}")
        yield Gap()
        return
    yield Table(columns, rows)
    # The sentence on replication decides what the others are worth: it comes first.
    for text in (sentences[NUMBER_OF_CAUTION], *sentences[:NUMBER_OF_CAUTION]):
        yield Text(text)
    yield Gap()
