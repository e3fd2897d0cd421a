"""The page of the rounds: what each came to, and what was cut."""

from __future__ import annotations

from collections.abc import Iterator

from ...reading.fixed_units import Fixed
from ...reading.yields import income
from ...season_figures.round_sums import RoundSum, round_sums
from ...sheets.table_columns import FINE, PLAIN, WHOLE, Column, Value
from ..figures.iso_week import long_date
from ..figures.log_units import in_unit
from ..figures.week_figures import Figures
from .material import Material, used
from .page import Block, Gap, Page, Section, Table, Text

DAY = "d mmm yy"


def rounds_page(material: Material) -> Iterator[Page]:
    """The rounds and the harvests; nothing where the log has no harvest and no round but the first."""
    figures = material.figures
    told = [one for one in figures.log.rounds if one.number > 1 or (one.ended and one.ended <= figures.as_of)]
    if not (told or figures.log.harvests):  # a first round that grows stands on the first page and in the costs
        return
    money, mass = figures.money, figures.unit_label("harvests.mass")
    columns = [
        material.bed_column(9, 22),
        Column("round", 6, WHOLE),
        material.crop_column(9, 16),
        Column("feed", 9, wrap=True),
        Column("planted", 9, DAY),
        Column("ended", 9, DAY),
        Column("days", 5, WHOLE),
        Column("heads", 6, WHOLE, group="Cut"),
        Column(f"mass\n[{mass}]", 8, FINE, group="Cut"),
        Column("culls,\nlosses", 7, PLAIN, group="Cut"),
        Column("income", 8, money),
        Column("feed\ncost", 7, money),
        Column("left", 8, money),
    ]
    yield material.page("Rounds", "Rounds and harvests", _blocks(figures, columns))


def _blocks(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    sums = round_sums(figures.log, figures.as_of)
    if sums:
        yield Section("Each round")
        yield used(Table(columns, [_round_row(figures, one) for one in sums]))
        for one in sums:
            if one.why:
                yield Text(f"{one.round.bed}, round {one.round.number}: {one.why}.", small=True)
        yield Text(
            "Days run from planting to the end of the round, its last harvest or this report. The feed is that of the "
            "fills noted, or else one full fill, and what was added. A sum is blank where a harvest does not tell it.",
            small=True,
        )
        yield Gap()
    yield from _harvests(figures, columns)


def _round_row(figures: Figures, one: RoundSum) -> list[Value]:
    known, cut = one.round, one.cut
    mass = None if cut.mass is None else in_unit(cut.mass, "g", figures.unit("harvests.mass"))
    lost = [value for value in (cut.culls, cut.losses) if value is not None]
    return [
        *(known.bed, known.number, known.crop, one.feed, known.began, one.ended, one.days),
        *(cut.heads, mass, sum(lost) if lost else None, cut.income, one.cost, one.left),
    ]


def _harvests(figures: Figures, above: list[Column]) -> Iterator[Block]:
    log, fixed = figures.log, Fixed(figures.log)
    cuts = [cut for cut in log.harvests if cut.date is None or cut.date <= figures.as_of]
    if not cuts:
        return
    columns = [above[0], above[1], Column("cut on", 9, DAY), *above[7:11]]
    yield Section("Harvests")
    rows: list[list[Value]] = []
    for cut in cuts:
        lost = [value for value in (cut.culls, cut.losses) if value is not None]
        told = income(cut, fixed("harvests.mass", cut.mass))
        rows.append([cut.bed, cut.round or None, cut.date, cut.heads, cut.mass, sum(lost) if lost else None, told])
    yield used(Table(columns, rows))
    later = len(log.harvests) - len(cuts)
    if later:
        yield Text(f"{later} dated after {long_date(figures.as_of)} not counted.", small=True)
