"""The pages on feeds and water: what a feed puts into the water, what it costs, how long it lasts, what is drunk."""

from __future__ import annotations

import datetime

from openpyxl.utils import get_column_letter

from growcells.chemistry.nutrient_bases import ALWAYS_LISTED, nutrients
from growcells.data import read_data

from .common_practice import limit
from .figures import DAYS_IN_WEEK, BedWeek, FeedWeek, Figures
from .look import DATE, FINE, PLAIN, WHOLE, Column, Formula, Page, Value, mass_format
from .paper import Paper, finish
from .topping_up import refill_volume
from .wording import number

MARKS = {"short": "▼ short", "over": "▲ over", "fine": "fine", "absent": "○ absent"}
"""Marks beside the words of GROW_GAPS."""
LEAST_WIDTH = 88
"""Of the page on nutrients [digits], so that its sentences have room beside a single feed."""
DAYS_IN_YEAR = 365
PPM = "[>=1]#,##0.0;[=0]0;0.000"
"""Trace elements are wanted in thousandths."""


def nutrients_page(paper: Paper) -> None:
    """What each feed puts into the water at its rate, beside a published recipe."""
    figures = paper.figures
    shown = [feed for feed in figures.feeds if feed.ppm is not None]
    comparison = _comparison_columns(shown)
    page = paper.page("Nutrients", "Nutrients in the water", comparison, landscape=len(shown) > 3)
    page.section("Each feed at its rate")
    for feed in figures.feeds:
        page.paragraph(_told(figures, feed))
    for feed in figures.feeds:
        if feed.problem:
            page.paragraph(f"{feed.feed.name}: {feed.problem}.")
    page.gap()
    if shown:
        _beside_recipe(page, figures, comparison, shown)
    for text in (
        "ppm is mg/L of the element in water with nothing else in it: what the source water brings is not counted. P "
        "and K of a label are oxides (P2O5, K2O) and stand here as elements.",
        "Absent means that the label does not list the element; it may still be there in traces. An absent sulfur is "
        "often only unlisted.",
    ):
        page.paragraph(text, "small")
    finish(page)


def _told(figures: Figures, feed: FeedWeek) -> str:
    """A feed in a line: its name, its label, its rate, what it is."""
    rate = f" at {number(feed.feed.rate)} {figures.unit_label('feeds.rate')}" if feed.feed.rate else ""
    product = f" ({feed.feed.product})" if feed.feed.product else ""
    return f"{feed.feed.name}: {feed.feed.analysis or 'no analysis'}{rate}{product}"


def _comparison_columns(feeds: list[FeedWeek]) -> list[Column]:
    columns = [Column("Nutrient", 16, wrap=True), Column("recipe\n[ppm]", 10, PPM)]
    mark = max(11.0, (LEAST_WIDTH - 26) / max(len(feeds), 1) - 17)
    for feed in feeds:
        columns += [
            Column("\n[ppm]", 9, PPM, group=feed.feed.name),
            Column("of the\nrecipe", 8, "0%", group=feed.feed.name),
            Column("", mark, group=feed.feed.name),
        ]
    # A page without a feed still has a width for its sentences.
    return columns if feeds else [*columns, Column("", 60)]


def _beside_recipe(page: Page, figures: Figures, columns: list[Column], feeds: list[FeedWeek]) -> None:
    page.section(f"Beside the recipe {figures.recipe}")
    wanted = {gap.nutrient: gap.target for gap in feeds[0].gaps}
    names = [name for name in ALWAYS_LISTED if name in wanted or any((feed.ppm or {})[name] for feed in feeds)]
    first = page.row + 2
    rows = []
    for place, name in enumerate(names):
        row: list[Value] = [f"{name}   {nutrients()[name].name}", wanted.get(name)]
        for order, feed in enumerate(feeds):
            row += _gap_cells(feed, name, first + place, get_column_letter(3 + 3 * order))
        rows.append(row)
    page.table(columns, rows)
    source = next(entry for entry in read_data("recipes.csv") if entry["recipe"] == figures.recipe)
    page.paragraph(
        "Below 80 % is short, above 125 % over (common practice, no source). Published recipes differ by a factor of "
        f"two and all grow plants. {figures.recipe}: {source['source']}; {source['certainty']}.",
        "small",
    )


def _gap_cells(feed: FeedWeek, name: str, row: int, letter: str) -> list[Value]:
    """A feed's ppm of a nutrient, its part of the recipe's, and the word for it."""
    assert feed.ppm is not None
    found = next((gap for gap in feed.gaps if gap.nutrient == name), None)
    if found is None:
        return [feed.ppm[name], None, "no figure"]
    share = None if found.percent is None else Formula(f"={letter}{row}/B{row}", found.percent / 100)
    return [found.ppm, share, MARKS[found.verdict.split(":")[0]]]


