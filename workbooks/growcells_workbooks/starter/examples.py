"""The example rows of the starter log: invented, and said so on its first sheet."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

Rows = tuple[Mapping[str, Any], ...]

INVENTED = "example, invented"
PLANTED_BEFORE = 21
"""Days between the planting of the example beds and the day of the log."""


def rows_of(columns: str, *rows: tuple[object, ...]) -> Rows:
    """Rows whose values stand in these columns."""
    names = columns.split()
    return tuple(dict(zip(names, row, strict=True)) for row in rows)


FEEDS = rows_of(
    "feed product analysis package price rate on_hand use lead scale notes",
    ("base", "soluble feed, example", "17-7-21", 5, 14, 1.8, 1500, 60, 2, 1, INVENTED),
    ("half", "the same at half rate", "17-7-21", 5, 14, 0.9, 700, 30, 2, 1, INVENTED),
    (
        "leaf",
        "with calcium, example",
        "16-7-19 Ca 4 Mg 1.5",
        10,
        28,
        2,
        None,
        None,
        None,
        None,
        "example: not in use yet",
    ),
)
BEDS = rows_of(
    "bed crop feed plants shape length width depth notes",
    ("Bed 1", "lettuce", "base", 12, "box", 42, 31, 6, INVENTED),
    ("Bed 2", "lettuce", "half", 8, "round", "22 in", None, "1 ft 6 in", "example: sizes with units"),
    ("Bed 3", "lettuce", "half", 12, "box", "107 cm", "79 cm", "15 cm", INVENTED),
    ("Bed 4", "lettuce", "base", 16, "oval", 48, 24, 8, INVENTED),
)
TARGETS = rows_of(
    "bed ph_low ph_high ec_low ec_high temp_low temp_high lowest water_ec notes",
    ("Bed 1", 5.5, 6.5, 1.2, 1.8, 60, 74, 4.5, 0.2, INVENTED),
    ("Bed 2", 5.5, 6.5, 0.7, 1.2, 60, 74, 15, 0.2, INVENTED),
    ("Bed 3", 5.5, 6.5, 0.7, 1.2, 60, 74, "11 cm", 0.2, INVENTED),
    ("Bed 4", 5.5, 6.5, 1.2, 1.8, 60, 74, 6, 0.2, INVENTED),
)
READINGS = rows_of(
    "days_before bed ph ec temperature depth water_added feed_added notes",
    (4, "Bed 1", 6.1, 1.62, 67, 5.75, None, None, INVENTED),
    (4, "Bed 2", 6.0, 0.93, 68, 17.5, None, None, INVENTED),
    (4, "Bed 3", 6.1, 0.95, 67, "14.5 cm", None, None, INVENTED),
    (4, "Bed 4", 6.0, 1.6, 66, 7.75, None, None, INVENTED),
    (2, "Bed 1", 6.2, 1.58, 66, 5.5, 2.8, 3, None),
    (2, "Bed 2", 6.2, "900 µS/cm", "19.5 °C", 17, 1.5, 1, "a cell may carry its own unit"),
    (0, "Bed 1", 5.9, 1.6, 67, 5.9, None, None, None),
    (0, "Bed 2", 6.1, 0.95, 68, 17.75, None, None, None),
    (0, "Bed 3", 6.2, 0.92, 67, "14 cm", None, None, None),
    (0, "Bed 4", 6.0, 1.58, 66, 7.5, None, None, None),
)
WEIGHTS = rows_of(
    "days_before bed treatment plant mass notes",
    *(
        (0, bed, treatment, plant, mass, INVENTED)
        for bed, treatment, masses in (
            ("Bed 1", "base", (151, 148, 160)),
            ("Bed 2", "half", (121, "dead", 126)),
            ("Bed 3", "half", (131, 118, 124)),
            ("Bed 4", "base", (142, 155, 149)),
        )
        for plant, mass in enumerate(masses, 1)
    ),
)
CLIMATE = rows_of(
    "days_before where air humidity leaf ppfd hours notes",
    (2, "by the door", 72, 61, None, 210, 16, INVENTED),
    (0, "by the door", 74, 55, 72.5, 210, 16, INVENTED),
)


def example_rows(day: datetime.date) -> dict[str, Rows]:
    """The example rows of each table, dated up to a day."""

    def dated(rows: Rows, column: str) -> Rows:
        return tuple({column: day - datetime.timedelta(days=row["days_before"]), **row} for row in rows)

    planted = day - datetime.timedelta(days=PLANTED_BEFORE)
    return {
        "feeds": tuple({**row, "counted": day} for row in FEEDS),
        "beds": tuple({**row, "planted": planted} for row in BEDS),
        "targets": TARGETS,
        "readings": dated(READINGS, "date"),
        "weights": dated(WEIGHTS, "date"),
        "climate": dated(CLIMATE, "at"),
    }
