"""The standings of the trial, as GROW_TRIAL_TABLE gives them."""

from __future__ import annotations

from collections.abc import Sequence

from growcells.cells.errors import GrowError

from ...reading import Weight
from .in_words import number
from .week_figures import Figures

Cell = str | float | None


def weighed(figures: Figures) -> list[Weight]:
    """The weights up to the day of the report that have a treatment."""
    return [
        weight
        for weight in figures.log.newest_weights
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


def table_of(figures: Figures, weights: Sequence[Weight]) -> tuple[list[list[Cell]], list[str]]:
    """Rows of numbers, a treatment each, and the sentences below. Raises GrowError where nothing can be compared."""
    values = tuple((weight.mass if weight.mass is not None else "dead",) for weight in weights)
    treatments = tuple((treatment_of(figures, weight),) for weight in weights)
    cells: list[object] = [values, treatments]
    if all(weight.bed for weight in weights):
        cells.append(tuple((weight.bed,) for weight in weights))
    table = figures.call("GROW_TRIAL_TABLE", *cells)
    assert isinstance(table, tuple)
    rows: list[list[Cell]] = []
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
            f"{name} leads{f' in {crop}' if crop else ''} with {number(mean)} {unit} a plant ({tested.rstrip('.')})"
        )
    return f"Trial: {'; '.join(told)}. The sheet Trial says what that is worth." if told else ""
