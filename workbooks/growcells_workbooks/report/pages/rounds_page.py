"""The page of the rounds: what falls due, what each round came to, and what was cut."""

from __future__ import annotations

from collections.abc import Iterator

from ...reading.fixed_units import Fixed
from ...reading.yields import in_log
from ...season_figures.round_sums import RoundSum, round_sums
from ...sheets.table_columns import DATE, FINE, PLAIN, SHORT_DATE, WHOLE, Column, Value
from ..figures.iso_week import long_date
from ..figures.log_units import METRIC_LENGTHS, in_unit, shown_unit
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text


def rounds_page(material: Material) -> Iterator[Page]:
    """What falls due, the rounds and the harvests; nothing where the log has neither."""
    figures = material.figures
    if not (figures.log.rounds or figures.log.harvests or figures.due):
        return
    money, mass = figures.log.money, figures.unit_label("harvests.mass")
    columns = [
        material.bed_column(11),
        Column("round", 7, WHOLE),
        material.crop_column(13),
        Column("feed", 12, wrap=True),
        Column("planted", 12, DATE),
        Column("ended", 12, DATE),
        Column("days", 7, WHOLE),
        Column("heads", 8, WHOLE, group="Cut"),
        Column(f"mass\n[{mass}]", 10, FINE, group="Cut"),
        Column("culls,\nlosses", 8, PLAIN, group="Cut"),
        Column(f"mass\na head\n[{mass}]", 9, FINE, group="Cut"),
        Column(f"mass\na {_area(figures)}\n[{mass}]", 9, FINE, group="Cut"),
        Column("income", 10, money),
        Column("feed\ncost", 9, money),
        Column("left", 10, money),
        Column("feed cost\na head", 10, money.replace("0.00", "0.0000") if money.count("0.00") == 1 else money),
    ]
    yield material.page("Rounds", "Rounds and harvests", columns, _blocks(figures, columns), landscape=True)


AREAS = {"ft²": "ft^2", "m²": "m^2"}
"""The areas in which beds are shown, and how they are spelled in calculations."""


def _area(figures: Figures) -> str:
    """The area in which a yield is shown: metres where the log measures tanks in them."""
    return "m²" if shown_unit(figures.unit("beds.length")) in METRIC_LENGTHS else "ft²"


def _blocks(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    yield from _due(figures, columns)
    yield Gap()
    sums = round_sums(figures.log, figures.as_of)
    if sums:
        yield Section("Each round")
        yield Table(columns, [_round_row(figures, one) for one in sums])
        for one in sums:
            if one.not_known:
                yield Text(f"{one.round.bed}, round {one.round.number}: {one.not_known}.", small=True)
        yield Text(
            "Days run from planting to the end of the round, to its last harvest, or to the day of this report. The "
            "feed is that of the fills noted, or else one full fill, and what was added. A round's figures are never "
            "pooled with those of another. A sum is blank where any of its harvests does not tell it.",
            small=True,
        )
        yield Gap()
    yield from _harvests(figures, columns)


def _due(figures: Figures, above: list[Column]) -> Iterator[Block]:
    yield Section("This week and the next")
    if not figures.due:
        yield Text("The log plans nothing for this week and the next.")
        return
    columns = [
        Column("when", above[0].width, SHORT_DATE),
        Column("bed", above[1].width + above[2].width, wrap=True, span=2),
        Column("what", above[3].width + above[4].width, wrap=True, span=2),
        Column("why", sum(column.width for column in above[5:]), wrap=True, span=len(above) - 5),
    ]
    yield Table(columns, [[entry.when, entry.bed, entry.what, entry.why] for entry in figures.due])


def _round_row(figures: Figures, one: RoundSum) -> list[Value]:
    known, cut = one.round, one.cut
    area = None if one.area is None else in_unit(one.area, "m^2", f"{AREAS[_area(figures)]}")
    mass, a_head = (
        None if grams is None else in_unit(grams, "g", figures.unit("harvests.mass"))
        for grams in (cut.mass, cut.mass_a_head)
    )
    an_area = mass / area if mass is not None and area else None
    lost = [value for value in (cut.culls, cut.losses) if value is not None]
    return [
        *(known.bed, known.number, known.crop, one.feed, known.began, one.ended, one.days),
        *(
            cut.heads,
            mass,
            sum(lost) if lost else None,
            a_head,
            an_area,
            cut.income,
            one.cost,
            one.left,
            one.cost_a_head,
        ),
    ]


def _harvests(figures: Figures, above: list[Column]) -> Iterator[Block]:
    log, fixed = figures.log, Fixed(figures.log)
    cuts = [cut for cut in log.harvests if cut.date is None or cut.date <= figures.as_of]
    if not cuts:
        return
    columns = [above[0], above[1], Column("cut on", above[2].width, DATE), *above[7:10], above[12]]
    yield Section("Harvests")
    rows: list[list[Value]] = []
    for cut in cuts:
        lost = [value for value in (cut.culls, cut.losses) if value is not None]
        told = in_log(fixed, cut).income
        rows.append([cut.bed, cut.round or None, cut.date, cut.heads, cut.mass, sum(lost) if lost else None, told])
    yield Table(columns, rows)
    later = len(log.harvests) - len(cuts)
    if later:
        yield Text(f"{later} dated after {long_date(figures.as_of)} not counted.", small=True)
