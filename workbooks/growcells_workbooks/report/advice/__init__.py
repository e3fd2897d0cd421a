"""What to do next: rules that turn the figures of a log into actions, each with its urgency and its reason.

A rule is a function of the figures of one bed or feed. It gives no action where nothing is amiss, and none where the
log does not hold what the rule needs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from ..figures.week_figures import BedWeek, FeedWeek, Figures
from .action import Action
from .bed_rules import hardly_possible, jumped, ph_off, readings_stopped, temperature_off, water_low
from .ec_rules import ec_high, ec_low
from .feed_rules import nutrient_absent, runs_out, scale_coarse
from .noted_trouble import trouble_noted

BED_RULES: tuple[Callable[[Figures, BedWeek], Iterator[Action]], ...] = (
    trouble_noted,
    readings_stopped,
    water_low,
    hardly_possible,
    jumped,
    ph_off,
    ec_high,
    ec_low,
    temperature_off,
)
FEED_RULES: tuple[Callable[[Figures, FeedWeek], Iterator[Action]], ...] = (runs_out, scale_coarse)
TOP_UP = "Top up"
"""How what fills a bed up begins."""


def actions(figures: Figures) -> list[Action]:
    """All actions, the most urgent first, in the order of the log's beds and feeds."""
    found = [action for bed in figures.beds for action in of_bed(figures, bed)]
    found += [action for feed in figures.feeds for rule in FEED_RULES for action in rule(figures, feed)]
    found += nutrient_absent(figures)
    return sorted(found, key=lambda action: action.urgency)


def of_bed(figures: Figures, bed: BedWeek) -> list[Action]:
    """The actions on a bed, each said once: what its EC asks for and what its water asks for is one top-up."""
    found = [action for rule in BED_RULES for action in rule(figures, bed)]
    water = next((action for action in found if action.topic == "water"), None)
    strength = next((action for action in found if action.topic == "ec" and action.what.startswith(TOP_UP)), None)
    if water is None or strength is None:
        return found
    both = replace(
        strength,
        urgency=min(water.urgency, strength.urgency),
        what=f"{strength.what} Fill through an air gap.",
        why=f"{water.why} {strength.why}",
        brief=f"{strength.brief}; {water.brief}",
        by=water.by,
    )
    return [both if action is strength else action for action in found if action is not water]
