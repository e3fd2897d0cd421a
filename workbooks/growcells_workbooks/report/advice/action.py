"""Something to do, and how soon."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Urgency(IntEnum):
    """How soon something should be done."""

    TODAY = 1
    THIS_WEEK = 2
    NEXT_MIX = 3

    @property
    def word(self) -> str:
        """The urgency as people read it."""
        return self.name.lower().replace("_", " ")


@dataclass(frozen=True)
class Action:
    """Something to do: where, what and why, with the figures in both."""

    urgency: Urgency
    topic: str
    about: str
    what: str
    why: str
