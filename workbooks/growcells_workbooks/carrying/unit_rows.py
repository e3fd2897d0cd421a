"""The units that carried functions know: every name of ``units.txt`` by itself, and the usual pairs of them."""

from __future__ import annotations

import functools
import itertools
import re
from collections.abc import Callable, Iterable, Iterator

from growcells.cells.errors import GrowError
from growcells.cells.kinds import CONDUCTIVITY, Quantity
from growcells.cells.units import MEASURED, SPELLINGS, conversion, dimension_name
from growcells.data import data_path

UnitRow = tuple[str, float, float, str, str]
"""A unit, slope and offset to the unit of calculations, spellings that mean something else, and what is measured."""

MASSES = ("g", "mg", "kg", "ug", "µg", "oz", "lb", "lbs", "gr", "gram", "grams", "ounce", "ounces", "pound", "pounds")
VOLUMES = (
    "gal",
    "L",
    "mL",
    "m3",
    "qt",
    "pt",
    "cup",
    "tsp",
    "tbsp",
    "fl_oz",
    "gal_uk",
    "dL",
    "liter",
    "litre",
    "gallon",
)
PREFIXED = (
    *("meter", "metre", "m", "gram", "g", "liter", "litre", "L", "l", "watt", "W", "pascal", "Pa", "siemens", "S"),
    *("second", "s", "mole", "mol", "equivalent", "eq"),
)
LONGEST_AMBIGUOUS = 3
"""Characters of the longest unit that means something else in other letters, as m and M, or ms and mS."""

PREFIXES = ("milli", "m", "micro", "u", "µ", "centi", "c", "deci", "d", "kilo", "k", "nano", "n")


@functools.cache
def spellings() -> tuple[str, ...]:
    """Spellings of units that people type, most of which measure any kind."""
    lines = data_path("units.txt").read_text(encoding="utf-8").splitlines()
    plain = [
        name
        for line in lines
        if "=" in line and not line.startswith("#") and not line.split("=")[0].strip().endswith("-")
        for name in re.split(r"\s*=\s*", line.partition(";")[0] + " = " + line.partition(";")[2].partition("=")[2])
        if re.fullmatch(r"[^\W\d]\w*", name.strip())
    ]
    names = [*plain, *(f"{name}s" for name in plain if len(name) > 2)]
    names += [prefix + name for prefix in PREFIXES for name in PREFIXED]
    pairs = [f"{mass}/{volume}" for mass, volume in itertools.product(MASSES, VOLUMES)]
    temperatures = ["°C", "°F", "° C", "° F", "degC", "degF", "K"]
    conductivities = [f"{siemens}/{length}" for siemens in ("S", "mS", "uS", "µS", "μS") for length in ("cm", "m")]
    listed = (*names, *SPELLINGS, *pairs, *temperatures, *conductivities, *CONDUCTIVITY.shorthand)
    return tuple(dict.fromkeys(unit.replace("μ", "µ") for unit in listed))  # the letter and the sign for micro


Factors = tuple[float, float, str]
"""Slope, offset and what is measured."""


def unit_tables(kinds: Iterable[Quantity]) -> Iterator[tuple[str, tuple[UnitRow, ...]]]:
    """The units of each kind by the name of their table, and those of any kind, with factors to the same unit for all
    that measure alike."""
    for kind in {kind.inside: kind for kind in kinds}.values():
        yield units_table(kind), unit_rows(functools.partial(_factors, kind))
    yield ANY_UNITS, unit_rows(_base_factors)


ANY_UNITS = "GROWCELLS.UNITS"
"""The table of the units of any kind."""


def units_table(kind: Quantity) -> str:
    """The name of the table of a kind's units: small tables are looked through sooner than one of all."""
    return f"{ANY_UNITS}_{kind.inside.replace('/', '_PER_').replace('°', '').upper()}"


def units_of(kind: Quantity) -> tuple[str, ...]:
    """The units of a kind that a log knows."""
    return tuple(unit for unit, *_ in unit_rows(functools.partial(_factors, kind)))


def unit_rows(factors_of: Callable[[str], Factors | None]) -> tuple[UnitRow, ...]:
    """A row for each unit that has factors."""
    known: dict[str, UnitRow] = {}
    for unit in spellings():
        factors = factors_of(unit)
        if factors is None:
            continue
        # A unit is read as typed or else in small letters: small ones stand for both where they mean the same.
        written = unit.lower() if factors_of(unit.lower()) == factors else unit
        others = [other for other in _cases(written) if factors_of(other) != factors]
        slope, offset, measured = factors
        row = (written, slope, offset, "".join(f"|{other}|" for other in others), measured)
        if known.setdefault(written.lower(), row)[0] != written:  # ds beside dS, which a look-up does not tell apart
            known.setdefault(written.lower() + SECOND, (written + SECOND, *row[1:]))
    return tuple(known.values())


SECOND = "|"
"""Behind a unit that differs in capitals alone from another of its table."""


def _factors(kind: Quantity, unit: str) -> Factors | None:
    """Those of a unit of a kind, or None where it is none."""
    try:
        kind.check_unit(unit, "unit")
        return *Quantity.factors(kind, unit), ""
    except GrowError:
        return None


@functools.cache
def _base_factors(unit: str) -> Factors | None:
    """Those of a unit of any kind that people have a word for."""
    try:
        measured = dimension_name(unit)
        base = CELSIUS if measured == "temperature" else MEASURED.get(measured)
        return (*conversion(unit, base), measured) if base else None
    except GrowError:
        return None


CELSIUS = "degC"
"""To kelvins the offset would be rounded, and 32 °F not be 0 °C."""


def _cases(unit: str) -> Iterator[str]:
    """The ways to write a short unit in small and capital letters; of long ones, none means another."""
    if len(unit) <= LONGEST_AMBIGUOUS:
        yield from (
            "".join(signs) for signs in itertools.product(*(dict.fromkeys((sign, sign.upper())) for sign in unit))
        )
