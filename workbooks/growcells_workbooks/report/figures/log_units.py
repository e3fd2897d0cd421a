"""The units of a log: which of its fields share one, what one is where the log does not say, how it is shown."""

from __future__ import annotations

from collections.abc import Mapping

from growcells.cells.kinds import CONDUCTIVITY, Quantity
from growcells.cells.units import conversion, short_unit

from ...reading.vocabulary.words import fields

ALIKE = {
    "beds.volume": ("readings.water_added",),
    "readings.water_added": ("beds.volume",),
    "beds.dose": ("readings.feed_added",),
    "readings.feed_added": ("beds.dose",),
    "beds.depth": ("readings.depth",),
    "readings.depth": ("beds.depth",),
    "beds.rate": ("feeds.rate",),
    "feeds.rate": ("beds.rate",),
}
"""The fields whose unit is that of a field, where the log does not have it."""
LIQUID = frozenset({"beds.volume", "readings.water_added"})
METRIC_LENGTHS = frozenset({"mm", "cm", "dm", "m"})
"""Who measures tanks in these measures water in litres."""


def log_unit(units: Mapping[str, str], key: str) -> str:
    """The unit of a field, as functions take it: the log's, or that of a field alike, or else the usual one."""
    known = next((units[other] for other in (key, *ALIKE.get(key, ())) if other in units), "")
    if not known and key in LIQUID and "beds.depth" in units and shown_unit(units["beds.depth"]) in METRIC_LENGTHS:
        known = "L"
    return known or usual_unit(key)


def usual_unit(key: str) -> str:
    """The unit that a field has where the log does not say."""
    table, name = key.split(".")
    kind = next(known.kind for known in fields()[table] if known.name == name)
    assert isinstance(kind, Quantity)
    return kind.unit


def paper_of_units(units: Mapping[str, str]) -> str:
    """The paper where neither the command nor the locale names one: Letter for US units, else A4."""
    us = {shown_unit(log_unit(units, key)) for key in ("beds.volume", "beds.depth")} & {"gal", "in"}
    return "Letter" if us else "A4"


def in_unit(value: float, from_unit: str, to_unit: str) -> float:
    """A value in another unit of its kind."""
    if from_unit == to_unit:
        return value
    shorthand = CONDUCTIVITY.shorthand
    slope, offset = conversion(shorthand.get(from_unit, from_unit), shorthand.get(to_unit, to_unit))
    return float(f"{value * slope + offset:.12g}")


_SHOWN = {"degF": "°F", "degC": "°C", "gal_uk": "gal (UK)", "fl_oz": "fl oz"}


def shown_unit(unit: str) -> str:
    """A unit in its short form: ``gal`` for ``gallons``, ``mS/cm`` for ``mS``."""
    short = short_unit(CONDUCTIVITY.shorthand.get(unit, unit))
    return _SHOWN.get(short, short)
