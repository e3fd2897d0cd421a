"""The page with the standings of the trial, round by round, and what they are worth in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from growcells.cells.errors import GrowError

from ...season_figures.round_standings import RoundTrial
from ...sheets.table_columns import WHOLE, Column
from ..figures.standings import in_plain_words, table_of
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

NUMBER_OF_CAUTION = -1
"""The place of the sentence on replication among the sentences."""


def trial_page(material: Material) -> Iterator[Page]:
    """The standings of each round and crop; nothing without a trial."""
    figures = material.figures
    if not figures.trials:
        return
    unit = figures.unit_label("weights.mass")
    mean, difference = f"Mean [{unit}]", f"Difference from the first [{unit}]"
    columns = [
        Column("Treatment", 14, wrap=True),
        Column("n", 5, WHOLE),
        Column("lost", 5, WHOLE),
        Column("mean", 8, "0.0", group=mean),
        Column("sd", 7, "0.0", group=mean),
        Column("from", 7, "0.0", group=mean),
        Column("to", 7, "0.0", group=mean),
        Column("difference", 9, "+0.0;-0.0;0.0", group=difference),
        Column("from", 7, "+0.0;-0.0;0.0", group=difference),
        Column("to", 7, "+0.0;-0.0;0.0", group=difference),
        Column("p", 7, "0.0000"),
        Column("letters", 7),
    ]
    yield material.page("Trial", "Standings of the trial", _blocks(figures, columns))


def _blocks(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    told: set[str] = set()
    for trial in reversed(figures.trials):
        for block in _standings(figures, columns, trial):
            if not (isinstance(block, Text) and block.text in told):  # what holds of several is said once
                yield block
            if isinstance(block, Text):
                told.add(block.text)
    if len(figures.trials) > 1:
        yield Text(
            "Each round and each crop stands for itself: together they would mix the differences between treatments "
            "with those between seasons and crops. growcells season compares the rounds of a season.",
            small=True,
        )
        yield Gap()
    yield Text(
        "From and to are the 95 % confidence limits of the mean and of the difference: the true value most likely lies "
        "between them. Where two treatments share a letter, the trial does not show that they differ. "
        "GROW_TRIAL_TABLE gives the same table in a sheet. A weight without a date is taken to be from before the day "
        "of the report. A plant noted as dead counts as lost.",
        small=True,
    )


def _standings(figures: Figures, columns: list[Column], trial: RoundTrial) -> Iterator[Block]:
    of_round = f", round {trial.round}" if trial.round and len(figures.trials) > 1 else ""
    title = f"{trial.crop or 'All plants'}{of_round}, fresh mass of a plant"
    yield Section(f"{title[:1].upper()}{title[1:]}")
    try:
        rows, sentences = table_of(figures, trial)
    except GrowError as problem:
        yield Text(f"No table: {problem}")
        yield Gap()
        return
    for text in in_plain_words(figures, trial):
        yield Text(text)
    yield Table(columns, rows)
    # The sentence on replication decides what the others are worth: it comes first.
    for text in (sentences[NUMBER_OF_CAUTION], *sentences[:NUMBER_OF_CAUTION]):
        yield Text(text)
    yield Gap()
