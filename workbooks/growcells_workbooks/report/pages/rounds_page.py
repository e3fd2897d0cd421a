"""The page of the rounds: what each came to, and what was cut."""

from __future__ import annotations

from collections.abc import Iterator

from ...reading.frames.fixed_units import Fixed
from ...reading.frames.yields import in_log
from ...season_figures.round_sums import RoundSum, round_sums
from ...sheets.table_columns import FINE, PLAIN, WHOLE, Column, Value
from ..figures.iso_week import long_date
from ..figures.log_money import finer
from ..figures.log_units import METRIC_LENGTHS, in_unit, shown_unit
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
    yield material.page("Rounds", "Rounds and harvests", _blocks(material))


AREAS = {"ft²": "ft^2", "m²": "m^2"}
"""The areas in which beds are shown, and how they are spelled in calculations."""


def _area(figures: Figures) -> str:
    """The area in which a yield is shown: metres where the log measures tanks in them."""
    return "m²" if shown_unit(figures.unit("beds.length")) in METRIC_LENGTHS else "ft²"


def _blocks(material: Material) -> Iterator[Block]:
    figures = material.figures
    sums = round_sums(figures.log, figures.as_of)
    bed, cut = [material.bed_column(9, 22), Column("round", 6, WHOLE)], _cut_columns(figures)
    if sums:
        known = [material.crop_column(9, 16), Column("feed", 9, wrap=True), Column("planted", 9, DAY)]
        known += [Column("ended", 9, DAY), Column("days", 5, WHOLE)]
        yield Section("Each round")
        yield used(Table([*bed, *known, *cut], [_round_row(figures, one) for one in sums]))
        yield Gap()
        yield Section("What each came to")
        yield used(Table([*bed, *_yield_columns(figures)], [_yield_row(figures, one) for one in sums]))
        for one in sums:
            if one.not_known:
                yield Text(f"{one.round.bed}, round {one.round.number}: {one.not_known}.", small=True)
        yield Text(
            "Days run from planting to the end of the round, its last harvest or this report. The feed is that of the "
            "fills noted, or else one full fill, and what was added. A sum is blank where a harvest does not tell it.",
            small=True,
        )
        yield Gap()
    yield from _harvests(figures, [*bed, Column("cut on", 9, DAY), *cut, Column("income", 8, figures.money)])


def _cut_columns(figures: Figures) -> list[Column]:
    mass = figures.unit_label("harvests.mass")
    return [Column("heads", 6, WHOLE), Column(f"mass\n[{mass}]", 8, FINE), Column("culls,\nlosses", 7, PLAIN)]


def _yield_columns(figures: Figures) -> list[Column]:
    money, mass = figures.money, figures.unit_label("harvests.mass")
    return [
        Column(f"mass\na head\n[{mass}]", 9, FINE),
        Column(f"mass\na {_area(figures)}\n[{mass}]", 9, FINE),
        Column("income", 9, money),
        Column("feed\ncost", 9, money),
        Column("left", 9, money),
        Column("feed cost\na head", 10, finer(money)),
    ]


def _round_row(figures: Figures, one: RoundSum) -> list[Value]:
    known, cut = one.round, one.cut
    lost = [value for value in (cut.culls, cut.losses) if value is not None]
    return [
        *(known.bed, known.number, known.crop, one.feed, known.began, one.ended, one.days),
        *(cut.heads, _mass(figures, cut.mass), sum(lost) if lost else None),
    ]


def _yield_row(figures: Figures, one: RoundSum) -> list[Value]:
    mass = _mass(figures, one.cut.mass)
    area = None if one.area is None else in_unit(one.area, "m^2", AREAS[_area(figures)])
    an_area = mass / area if mass is not None and area else None
    money = (one.cut.income, one.cost, one.left, one.cost_a_head)
    return [one.round.bed, one.round.number, _mass(figures, one.cut.mass_a_head), an_area, *money]


def _mass(figures: Figures, grams: float | None) -> float | None:
    return None if grams is None else in_unit(grams, "g", figures.unit("harvests.mass"))


def _harvests(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    log, fixed = figures.log, Fixed(figures.log)
    cuts = [cut for cut in log.harvests if cut.date is None or cut.date <= figures.as_of]
    if not cuts:
        return
    yield Section("Harvests")
    rows: list[list[Value]] = []
    for cut in cuts:
        lost = [value for value in (cut.culls, cut.losses) if value is not None]
        told = in_log(fixed, cut).income
        rows.append([cut.bed, cut.round or None, cut.date, cut.heads, cut.mass, sum(lost) if lost else None, told])
    yield used(Table(columns, rows))
    later = len(log.harvests) - len(cuts)
    if later:
        yield Text(f"{later} dated after {long_date(figures.as_of)} not counted.", small=True)
