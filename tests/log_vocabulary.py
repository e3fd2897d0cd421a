"""What growers write in their logs: headings, units, names; all beds and notes are invented."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Way:
    """A unit as it is written, with slope and offset to the fixed unit."""

    spelled: tuple[str, ...]
    slope: float
    offset: float = 0.0
    digits: int = 2
    alone: tuple[str, ...] = ()
    """Headings of the unit alone, or of the meter."""
    unwritten: bool = False
    """Whether the unit may be left out: the numbers or custom tell it."""


@dataclass(frozen=True)
class Measure:
    """What is measured: its labels, its ways to be written, and its range in fixed units."""

    name: str
    labels: tuple[str, ...]
    ways: tuple[Way, ...]
    low: float
    high: float


F = 5 / 9
MEASURES = {
    measure.name: measure
    for measure in (
        Measure(
            "ph",
            (
                "pH",
                "PH",
                "ph",
                "pH reading",
                "pH level",
                "pH of water",
                "Solution pH",
                "Tank pH",
                "pH value",
                "Water pH",
                "What is the pH?",
                "p.H.",
                "pH measured",
                "Reservoir pH",
                "pH (meter)",
                "pH today",
            ),
            (Way(("",), 1, digits=2),),
            5.2,
            7.4,
        ),
        Measure(
            "ec",
            (
                "EC",
                "E.C.",
                "Conductivity",
                "EC reading",
                "Solution EC",
                "ec",
                "Cond.",
                "Conductivty",
                "Electrical conductivity",
                "Tank EC",
                "EC of solution",
                "EC level",
                "Nutrient EC",
                "Nutrient strength",
                "What is the EC?",
                "Water EC",
            ),
            (
                Way(("mS/cm", "mS", "ms/cm", "mS/cm²"[:5], "millisiemens"), 1, digits=2, unwritten=True),
                Way(("µS/cm", "uS/cm", "µS", "uS", "microsiemens"), 0.001, digits=0, unwritten=True),
                Way(("dS/m",), 1, digits=2),
                Way(
                    ("ppm 500", "ppm (500)", "ppm 500 scale", "ppm x500", "ppm @500"),
                    1 / 500,
                    digits=0,
                    alone=("PPM (500)", "TDS 500", "ppm 500 scale", "TDS ppm (500)", "ppm (0.5)", "TDS (500 scale)"),
                ),
                Way(
                    ("ppm 700", "ppm (700)", "ppm 700 scale"),
                    1 / 700,
                    digits=0,
                    alone=("PPM 700", "ppm (700)", "TDS 700 scale", "TDS (0.7)"),
                ),
                Way(("CF",), 0.1, digits=1, alone=("CF",)),
            ),
            0.6,
            2.8,
        ),
        Measure(
            "temperature",
            (
                "Temp",
                "Temperature",
                "Water temp",
                "Water temperature",
                "Temp.",
                "Water temprature",
                "Solution temp",
                "Tank temp",
                "temp of water",
                "H2O temp",
                "Reservoir temp",
                "WaterTemp",
                "water_temp",
                "Root zone temp",
                "What is the water temperature?",
            ),
            (
                Way(("°F", "F", "deg F", "degF", "Fahrenheit", "degrees F", "º F"), F, -32 * F, 1, unwritten=True),
                Way(("°C", "C", "deg C", "Celsius", "degC"), 1, 0, 1, unwritten=True),
            ),
            14,
            27,
        ),
        Measure(
            "depth",
            (
                "Depth",
                "Water depth",
                "Level",
                "Water level",
                "Depth now",
                "Depth of water",
                "Tank level",
                "water level now",
                "Dipstick",
                "How deep is the water?",
            ),
            (
                Way(("in", "inches", "inch", "in.", '"'), 2.54, digits=2, alone=("inches", "inches now")),
                Way(("cm", "centimeters"), 1, digits=1),
                Way(("mm",), 0.1, digits=0),
            ),
            8,
            30,
        ),
        Measure(
            "water_added",
            (
                "Water added",
                "Added water",
                "Top up",
                "Topped up",
                "Water topped up",
                "Top-off",
                "Refill",
                "Water top-up",
                "Water add",
                "How much water did you add?",
                "Makeup water",
                "Fresh water added",
                "H2O added",
            ),
            (
                Way(
                    ("gal", "gallons", "gals", "US gal", "Gal."),
                    3.785411784,
                    digits=2,
                    alone=("added gal", "gal added", "gallons added"),
                ),
                Way(("L", "liters", "litres", "l", "Ltr"), 1, digits=1, alone=("L added", "liters added", "added L")),
                Way(("qt", "quarts"), 0.946352946, digits=1),
                Way(("mL", "ml"), 0.001, digits=0),
            ),
            1,
            40,
        ),
        Measure(
            "feed_added",
            (
                "Feed added",
                "Feed",
                "Fed",
                "Nutrients added",
                "Fertilizer added",
                "Fertiliser added",
                "Added feed",
                "Nutrient added",
                "Fert added",
                "How much feed did you add?",
                "Nutes added",
                "Salts added",
            ),
            (
                Way(
                    ("g", "grams", "gm", "g."), 1, digits=1, alone=("added g", "g added", "grams added"), unwritten=True
                ),
                Way(("oz", "ounces"), 28.349523125, digits=2),
                Way(("kg",), 1000, digits=3),
                Way(("lb", "lbs"), 453.59237, digits=3),
            ),
            20,
            400,
        ),
    )
}
DATES = (
    *(
        "Date",
        "date",
        "DATE",
        "Day",
        "When",
        "Date read",
        "Reading date",
        "Date of reading",
        "Log date",
        "Checked on",
        "Date checked",
    ),
    *("Timestamp", "Visit date", "Recorded on", "Date:", "Date taken", "Sample date"),
)
BED_HEADS = (
    *(
        "Bed",
        "Tub",
        "Tank",
        "Tote",
        "Reservoir",
        "Res",
        "Which bed?",
        "Bed name",
        "Tank #",
        "Tub no.",
        "Channel",
        "Which tank?",
        "Bed ID",
        "BED",
    ),
    *("Raft", "Trough", "Bin", "System", "Location"),
)
NOTE_HEADS = ("Notes", "Remarks", "Comments", "Note", "Observations", "Comment", "Anything else?", "Any comments?")
NOTES = (
    "aphids on the edge",
    "-> leaf tips brown",
    "pump was off",
    "looks good",
    "moved lamp",
    "roots white",
    "a bit of algae",
    "ok",
    "+ shaded",
)
BED_NAMES = (
    lambda n: [f"T{i}" for i in range(1, n + 1)],
    lambda n: [f"Tub {i}" for i in range(1, n + 1)],
    lambda n: [f"Bed {c}" for c in "ABCDEFGH"[:n]],
    lambda n: [f"Tank {i}" for i in range(1, n + 1)],
    lambda n: [f"B-{i:02d}" for i in range(1, n + 1)],
    lambda n: ["North", "South", "East", "West", "Middle", "Porch"][:n],
    lambda n: ["Long tote", "Short tote", "Window tub", "Door tub", "Back raft"][:n],
    lambda n: [f"{c}{i}" for i in (1, 2) for c in "ABC"][:n],
)
CROPS = ("basil", "pak choi", "lettuce", "red oakleaf", "mint", "kale", "arugula")
OTHER_HEADS = (
    *(
        ("Air temp (°F)", lambda r: r.randint(55, 85)),
        ("RH %", lambda r: r.randint(40, 80)),
        ("Checked by", lambda r: r.choice(("AB", "Jo", "me"))),
    ),
    *(
        ("Initials", lambda r: r.choice(("ab", "jk"))),
        ("Humidity", lambda r: r.randint(40, 80)),
        ("Target pH", lambda r: 6.0),
    ),
    *(
        ("DO mg/L", lambda r: round(r.uniform(5, 9), 1)),
        ("Weather", lambda r: r.choice(("sun", "rain"))),
        ("Mood", lambda r: r.randint(1, 5)),
    ),
    *(
        ("Greenhouse temp F", lambda r: r.randint(50, 90)),
        ("PAR", lambda r: r.randint(100, 400)),
        ("Runoff EC mS", lambda r: 1.1),
    ),
)
TITLES = (
    "Daily readings",
    "our log",
    "Readings of the fall, invented",
    "pen calibrated on the first",
    "Garden notebook",
    "Log sheet (demo data)",
    "KEEP UP TO DATE",
)
