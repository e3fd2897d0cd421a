"""What people write of an acid and of the water that it goes into: its name, its strength, the alkalinity."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace

from ..cells.arguments import Argument
from ..cells.errors import GrowError, OutOfRange
from ..cells.kinds import Kind, Named, finite, read_number, shown
from ..cells.units import MOST_TEXTS, split_quantity
from ..chemistry.carbonate_system import Acid, AcidStrength, acids, equivalents
from ..chemistry.unit_factors import PERCENT_IN_WHOLE
from .names import look_up, name_and_percent, names_in

OTHERWISE = "give nitric, phosphoric, sulfuric, hydrochloric or citric"


@functools.lru_cache(MOST_TEXTS)
def find_acid(name: str) -> Acid:
    """The acid of this name, with the strength that a name such as ``phosphoric acid 75%`` tells.

    Raises UnknownName with the names known, OutOfRange for a strength that cannot be.
    """
    alone, percent = name_and_percent(name)
    acid = acids()[look_up(alone, names_in("acids.csv", "acid"), "acid", OTHERWISE)]
    return acid if percent is None else replace(acid, default_percent=percent)


UNSURE_DENSITIES = {
    "citric": "densities of citric acid above 30 % are reckoned from those below",
    "sulfuric": "densities of sulfuric acid above 90 % are from memory",
    "hydrochloric": "the density of hydrochloric acid of 38 % is from memory",
}
"""What was not checked of the densities of an acid, by the name of its rows in data/acid_densities.csv."""


def how_sure(name: str) -> str:
    """What was not checked of an acid."""
    return UNSURE_DENSITIES.get(find_acid(name.strip()).densities, "")


ACID = Named("acid", find_acid, "an acid as text, such as phosphoric", how_sure)


def strength_of(acid: Acid, given: AcidStrength | None) -> AcidStrength:
    """The strength given, or the one that the acid's name tells. Raises GrowError where neither does."""
    if given is not None:
        return given
    if acid.default_percent is None:
        raise GrowError(
            f"{acid.name} acid varies from {acid.varies} % from seller to seller: give its strength as the label has it"
        )
    return AcidStrength(acid.default_percent, molar=False)


@dataclass(frozen=True)
class AcidStrengthKind(Kind):
    """The strength of an acid: a number or text in percent by mass, or a text in mol/L."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> AcidStrength:
        example = '38, "38%" or "2 mol/L"'
        if isinstance(cell, str):
            parts = split_quantity(cell)
            if parts is None or len(parts) != 1 or parts[0][1].lower() not in ("", "%", "percent", "mol/l", "m"):
                raise GrowError(f'{argument.name} is "{cell}": give percent by mass or mol/L, such as {example}')
            number, molar = parts[0][0], parts[0][1].lower() in ("mol/l", "m")
        else:
            number, molar = read_number(cell, argument, example), False
        finite(number, argument)
        if number <= 0 or (not molar and number > PERCENT_IN_WHOLE):
            raise OutOfRange(
                f"{argument.name} is {shown(cell)}: give percent by mass up to 100 or mol/L, such as {example}"
            )
        return AcidStrength(number, molar)


@dataclass(frozen=True)
class Alkalinity(Kind):
    """Alkalinity of water: a number in mg/L as CaCO3, or a text such as 1.8 meq/L or 5 dKH; read as eq/L."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        example = '120 or a text such as "1.8 meq/L" or "5 dKH"'
        if not isinstance(cell, str):
            return read_number(cell, argument, example) / equivalents()["mg/l"]
        parts = split_quantity(cell)
        spelled = " ".join(parts[0][1].lower().replace("°", "").split()) if parts and len(parts) == 1 else None
        if not parts or spelled is None or (spelled or "mg/l") not in equivalents():
            raise GrowError(f'{argument.name} is "{cell}": give mg/L as CaCO3, such as {example}')
        return finite(parts[0][0] / equivalents()[spelled or "mg/l"], argument)
