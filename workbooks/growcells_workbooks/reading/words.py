"""What growers call the columns of their logs, from ``data/log_words.csv``, and which heading means which field."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from growcells.cells.arguments import Argument
from growcells.cells.errors import GrowError
from growcells.cells.kinds import (
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
from growcells.cells.units import dimension_name

from ..data import read_data
from .model import READING_NUMBERS

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

MOST_TEXTS = 10_000
"""Texts whose meaning as headings is kept; far more than a log has headings."""

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
    for row in read_data("log_words.csv"):
        words = frozenset(row["words"].split("|"))
        found.setdefault(row["table"], []).append(Field(row["table"], row["field"], row["quantity"], words))
    return {table: tuple(columns) for table, columns in found.items()}


MEASURED = frozenset(READING_NUMBERS)
"""The fields of a reading that are numbers."""

NEEDED: dict[str, tuple[frozenset[str], ...]] = {
    "readings": (frozenset({"date"}), MEASURED),
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
UNIT_WORDS = frozenset({"per", "/", "a", "fl", "us", "uk", "deg", "°"})
"""Words that may stand in a unit of several words beside units: ``g per gal``, ``fl oz``."""
_CURRENCY = frozenset("$€£¥")


@lru_cache(MOST_TEXTS)
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


@lru_cache(MOST_TEXTS)
def is_unit(text: str) -> bool:
    """Whether a text is a unit of anything but time."""
    if text in ("a", "no") or not _UNIT_SHAPE.fullmatch(text):
        return False
    try:
        return dimension_name(text) != "time"  # "water added this week" is water added
    except GrowError:
        return False


def label_key(text: str) -> str:
    """A label as it is compared: lower case, only letters and digits, single spaces."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.casefold()).split())


@lru_cache(MOST_TEXTS)
def splits(heading: str) -> tuple[tuple[str, str], ...]:
    """The ways in which a heading may be a label and a unit: ``water (in)`` is water, in inches."""
    heading = " ".join(heading.split())
    found = [(label_key(heading), "")]
    bracketed = _BRACKETED.match(heading)
    if bracketed:
        label = f"{bracketed['label']} {bracketed['after']}"
        found.append((label_key(label), bracketed["unit"].strip()))
        if not is_unit(bracketed["unit"].strip()):
            found.append((label_key(label), ""))
    if "," in heading:
        label, _, unit = heading.rpartition(",")
        found.append((label_key(label), unit.strip()))
    tokens = heading.split()
    for size in range(1, min(4, len(tokens))):
        if size > 1 and not _may_be_unit(tokens[-size:]):
            break
        found.append((label_key(" ".join(tokens[:-size])), " ".join(tokens[-size:])))
    if len(tokens) > 1:
        found.append((label_key(" ".join(tokens[1:])), tokens[0]))
    if _may_be_unit(tokens):
        found.append((BARE_UNIT, heading))
    return tuple(found)


def _may_be_unit(tokens: list[str]) -> bool:
    """Whether words together may be a unit, which is quicker to tell than which it is."""
    return len(tokens) == 1 or all(token.casefold() in UNIT_WORDS or is_unit(token) for token in tokens)


LABEL_POINTS, PART_POINTS, UNIT_POINTS = 4, 1, 2


@dataclass(frozen=True)
class Claim:
    """A field that a heading may name: how much speaks for it, the unit named ("" for none), and the text that does."""

    points: int
    field: Field
    unit: str
    heading: str

    @property
    def exact(self) -> bool:
        """Whether the whole label is known, not only a word of it."""
        return self.points >= LABEL_POINTS


@dataclass(frozen=True)
class Index:
    """The words of a kind of table, by which the fields that a label may name are found at once."""

    labels: dict[str, list[Field]]
    parts: dict[str, list[tuple[frozenset[str], Field]]]
    """By their first word, those that may be a part of a label."""
    bare: list[Field]
    """The fields that a unit alone may name."""


@cache
def index(table: str) -> Index:
    """The index of a kind of table."""
    found = Index({}, {}, [])
    for field in fields()[table]:
        for word in sorted(field.words):
            if word == BARE_UNIT:
                found.bare.append(field)
                continue
            found.labels.setdefault(word, []).append(field)
            if len(word) > 1:
                found.parts.setdefault(word.split()[0], []).append((frozenset(word.split()), field))
    return found


@lru_cache(MOST_TEXTS)
def claims(headings: tuple[str, ...], table: str) -> tuple[Claim, ...]:
    """The fields of a kind of table that a heading may name; a heading of several rows is several texts."""
    best: dict[str, Claim] = {}
    for heading in headings:
        for label, unit in splits(heading):
            for points, field in _named(label, index(table)):
                known = best.get(field.name)
                if unit and not fits(field.kind, unit):
                    continue
                points += UNIT_POINTS if unit else 0
                if known is None or points > known.points:
                    measured = unit if isinstance(field.kind, Quantity) else ""
                    best[field.name] = Claim(points, field, measured, heading)
    return tuple(best[field.name] for field in fields()[table] if field.name in best)


def _named(label: str, known: Index) -> Iterator[tuple[int, Field]]:
    """The fields that a label may name, and how much speaks for each."""
    if label == BARE_UNIT:
        yield from ((LABEL_POINTS, field) for field in known.bare)
        return
    yield from ((LABEL_POINTS, field) for field in known.labels.get(label, ()))
    parts = frozenset(label.split())
    for part in parts:
        for words, field in known.parts.get(part, ()):
            # "EC ppm" is no conductivity: a unit of something else speaks against a field.
            if words <= parts and not any(map(is_unit, parts - words)):
                yield PART_POINTS, field


def best_claim(headings: tuple[str, ...], table: str, among: frozenset[str]) -> Claim | None:
    """The likeliest of some fields that a text names, or None."""
    offers = [claim for claim in claims(headings, table) if claim.field.name in among]
    return max(offers, key=lambda claim: claim.points, default=None)


@dataclass(frozen=True)
class Match:
    """A row of headings taken for the headings of a kind of table: what each column was taken for."""

    table: str
    columns: dict[int, Claim]
    points: int


Headings = tuple[tuple[int, tuple[str, ...]], ...]
"""For each column its heading, which is several texts where it stands in several rows."""


@lru_cache(MOST_TEXTS)
def match_of(headings: Headings, table: str) -> Match | None:
    """The best way to take headings for those of a kind of table, or None where they are not."""
    order = {field.name: place for place, field in enumerate(fields()[table])}
    offers = [(claim, column) for column, texts in headings for claim in claims(texts, table)]
    columns: dict[int, Claim] = {}
    taken: set[str] = set()
    for claim, column in sorted(offers, key=lambda offer: (-offer[0].points, order[offer[0].field.name], offer[1])):
        if column not in columns and claim.field.name not in taken:
            columns[column] = claim
            taken.add(claim.field.name)
    enough = all(taken & needed for needed in NEEDED[table]) and len(columns) * 2 >= len(headings)
    return Match(table, columns, sum(claim.points for claim in columns.values())) if enough else None


def best_match(headings: Headings) -> Match | None:
    """The kind of table of which these are the headings, or None where they are of none."""
    matches = [match for table in NEEDED if (match := match_of(headings, table))]
    return max(matches, key=lambda match: match.points, default=None)
