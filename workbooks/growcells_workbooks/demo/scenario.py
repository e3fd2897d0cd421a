"""The scenario of the demo. All of it is invented: the garden, the feeds, every reading."""

from __future__ import annotations

import datetime
import random
from dataclasses import dataclass

TITLE = "A shed with four tanks (invented data)"
LAST_DAY = datetime.date(2026, 3, 22)
"""The Sunday on which the invented readings end."""
WEEKS = 3
PLANTED = datetime.date(2026, 3, 2)
"""The Monday on which the tanks were planted and filled, three weeks before the end."""
VISITS = (0, 2, 4, 6)
"""Days of a week on which somebody measures, from Monday."""
REFILL_VISITS = (2, 6)
SEED = 20260322
AS_PEOPLE_TYPE = (
    (9, 2, "about 6"),
    (33, 3, "1.38 mS/cm"),
    (39, 8, "=> looks thirsty, check the float"),
    (45, 8, "thinned, roots white"),
)
"""Row, column and text: a reading that cannot be read, one with its unit, and notes."""
CUBIC_INCHES_IN_GALLON = 231
"""NIST SP 811 Appendix B; for the gallons that somebody would have poured in, roughly."""


@dataclass(frozen=True)
class Tank:
    """A tank as the log lists it: the sizes in their columns, and the formula that its grower typed for the volume."""

    name: str
    crop: str
    feed: str
    length: float
    width: float | None
    depth: float
    volume_formula: str
    ph: float
    ec: float
    drop: float
    """How far the water falls in a day [in]."""
    lowest: float
    """The depth at which pots hang dry [in]."""
    plants: int

    @property
    def targets(self) -> tuple[float, ...]:
        """What is wanted: pH, EC and water °F, each from and to; the lowest depth [in]; and the EC of the tap water."""
        return (5.5, 6.5, round(self.ec - 0.3, 1), round(self.ec + 0.3, 1), 60, 74, self.lowest, 0.2)


TANKS = (
    Tank("Raft 1", "lettuce", "leaf", 60, 30, 9, "=GROW_VOLUME_BOX({length},{width},{depth})", 6.0, 1.5, 0.10, 6, 24),
    Tank("Raft 2", "pak choi", "leaf", 60, 30, 9, "=GROW_VOLUME_BOX({length},{width},{depth})", 6.2, 1.5, 0.14, 6, 18),
    Tank(
        "Tote",
        "basil",
        "leaf",
        24,
        16,
        11,
        "=GROW_VOLUME_TAPER({length},{width},21,13.5,{depth})",
        5.9,
        1.4,
        0.20,
        9.5,
        6,
    ),
    Tank("Barrel", "peppers", "fruit", 22, None, 28, "=GROW_VOLUME_ROUND({length},{depth})", 5.8, 1.9, 0.35, 18, 2),
)
CHANGED_TANK, NEW_LENGTH = "Raft 2", 72.0
"""The tank that is rebuilt in the demo, and its new length [in]."""

FEEDS = (
    ("leaf", "base powder", "8-9-25 Mg 2", 10.0, 28.0, 1.0, 1400.0, 0.1, 2.0),
    ("leaf", "calcium nitrate", "calcium nitrate", 25.0, 26.0, 0.7, 900.0, 0.1, 2.0),
    ("leaf", "Epsom salt", "Epsom salt", 5.0, 9.0, 0.3, 500.0, 0.1, 2.0),
    ("fruit", "dry feed for fruit", "7-9-26 Mg 3.5", 5.0, 17.5, 2.4, 100.0, 1.0, 2.0),
)
"""Name, part, analysis, package [lb], price, rate [g/gal], on hand [g], scale step [g], weeks to delivery."""

FILLED = {"Raft 1": 70.0, "Raft 2": 70.0, "Tote": 16.0, "Barrel": 46.0}
"""Gallons of fresh solution that went into each tank on the day of planting."""

Cell = str | float | datetime.date | None


def readings() -> list[list[Cell]]:
    """Three weeks of readings: date, tank, pH, EC, water °F, depth now, gallons added, grams added, note."""
    chance = random.Random(SEED)
    monday = LAST_DAY - datetime.timedelta(days=7 * WEEKS - 1)
    rows: list[list[Cell]] = []
    fallen = dict.fromkeys((tank.name for tank in TANKS), 0.0)
    for week in range(WEEKS):
        for visit in VISITS:
            day = monday + datetime.timedelta(days=7 * week + visit)
            for tank in TANKS:
                fallen[tank.name] += tank.drop * 2 * chance.uniform(0.8, 1.2)
                rows.append(_reading(tank, day, week, visit, fallen, chance))
    for place, column, typed in AS_PEOPLE_TYPE:
        rows[place][column] = typed
    return rows


def _reading(
    tank: Tank, day: datetime.date, week: int, visit: int, fallen: dict[str, float], chance: random.Random
) -> list[Cell]:
    ph = round(tank.ph + 0.1 * week + chance.uniform(-0.15, 0.15), 1)
    ec = round(tank.ec - 0.05 * week + chance.uniform(-0.06, 0.06), 2)
    water = round(66 + week + chance.uniform(-2, 2))
    depth = round(tank.depth - fallen[tank.name], 2)
    added: Cell = None
    grams: Cell = None
    if visit in REFILL_VISITS:
        added = round(fallen[tank.name] * tank.length * (tank.width or tank.length) / CUBIC_INCHES_IN_GALLON, 1)
        grams = round(2 * added, 1)
        fallen[tank.name] = 0.0
    return [day, tank.name, ph, ec, water, depth, added, grams, None]
