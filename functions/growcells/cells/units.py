"""Quantities written as text, and the factors between units, asked of pint once for each unit and kept.

To load pint takes longer than to compute a whole log, so that the units in which logs are written stand in a table;
the tests compare it with pint.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from .errors import GrowError

if TYPE_CHECKING:
    from fractions import Fraction

    import pint

if TYPE_CHECKING:
    Registry = pint.UnitRegistry[Fraction]

LONGEST_LINE = 255
"""Characters of the longest text that is read as a number, a unit or a name: ours, more than any of them needs."""

LONGEST_UNIT = 64
"""Characters of the longest text that is read as a unit: ours, half as long again as any that is written."""

_WHOLE = r"(?:\d{1,3}(?:,\d{3}){2,}(?!\d)|\d{1,3},\d{3}(?=\.\d)|\d+)"

_DECIMAL = rf"(?:{_WHOLE}(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"

_MIXED = r"(?:\d+(?:\s+|-))?\d+/\d+"

_NUMBER = re.compile(rf"(?P<sign>[+-]?)\s*(?P<size>{_MIXED}|{_DECIMAL})")

_COMMA = re.compile(r"[+-]?\d+,\d+")

# "3 ft 6 in", and 3' 6" as a tape is read: a new part begins at a number that follows a unit.
_NEXT_PART = re.compile(r"(?<=['\"])\s*(?=\d)|(?<=[A-Za-z])\s+(?=\d)")

# Powers of powers and of many figures: no unit of anything, and numbers that take minutes to write out.
_TOO_HIGH = re.compile(r"[\d⁰¹²³⁴-⁹]\s*(?:\*\*|\^|[⁰¹²³⁴-⁹])|\d{3}")

_GRAIN = re.compile(r"(?<![a-z])gr(?![a-z])", re.IGNORECASE)

HIGHEST_POWER = 9
"""No unit of measure has a higher one."""

MOST_TEXTS = 4096
"""Texts of a kind whose meaning is remembered: far more than a workbook holds, in little memory. Ours."""

SPELLINGS = {
    '"': "in",
    "''": "in",
    "”": "in",
    "″": "in",
    "'": "ft",
    "’": "ft",
    "′": "ft",
    "%": "percent",
    "c": "degC",
    "f": "degF",
    "deg c": "degC",
    "deg f": "degF",
    "fl oz": "fl_oz",
    "gal uk": "gal_uk",
    "uk gal": "gal_uk",
    "us gal": "gal",
    "gal us": "gal",
}


@cache
def unit_registry() -> Registry:
    """The pint registry of the units in ``data/units.txt``, made at first use."""
    from fractions import Fraction

    import pint

    from ..data import data_path

    # Exact fractions, so that a factor is the nearest double and 32 °F is 0 °C.
    return pint.UnitRegistry(str(data_path("units.txt")), cache_folder=None, non_int_type=Fraction)


@lru_cache(MOST_TEXTS)
def parse_unit(text: str) -> Any:
    """The pint unit that a text names, as typed or else in lower case.

    Raises GrowError where the text names no unit.
    """
    import tokenize

    import pint

    # pint reports a text that is no unit in as many ways as Python's own tokenizer and parser can fail.
    no_unit = (pint.PintError, tokenize.TokenError, ValueError, TypeError, AttributeError, SyntaxError)
    if len(text) > LONGEST_UNIT:  # pint takes time that grows with the square of it
        raise GrowError(f"a text of {len(text):,} characters is no unit: use one such as in, cm, gal, L, g, oz or lb")
    spelled = " ".join(text.split())
    spelled = SPELLINGS.get(spelled.lower(), spelled).replace("° ", "°").replace("°", "deg")
    if _GRAIN.search(spelled):
        raise GrowError(f'"{text}" is grain to some and gram to others: write g for grams, grain for grains')
    for candidate in () if _TOO_HIGH.search(spelled) else (spelled, spelled.lower()):
        try:
            _forget_texts()
            unit = unit_registry().parse_units(candidate)
        except (*no_unit, ArithmeticError, LookupError, RecursionError, AssertionError):
            continue
        powers: Any = unit_registry().Quantity(1, unit).unit_items()
        if all(abs(power) <= HIGHEST_POWER for _, power in powers):
            return unit
    raise GrowError(f'"{text}" is no unit known here: use one such as in, cm, gal, L, g, oz, lb, g/gal, ppm or °F')


def _forget_texts() -> None:
    """Empty what pint remembers of texts once they are many: a spreadsheet program lives long, and it forgets none."""
    remembered = unit_registry()._cache
    if len(remembered.parse_unit) > MOST_TEXTS:
        for kept in (remembered.parse_unit, remembered.root_units, remembered.dimensionality):
            kept.clear()
        remembered.conversion_factor.clear()


class KnownUnit(NamedTuple):
    """A unit of the table: what it measures, and how it is turned into the unit of its kind that has factor 1."""

    measures: str
    factor: Fraction
    offset: Fraction
    short: str
    """The short form that pint has for it, "" where it has none."""


@cache
def known_units() -> dict[str, KnownUnit]:
    """The units of ``data/known_units.csv``, whose factors are exact."""
    from fractions import Fraction

    from ..data import read_data

    return {
        row["unit"]: KnownUnit(row["measures"], Fraction(row["factor"]), Fraction(row["offset"]), row["short"])
        for row in read_data("known_units.csv")
    }


@lru_cache(MOST_TEXTS)
def known_unit(text: str) -> KnownUnit | None:
    """A unit of the table, or a mass of it in a volume of it such as ``g/gal``; None for what pint must be asked."""
    known = known_units()
    top, _, bottom = text.partition("/")
    mass, volume = known.get(top), known.get(bottom)
    if mass and volume and (mass.measures, volume.measures) == ("mass", "volume"):
        return KnownUnit("mass per volume", mass.factor / volume.factor, mass.offset, f"{mass.short}/{volume.short}")
    return known.get(text)


def short_unit(text: str) -> str:
    """A unit in its short form: ``gal`` for ``gallons``. Raises GrowError where the text names no unit."""
    known = known_unit(text)
    return known.short if known is not None and known.short else f"{parse_unit(text):~C}"


@lru_cache(MOST_TEXTS)
def conversion(unit: str, to: str) -> tuple[float, float]:
    """Slope and offset that turn a number of one unit into the other: ``number * slope + offset``.

    Raises GrowError where a text names no unit or where the two measure different things.
    """
    known, wanted = known_unit(unit), known_unit(to)
    if known is not None and wanted is not None and known.measures == wanted.measures:
        return float(known.factor / wanted.factor), float((known.offset - wanted.offset) / wanted.factor)
    from fractions import Fraction

    make = unit_registry().Quantity
    source, target = parse_unit(unit), parse_unit(to)
    if source.dimensionality != target.dimensionality:
        raise GrowError(
            f'"{unit}" measures {dimension_name(unit)} and "{to}" measures {dimension_name(to)}: '
            "neither can be turned into the other"
        )
    try:
        offset = make(Fraction(0), source).to(target).magnitude
        slope = make(Fraction(1), source).to(target).magnitude - offset
        return float(slope), float(offset)
    except OverflowError as problem:
        raise GrowError(f'"{unit}" cannot be turned into "{to}": use simpler units') from problem


def converted(number: float, unit: str, to: str) -> float:
    """A number of one unit in another. Raises GrowError as conversion does."""
    slope, offset = conversion(unit, to)
    return number * slope + offset


MEASURED = {
    "length": "m",
    "area": "m**2",
    "volume": "L",
    "mass": "g",
    "mass per volume": "g/L",
    "temperature": "kelvin",
    "conductivity": "S/m",
    "conductance": "S",
    "time": "s",
    "amount of substance": "mol",
    "amount per volume": "mol/L",
    "power": "W",
    "energy": "J",
    "pressure": "Pa",
    "a plain number": "count",
}
"""What people call a dimension, and a unit that has it."""

_MEASURED_IN = {unit: measured for measured, unit in MEASURED.items()}


@lru_cache(MOST_TEXTS)
def dimension_name(unit: str) -> str:
    """What a unit measures, in a word or two: ``volume`` for ``gal``."""
    if (measured := _MEASURED_IN.get(unit)) is not None:
        return measured
    if (known := known_unit(unit)) is not None:
        return known.measures
    dimension = parse_unit(unit).dimensionality
    for name, reference in MEASURED.items():
        if parse_unit(reference).dimensionality == dimension:
            return name
    return "something else"


def parse_number(text: str) -> float | None:
    """The number that a text is, or None where it is something else.

    Takes ``42``, ``1,234.5``, ``3 1/2``, ``3½`` and ``1e-3``. Raises GrowError for ``1,5``, which means two things.
    """
    parsed = split_number(text)
    return parsed[0] if parsed is not None and not parsed[1] else None


def split_number(text: str) -> tuple[float, str] | None:
    """The number that a text begins with and what follows it, or None where it does not begin with a number.

    Raises GrowError for a comma that may be a decimal mark or a thousands mark.
    """
    if len(text) > LONGEST_LINE:
        return None
    spelled = _spell_fractions(text).strip().replace("−", "-")
    match = _NUMBER.match(spelled)
    if match is None:
        return None
    rest = spelled[match.end() :].strip()
    if rest.startswith(",") and (doubtful := _COMMA.match(spelled)):
        raise GrowError(
            f'"{text.strip()}" may mean {doubtful.group().replace(",", ".")} or {doubtful.group().replace(",", "")}: '
            "write the number with a point for decimals and no comma"
        )
    try:
        size = _size(match["size"])
    except (ZeroDivisionError, OverflowError):
        return None
    return (-size if match["sign"] == "-" else size), rest


def _spell_fractions(text: str) -> str:
    """``3½`` as ``3 1/2``."""
    if text.isascii():
        return text
    return "".join(
        " " + unicodedata.normalize("NFKC", sign).replace("⁄", "/")
        if unicodedata.decomposition(sign).startswith("<fraction>")
        else sign
        for sign in text
    )


def _size(text: str) -> float:
    if "/" in text:
        from fractions import Fraction

        return float(sum((Fraction(part) for part in re.split(r"[\s-]+", text)), Fraction(0)))
    return float(text.replace(",", ""))


def split_quantity(text: str) -> list[tuple[float, str]] | None:
    """The parts of a quantity as typed: ``3 ft 6 in`` is 3 ft and 6 in; None where the text is no quantity.

    A part with an empty unit is a plain number.
    """
    if len(text) > LONGEST_LINE:
        return None
    parts = []
    for part in _NEXT_PART.split(text.strip()):
        parsed = split_number(part)
        if parsed is None:
            return None
        parts.append(parsed)
    return parts
