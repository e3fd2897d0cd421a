"""The figures of a feed in a week: what it brings into the water, how long it lasts, what it costs."""

from __future__ import annotations

from collections.abc import Sequence

from growcells.cells.errors import GrowError
from growcells.chemistry.nutrient_bases import ALWAYS_LISTED
from growcells.chemistry.products import solution
from growcells.terms.analyses import parse_analysis

from ...reading import Feed
from ...reading.model import name_key
from ...season_figures.part_stock import PartStock
from ...season_figures.parts import part_rates
from .week_figures import BedWeek, FeedWeek, Figures, Gap


def feed_week(figures: Figures, feed: Feed, parts: list[PartStock]) -> FeedWeek:
    """The figures of a feed whose parts have these stocks."""
    on_it = [bed for bed in figures.beds if name_key(bed.fill.feed) == name_key(feed.name)]
    ppm, problem = _ppm(figures, feed)
    return FeedWeek(feed, on_it, ppm, problem, _gaps(figures, ppm), _cost_of_the_week(on_it), parts)


def _cost_of_the_week(beds: Sequence[BedWeek]) -> float | None:
    """What was added to beds in the week cost; None where that of one is not known."""
    costs = []
    for bed in beds:
        if bed.added_cost is None:
            return None
        costs.append(bed.added_cost * bed.feed_added / bed.feed_to_date if bed.feed_to_date else 0.0)
    return sum(costs) if costs else None


def _ppm(figures: Figures, feed: Feed) -> tuple[dict[str, float] | None, str]:
    """The elements in a litre of water with a whole mix at its rates, or None and why."""
    given = []
    for part in part_rates(figures.log, feed):
        whose = f" of {part.name}" if feed.is_mix else ""
        if part.analysis is None:
            return None, f"the log gives no analysis{whose}" if not part.part.analysis else _why(part.part.analysis)
        if part.grams_in_litre is None:
            lacks = "rate" if part.millilitres is None else "density"
            return None, f"the log gives no {lacks}{whose}"
        given.append((part.grams_in_litre, part.analysis))
    figures.called.add("GROW_PPM_TABLE")
    table = solution(given, 1.0, {})
    return {name: table.get(name, 0.0) for name in ALWAYS_LISTED}, ""


def _why(analysis: str) -> str:
    """Why an analysis cannot be read."""
    try:
        parse_analysis(analysis)
    except GrowError as problem:
        return str(problem)
    return ""


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
