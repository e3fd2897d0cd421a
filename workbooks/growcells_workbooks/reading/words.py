"""What growers call the columns of their logs, from ``data/log_words.csv``, and which heading means which field."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

from growcells.errors import GrowError
from growcells.kinds import (
    CONCENTRATION,
    CONDUCTIVITY,
    LENGTH,
    MASS,
    MONEY,
    NUMBER,
    PACKAGE,
    RATE,
    TEMPERATURE,
    TEXT,
    VOLUME,
    WEEKS,
    Kind,
    Number,
    Quantity,
)
from growcells.registry import Argument
from growcells.units import dimension_name

PH_LIMIT = 14.0
"""The pH scale of meters runs from 0 to 14; common practice, no source."""

PH = Number("pH", "6.1")

ARGUMENTS = {
    "text": Argument("text", TEXT, "a text"),
    "date": Argument("date", TEXT, "a date"),
    "number": Argument("number", NUMBER, "a number", zero=True),
    "ph": Argument("pH", PH, "the pH as the meter shows it", low=0.0, high=PH_LIMIT),
    "length": Argument("length", LENGTH, "a length", zero=True),
    "volume": Argument("volume", VOLUME, "a volume", zero=True),
    "mass": Argument("mass", MASS, "a mass", zero=True),
    "package": Argument("package", PACKAGE, "the mass in a package"),
    "rate": Argument("rate", RATE, "a rate such as grams a gallon", zero=True),
    "concentration": Argument("ppm", CONCENTRATION, "a concentration", zero=True),
    "conductivity": Argument("EC", CONDUCTIVITY, "a conductivity", zero=True),
    "temperature": Argument("temperature", TEMPERATURE, "a water temperature", negative=True, low=-5.0, high=100.0),
    "money": Argument("price", MONEY, "a price", zero=True),
    "weeks": Argument("time", WEEKS, "a time in weeks", zero=True),
}
"""How a cell of each kind of column is read, with the limits beyond which it cannot be a reading."""

BARE_UNIT = "*"
"""Stands among a field's words where a unit alone, such as ``gallons``, is heading enough."""


@dataclass(frozen=True)
class Field:
    """A field of a table: how its cells are read and what growers call it."""

    table: str
    name: str
    quantity: str
    words: frozenset[str]

    @property
    def kind(self) -> Kind:
        """The kind of its cells."""
        return ARGUMENTS[self.quantity].kind


