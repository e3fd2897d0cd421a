"""The pages on feeds: what they put into the water, what they cost, how long they last."""

from __future__ import annotations

from .figures import BedWeek, FeedWeek, columns_with_values
from .look import PLAIN, SMALL, Column, Value
from .paper import Paper, freeze


def nutrients_page(paper: Paper) -> None:
    """What each feed puts into the water at its rate."""
    figures = paper.figures
    names = columns_with_values(figures.feeds)
    columns = [
        Column("Feed", 9),
        Column("Product", 24, wrap=True),
        Column("Analysis", 24, wrap=True),
        Column(f"Rate\n[{figures.unit_label('feeds.rate')}]", 9, "0.0#"),
        *(Column(f"{name}\n[ppm]", 8, "0.0" if name in "NPKCaMgS" else "0.00") for name in names),
        Column("Not on the label", 22, wrap=True),
    ]
    page = paper.page("Nutrients", "Nutrients in the water", columns, landscape=True)
    heading = page.row
    page.table(columns, [_feed_row(feed, names) for feed in figures.feeds])
    freeze(page, heading, 1)
    page.gap()
    for text in (
        "ppm is mg/L of the element in water with nothing else in it: what the source water brings is not counted.",
        "P and K of a label are oxides (P2O5, K2O) and stand here as elements.",
        "0 means that the label does not list the element; it may still be there in traces.",
    ):
        page.line(text, SMALL)


def _feed_row(feed: FeedWeek, names: list[str]) -> list[Value]:
    start: list[Value] = [feed.feed.name, feed.feed.product, feed.feed.analysis, feed.feed.rate]
    if feed.ppm is None:
        return [*start, *([None] * len(names)), feed.problem]
    absent = ", ".join(feed.absent) or "nothing of the six"
    return [*start, *(feed.ppm[name] for name in names), absent]


def costs_page(paper: Paper) -> None:
    """What a fill costs bed by bed, and how long each feed lasts."""
    figures = paper.figures
    unit, money = figures.unit_label, figures.log.money
    cents = money.replace("0.00", "0.0000") if money.count("0.00") == 1 else money
    fills = [
        Column("Bed", 12),
        Column("Feed", 12, wrap=True),
        Column(f"volume\n[{unit('beds.volume')}]", 12, PLAIN),
        Column(f"feed\n[{unit('beds.dose')}]", 12, PLAIN),
        Column("cost of\na fill", 12, money),
        Column(f"cost\n[a {unit('beds.volume')}]", 12, cents),
    ]
    stock = [
        Column("Feed", 12, wrap=True),
        Column("Beds", 12, wrap=True),
        Column(f"package\n[{unit('feeds.package')}]", 12, PLAIN),
        Column("price of\na package", 12, money),
        Column(f"on hand\n[{unit('feeds.on_hand')}]", 12, "#,##0"),
        Column(f"one fill of\nits beds [{unit('beds.dose')}]", 14, PLAIN),
        Column("fills left", 11, "0.0"),
        Column(f"added in the\nweek [{unit('readings.feed_added')}]", 13, PLAIN),
        Column("cost of\nthe week", 12, money),
    ]
    page = paper.page("Costs", "Costs and stock", stock, landscape=False)
    page.section("A fill of each bed")
    total = sum(bed.cost for bed in figures.beds if bed.cost is not None)
    page.table(fills, [_fill_row(bed) for bed in figures.beds], ["Total", "", None, None, total or None, None])
    page.gap()
    page.section("Each feed")
    used = sum(feed.used_cost for feed in figures.feeds if feed.used_cost is not None)
    page.table(stock, [_stock_row(feed) for feed in figures.feeds], ["Total", "", *([None] * 6), used or None])
    page.gap()
    page.line(
        "Money is in the currency of the log. Feed added in the week is counted for the feed that its bed is on.", SMALL
    )


def _fill_row(bed: BedWeek) -> list[Value]:
    per_volume = bed.cost / bed.volume if bed.cost is not None and bed.volume else None
    return [bed.bed.name, bed.bed.feed, bed.volume, bed.dose, bed.cost, per_volume]


def _stock_row(feed: FeedWeek) -> list[Value]:
    known = feed.feed
    start: list[Value] = [known.name, ", ".join(feed.beds), known.package, known.price, known.on_hand]
    return [*start, feed.fill, feed.fills_left, feed.used or None, feed.used_cost]
