"""The standings of the trial, as GROW_TRIAL_TABLE gives them, and what they are worth in plain words."""

from __future__ import annotations

from growcells.cells.errors import GrowError

from ...reading.model import name_key
from ...season_figures.round_standings import RoundTrial, treatment_of
from .in_words import listed, number
from .week_figures import FeedWeek, Figures

Cell = str | float | None
UNLIKE = 0.1
"""Part by which the ppm of a nutrient of two treatments may differ and be alike: common practice, no source."""
FOOTING = ("N", "P", "K")
N, MEAN, SD = 1, 3, 4
"""Columns of GROW_TRIAL_TABLE."""


def table_of(figures: Figures, trial: RoundTrial) -> tuple[list[list[Cell]], list[str]]:
    """Rows of numbers, a treatment each, and the sentences below. Raises GrowError where nothing can be compared."""
    weights = trial.weights
    values = tuple((weight.mass if weight.mass is not None else "dead",) for weight in weights)
    treatments = tuple((treatment_of(figures.log, weight),) for weight in weights)
    cells: list[object] = [values, treatments]
    if all(weight.bed for weight in weights):
        cells.append(tuple((weight.bed,) for weight in weights))
    table = figures.call("GROW_TRIAL_TABLE", *cells)
    assert isinstance(table, (list, tuple))
    rows: list[list[Cell]] = []
    sentences: list[str] = []
    for row in table[1:]:
        if isinstance(row[1], float):
            rows.append([None if cell == "" else cell for cell in row])
        elif row[0]:
            sentences.append(str(row[0]))
    return rows, sentences


def leading(figures: Figures) -> str:
    """One sentence on which treatment leads in the newest round of each crop; "" without a trial."""
    newest = {trial.crop: trial for trial in figures.trials}
    unit = figures.unit_label("weights.mass")
    told = []
    for crop, trial in newest.items():
        try:
            rows, sentences = table_of(figures, trial)
        except GrowError:
            continue
        means = [(mean, str(row[0])) for row in rows if isinstance(mean := row[MEAN], float)]
        if len(means) < 2:
            continue
        mean, name = max(means)
        tested = sentences[0].rpartition(": ")[2] if not sentences[0].startswith("No test") else "not tested"
        told.append(
            f"{name} leads{f' in {crop}' if crop else ''} with {number(mean)} {unit} a plant ({tested.rstrip('.')})"
        )
    return f"Trial: {'; '.join(told)}. The page Trial says what that is worth." if told else ""


def in_plain_words(figures: Figures, trial: RoundTrial) -> list[str]:
    """Who leads and by how much, whether that is more than luck, on what footing, and what to plant next."""
    try:
        rows, sentences = table_of(figures, trial)
    except GrowError:
        return []
    grown = sorted((row for row in rows if isinstance(row[MEAN], float)), key=lambda row: -float(row[MEAN] or 0))
    if len(grown) < 2:
        return ["Only one treatment was weighed: nothing can be compared."]
    first, second = grown[:2]
    unit = figures.unit_label("weights.mass")
    by = float(first[MEAN] or 0) - float(second[MEAN] or 0)
    share = by / float(second[MEAN] or 1) * 100
    lead = f"{first[0]} leads {second[0]} by {number(by)} {unit} a plant ({number(share)} %)."
    return [f"{lead} {_luck(trial, first, second, sentences)}", *_footing(figures, grown), _next(figures, trial, grown)]


def _luck(trial: RoundTrial, first: list[Cell], second: list[Cell], sentences: list[str]) -> str:
    marks = {one.treatment: one.letters for one in trial.standings}
    ours, theirs = marks.get(str(first[0]), ""), marks.get(str(second[0]), "")
    if not ours or not theirs:
        return f"Whether that is more than luck cannot be told. {sentences[0]}"
    if set(ours) & set(theirs):
        return "That may be luck: the trial does not show that the two differ."
    return "That is more than luck: the trial shows that the two differ, at 95 %."


def _footing(figures: Figures, grown: list[list[Cell]]) -> list[str]:
    """N, P and K of each treatment that is a feed, and whether they are unequal."""
    names = sorted(str(row[0]) for row in grown)
    feeds = [feed for name in names if (feed := _feed(figures, name)) is not None]
    known = [feed for feed in feeds if feed.ppm is not None]
    if len(known) < len(grown):
        return ["The ppm of N, P and K of every treatment are not known, so that their footing cannot be compared."]
    told = "; ".join(
        f"{feed.feed.name} {', '.join(f'{number((feed.ppm or {})[key])} {key}' for key in FOOTING)}" for feed in known
    )
    unlike = [key for key in FOOTING if _unlike([(feed.ppm or {})[key] for feed in known])]
    worth = (
        f"{listed(unlike)} {'are' if len(unlike) > 1 else 'is'} unequal: what differs may be the amount and not the "
        "feed. GROW_DOSE_FOR gives the rates for equal nitrogen."
        if unlike
        else "They stand on the same footing."
    )
    return [f"Footing, ppm: {told}. {worth}"]


def _feed(figures: Figures, name: str) -> FeedWeek | None:
    return next((feed for feed in figures.feeds if name_key(feed.feed.name) == name_key(name)), None)


def _unlike(values: list[float]) -> bool:
    return max(values) - min(values) > UNLIKE * max(values)


def _next(figures: Figures, trial: RoundTrial, grown: list[list[Cell]]) -> str:
    """What to plant next to know."""
    beds = all(weight.bed for weight in trial.weights)
    unit = "beds" if beds else "plants"
    single = sorted(str(row[0]) for row in grown if row[N] == 1.0)
    if beds and single:
        have = "has" if len(single) == 1 else "have"
        return (
            f"To know more: plant two beds or more of each treatment; {listed(single)} {have} one, and a bed cannot be "
            "told from its feed."
        )
    spreads = [spread for row in grown if isinstance(spread := row[SD], float)]
    by = float(grown[0][MEAN] or 0) - float(grown[1][MEAN] or 0)
    if not spreads or by <= 0:
        return "To know more: plant more of each treatment."
    spread = max(spreads)
    needed = figures.asked("GROW_TRIAL_SIZE", by, spread, float(len(grown)))
    if needed is None:
        return (
            "To know more: the difference is so small beside the spread that no garden holds enough plants to show it."
        )
    has = min(float(row[N] or 0) for row in grown)
    if needed <= has:
        return f"To know more: plant the leading two again in another round; {number(has)} {unit} of each are enough."
    return (
        f"To know more: {number(needed)} {unit} of each treatment would show a true difference of this size in 8 cases "
        f"of 10; this trial has {number(has)}."
    )