@cache
def fields() -> dict[str, tuple[Field, ...]]:
    """The fields of each kind of table, in the order in which they claim headings."""
    found: dict[str, list[Field]] = {}
    text = resources.files("growcells_workbooks").joinpath("data/log_words.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        words = frozenset(row["words"].split("|"))
        found.setdefault(row["table"], []).append(Field(row["table"], row["field"], row["quantity"], words))
    return {table: tuple(columns) for table, columns in found.items()}


NEEDED: dict[str, tuple[frozenset[str], ...]] = {
    "readings": (frozenset({"date"}), frozenset({"ph", "ec", "temperature", "water_added", "feed_added", "depth"})),
    "weights": (frozenset({"bed", "treatment"}), frozenset({"mass"})),
    "feeds": (frozenset({"feed"}), frozenset({"analysis", "rate", "price", "package", "on_hand"})),
    "beds": (
        frozenset({"bed"}),
        frozenset(
            {"crop", "feed", "length", "depth", "volume", "dose", "n_ppm", "planted", "lowest", "ph_low", "ec_low"}
        ),
    ),
}
"""What makes a table one of its kind: a field of each set."""

_UNIT_SHAPE = re.compile(r"[A-Za-zµμ°/%.²³$€£¥\"' ]{1,20}")
_BRACKETED = re.compile(r"^(?P<label>.*?)\s*[(\[](?P<unit>[^)\]]*)[)\]]\s*(?P<after>.*)$")
_CURRENCY = frozenset("$€£¥")


@cache
def fits(kind: Kind, unit: str) -> bool:
    """Whether a text is a unit that measures this kind."""
    if kind is MONEY:
        return unit in _CURRENCY
    if not isinstance(kind, Quantity) or not _UNIT_SHAPE.fullmatch(unit):
        return False
    spelled = kind.shorthand.get(unit.strip(), unit)
    try:
        return dimension_name(spelled) == dimension_name(kind.inside)
    except GrowError:
        return False


def label_key(text: str) -> str:
    """A label as it is compared: lower case, only letters and digits, single spaces."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.casefold()).split())


@cache
def splits(heading: str) -> tuple[tuple[str, str], ...]:
    """The ways in which a heading may be a label and a unit: ``water (in)`` is water, in inches."""
    heading = " ".join(heading.split())
    found = [(label_key(heading), "")]
    bracketed = _BRACKETED.match(heading)
    if bracketed:
        label = f"{bracketed['label']} {bracketed['after']}"
        found += [(label_key(label), bracketed["unit"].strip()), (label_key(label), "")]
    if "," in heading:
        label, _, unit = heading.rpartition(",")
        found.append((label_key(label), unit.strip()))
    tokens = heading.split()
    for size in range(1, min(4, len(tokens))):
        found.append((label_key(" ".join(tokens[:-size])), " ".join(tokens[-size:])))
    if len(tokens) > 1:
        found.append((label_key(" ".join(tokens[1:])), tokens[0]))
    found.append((BARE_UNIT, heading))
    return tuple(found)


LABEL_POINTS, PART_POINTS, UNIT_POINTS = 4, 1, 2


def claims(heading: str, table: str) -> Iterator[tuple[int, Field, str]]:
    """The fields of a kind of table that a heading may name: points, field, unit ("" where it names none)."""
    for field in fields()[table]:
        best = max((_points(field, label, unit) for label, unit in splits(heading)), key=lambda claim: claim[0])
        if best[0]:
            yield best[0], field, best[1]


def _points(field: Field, label: str, unit: str) -> tuple[int, str]:
    if unit and not fits(field.kind, unit):
        return 0, ""
    measured = unit if isinstance(field.kind, Quantity) else ""
    if label == BARE_UNIT:
        return (LABEL_POINTS + UNIT_POINTS, measured) if BARE_UNIT in field.words else (0, "")
    extra = UNIT_POINTS if unit else 0
    if label in field.words:
        return LABEL_POINTS + extra, measured
    parts = set(label.split())
    if any(parts.issuperset(word.split()) for word in field.words if len(word) > 1):
        return PART_POINTS + extra, measured
    return 0, ""


@dataclass(frozen=True)
class Match:
    """A row of headings taken for the headings of a kind of table: for each column its field and unit."""

    table: str
    columns: dict[int, tuple[Field, str]]
    points: int


@cache
def _match(headings: tuple[tuple[int, str], ...], table: str) -> Match | None:
    order = {field.name: place for place, field in enumerate(fields()[table])}
    offers = [
        (points, -order[field.name], column, field, unit)
        for column, heading in headings
        for points, field, unit in claims(heading, table)
    ]
    columns: dict[int, tuple[Field, str]] = {}
    taken: set[str] = set()
    total = 0
    for points, _, column, field, unit in sorted(offers, key=lambda offer: (-offer[0], -offer[1], offer[2])):
        if column not in columns and field.name not in taken:
            columns[column] = (field, unit)
            taken.add(field.name)
            total += points
    enough = all(taken & needed for needed in NEEDED[table]) and len(columns) * 2 >= len(headings)
    return Match(table, columns, total) if enough else None


def best_match(headings: Sequence[tuple[int, str]]) -> Match | None:
    """The kind of table of which a row of (column, text) is the headings, or None where it is of none."""
    matches = [match for table in NEEDED if (match := _match(tuple(headings), table))]
    return max(matches, key=lambda match: match.points, default=None)
