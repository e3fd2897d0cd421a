"""What a bed's dose was in an earlier log, and what it is now: the changes and why."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ...gate import FileProblem
from ...reading import Bed, read_log
from ...reading.model import name_key
from . import figures_of
from .in_words import number
from .iso_week import Week
from .log_units import in_unit
from .week_figures import BedWeek, Figures

SIZES = ("length", "width", "depth")
SAME = 1e-9
"""Relative difference below which two figures are one: the rounding of arithmetic."""


@dataclass(frozen=True)
class Change:
    """A bed before and now, in the units of the log of now; None where there was none."""

    volume: float | None
    dose: float | None
    why: str


@dataclass(frozen=True)
class Previous:
    """An earlier copy of the log, and what is different in each bed by name."""

    name: str
    changes: dict[str, Change]
    gone: tuple[str, ...]


def read_previous(
    path: Path, week: Week, as_of: datetime.date, recipe: str, map_path: Path | None = None
) -> Figures:  # fmt: skip
    """The figures of an earlier copy of the log, read by a mapping file. Raises FileProblem where it is none."""
    log = read_log(path, as_of, map_path=map_path)
    if not log.beds:
        raise FileProblem(f"{path} holds no beds to compare with: give the log as it was, such as a copy of last week")
    return figures_of(log, week, as_of, recipe)


def compared(before: Figures, now: Figures) -> Previous:
    """What changed from one to the other."""
    old = {name_key(bed.name): bed for bed in before.beds}
    new = {name_key(bed.name) for bed in now.beds}
    return Previous(
        before.log.path.name,
        {bed.name: _change(before, now, old.get(name_key(bed.name)), bed) for bed in now.beds},
        tuple(bed.name for key, bed in old.items() if key not in new),
    )


def _change(before: Figures, now: Figures, old: BedWeek | None, new: BedWeek) -> Change:
    if old is None:
        return Change(None, None, "a new bed")
    volume, dose = _before(before, now, old.volume, "beds.volume"), _before(before, now, old.dose, "beds.dose")
    if same(volume, new.volume) and same(dose, new.dose):
        return Change(volume, dose, "")
    reasons = list(_reasons(before, now, old, new))
    return Change(volume, dose, "; ".join(reasons) if reasons else "the log's formulas changed")


def _before(before: Figures, now: Figures, value: float | None, key: str) -> float | None:
    return None if value is None else in_unit(value, before.unit(key), now.unit(key))


def same(one: float | None, other: float | None) -> bool:
    """Whether two figures are equal but for rounding."""
    if one is None or other is None:
        return one is other
    return abs(one - other) <= SAME * max(abs(one), abs(other))


def _reasons(before: Figures, now: Figures, old: BedWeek, new: BedWeek) -> Iterator[str]:
    for name in SIZES:
        yield from _size(before, now, old.bed, new.bed, name)
    if old.bed.shape.casefold() != new.bed.shape.casefold():
        yield f"shape {old.bed.shape or 'not given'} → {new.bed.shape or 'not given'}"
    if name_key(old.bed.feed) != name_key(new.bed.feed):
        yield f"feed {old.bed.feed or 'none'} → {new.bed.feed or 'none'}"
    rate = _before(before, now, old.rate, "feeds.rate")
    if not same(rate, new.rate):
        yield f"rate {number(rate)} → {number(new.rate)} {now.unit_label('feeds.rate')}"


def _size(before: Figures, now: Figures, old: Bed, new: Bed, name: str) -> Iterator[str]:
    key = f"beds.{name}"
    was, is_now = _before(before, now, getattr(old, name), key), getattr(new, name)
    if not same(was, is_now):
        yield f"{'water ' if name == 'depth' else ''}{name} {number(was)} → {number(is_now)} {now.unit_label(key)}"