def water_page(paper: Paper) -> None:
    """The water that each bed took, and how long what is left lasts."""
    figures = paper.figures
    unit = figures.unit_label
    added, volume, depth = unit("readings.water_added"), unit("beds.volume"), unit("readings.depth")
    columns = [
        paper.bed_column(10),
        paper.crop_column(13),
        Column(f"in the week\n[{added}]", 11, PLAIN, group="Added"),
        Column(f"to date\n[{added}]", 11, PLAIN, group="Added"),
        Column(f"depth\n[{depth}]", 9, "0.0#", group="Now"),
        Column(f"in the tank\n[{volume}]", 11, PLAIN, group="Now"),
        Column(f"to fill up\n[{volume}]", 11, PLAIN, group="Now"),
        Column(f"depth a day\n[{depth}]", 11, "0.00", group="Lost"),
        Column(f"a week\n[{volume}]", 10, PLAIN, group="Lost"),
        Column(f"a plant a day\n[{volume}]", 12, "0.000", group="Lost"),
        Column(f"not below\n[{depth}]", 10, "0.0#", group="Lasts"),
        Column("days", 8, "0.0", group="Lasts"),
    ]
    page = paper.page("Water", "Water used", columns, landscape=True)
    first = page.row + 2
    rows = [_water_row(figures, bed, first + place) for place, bed in enumerate(figures.beds)]
    last = first + len(rows) - 1
    totals: list[Value] = ["Total", "", *([None] * 10)]
    for letter, place, name in (("C", 2, "water_added"), ("D", 3, "water_to_date")):
        total = sum(getattr(bed, name) for bed in figures.beds)
        totals[place] = Formula(f"=SUM({letter}{first}:{letter}{last})", total) if total else None
    page.table(columns, rows, totals)
    for text in (
        f"Lost is what the depths of the last {limit('trend_days'):g} days show between readings without added water, "
        "or else the water added in that time. Sides are taken as straight. Days are counted from the last depth read "
        "to the one below which pots hang dry, which the log gives as Lowest water.",
        "Fill through an air gap: a hose that hangs in the tank can draw solution back into drinking water.",
    ):
        page.paragraph(text, "small")
    finish(page)


def _water_row(figures: Figures, bed: BedWeek, row: int) -> list[Value]:
    level, full = bed.level, bed.full_depth
    lost = plant = lasts = None
    if bed.drop and full and bed.volume:
        lost = bed.drop * DAYS_IN_WEEK * bed.volume / full
        if bed.bed.plants:
            plant = Formula(f"=I{row}/{DAYS_IN_WEEK}/{bed.bed.plants:g}", lost / DAYS_IN_WEEK / bed.bed.plants)
    if level and bed.drop and bed.lowest is not None and level.depth > bed.lowest:
        days = figures.calculate(
            f"the days that the water in {bed.name} lasts", "GROW_REFILL_DAYS", level.depth - bed.lowest, bed.drop
        )
        lasts = None if days is None else Formula(f"=(E{row}-K{row})/H{row}", days)
    now: list[Value] = [level.depth, level.volume, refill_volume(bed) or 0.0] if level else [None] * 3
    return [
        *(bed.name, bed.bed.crop, bed.water_added or None, bed.water_to_date or None),
        *now,
        *(bed.drop, lost, plant, bed.lowest, lasts),
    ]


def costs_page(paper: Paper) -> None:
    """What the week and the season cost bed by bed, and how long each feed lasts."""
    figures = paper.figures
    unit, money = figures.unit_label, figures.log.money
    dose, added = unit("beds.dose"), unit("readings.feed_added")
    beds = [
        paper.bed_column(10),
        paper.feed_column(12),
        Column(f"one fill\n[{dose}]", 10, mass_format(dose), group="Feed"),
        Column(f"week\n[{added}]", 9, mass_format(added), group="Feed"),
        Column(f"to date\n[{added}]", 10, mass_format(added), group="Feed"),
        Column("of a fill", 10, money, group="Cost"),
        Column("of the week", 11, money, group="Cost"),
        Column("to date", 10, money, group="Cost"),
        Column("fill and\nto date", 11, money, group="Cost"),
        Column("plants", 8, WHOLE, group="A head"),
        Column("cost", 13, _finer(money), group="A head"),
    ]
    page = paper.page("Costs", "Costs and stock", beds, landscape=True)
    page.section("Each bed")
    first = page.row + 2
    rows = [_cost_row(figures, bed, first + place) for place, bed in enumerate(figures.beds)]
    page.table(beds, rows, _cost_totals(rows, first))
    page.paragraph(
        "Only the feed is counted: one first fill and what was added since. Seed, plugs, water and power are not in "
        "the log. A head is a plant that the log says the bed has, or else one that was weighed alive. Money is in the "
        "currency of the log.",
        "small",
    )
    page.gap()
    _stock(page, figures, beds)
    finish(page)


def _finer(money: str) -> str:
    """The log's number format for prices with two decimals more."""
    return money.replace("0.00", "0.0000") if money.count("0.00") == 1 else money


