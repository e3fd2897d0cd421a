"""The pages of a season: its rounds, its feeds and beds, and what the feeds' differences are worth."""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Callable, Iterator, Sequence

from ..report.figures.in_words import number
from ..report.figures.log_money import finer
from ..report.pages.page import Block, Cells, Chart, ChartGrid, Document, Gap, Line, Page, Section, Table, Text
from ..report.pages.scale import scale
from ..sheets.table_columns import DATE, PLAIN, WHOLE, Column, Value
from .compared_rounds import FeedDifference, Season, SeasonRound

SIGNED = "+0.0;-0.0;0.0"
DIFFERENCES = "differences"
MARGIN_DAYS = 7
"""Days beside the first and the last round in a chart. Ours."""

LIMITS = (
    "A difference in a round is that of the means of its beds, with 95 % limits from the spread between beds of one "
    "feed. Over all rounds each round counts as one: its limits are from the spread of the rounds, so that both rounds "
    "and beds count as chance. Blank limits: one bed or one round does not tell its spread. Rounds are compared only "
    "with feeds of the same round; crops are never mixed."
)


def document_of(season: Season, names: Sequence[str], paper: str) -> Document:
    """The season as pages to draw."""
    title = f"Season: {', '.join(names)}"
    pages = [_rounds(season, title), _groups(season, title), *_feeds(season, title)]
    return Document(title=title, footer=title, paper=paper, pages=pages)


def _rounds(season: Season, subtitle: str) -> Page:
    columns = [
        Column("Log", 14, wrap=True), Column("Bed", 10, wrap=True), Column("round", 7, WHOLE),
        Column("Crop", 12, wrap=True), Column("Feed", 12, wrap=True), Column("planted", 12, DATE),
        Column("days", 7, WHOLE), Column("heads", 8, WHOLE), Column("g a head", 9, PLAIN), Column("kg a m²", 9, "0.00"),
        Column("income", 10, season.money), Column("feed cost", 10, season.money), Column("left", 10, season.money),
        Column("what it was fed", 40, wrap=True),
    ]  # fmt: skip
    rows = [_round_row(one) for one in season.rounds]
    blocks: list[Block] = [Table(columns, rows, frozen_columns=3)]
    blocks += [
        Text(f"{one.sum.round.bed}, round {one.sum.round.number}: {one.sum.not_known}.", small=True)
        for one in season.rounds
        if one.sum.not_known
    ]
    if not rows:
        blocks.append(Text("The logs name no plantings with a date: there are no rounds to compare."))
    return Page("Rounds", "The rounds of the season", subtitle, tuple(blocks), landscape=True)


def _round_row(one: SeasonRound) -> list[Value]:
    known, cut = one.sum.round, one.sum.cut
    area = one.sum.mass_a_square_metre
    fed = ", ".join(
        f"{number(part.millilitres)} mL {part.part.name}"
        if part.part.millilitres is not None
        else f"{number(part.grams)} g {part.part.name}"
        for part in one.sum.fed
    )
    return [
        *(one.log, known.bed, known.number, known.crop, one.sum.feed, known.began, one.sum.days, cut.heads),
        *(one.mass_a_head, None if area is None else area / 1000, cut.income, one.sum.cost, one.sum.left, fed),
    ]


def _groups(season: Season, subtitle: str) -> Page:
    columns = [
        Column("", 16, wrap=True), Column("rounds", 8, WHOLE), Column("g a head", 10, PLAIN),
        Column("kg a m²", 10, "0.00"), Column("days", 8, PLAIN), Column("feed cost", 11, season.money),
        Column("feed cost\na head", 11, finer(season.money)),
    ]  # fmt: skip
    by: tuple[tuple[str, Callable[[SeasonRound], str]], ...] = (
        ("By feed", lambda one: one.sum.feed or "not told"),
        ("By bed", lambda one: one.sum.round.bed),
    )
    blocks: list[Block] = []
    for title, key in by:
        groups: dict[str, list[SeasonRound]] = {}
        for one in season.rounds:
            groups.setdefault(key(one), []).append(one)
        blocks += [Section(title), Table(columns, [_group_row(*group) for group in groups.items()]), Gap()]
    blocks.append(Text("Means of the rounds of which the log tells the figure; each round counts as one.", small=True))
    return Page("Feeds and beds", "By feed and by bed", subtitle, tuple(blocks))


