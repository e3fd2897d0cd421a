"""The figures of a week, each from the log or worked out with the cell functions."""

from __future__ import annotations

import datetime

from ...reading import GrowLog, Reading
from ...season_figures.due import due
from ...season_figures.part_stock import stocks
from ...season_figures.round_standings import trials
from .bed_figures import bed_week
from .common_practice import limit
from .feed_figures import feed_week
from .iso_week import Week
from .trends import days_between_visits
from .week_figures import Figures


def figures_of(log: GrowLog, week: Week, as_of: datetime.date, recipe: str) -> Figures:
    """Work out the figures of a week of a log, from readings up to ``as_of``, beside a published recipe."""
    log = log.on(as_of)
    figures = Figures(log, week, as_of, recipe)
    known = [reading for reading in log.readings if reading.date <= as_of]
    figures.later = len(log.readings) - len(known)
    order = {bed.name: place for place, bed in enumerate(log.beds)}
    known.sort(key=lambda reading: (order[reading.bed], reading.moment))
    figures.in_week = [reading for reading in known if reading.date in week]
    start, _ = figures.history_days
    figures.history = [reading for reading in known if start <= reading.date <= week.last]
    days = (reading.date for reading in figures.history)
    figures.visit_days = days_between_visits(days) or limit("visit")
    courses: dict[str, list[Reading]] = {bed.name: [] for bed in log.beds}
    for reading in known:
        courses[reading.bed].append(reading)
    figures.beds = [bed_week(figures, bed, courses[bed.name]) for bed in log.beds]
    fills = [bed.fill for bed in figures.beds]
    stock = stocks(log, as_of, fills)
    figures.feeds = [feed_week(figures, feed, [s for s in stock if s.feed is feed]) for feed in log.feeds]
    figures.due = due(log, as_of, fills)
    figures.trials = trials(log, as_of)
    return figures
