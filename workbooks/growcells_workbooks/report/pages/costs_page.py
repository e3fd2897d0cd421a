"""The page on money and stock: what a fill, the week and the season cost, and how long each feed lasts."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from ...season_figures.part_stock import PartStock
from ...sheets.table_columns import FINE, WHOLE, Column, Formula, Sum, Value, mass_format
from ..figures.common_practice import limit
from ..figures.log_money import finer
from ..figures.log_units import in_unit
from ..figures.week_figures import BedWeek, FeedWeek, Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

DAYS_IN_YEAR = 365
ORDER_DAY = "d mmm yy"


NOT_KNOWN = "not known"
"""What stands where a price or a feed that the log does not know would be needed."""


def costs_page(material: Material) -> Iterator[Page]:
    """What the week and the season cost bed by bed, and how long each feed lasts."""
    figures = material.figures
    unit, money = figures.unit_label, figures.money
    dose, added = unit("beds.dose"), unit("readings.feed_added")
    beds = [
        material.bed_column(9, 14),
        material.feed_column(9, 14),
        Column(f"one fill\n[{dose}]", 8, mass_format(dose), group="Feed"),
        Column(f"week\n[{added}]", 7, mass_format(added), group="Feed"),
        Column(f"to date\n[{added}]", 8, mass_format(added), group="Feed"),
        Column("of a fill", 9, money, group="Cost"),
        Column("of the\nweek", 8, money, group="Cost"),
        Column("to date", 9, money, group="Cost"),
        Column("fill and\nto date", 9, money, group="Cost"),
        Column("plants", 6, WHOLE, group="A head"),
        Column("cost", 9, finer(money), group="A head"),
    ]
    yield material.page("Costs", "Costs and stock", _blocks(figures, beds))


def _blocks(figures: Figures, beds: list[Column]) -> Iterator[Block]:
    yield Section("Each bed")
    rows = [_cost_row(figures, bed) for bed in figures.beds]
    yield Table(beds, rows, _cost_totals(rows))
    yield Text(
        "Only feed is counted: the first fill and what was added since; the log holds no seed, water or power. Heads "
        "are the plants in the log or, where it has none, those weighed alive."
        + ("" if figures.currency else " Money is in the currency of the log."),
        small=True,
    )
    yield Gap()
    yield from _stock(figures, beds)


def heads(figures: Figures, bed: BedWeek) -> float | None:
    """The plants of a bed, or else those that were weighed alive in it."""
    if bed.bed.plants:
        return bed.bed.plants
    weighed = [weight for weight in figures.log.newest_weights if weight.bed == bed.name and not weight.dead]
    return float(len(weighed)) or None


def _cost_row(figures: Figures, bed: BedWeek) -> list[Value]:
    week = _share(bed.added_cost, bed.feed_added, bed.feed_to_date)
    both: Value = None
    head: Value = None
    plants = heads(figures, bed)
    if bed.cost is not None and bed.added_cost is not None:
        total = bed.cost + bed.added_cost
        both = Formula("={5}+{7}", total)
        if plants:
            each = figures.calculate(f"the cost a head in {bed.name}", "GROW_COST_HEAD", total, plants)
            head = None if each is None else Formula("={8}/{9}", each)
    costs = [NOT_KNOWN if cost is None else cost for cost in (bed.cost, week, bed.added_cost, both)]
    return [
        *(bed.name, bed.bed.feed, bed.dose, bed.feed_added or None, bed.feed_to_date or None),
        *(*costs, plants, NOT_KNOWN if head is None else head),
    ]


def _share(cost: float | None, part: float, whole: float) -> float | None:
    """The part of a cost that belongs to a part of a mass."""
    if cost is None:
        return None
    return cost * part / whole if whole else 0.0


def _cost_totals(rows: list[list[Value]]) -> list[Value]:
    totals: list[Value] = ["Total", ""]
    for place in range(2, 10):
        cells = [row[place] for row in rows]
        values = [cell.value if isinstance(cell, Formula) else cell for cell in cells]
        known = [value for value in values if isinstance(value, (int, float))]
        # A sum that leaves out a bed whose cost nobody knows is no total.
        unknown = NOT_KNOWN if NOT_KNOWN in cells else None
        totals.append(Sum(sum(known)) if known and unknown is None else unknown)
    head: Value = None
    total, plants = totals[8], totals[9]
    every = all(row[8] != NOT_KNOWN and row[9] is not None for row in rows)
    if every and isinstance(total, Sum) and isinstance(plants, Sum) and plants.value:
        head = Formula("={8}/{9}", total.value / plants.value)
    return [*totals, head]


def _stock(figures: Figures, above: list[Column]) -> Iterator[Block]:
    unit, money = figures.unit_label, figures.money
    on_hand, dose = unit("feeds.on_hand"), unit("beds.dose")
    columns = [
        Column("Feed", above[0].width + above[1].width, wrap=True),
        Column(f"package\n[{unit('feeds.package')}]", 8, FINE),
        Column("price", 8, money),
        Column(f"on hand\n[{on_hand}]", 8, "#,##0" if on_hand == "g" else FINE),
        Column(f"one fill\n[{dose}]", 8, mass_format(dose)),
        Column("fills\nleft", 6, "0.0"),
        Column(f"a week\n[{on_hand}]", 8, mass_format(on_hand)),
        Column("weeks\nleft", 6, "0.0"),
        Column("takes\n[weeks]", 7, "0.0", group="Order"),
        Column("by", 10, ORDER_DAY, group="Order"),
    ]
    yield Section("Each feed on hand, part by part")
    yield Table(columns, [_stock_row(figures, feed, stock) for feed in figures.feeds for stock in feed.stocks])
    counted = [
        f"{part.product or feed.name} on {_day(part.counted)}"
        for feed in figures.log.feeds
        for part in feed.parts
        if part.counted
    ]
    taken = (
        f"The stock was counted: {', '.join(counted)}. What was added to beds since then is taken off. "
        if counted
        else "The log does not say when the stock was counted: it is taken as of this report. "
    )
    yield Text(
        f"{taken}The use of a week is the one in the log or, where it has none, what the last four weeks took. Where "
        f"the log does not say how long an order takes, {limit('lead'):g} weeks are assumed.",
        small=True,
    )


def _day(day: datetime.date) -> str:
    return f"{day.day} {day:%b %Y}"


def _order_day(figures: Figures, stock: PartStock) -> Value:
    """The day to order a part; of one that lasts for years no day is worth a name."""
    if stock.order_by is None or (stock.order_by - figures.as_of).days <= DAYS_IN_YEAR:
        return stock.order_by
    return "over a year"


def _stock_row(figures: Figures, feed: FeedWeek, stock: PartStock) -> list[Value]:
    """A part: masses in the log's units; of a liquid in mL, which its name says."""

    def shown(value: float | None, key: str) -> float | None:
        return value if stock.liquid or value is None else in_unit(value, "g", figures.unit(key))

    on_hand, fill = shown(stock.on_hand, "feeds.on_hand"), shown(stock.fill, "beds.dose")
    use = shown(stock.use_a_week, "feeds.on_hand")
    fills: Value = stock.fills_left
    if stock.fills_left is not None and (stock.liquid or figures.unit("feeds.on_hand") == figures.unit("beds.dose")):
        fills = Formula("={3}/{4}", stock.fills_left)
    weeks = Formula("={3}/{6}", on_hand / use) if on_hand is not None and use else None
    name = f"{feed.feed.name}: {stock.part.name}" if feed.feed.is_mix else feed.feed.name
    return [
        *(f"{name} [mL]" if stock.liquid else name, shown(stock.package, "feeds.package")),
        NOT_KNOWN if stock.part.part.price is None else stock.part.part.price,
        *(on_hand, fill, fills, use, weeks, stock.lead_weeks, _order_day(figures, stock)),
    ]
