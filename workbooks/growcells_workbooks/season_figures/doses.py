"""What to weigh for a full fill of each bed, part by part in the order of mixing."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from ..reading import Bed, GrowLog
from .not_known import NotKnown
from .parts import PartRate, in_mixing_order
from .rates_in_force import InForce, in_force
from .tanks import full_volume


@dataclass(frozen=True)
class Dose:
    """A part of a full fill: its place in the order of mixing, and how much [g, mL]; None where not known."""

    part: PartRate
    order: int
    grams: float | None
    millilitres: float | None


@dataclass(frozen=True)
class FullFill:
    """A full fill of a bed: its volume [L] and its parts; ``why`` says what of it is not known or taken for granted."""

    bed: Bed
    feed: str
    volume: float | None
    doses: tuple[Dose, ...]
    in_force: InForce | None
    why: str = ""


def full_fill(log: GrowLog, bed: Bed, day: datetime.date) -> FullFill:
    """The full fill of a bed of ``log.on(day)``."""
    problems: list[str] = []
    volume: float | None = None
    try:
        volume = full_volume(log, bed)
    except NotKnown as problem:
        problems.append(str(problem))
    try:
        rule = in_force(log, bed, day)
    except NotKnown as problem:
        return FullFill(bed, bed.feed, volume, (), None, "; ".join([*problems, str(problem)]))
    problems += [rule.word] if rule.word else []
    doses = []
    for order, part in enumerate(in_mixing_order(rule.parts), 1):
        grams, millilitres = part.amount(volume) if volume is not None else (None, None)
        if grams is None and millilitres is None and volume is not None:
            problems.append(f"the log gives no rate of {part.name or 'its feed'}")
        doses.append(Dose(part, order, grams, millilitres))
    return FullFill(bed, rule.feed.name, volume, tuple(doses), rule, "; ".join(problems))


def full_fills(log: GrowLog, day: datetime.date) -> list[FullFill]:
    """The full fill of each bed on a day."""
    on_day = log.on(day)
    return [full_fill(on_day, bed, day) for bed in on_day.beds]
