"""The rules of advice on a feed: its stock, its scale, its label."""

from __future__ import annotations

from collections.abc import Iterator

from growcells.chemistry.nutrient_bases import nutrients

from ..figures.common_practice import limit
from ..figures.in_words import amount, day_of, listed, number
from ..figures.week_figures import DAYS_IN_WEEK, FeedWeek, Figures
from .action import Action, Urgency


def runs_out(figures: Figures, feed: FeedWeek) -> Iterator[Action]:
    """A feed to order now, or before the next report."""
    if not feed.beds or feed.on_hand is None:
        return
    name, unit = feed.feed.name, figures.unit_label("feeds.on_hand")
    left = f"{amount(feed.on_hand, unit)} on hand"
    if feed.order_by is not None and feed.use_per_week is not None:
        wait = (feed.order_by - figures.as_of).days
        if wait < DAYS_IN_WEEK:
            yield Action(
                Urgency.TODAY if wait <= 0 else Urgency.THIS_WEEK,
                "stock",
                name,
                f"Order {name} today." if wait <= 0 else f"Order {name} by {day_of(feed.order_by)}.",
                f"{left} last {number(feed.on_hand / feed.use_per_week)} weeks at {amount(feed.use_per_week, unit)} "
                f"a week (by {feed.use_from}), and an order "
                + (
                    f"takes {number(feed.lead)} weeks."
                    if feed.feed.lead is not None
                    else f"usually takes {number(feed.lead)} weeks; the log does not say how long."
                ),
            )
            return
    if feed.fill and feed.fills_left is not None and feed.fills_left < 1:
        yield Action(
            Urgency.THIS_WEEK,
            "stock",
            name,
            f"Order {name}.",
            f"{left} are less than the {amount(feed.fill, figures.unit_label('beds.dose'))} that one fill of "
            f"{listed([bed.name for bed in feed.beds])} takes.",
        )


def scale_coarse(figures: Figures, feed: FeedWeek) -> Iterator[Action]:
    """A scale whose step is too coarse for the smallest dose."""
    step = feed.feed.scale
    doses = [(bed.dose, bed.name) for bed in feed.beds if bed.dose]
    if not step or not doses:
        return
    dose, bed = min(doses)
    unit, steps = figures.unit("beds.dose"), figures.unit("feeds.scale")
    error = figures.asked("GROW_WEIGH_ERROR", dose, step, unit, steps)
    tolerance = limit("weigh_error")
    if error is None or error <= tolerance:
        return
    batch = None
    if feed.feed.rate:
        units = (figures.unit("feeds.rate"), steps, figures.unit("beds.volume"))
        batch = figures.asked("GROW_BATCH_MIN", feed.feed.rate, step, tolerance, *units)
    other = (
        f", or dissolve the feed for {amount(batch, figures.unit_label('beds.volume'))} at once and share it out"
        if batch
        else ""
    )
    yield Action(
        Urgency.NEXT_MIX,
        "scale",
        feed.feed.name,
        f"Weigh it on a finer scale{other}.",
        f"A scale with steps of {amount(step, figures.unit_label('feeds.scale'))} may be off by "
        f"{number(error * 100)} % in the {amount(dose, figures.unit_label('beds.dose'))} for {bed}; "
        f"up to {number(tolerance * 100)} % is good enough.",
    )


EXTRA = {
    "Ca": ("calcium nitrate", "Ca(NO3)2.4H2O"),
    "Mg": ("Epsom salt", "MgSO4.7H2O"),
}
"""The salts by which growers bring in what a feed lacks: common practice, no source."""


def calcium_absent(figures: Figures, feed: FeedWeek) -> Iterator[Action]:
    """A feed in use whose label lists no calcium or no magnesium."""
    missing = [name for name in EXTRA if name in feed.absent]
    if not feed.beds or not missing:
        return
    them = "them" if len(missing) > 1 else "it"
    amounts = [text for name in missing if (text := _extra(figures, name))]
    brings = f" The recipe {figures.recipe} has {' and '.join(amounts)}." if amounts else ""
    yield Action(
        Urgency.NEXT_MIX,
        "analysis",
        feed.feed.name,
        f"Bring in {listed([nutrients()[name].name for name in missing])} "
        f"from {listed([EXTRA[name][0] for name in missing])}, "
        "dissolved apart, unless the source water holds enough.",
        f"The label of {feed.feed.name}, {feed.feed.analysis}, lists no {listed(missing, 'or')}: soft water brings "
        f"little of {them}, and no crop grows without {them}.{brings}",
    )


def _extra(figures: Figures, nutrient: str) -> str:
    """How much of its salt brings the recipe's figure of a nutrient."""
    wanted = figures.asked("GROW_TARGET", figures.recipe, nutrient)
    if wanted is None:
        return ""
    name, salt = EXTRA[nutrient]
    volume = figures.unit("beds.volume")
    mass = figures.asked("GROW_DOSE_FOR", wanted, nutrient, salt, 1, None, volume, figures.unit("beds.dose"))
    if mass is None:
        return ""
    weighed = amount(mass, figures.unit_label("beds.dose"))
    return f"{number(wanted)} ppm {nutrient} ({weighed} of {name} in 1 {figures.unit_label('beds.volume')})"
