"""The rules of advice on a feed: its stock, its scale, its label."""

from __future__ import annotations

from collections.abc import Iterator

from growcells.chemistry.nutrient_bases import nutrients
from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...season_figures.part_stock import PartStock
from ...season_figures.parts import PartRate, part_rates
from ..figures.common_practice import limit
from ..figures.in_words import amount, listed, named, number
from ..figures.log_units import in_unit
from ..figures.topping_up import in_dose_unit
from ..figures.week_figures import FeedWeek, Figures
from .action import Action, Urgency


def runs_out(figures: Figures, feed: FeedWeek) -> Iterator[Action]:
    """A part of a feed to order now, or before the next report."""
    if not feed.beds:
        return
    for stock in feed.stocks:
        yield from _part_runs_out(figures, feed, stock)


def _part_runs_out(figures: Figures, feed: FeedWeek, stock: PartStock) -> Iterator[Action]:
    if stock.on_hand is None or stock.order_by is None or (stock.order_by - figures.as_of).days >= DAYS_IN_WEEK:
        return
    name = stock.part.name if feed.feed.is_mix else feed.feed.name
    left = f"{_stock_amount(figures, stock, stock.on_hand)} on hand"
    reasons, brief = [], ""
    if stock.short_of_fill and stock.fill:
        reasons.append(
            f"{left} are less than the {_stock_amount(figures, stock, stock.fill, 'beds.dose')} that one fill of "
            f"{named([bed.name for bed in feed.beds], len(figures.beds))} takes."
        )
        brief = f"{left}, less than one fill"
    if stock.use_a_week:
        lasts = stock.on_hand / stock.use_a_week
        takes = f"takes {number(stock.lead_weeks)} weeks."
        if stock.part.part.lead is None:
            takes = f"usually {takes[:-1]}; the log does not say how long."
        reasons.append(
            f"{left} last {number(lasts)} weeks at {_stock_amount(figures, stock, stock.use_a_week)} a week "
            f"(by {stock.use_from}), and an order {takes}"
        )
        brief = brief or f"{left}, for {number(lasts)} weeks"
    wait = (stock.order_by - figures.as_of).days
    urgency = Urgency.TODAY if wait <= 0 else Urgency.THIS_WEEK
    yield Action(urgency, "stock", name, f"Order {name}.", " ".join(reasons), brief, stock.order_by)


def _stock_amount(figures: Figures, stock: PartStock, value: float, key: str = "feeds.on_hand") -> str:
    """An amount of a part, in the log's unit of a field or in mL."""
    if stock.liquid:
        return amount(value, "mL")
    return amount(in_unit(value, "g", figures.unit(key)), figures.unit_label(key))


def scale_coarse(figures: Figures, feed: FeedWeek) -> Iterator[Action]:
    """A scale whose step is too coarse for the smallest dose of a part."""
    for part in part_rates(figures.log, feed.feed):
        doses = [
            (mass, bed.name, dose.part)
            for bed in feed.beds
            for dose in bed.fill.doses
            if dose.part.name == part.name and (mass := in_dose_unit(figures, dose)[0]) and dose.part.grams is not None
        ]
        if part.part.scale and doses:
            yield from _scale_of(figures, feed, part.part.scale, *min(doses, key=lambda entry: entry[0]))


