"""A chart of the report as lines, points and words for a drawing of a fixed size."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from growcells.cells.number_texts import count
from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ..figures.in_words import day_of, listed
from ..pages.page import Chart, Event

WIDTH, HEIGHT = 330, 150
LEFT, RIGHT, TOP, BOTTOM = 36, 288, 10, 126
"""The plot within the drawing."""
SIGNS = {
    "planted": "m0 -6l5 6l-5 6l-5 -6z",
    "changed": "m-4 -4h8v8h-8z",
    "fed": "m0 -5l5 9h-10z",
    "trouble": "m-4 -4l8 8m0 -8l-8 8",
}
"""The signs of what happened, drawn around a point."""
WORDS = {"planted": "planted", "changed": "solution changed", "fed": "fed", "trouble": "trouble noted"}
MOST_TOLD = 3
"""Days that a sentence names; of more it tells the number."""


@dataclass(frozen=True)
class Plot:
    """Where the days and values of a chart lie in its drawing."""

    chart: Chart

    def across(self, day: datetime.date) -> float:
        """Where a day lies; a time of day counts."""
        first = datetime.datetime.combine(self.chart.first, datetime.time())
        whole = self.chart.last - self.chart.first
        moment = day if isinstance(day, datetime.datetime) else datetime.datetime.combine(day, datetime.time())
        return round(LEFT + (moment - first) / whole * (RIGHT - LEFT), 1)

    def down(self, value: float) -> float:
        """Where a value lies."""
        limits = self.chart.scale
        return round(BOTTOM - (value - limits.low) / (limits.high - limits.low) * (BOTTOM - TOP), 1)


def drawn(chart: Chart) -> dict[str, Any]:
    """A chart as the template takes it."""
    plot = Plot(chart)
    ends = [line for line in chart.lines if line.dashed]
    read = [line for line in chart.lines if not line.dashed]
    known = [(day, value) for line in read for day, value in line.points if value is not None]
    latest = known[-1] if known else None
    return {
        "title": chart.title,
        "told": told(chart, known),
        "width": WIDTH,
        "height": HEIGHT,
        "left": LEFT,
        "right": RIGHT,
        "bottom": BOTTOM,
        "band": _band(chart, plot),
        "heights": list(_heights(chart, plot)),
        "days": list(_days(chart, plot)),
        "dashes": [path for line in ends for path in _paths(line.points, plot)],
        "lines": [path for line in read for path in _paths(line.points, plot)],
        "points": [(plot.across(day), plot.down(value)) for day, value in known],
        "signs": [sign for event in chart.events for sign in _signs(event, plot)],
        "latest": latest and {"x": plot.across(latest[0]), "y": plot.down(latest[1]), "text": f"{latest[1]:g}"},
    }


def _band(chart: Chart, plot: Plot) -> dict[str, float] | None:
    if chart.band is None:
        return None
    low, high = chart.band
    top = plot.down(chart.scale.high if high is None else high)
    return {"top": top, "height": round(plot.down(chart.scale.low if low is None else low) - top, 1)}


def _heights(chart: Chart, plot: Plot) -> Iterator[dict[str, Any]]:
    limits = chart.scale
    for number in range(round((limits.high - limits.low) / limits.step) + 1):
        value = limits.low + number * limits.step
        yield {"y": plot.down(value), "text": f"{value:.0f}" if limits.step >= 1 else f"{value:.1f}"}


def _days(chart: Chart, plot: Plot) -> Iterator[dict[str, Any]]:
    """A mark every other week of four; fewer of a longer time."""
    days = (chart.last - chart.first).days
    every = max(round(days / 2 / DAYS_IN_WEEK), 1) * DAYS_IN_WEEK
    for shift in range(0, days + 1, every):
        day = chart.first + datetime.timedelta(days=shift)
        yield {"x": plot.across(day), "text": day_of(day)}


def _paths(points: Sequence[tuple[datetime.date, float | None]], plot: Plot) -> Iterator[str]:
    """A line through points, interrupted where nothing was read."""
    for missing, some in itertools.groupby(points, key=lambda point: point[1] is None):
        if not missing:
            places = (f"{plot.across(day)} {plot.down(value)}" for day, value in some if value is not None)
            yield f"M{'L'.join(places)}"


def _signs(event: Event, plot: Plot) -> Iterator[dict[str, str]]:
    for day, foot in event.points:
        yield {"kind": event.kind, "path": f"M{plot.across(day)} {plot.down(foot)}{SIGNS[event.kind]}"}


def told(chart: Chart, known: Sequence[tuple[datetime.date, float]]) -> str:
    """What a chart shows, in words."""
    parts = [chart.title]
    if known:
        values = [value for _, value in known]
        parts.append(f"latest {known[-1][1]:g} on {day_of(known[-1][0])}")
        parts.append(f"{count(len(values), 'reading')} from {min(values):g} to {max(values):g}")
    else:
        parts.append("no readings")
    if chart.band is not None:
        low, high = chart.band
        ends = [f"from {low:g}" if low is not None else "", f"to {high:g}" if high is not None else ""]
        parts.append(f"band {' '.join(filter(None, ends))}")
    for event in chart.events:
        days = [day_of(day) for day, _ in event.points]
        parts.append(f"{WORDS[event.kind]} {f'on {listed(days)}' if len(days) <= MOST_TOLD else f'{len(days)} times'}")
    return f"{'; '.join(parts)}."
