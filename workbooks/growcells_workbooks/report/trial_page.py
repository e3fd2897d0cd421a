"""The standings of the trial, as GROW_TRIAL_TABLE gives them."""

from __future__ import annotations

from collections.abc import Sequence

from growcells.cells.errors import GrowError

from ..reading import Weight
from .figures import Figures
from .look import WHOLE, Column, Page, Value
from .paper import Paper, finish
from .wording import number

NUMBER_OF_CAUTION = -1
"""The place of the sentence on replication among the sentences."""


def weighed(figures: Figures) -> list[Weight]:
    """The weights up to the day of the report that have a treatment."""
    return [
        weight
        for weight in figures.log.weights
        if (weight.date is None or weight.date <= figures.as_of) and treatment_of(figures, weight)
    ]


def treatment_of(figures: Figures, weight: Weight) -> str:
    """The treatment that the log names, or else the feed of the plant's bed."""
    bed = figures.log.bed(weight.bed)
    return weight.treatment or (bed.feed if bed else "")


def by_crop(figures: Figures) -> dict[str, list[Weight]]:
    """The weights of each crop; those of beds without one are under an empty name."""
    crops: dict[str, list[Weight]] = {}
    for weight in weighed(figures):
        bed = figures.log.bed(weight.bed)
        crops.setdefault(bed.crop if bed else "", []).append(weight)
    return crops


def table_of(figures: Figures, weights: Sequence[Weight]) -> tuple[list[list[Value]], list[str]]:
    """Rows of numbers, a treatment each, and the sentences below. Raises GrowError where nothing can be compared."""
    values = tuple((weight.mass if weight.mass is not None else "dead",) for weight in weights)
    treatments = tuple((treatment_of(figures, weight),) for weight in weights)
    cells: list[object] = [values, treatments]
    if all(weight.bed for weight in weights):
        cells.append(tuple((weight.bed,) for weight in weights))
    table = figures.call("GROW_TRIAL_TABLE", *cells)
    assert isinstance(table, tuple)
    rows: list[list[Value]] = []
    sentences: list[str] = []
    for row in table[1:]:
        if isinstance(row[1], float):
            rows.append([None if cell == "" else cell for cell in row])
        elif row[0]:
            sentences.append(str(row[0]))
    return rows, sentences


def leading(figures: Figures) -> str:
    """One sentence on which treatment leads, and how sure that is; "" without a trial."""
    crops = by_crop(figures)
    if not crops:
        return ""
    unit = figures.unit_label("weights.mass")
    told = []
    for crop, weights in crops.items():
        try:
            rows, sentences = table_of(figures, weights)
        except GrowError:
            continue
        means = [(row[3], str(row[0])) for row in rows if isinstance(row[3], float)]
        if len(means) < 2:
            continue
        mean, name = max(means)
        tested = sentences[0].rpartition(": ")[2] if not sentences[0].startswith("No test") else "not tested"
        told.append(
            f"{f'{crop}: ' if crop else ''}{name} is ahead with {number(mean)} {unit} a plant ({tested.rstrip('.')})"
        )
    return f"Trial. {'; '.join(told)}. What that is worth is on the sheet Trial." if told else ""


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
