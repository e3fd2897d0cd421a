"""The figures of a feed in a week: what it brings into the water, how long it lasts, what it costs."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from growcells.cells.errors import GrowError
from growcells.cells.kinds import SPREADSHEET_EPOCH
from growcells.chemistry.nutrient_bases import ALWAYS_LISTED

from ...reading import Feed
from ...reading.model import name_key
from .bed_figures import added_in
from .common_practice import limit
from .log_units import in_unit
from .week_figures import DAYS_IN_WEEK, HISTORY_WEEKS, BedWeek, FeedWeek, Figures, Gap, cost_of


def feed_week(figures: Figures, feed: Feed) -> FeedWeek:
    on_it = [bed for bed in figures.beds if name_key(bed.bed.feed) == name_key(feed.name)]
    doses = [bed.dose for bed in on_it if bed.dose is not None]
    fill = sum(doses) if doses and len(doses) == len(on_it) else None
    ppm, problem = _ppm(figures, feed)
    on_hand = _on_hand(figures, feed, on_it)
    left = None
    if fill and on_hand is not None:
        units = (figures.unit("feeds.on_hand"), figures.unit("beds.dose"))
        left = figures.calculate(f"the fills left of {feed.name}", "GROW_FILLS_LEFT", on_hand, fill, *units)
    used, to_date = sum(bed.feed_added for bed in on_it), sum(bed.feed_to_date for bed in on_it)
    use, use_from = _use_per_week(figures, feed, on_it)
    lead = limit("lead") if feed.lead is None else in_unit(feed.lead, figures.unit("feeds.lead"), "week")
    return FeedWeek(
        feed=feed,
        beds=on_it,
        ppm=ppm,
        problem=problem,
        gaps=_gaps(figures, ppm),
        fill=fill,
        fills_left=left,
        used=used,
        used_to_date=to_date,
        used_cost=cost_of(figures, f"the cost of {feed.name} in the week", feed, used, "readings.feed_added"),
        cost_to_date=cost_of(figures, f"the cost of {feed.name} to date", feed, to_date, "readings.feed_added"),
        on_hand=on_hand,
        use_per_week=use,
        use_from=use_from,
        lead=lead,
        order_by=_order_by(figures, feed, on_hand, use, lead),
    )


def _on_hand(figures: Figures, feed: Feed, beds: Sequence[BedWeek]) -> float | None:
    """What is left: the count less what was added to beds since the day of the count, where the log gives that day."""
    if feed.on_hand is None or feed.counted is None:
        return feed.on_hand
    since = [reading for bed in beds for reading in bed.course if reading.date > feed.counted]
    used = figures.converted(added_in(since, "feed_added"), "readings.feed_added", "feeds.on_hand")
    return max(feed.on_hand - used, 0.0)


def _use_per_week(figures: Figures, feed: Feed, beds: Sequence[BedWeek]) -> tuple[float | None, str]:
    """What is used in a week, in the unit of the stock: as the log says, or else as was added in the last weeks."""
    if feed.use:
        return figures.converted(feed.use, "feeds.use", "feeds.on_hand"), "the log"
    start = figures.as_of - datetime.timedelta(weeks=HISTORY_WEEKS)
    lately = [reading for bed in beds for reading in bed.course if reading.date > start]
    added = added_in(lately, "feed_added")
    if not added:
        return None, ""
    weeks = max((figures.as_of - min(reading.date for reading in lately)).days / DAYS_IN_WEEK, 1.0)
    return figures.converted(added / weeks, "readings.feed_added", "feeds.on_hand"), "the feed added"


def _order_by(
    figures: Figures, feed: Feed, on_hand: float | None, use: float | None, lead: float
) -> datetime.date | None:
    if on_hand is None or not use:
        return None
    day = float((figures.as_of - SPREADSHEET_EPOCH).days)
    unit = figures.unit("feeds.on_hand")
    serial = figures.calculate(f"the day to order {feed.name}", "GROW_REORDER", on_hand, use, lead, day, unit, unit)
    if serial is None:
        return None
    try:
        return SPREADSHEET_EPOCH + datetime.timedelta(days=int(serial // 1))
    except OverflowError:  # a day that no calendar has
        return None


def _ppm(figures: Figures, feed: Feed) -> tuple[dict[str, float] | None, str]:
    """The elements in a litre of water with a feed at its rate, or None and why."""
    if not feed.analysis:
        return None, "the log gives no analysis"
    if not feed.rate:
        return None, "the log gives no rate"
    ppm = {}
    try:
        mass = figures.call("GROW_DOSE", 1, feed.rate, "L", figures.unit("feeds.rate"), "g")
        for name in ALWAYS_LISTED:
            value = figures.call("GROW_PPM", mass, 1, feed.analysis, name, "g", "L")
            assert isinstance(value, float)
            ppm[name] = value
    except GrowError as problem:
        return None, str(problem)
    return ppm, ""


def _gaps(figures: Figures, ppm: dict[str, float] | None) -> list[Gap]:
    if ppm is None:
        return []
    try:
        table = figures.call("GROW_GAPS", tuple(ppm.items()), figures.recipe)
    except GrowError as problem:  # a rate beyond any that is weighed
        figures.problems.append(f"the nutrients of a feed beside {figures.recipe}: {problem}")
        return []
    assert isinstance(table, tuple)
    return [
        Gap(name, got, wanted, None if isinstance(percent, str) else percent, verdict)
        for name, got, wanted, percent, verdict in table[1:]
    ]
