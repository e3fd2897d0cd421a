"""The example rows of the starter log: invented, and said so on its first sheet."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

Rows = tuple[Mapping[str, object], ...]

BEDS: Rows = (
    {
        **{"bed": "Bed 1", "crop": "lettuce", "feed": "base", "plants": 12, "shape": "box"},
        **{"length": 45, "width": 29, "depth": 5, "notes": "example, invented"},
    },
    {
        **{"bed": "Bed 2", "crop": "lettuce", "feed": "half", "plants": 8, "shape": "round"},
        **{"length": "22 in", "width": None, "depth": "1 ft 6 in", "notes": "example: sizes with units"},
    },
    {
        **{"bed": "Bed 3", "crop": "lettuce", "feed": "half", "plants": 12, "shape": "box"},
        **{"length": "114 cm", "width": "74 cm", "depth": "13 cm", "notes": "example, invented"},
    },
    {
        **{"bed": "Bed 4", "crop": "lettuce", "feed": "base", "plants": 16, "shape": "oval"},
        **{"length": 48, "width": 24, "depth": 8, "notes": "example, invented"},
    },
)

TARGETS: Rows = tuple(
    {
        **{"bed": bed, "ph_low": 5.5, "ph_high": 6.5, "ec_low": low, "ec_high": high},
        **{"temp_low": 60, "temp_high": 74, "lowest": lowest, "water_ec": 0.2, "notes": "example, invented"},
    }
    for bed, low, high, lowest in (
        ("Bed 1", 1.2, 1.8, 3.5),
        ("Bed 2", 0.7, 1.2, 15),
        ("Bed 3", 0.7, 1.2, "9 cm"),
        ("Bed 4", 1.2, 1.8, 6),
    )
)

FEEDS: Rows = (
    {
        **{"feed": "base", "product": "soluble feed, example", "analysis": "18-9-18", "package": 5, "price": 14},
        **{"rate": 2, "on_hand": 1500, "use": 60, "lead": 2, "scale": 1, "notes": "example, invented"},
    },
    {
        **{"feed": "half", "product": "the same at half rate", "analysis": "18-9-18", "package": 5, "price": 14},
        **{"rate": 1, "on_hand": 700, "use": 30, "lead": 2, "scale": 1, "notes": "example, invented"},
    },
    {
        **{"feed": "leaf", "product": "with calcium, example", "analysis": "15-5-20 Ca 4 Mg 1.5", "package": 10},
        **{"price": 28, "rate": 2, "notes": "example: not in use yet"},
    },
)

PLANTED_BEFORE = 21
"""Days between the planting of the example beds and the day of the log."""
_READINGS = (
    (4, "Bed 1", 6.1, 1.62, 67, 4.75, None, None, "example, invented"),
    (4, "Bed 2", 6.0, 0.93, 68, 17.5, None, None, "example, invented"),
    (4, "Bed 3", 6.1, 0.95, 67, "12.5 cm", None, None, "example, invented"),
    (4, "Bed 4", 6.0, 1.6, 66, 7.75, None, None, "example, invented"),
    (2, "Bed 1", 6.2, 1.58, 66, 4.5, 2.5, 3, ""),
    (2, "Bed 2", 6.2, "900 µS/cm", "19.5 °C", 17, 1.5, 1, "a cell may carry its own unit"),
    (0, "Bed 1", 5.9, 1.6, 67, 4.9, None, None, ""),
    (0, "Bed 2", 6.1, 0.95, 68, 17.75, None, None, ""),
    (0, "Bed 3", 6.2, 0.92, 67, "12 cm", None, None, ""),
    (0, "Bed 4", 6.0, 1.58, 66, 7.5, None, None, ""),
)
_READING_FIELDS = ("bed", "ph", "ec", "temperature", "depth", "water_added", "feed_added", "notes")
_WEIGHTS = (
    ("Bed 1", "base", (151, 148, 160)),
    ("Bed 2", "half", (121, "dead", 126)),
    ("Bed 3", "half", (131, 118, 124)),
    ("Bed 4", "base", (142, 155, 149)),
)
_CLIMATE = ((2, "by the door", 72, 61, None, 210, 16), (0, "by the door", 74, 55, 72.5, 210, 16))
_CLIMATE_FIELDS = ("where", "air", "humidity", "leaf", "ppfd", "hours")


def example_rows(day: datetime.date) -> dict[str, Rows]:
    """The example rows of each table, dated up to a day."""
    planted = day - datetime.timedelta(days=PLANTED_BEFORE)
    readings = tuple(
        {"date": day - datetime.timedelta(days=before), **dict(zip(_READING_FIELDS, values, strict=True))}
        for before, *values in _READINGS
    )
    weights = tuple(
        {"date": day, "bed": bed, "treatment": treatment, "plant": number, "mass": mass, "notes": "example, invented"}
        for bed, treatment, masses in _WEIGHTS
        for number, mass in enumerate(masses, 1)
    )
    climate = tuple(
        {
            "at": day - datetime.timedelta(days=before),
            **dict(zip(_CLIMATE_FIELDS, values, strict=True)),
            "notes": "example, invented",
        }
        for before, *values in _CLIMATE
    )
    return {
        "beds": tuple({**row, "planted": planted} for row in BEDS),
        "targets": TARGETS,
        "feeds": tuple({**row, "counted": day} for row in FEEDS),
        "readings": readings,
        "weights": weights,
        "climate": climate,
    }