def _group_row(name: str, rounds: list[SeasonRound]) -> list[Value]:
    areas = [None if one.sum.mass_a_square_metre is None else one.sum.mass_a_square_metre / 1000 for one in rounds]
    days = [None if one.sum.days is None else float(one.sum.days) for one in rounds]
    costs = [one.sum.cost for one in rounds]
    return [
        *(name, len(rounds), _mean([one.mass_a_head for one in rounds]), _mean(areas), _mean(days), _mean(costs)),
        _mean([one.sum.cost_a_head for one in rounds]),
    ]


def _mean(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return statistics.fmean(known) if known else None


def _feeds(season: Season, subtitle: str) -> Iterator[Page]:
    columns = [
        Column("Feeds", 20, wrap=True), Column("Round", 16, wrap=True), Column("planted", 12, DATE),
        Column("beds", 9), Column("difference\n[g a head]", 12, SIGNED), Column("from", 10, SIGNED),
        Column("to", 10, SIGNED),
    ]  # fmt: skip
    rows: list[list[Value]] = []
    places: list[tuple[int, int]] = []
    for found in season.differences:
        first = len(rows)
        for one in found.rounds:
            limits = one.interval.low, one.interval.high
            beds = f"{one.beds[0]} and {one.beds[1]}"
            name = f"{one.log}, round {one.round}"
            rows.append([" − ".join(found.feeds), name, one.began, beds, one.interval.difference, *limits])
        places.append((first, len(rows) - 1))
        whole = found.together
        rows.append([" − ".join(found.feeds), "all rounds together", None, "", whole.difference, whole.low, whole.high])
    blocks: list[Block] = [Text(text) for found in season.differences for text in [in_words(found)]]
    if not rows:
        blocks.append(Text("No round holds two feeds whose heads were weighed: nothing can be compared."))
    else:
        blocks += [Table(columns, rows, key=DIFFERENCES), Text(LIMITS, small=True)]
    yield Page("Differences", "What the feeds differ by", subtitle, tuple(blocks))
    charts = [_chart(found, place) for found, place in zip(season.differences, places, strict=True)]
    if charts:
        grid = ChartGrid([charts[at : at + 2] for at in range(0, len(charts), 2)])
        yield Page("Drawn", "The differences drawn: marks are rounds, dashes their limits", subtitle, (grid,))


def _chart(found: FeedDifference, place: tuple[int, int]) -> Chart:
    first, last = place
    days = [one.began for one in found.rounds]
    values: list[tuple[str, int, list[float | None]]] = [
        ("difference", 4, [one.interval.difference for one in found.rounds]),
        ("from", 5, [one.interval.low for one in found.rounds]),
        ("to", 6, [one.interval.high for one in found.rounds]),
    ]
    limits = scale([0.0, *(value for _, _, column in values for value in column)])
    lines = [
        Line(
            name,
            list(zip(days, column, strict=True)),
            Cells(DIFFERENCES, 2, first, last),
            Cells(DIFFERENCES, at, first, last),
            dashed=name != "difference",
        )
        for name, at, column in values
    ]
    margin = datetime.timedelta(days=MARGIN_DAYS)
    title = f"{' − '.join(found.feeds)}{f', {found.crop}' if found.crop else ''}"
    return Chart(title, "g a head", limits, min(days) - margin, max(days) + margin, lines)


def in_words(found: FeedDifference) -> str:
    """What a difference is worth, and what would settle it."""
    one, other = found.feeds
    whole = found.together
    leads, behind = (one, other) if whole.difference >= 0 else (other, one)
    crop = f"{found.crop}: " if found.crop else ""
    count = len(found.rounds)
    over = f"over {count} rounds" if count > 1 else "in one round"
    told = f"{crop}{leads} leads {behind} by {number(abs(whole.difference))} g a head {over}."
    if whole.low is None or whole.high is None:
        return (
            f"{told} What that is worth is not known: plant two beds or more of each, or both again in another round."
        )
    worth = (
        f" That is more than luck: the true difference most likely lies between {number(whole.low)} and "
        f"{number(whole.high)} g."
        if whole.is_sure
        else f" That may be luck: the limits, {number(whole.low)} and {number(whole.high)} g, hold zero."
    )
    if whole.is_sure:
        return told + worth
    if found.needed is None:
        more = " Another round with both would say how much it changes from round to round."
        return told + worth + (more if count < 2 else " More rounds than anybody plants would be needed to show it.")
    left = max(found.needed - count, 1)
    return f"{told}{worth} Some {left} more {'round' if left == 1 else 'rounds'} like these would settle it."
