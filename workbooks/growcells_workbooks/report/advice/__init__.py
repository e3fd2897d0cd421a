"""What to do next: rules that turn the figures of a log into actions, each with its urgency and its reason.

A rule is a function of the figures of one bed or feed. It gives no action where nothing is amiss, and none where the
log does not hold what the rule needs.
"""

from __future__ import annotations

from ..figures.week_figures import Figures
from .action import Action
from .bed_rules import BED_RULES
from .feed_rules import FEED_RULES


def actions(figures: Figures) -> list[Action]:
    """All actions, the most urgent first, in the order of the log's beds and feeds."""
    found = [action for bed in figures.beds for rule in BED_RULES for action in rule(figures, bed)]
    found += [action for feed in figures.feeds for rule in FEED_RULES for action in rule(figures, feed)]
    return sorted(found, key=lambda action: action.urgency)
