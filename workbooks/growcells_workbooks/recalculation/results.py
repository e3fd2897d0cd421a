"""What a recalculation tells: what became of the formulas."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class FailedCell:
    """A formula whose value is an error, and what to do about it."""

    sheet: str
    cell: str
    formula: str
    code: str
    why: str


@dataclass(frozen=True)
class KeptCell:
    """A formula that could not be computed here, whose stored value was kept."""

    sheet: str
    cell: str
    formula: str
    why: str


@dataclass(frozen=True)
class RestingCell:
    """A formula computed from the stored value of a kept cell, directly or through other cells."""

    sheet: str
    cell: str
    formula: str
    rests_on: str


@dataclass(frozen=True)
class Recalculation:
    """What was computed. ``changed`` counts the cells whose stored value was not the value computed."""

    source: Path
    output: Path | None
    backup: Path | None
    formulas: int
    changed: int
    failed: tuple[FailedCell, ...]
    kept: tuple[KeptCell, ...]
    resting: tuple[RestingCell, ...]
    notes: tuple[str, ...]