def _scale_of(figures: Figures, feed: FeedWeek, step: float, dose: float, bed: str, part: PartRate) -> Iterator[Action]:
    unit, steps = figures.unit("beds.dose"), figures.unit("feeds.scale")
    error = figures.asked("GROW_WEIGH_ERROR", dose, step, unit, steps)
    tolerance = limit("weigh_error")
    if error is None or error <= tolerance:
        return
    batch = None
    if part.grams:
        rate = in_unit(part.grams, "g/L", figures.unit("feeds.rate"))
        units = (figures.unit("feeds.rate"), steps, figures.unit("beds.volume"))
        batch = figures.asked("GROW_BATCH_MIN", rate, step, tolerance, *units)
    other = (
        f", or dissolve the feed for {amount(batch, figures.unit_label('beds.volume'))} at once and share it out"
        if batch
        else ""
    )
    yield Action(
        Urgency.NEXT_MIX,
        "scale",
        part.name if feed.feed.is_mix else feed.feed.name,
        f"Weigh it on a finer scale{other}.",
        f"A scale with steps of {amount(step, figures.unit_label('feeds.scale'))} may be off by "
        f"{number(error * 100)} % in the {amount(dose, figures.unit_label('beds.dose'))} for {bed}; "
        f"up to {number(tolerance * 100)} % is good enough.",
        f"its scale may be off by {number(error * 100)} %",
    )


EXTRA = {
    "Ca": ("calcium nitrate", "Ca(NO3)2.4H2O"),
    "Mg": ("Epsom salt", "MgSO4.7H2O"),
}
"""The salts by which growers bring in what a feed lacks: common practice, no source."""


def nutrient_absent(figures: Figures) -> Iterator[Action]:
    """Calcium or magnesium that a whole mix in use lacks: said once, whatever the number of feeds."""
    lacking = {name: [feed for feed in figures.feeds if feed.beds and name in feed.absent] for name in EXTRA}
    missing = [name for name, feeds in lacking.items() if feeds]
    if not missing:
        return
    them = "them" if len(missing) > 1 else "it"
    amounts = [text for name in missing if (text := _extra(figures, name))]
    brings = f" The recipe {figures.recipe} has {' and '.join(amounts)}." if amounts else ""
    feeds = [feed for feed in figures.feeds if any(feed in of for of in lacking.values())]
    labels = [f"{feed.feed.name}{', ' + feed.feed.analysis + ',' if feed.feed.analysis else ''}" for feed in feeds]
    one = len(feeds) == 1
    yield Action(
        Urgency.NEXT_MIX,
        "analysis",
        listed([feed.feed.name for feed in feeds]),
        f"Bring in {listed([nutrients()[name].name for name in missing])} "
        f"from {listed([_bag(figures, name)[0] for name in missing])}, "
        "dissolved apart, unless the source water holds enough.",
        f"The {'label' if one else 'labels'} of {listed(labels)} {'lists' if one else 'list'} no "
        f"{listed(missing, 'or')}: soft water brings little of {them}, and no crop grows without {them}.{brings}",
        f"the {'label lists' if one else 'labels list'} no {listed(missing, 'or')}",
    )


def _bag(figures: Figures, nutrient: str) -> tuple[str, str]:
    """The product of the log that brings a nutrient and neither phosphate nor potassium, else the usual salt."""
    for feed in figures.log.feeds:
        for part in part_rates(figures.log, feed):
            held = part.analysis.percents if part.analysis else {}
            if held.get(nutrient) and not held.get("P") and not held.get("K"):
                return part.name, part.part.analysis or part.part.product
    return EXTRA[nutrient]


def _extra(figures: Figures, nutrient: str) -> str:
    """How much of the bag brings the recipe's figure of a nutrient, and the nitrogen that comes with it."""
    wanted = figures.asked("GROW_TARGET", figures.recipe, nutrient)
    if wanted is None:
        return ""
    name, salt = _bag(figures, nutrient)
    volume, unit = figures.unit("beds.volume"), figures.unit("beds.dose")
    mass = figures.asked("GROW_DOSE_FOR", wanted, nutrient, salt, 1, None, volume, unit)
    if mass is None:
        return ""
    nitrogen = figures.asked("GROW_PPM", mass, 1, salt, "N", unit, volume)
    with_it = f", which brings {number(nitrogen)} ppm N" if nitrogen else ""
    weighed = amount(mass, figures.unit_label("beds.dose"))
    return f"{number(wanted)} ppm {nutrient} ({weighed} of {name} in 1 {figures.unit_label('beds.volume')}{with_it})"