def heads(figures: Figures, bed: BedWeek) -> float | None:
    """The plants of a bed, or else those that were weighed alive in it."""
    if bed.bed.plants:
        return bed.bed.plants
    weighed = [weight for weight in figures.log.weights if weight.bed == bed.name and not weight.dead]
    return float(len(weighed)) or None


def _cost_row(figures: Figures, bed: BedWeek, row: int) -> list[Value]:
    week = _share(bed.added_cost, bed.feed_added, bed.feed_to_date)
    both: Value = None
    head: Value = None
    plants = heads(figures, bed)
    if bed.cost is not None and bed.added_cost is not None:
        total = bed.cost + bed.added_cost
        both = Formula(f"=F{row}+H{row}", total)
        if plants:
            each = figures.calculate(f"the cost a head in {bed.name}", "GROW_COST_HEAD", total, plants)
            head = None if each is None else Formula(f"=I{row}/J{row}", each)
    return [
        *(bed.name, bed.bed.feed, bed.dose, bed.feed_added or None, bed.feed_to_date or None),
        *(bed.cost, week, bed.added_cost, both, plants, head),
    ]


def _share(cost: float | None, part: float, whole: float) -> float | None:
    """The part of a cost that belongs to a part of a mass."""
    if cost is None:
        return None
    return cost * part / whole if whole else 0.0


def _cost_totals(rows: list[list[Value]], first: int) -> list[Value]:
    totals: list[Value] = ["Total", ""]
    for place in range(2, 10):
        cells = [row[place] for row in rows]
        values = [cell.value if isinstance(cell, Formula) else cell for cell in cells]
        known = [value for value in values if isinstance(value, (int, float))]
        letter = get_column_letter(place + 1)
        totals.append(Formula(f"=SUM({letter}{first}:{letter}{first + len(rows) - 1})", sum(known)) if known else None)
    head: Value = None
    total, plants = totals[8], totals[9]
    every = all(row[8] is not None and row[9] is not None for row in rows)
    if every and isinstance(total, Formula) and isinstance(plants, Formula) and plants.value:
        under = first + len(rows)
        head = Formula(f"=I{under}/J{under}", total.value / plants.value)
    return [*totals, head]


def _stock(page: Page, figures: Figures, above: list[Column]) -> None:
    unit, money = figures.unit_label, figures.log.money
    on_hand, dose = unit("feeds.on_hand"), unit("beds.dose")
    columns = [
        Column("Feed", above[0].width, wrap=True),
        Column("Beds", above[1].width, wrap=True),
        Column(f"package\n[{unit('feeds.package')}]", 10, FINE),
        Column("price", 9, money),
        Column(f"on hand\n[{on_hand}]", 10, "#,##0" if on_hand == "g" else FINE),
        Column(f"one fill\n[{dose}]", 10, mass_format(dose)),
        Column("fills left", 11, "0.0"),
        Column(f"a week\n[{on_hand}]", 10, mass_format(on_hand)),
        Column("weeks left", 11, "0.0"),
        Column("takes\n[weeks]", 8, "0.#", group="Order"),
        Column("by", 13, DATE, group="Order"),
    ]
    page.section("Each feed on hand")
    first = page.row + 2
    page.table(columns, [_stock_row(figures, feed, first + place) for place, feed in enumerate(figures.feeds)])
    counted = [f"{feed.feed.name} on {_day(feed.feed.counted)}" for feed in figures.feeds if feed.feed.counted]
    taken = (
        f"Counted: {', '.join(counted)}; what was added since is taken off. "
        if counted
        else "The log does not say when the stock was counted: it is taken as of the day of this report. "
    )
    page.paragraph(
        f"{taken}A week is what the log says is used, or else the feed added in the last four weeks. Where the log "
        f"does not say how long an order takes, {limit('lead'):g} weeks are taken.",
        "small",
    )


def _day(day: datetime.date) -> str:
    return f"{day.day} {day:%b %Y}"


def _order_day(figures: Figures, feed: FeedWeek) -> Value:
    """The day to order a feed; of one that lasts for years no day is worth a name."""
    if feed.order_by is None or (feed.order_by - figures.as_of).days <= DAYS_IN_YEAR:
        return feed.order_by
    return "over a year"


def _stock_row(figures: Figures, feed: FeedWeek, row: int) -> list[Value]:
    known = feed.feed
    fills: Value = feed.fills_left
    if feed.fills_left is not None and figures.unit("feeds.on_hand") == figures.unit("beds.dose"):
        fills = Formula(f"=E{row}/F{row}", feed.fills_left)
    weeks = None
    if feed.on_hand is not None and feed.use_per_week:
        weeks = Formula(f"=E{row}/H{row}", feed.on_hand / feed.use_per_week)
    beds = ", ".join(bed.name for bed in feed.beds) or "none"
    return [
        *(known.name, beds, known.package, known.price, feed.on_hand, feed.fill, fills),
        *(feed.use_per_week, weeks, feed.lead, _order_day(figures, feed)),
    ]
