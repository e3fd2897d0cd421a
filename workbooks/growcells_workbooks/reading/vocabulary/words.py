"""What a heading may say: the fields that it names by the words of ``data/log_words.csv``, and the unit beside them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache, lru_cache

from growcells.cells.arguments import Argument
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
)

from ...data import read_data
from ..model.entries import READING_NUMBERS
from .units import MOST_TEXTS, Unit, is_unit, unit_of

PH_LIMIT = 14.0
"""The pH scale of meters runs from 0 to 14; common practice, no source."""
PH = Number("pH", "6.1")
ARGUMENTS = {
    "text": Argument("text", TEXT, "a text"),
    "date": Argument("date", TEXT, "a date"),
    "time": Argument("time", TEXT, "a time of day"),
    "part": Argument("part of a date", TEXT, "a year or a month"),
    "size": Argument("size", TEXT, "length, width and depth"),
    "value": Argument("value", TEXT, "a measured value"),
    "several": Argument("values", TEXT, "several measured values"),
    "ph range": Argument("pH", TEXT, "a range of pH"),
    "conductivity range": Argument("EC", TEXT, "a range of conductivity"),
    "temperature range": Argument("temperature", TEXT, "a range of temperature"),
    "number": Argument("number", NUMBER, "a number", zero=True),
    "amount": Argument("number", NUMBER, "a number", zero=True),
    "ph": Argument("pH", PH, "the pH as the meter shows it", low=0.0, high=PH_LIMIT),
    "length": Argument("length", LENGTH, "a length", zero=True),
    "volume": Argument("volume", VOLUME, "a volume", zero=True),
    "mass": Argument("mass", MASS, "a mass", zero=True),
    "package": Argument("package", PACKAGE, "the mass in a package", zero=True),
    "rate": Argument("rate", RATE, "a rate such as grams a gallon", zero=True),
    "concentration": Argument("ppm", CONCENTRATION, "a concentration", zero=True),
    "conductivity": Argument("EC", CONDUCTIVITY, "a conductivity", zero=True),
    "temperature": Argument("temperature", TEMPERATURE, "a water temperature", negative=True, low=-5.0, high=100.0),
    "money": Argument("price", MONEY, "a price", zero=True),
    "price": Argument("price", MONEY, "a price", zero=True),
    "weeks": Argument("time", WEEKS, "a time in weeks", zero=True),
}
"""How a cell of each kind of column is read, with the limits beyond which it cannot be a reading."""
NOT_NUMBERS = frozenset({"text", "date", "time", "part", "size", "value", "several"})
BARE_UNIT = "*"
"""Stands among a field's words where a unit alone, such as ``gallons``, is heading enough."""
NEEDS_UNIT = "~"
"""Ends a word of a field that means it only beside a unit: ``water (in)`` is a depth, ``water`` may be anything."""
CURRENCY = frozenset({"$", "€", "£", "¥", "usd", "eur", "gbp", "cad", "aud", "dollars", "dollar"})
Tokens = frozenset[str]


@dataclass(frozen=True)
class Field:
    """A field of a table: how its cells are read and what growers call it."""

    table: str
    name: str
    quantity: str
    phrases: frozenset[tuple[Tokens, bool]] = field(compare=False)
    """The words that name it together, and whether they do so only beside a unit."""
    beside: Tokens = field(compare=False)
    """Words that may stand beside those and change nothing."""
    bare: bool = False
    """Whether a unit alone names it."""

    @property
    def kind(self) -> Kind:
        """The kind of its cells."""
        return ARGUMENTS[self.quantity].kind

    @property
    def is_number(self) -> bool:
        """Whether its cells are numbers."""
        return self.quantity not in NOT_NUMBERS


_CAMEL = re.compile(r"(?<=[a-z]{3})(?=[A-Z])|(?<=[a-z]{2}[a-z])(?=[A-Z])")
_APOSTROPHE = re.compile(r"(?<=\w)['’](?=\w)")
_SIGNS = re.compile(r"[^\w%]+|_")


