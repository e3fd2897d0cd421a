"""Units as people write them, from ``data/log_units.csv``, and the ppm that meters of conductivity show."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from growcells.cells.errors import GrowError
from growcells.cells.units import dimension_name

from ...data import read_data

MOST_TEXTS = 100_000
"""Texts whose meaning is kept; more than any log has headings."""
SCALES = {"500": 500.0, "0.5": 500.0, "640": 640.0, "0.64": 640.0, "700": 700.0, "0.7": 700.0}
"""What a meter shows as ppm at 1 mS/cm, by what people write of its scale; common practice, no source."""
_PPM_WORDS = frozenset({"ppm", "tds", "parts", "per", "million", "mg", "l", "total", "dissolved", "solids"})
_PPM_BESIDE = frozenset(
    {"scale", "x", "at", "on", "meter", "pen", "conversion", "factor", "ec", "conductivity", "the", "s", "nutrient",
       "nacl", "kcl", "as", "c"}
)  # fmt: skip
"""Words beside ppm that say nothing of the scale: by which salt a pen was calibrated leaves its factor open."""
_SOLIDS = ["total", "dissolved", "solids"]
_PPM_TOKEN = re.compile(r"[a-z]+|\d*\.?\d+")
ASK_SCALE = (
    'ppm of a meter mean nothing without its scale: write in the log a cell "meter scale" and beside it 500, 640 or '
    "700, or in the heading ppm (500), or meter_scale in the mapping file"
)
CF_IN_MS = 0.1
"""Ten units of conductivity factor are 1 mS/cm; common practice, no source."""


@dataclass(frozen=True)
class Unit:
    """A unit of a log: how calculations spell it, how many of those it is, and how it is shown."""

    name: str
    factor: float = 1.0
    shown: str = ""
    asks: str = ""
    """What is to be said before it can be read, where that is so."""

    @property
    def label(self) -> str:
        """The unit as a person reads it."""
        return self.shown or self.name


def meter_unit(scale: str) -> Unit | None:
    """The unit of a meter that shows ppm on a scale such as ``500`` or ``0.5``; None for one that is not known."""
    per_ms = SCALES.get(_plain_number(scale))
    return Unit("mS/cm", 1 / per_ms, f"ppm on the {per_ms:g} scale") if per_ms else None


PPM_UNKNOWN = Unit("mS/cm", 1.0, "ppm", ASK_SCALE)


def _plain_number(text: str) -> str:
    try:
        return f"{float(text):g}"
    except ValueError:
        return text


@cache
def _words() -> dict[str, dict[str, str]]:
    """By quantity, each spelling of a unit and the unit."""
    found: dict[str, dict[str, str]] = {}
    for row in read_data("log_units.csv"):
        for word in row["words"].split("|"):
            found.setdefault(row["quantity"], {})[_key(word)] = row["unit"]
    for alike, of in (("package", "mass"), ("dose", "mass")):
        found[alike] = found[of]
    return found


def _key(text: str) -> str:
    """A unit as it is compared: lower case, µ as u, without points, strokes and more than single spaces."""
    plain = text.casefold().replace("µ", "u").replace("μ", "u").replace("ͦ", "°").replace("º", "°")
    return " ".join(re.sub(r"[./·⁻¹]+", " ", plain).split())


@lru_cache(MOST_TEXTS)
def unit_of(quantity: str, text: str) -> Unit | None:
    """The unit of a quantity that a text names, or None where it names none."""
    text = " ".join(text.split())
    if not text or (text[0].isdigit() and quantity != "conductivity"):
        return None
    if quantity == "rate":
        return _rate(text)
    if quantity == "conductivity":
        text = _AT_25.sub("", text)
        if special := _special_conductivity(text):
            return special
    name = _words().get(quantity, {}).get(_key(text))
    if name is None and quantity == "package":
        name = _words()["volume"].get(_key(text))
    return Unit(name) if name else None


_AT_25 = re.compile(r"\s*(?:@|\bat)\s*25\s*(?:°|deg)?\s*c?$", re.IGNORECASE)
"""Meters of conductivity show it as it is at 25 °C."""
_RATE = re.compile(
    r"(?P<top>.+?)\s*(?:/|\bper\b|\ba\b|\ban\b|\beach\b|\bin\b)\s*(?P<many>\d+(?:\.\d+)?)?\s*(?P<bottom>.+)"
)


def _rate(text: str) -> Unit | None:
    """A mass or a volume in a volume: ``g/gal``, ``mL per 10 L``."""
    match = _RATE.fullmatch(text)
    if match is None:
        return None
    top = _words()["mass"].get(_key(match["top"])) or _words()["volume"].get(_key(match["top"]))
    bottom = _words()["volume"].get(_key(match["bottom"]))
    many = float(match["many"] or 1)
    if not top or not bottom or not many:
        return None
    return Unit(f"{top}/{bottom}", 1 / many, text if many != 1 else "")


def is_liquid(unit: str) -> bool:
    """Whether a unit of a package or of a rate measures a volume, not a mass."""
    try:
        return dimension_name(unit.partition("/")[0]) == "volume"
    except GrowError:
        return False


def _special_conductivity(text: str) -> Unit | None:
    tokens = _PPM_TOKEN.findall(text.casefold())
    if tokens in (["cf"], ["conductivity", "factor"]):
        return Unit("mS/cm", CF_IN_MS, "CF")
    if not {"ppm", "tds"} & set(tokens) and tokens[:3] not in (["parts", "per", "million"], _SOLIDS):
        return None
    rest = [token for token in tokens if token not in _PPM_WORDS and token not in _PPM_BESIDE]
    if not rest:
        return PPM_UNKNOWN
    return meter_unit(rest[0]) if len(rest) == 1 else None


@lru_cache(MOST_TEXTS)
def is_unit(text: str) -> bool:
    """Whether a text is a unit of anything that a log holds."""
    return _key(text) in _all_words() or any(unit_of(quantity, text) for quantity in ("conductivity", "rate"))


@cache
def _all_words() -> frozenset[str]:
    """The spellings of all units."""
    return frozenset().union(*_words().values())
