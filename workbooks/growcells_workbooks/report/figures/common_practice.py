"""Bands and limits that the report uses where the log names none, from data files that name their source."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from ...data import read_data
from ...reading.vocabulary.words import label_key

MEASURES = {"ph": "pH", "ec": "EC", "temperature": "water temperature"}


@dataclass(frozen=True)
class UsualBand:
    """What a measure usually is: for crops (all where none is named), from low to high [unit]."""

    group: str
    """What the crops are together."""
    crops: frozenset[str]
    """The words by which they are known."""
    measure: str
    low: float
    high: float
    unit: str
    source: str


@dataclass(frozen=True)
class Limit:
    """A number that a rule of the report goes by."""

    value: float
    unit: str
    meaning: str
    source: str


@cache
def usual_bands() -> tuple[UsualBand, ...]:
    """The usual bands, those for named crops first."""
    bands = [
        UsualBand(
            row["group"],
            frozenset(filter(None, row["crops"].split("|"))),
            row["measure"],
            float(row["low"]),
            float(row["high"]),
            row["unit"],
            row["source"],
        )
        for row in read_data("usual_bands.csv")
    ]
    return tuple(sorted(bands, key=lambda band: not band.crops))


def usual_band(measure: str, crop: str) -> UsualBand | None:
    """The usual band of a measure for a crop, or None where none is known."""
    names = _names(label_key(crop))
    return next((band for band in usual_bands() if band.measure == measure and _fits(band, names)), None)


def _fits(band: UsualBand, names: frozenset[str]) -> bool:
    return not band.crops or bool(band.crops & names)


def _names(crop: str) -> frozenset[str]:
    """The words of a crop, one by one and in pairs: ``green pak choi`` is a pak choi."""
    words = crop.split()
    pairs = (" ".join(pair) for pair in itertools.pairwise(words))
    return frozenset((*words, *pairs))


@cache
def limits() -> Mapping[str, Limit]:
    """The limits by name."""
    return {
        row["name"]: Limit(float(row["value"]), row["unit"], row["meaning"], row["source"])
        for row in read_data("report_limits.csv")
    }


def limit(name: str) -> float:
    """The value of a limit."""
    return limits()[name].value