@lru_cache(MOST_TEXTS)
def words_of(text: str) -> tuple[str, ...]:
    """The words of a label in the order written: lower case, without signs and plural endings."""
    plain = text
    if not (text.isascii() and text.islower() and text.replace(" ", "").isalpha()):  # as nearly all words of ours are
        plain = _APOSTROPHE.sub("", _CAMEL.sub(" ", text)).casefold().replace("p.h", "ph").replace("e.c", "ec")
        plain = _SIGNS.sub(" ", plain)
    return tuple(_singular(word) for word in plain.split())


def _singular(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us")) else word


def label_key(text: str) -> str:
    """A label as it is compared: lower case, only letters and digits, single spaces."""
    return " ".join(re.sub(r"[^\w]+|_", " ", text.casefold()).split())


def _words_in(name: str) -> Tokens:
    """The words of a row of the vocabulary that is of no field."""
    (row,) = (row for row in read_data("log_words.csv") if row["field"] == name)
    return frozenset(word for phrase in row["words"].split("|") for word in words_of(phrase))


@cache
def _fillers() -> Tokens:
    return _words_in("filler")


@cache
def others() -> Tokens:
    """Words of headings that many logs have and that name nothing that is used here."""
    return _words_in("other") - _fillers()


@cache
def _groups() -> Tokens:
    return _words_in("group") - _fillers()


def _tokens(phrase: str) -> Tokens:
    words = frozenset(words_of(phrase))
    return (words - _fillers()) or words


@cache
def fields() -> dict[str, tuple[Field, ...]]:
    """The fields of each kind of table."""
    found: dict[str, list[Field]] = {}
    for row in read_data("log_words.csv"):
        if row["table"] == "any":
            continue
        phrases = [phrase for phrase in row["words"].split("|") if phrase not in ("", BARE_UNIT)]
        known = frozenset((_tokens(phrase), phrase.endswith(NEEDS_UNIT)) for phrase in phrases)
        beside = frozenset(word for phrase in row["beside"].split("|") for word in words_of(phrase)) | _fillers()
        bare = BARE_UNIT in row["words"].split("|")
        new = Field(row["table"], row["field"], row["quantity"], known, beside, bare)
        found.setdefault(row["table"], []).append(new)
    return {table: tuple(columns) for table, columns in found.items()}


@cache
def field_of(table: str, name: str) -> Field:
    """A field by its name."""
    return next(known for known in fields()[table] if known.name == name)


MEASURED = frozenset(READING_NUMBERS)
"""The fields of a reading that are numbers."""
MEASURED_OR_NOTED = MEASURED | {"notes"}
LONGEST_HEADING = 90
"""Characters beyond which a text is no heading; ours."""
MOST_WORDS = 14
"""Words beyond which a text is no heading; ours."""
LABEL_POINTS, UNIT_POINTS, BARE_POINTS, WORD_POINT = 4.0, 2.0, 3.0, 0.25


@dataclass(frozen=True)
class Claim:
    """A field that a heading may name, the unit written with it, how much speaks for it, whether it is spelled so."""

    field: Field
    unit: Unit | None
    points: float
    exact: bool = True
    bare: bool = False
    """Whether the heading is a unit alone."""


@cache
def _by_word() -> dict[str, tuple[tuple[Tokens, bool, Field], ...]]:
    """The phrases of all fields by one of their words."""
    found: dict[str, list[tuple[Tokens, bool, Field]]] = {}
    for known in (known for table in fields().values() for known in table):
        for phrase, needs_unit in known.phrases:
            found.setdefault(min(phrase), []).append((phrase, needs_unit, known))
    return {word: tuple(phrases) for word, phrases in found.items()}


@cache
def _naming_words() -> Tokens:
    """All words of the phrases that name fields."""
    return frozenset().union(*(phrase for of in _by_word().values() for phrase, _, _ in of))


@cache
def _known_words() -> dict[str, tuple[str, ...]]:
    """All words that headings may have, by their first letter."""
    words = set(_fillers() | others())
    for known in (known for table in fields().values() for known in table):
        words |= known.beside.union(*(phrase for phrase, _ in known.phrases))
    found: dict[str, list[str]] = {}
    for word in sorted(words):
        found.setdefault(word[0], []).append(word)
    return {letter: tuple(alike) for letter, alike in found.items()}


def is_filler(word: str) -> bool:
    """Whether a word may stand in any heading and says nothing."""
    return word in _fillers()


def is_word(word: str) -> bool:
    """Whether a word stands in headings."""
    return word in _known_words().get(word[:1], ())


@cache
def words_of_readings() -> Tokens:
    """The words that headings of readings may have."""
    found = _fillers() | others()
    return found.union(*(known.beside.union(*(p for p, _ in known.phrases)) for known in fields()["readings"]))


SHORTEST_MISSPELT = 5
"""Letters of the shortest word that is taken for another by its looks; ours."""
ALIKE = 0.82
"""How alike a misspelt word must be to one that is known, by difflib's ratio; ours."""


@lru_cache(MOST_TEXTS)
def _corrected(word: str) -> str:
    """The known word that a misspelt one looks like, or the word itself."""
    known = _known_words().get(word[:1], ())
    if len(word) < SHORTEST_MISSPELT or word in known:
        return word
    near = [other for other in known if len(other) >= SHORTEST_MISSPELT - 1 and abs(len(other) - len(word)) < 3]
    return next(iter(difflib.get_close_matches(word, near, 1, ALIKE)), word)


def _fields_named(tokens: Tokens, has_unit: bool) -> Iterator[tuple[Field, float]]:
    """The fields that the words of a label name, and how much speaks for each."""
    for word in tokens:
        for phrase, needs_unit, known in _by_word().get(word, ()):
            if phrase <= tokens and (has_unit or not needs_unit):
                rest = tokens - phrase
                if not rest or rest <= known.beside or rest <= known.beside.union(*(p for p, _ in known.phrases)):
                    yield known, LABEL_POINTS + WORD_POINT * len(phrase) - WORD_POINT * bool(rest - known.beside)


_PRICE_OF = re.compile(r"^\s*[$€£¥]\s*(?:/|\bper\b|\ba\b|(?=each\b))\s*")
"""A sign of money before what it buys: ``$/lb``."""
_BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
_LONE = frozenset({"in", "a", "m", "l", "c", "d", "g", "f", "t", "s", "pt", "mt", "ft", "#"})
"""Units that are words or letters of other meaning in the middle of a heading."""
_JOINTS = " ,;:-–—/|="


def is_too_long(heading: str) -> bool:
    """Whether a text is longer than any heading."""
    return len(heading) > LONGEST_HEADING or len(heading.split()) > MOST_WORDS


@lru_cache(MOST_TEXTS)
def splits(heading: str) -> tuple[tuple[str, str], ...]:
    """The ways in which a heading may be a label and the text of a unit: ``water (in)`` is water, in inches.

    None of a text that is too long for a heading: its ways grow with the square of its length.
    """
    if is_too_long(heading):
        return ()
    heading = " ".join(heading.split())
    found = [(heading, "")]
    for match in _BRACKETS.finditer(heading):
        label = f"{heading[: match.start()]} {heading[match.end() :]}"
        inside = match[1].strip()
        found += [(label, inside), *((label, inside.removeprefix(word)) for word in ("in ", "as ") if word in inside)]
    words = heading.replace("(", " ").replace(")", " ").replace("[", " ").replace("]", " ").split()
    for size in range(1, min(6, len(words)) + 1):
        for start in range(len(words) - size + 1):
            end = start + size
            unit = " ".join(words[start:end]).strip(_JOINTS + "?.")
            if size == 1 and start > 0 and end < len(words) and unit.casefold() in _LONE:
                continue
            label = " ".join((*words[:start], *words[end:])).strip(_JOINTS)
            found.append((label, unit))
    for sign in ",-/_:":
        if sign in heading:
            label, _, unit = heading.rpartition(sign)
            found.append((label, unit.strip()))
    return tuple(found)


@lru_cache(MOST_TEXTS)
def all_claims(heading: str, corrected: bool = False) -> tuple[Claim, ...]:
    """The fields of all kinds of tables that a heading may name, the likeliest way for each."""
    if not heading or is_too_long(heading):
        return ()
    best: dict[tuple[str, str], Claim] = {}
    heading = _PRICE_OF.sub("price per ", _CAMEL.sub(" ", heading).replace("_", " ")).rstrip(" :")
    words = frozenset(map(_corrected, words_of(heading)) if corrected else words_of(heading))
    if words.isdisjoint(_naming_words()) and not any(map(is_unit, (heading, *heading.split()))):
        return ()
    of_meter = bool({"ppm", "tds"} & words)
    for label, unit_text in splits(heading):
        if unit_text and not _may_be_unit(unit_text):
            continue
        tokens = frozenset(map(_corrected, words_of(label)) if corrected else words_of(label))
        tokens = (tokens - _fillers()) or tokens
        for known, points in _fields_named(tokens, bool(unit_text)):
            # What a meter shows as ppm is nothing without its scale.
            _offer(
                best,
                known,
                unit_text or ("ppm" if of_meter and known.quantity == "conductivity" else ""),
                points,
                not corrected,
            )
        if not tokens or tokens <= _fillers():
            for known in _bare():
                if unit_text:
                    _offer(best, known, unit_text, BARE_POINTS - UNIT_POINTS, not corrected, bare=True)
    return tuple(best.values())


@lru_cache(MOST_TEXTS)
def _may_be_unit(text: str) -> bool:
    return is_unit(text) or text.casefold() in CURRENCY or unit_of("conductivity", text) is not None


@cache
def _bare() -> tuple[Field, ...]:
    return tuple(known for table in fields().values() for known in table if known.bare)


def _offer(
    best: dict[tuple[str, str], Claim], known: Field, unit_text: str, points: float, exact: bool, bare: bool = False
) -> None:
    unit = None
    if unit_text:
        quantity = known.quantity.removesuffix(" range")
        unit = unit_of(quantity, unit_text)
        if quantity in ("money", "price") and unit_text.casefold() in CURRENCY:
            points += UNIT_POINTS
        elif quantity == "price" and unit_text and unit_of("mass", unit_text):
            unit = unit_of("mass", unit_text)
        elif quantity == "size":
            unit = unit_of("length", unit_text)
        elif quantity == "value" or unit is None:
            return
    claim = Claim(known, unit, points + (UNIT_POINTS if unit else 0.0), exact, bare)
    key = (known.table, known.name)
    if key not in best or best[key].points < claim.points:
        best[key] = claim


@lru_cache(MOST_TEXTS)
def claims(heading: str, table: str) -> tuple[Claim, ...]:
    """The fields of a kind of table that a heading names; where none as it is spelled, those it is likely to."""
    found = tuple(claim for claim in all_claims(heading) if claim.field.table == table)
    dates = tuple(claim for claim in found if claim.field.quantity == "date")
    if dates and words_of(heading)[-1] == "on":  # Harvested on is a day, harvested a mass
        return dates
    if found or all_claims(heading):
        return found
    return tuple(claim for claim in all_claims(heading, corrected=True) if claim.field.table == table)


@lru_cache(MOST_TEXTS)
def is_known(text: str) -> bool:
    """Whether a text is, as it is spelled, the heading of some field, or a unit."""
    return bool(all_claims(text)) or is_unit(text)


SALTS = frozenset({"calcium", "potassium", "ammonium", "magnesium", "sodium"})
"""Words before nitrate that make it a salt."""


@lru_cache(MOST_TEXTS)
def heads_others(text: str) -> bool:
    """Whether a text over headings says that they are of something that is not used here: ``Air``; no note does."""
    words = frozenset(words_of(text)) - _fillers()
    return bool(words) and words <= _groups() and not all_claims(text)


@lru_cache(MOST_TEXTS)
def is_other(heading: str) -> bool:
    """Whether a heading names what many logs have and is not used here: ``air temp``, ``checked by``."""
    words = frozenset(words_of(heading))
    if words & SALTS:
        words -= {"nitrate"}  # calcium nitrate is a feed, nitrate a test of water
    return not words <= _fillers() and (bool(words & others()) or bool(frozenset(map(_corrected, words)) & others()))
