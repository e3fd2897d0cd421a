"""Products by mass or by volume: a powder is weighed, a liquid may be measured, and its density joins the two."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from .errors import GrowError
from .kinds import Quantity
from .units import conversion, dimension_name, split_quantity

if TYPE_CHECKING:
    from .arguments import Argument

GRAMS_IN_LITRE_OF_DENSITY_ONE = 1000.0

WEIGH = (
    "weigh a powder and give its mass; a liquid needs its density behind its analysis, such as "
    '"3-1.2-4.4 density 1.15" (kg in a litre)'
)

T = TypeVar("T")


class Measured(float):
    """A number of a product: its volume [L, or L in a L] where ``by_volume``, else its mass [g, or g/L].

    ``density`` [kg/L] is that of the product, where it is known.
    """

    by_volume: bool
    density: float | None

    def __new__(cls, number: float, by_volume: bool, density: float | None = None) -> Measured:
        measured = super().__new__(cls, number)
        measured.by_volume, measured.density = by_volume, density
        return measured


def is_by_volume(amount: object) -> bool:
    """Whether an amount or a rate is one of a liquid by its volume."""
    return isinstance(amount, Measured) and amount.by_volume


def alike(amount: float, number: T) -> T | Measured:
    """A number that is of the same kind as an amount or a rate: by volume where that is."""
    return Measured(number, True) if is_by_volume(amount) else number  # type: ignore[arg-type]  # a number then


def mass_of(amount: float, density: float | None, name: str = "mass") -> float:
    """The mass [g, g/L] of an amount of a product of a density [kg/L].

    Raises GrowError for a volume where no density is given.
    """
    if type(amount) is float or not is_by_volume(amount):  # nearly always the first
        return amount
    if density is None:
        raise GrowError(f"{name} is a volume: {WEIGH}")
    return float(amount) * density * GRAMS_IN_LITRE_OF_DENSITY_ONE


def of_density(mass: float, density: float | None) -> float:
    """A mass [g] that can be shown as a volume, where the density [kg/L] is known."""
    return mass if density is None else Measured(mass, False, density)


def check_alike(name: str, amount: float, other_name: str, other: float) -> None:
    """Raise GrowError where one of two amounts of a product is a volume and the other a mass."""
    if is_by_volume(amount) != is_by_volume(other):
        volume, mass = (name, other_name) if is_by_volume(amount) else (other_name, name)
        raise GrowError(f"{volume} is a volume and {mass} a mass: give both by volume or both by mass")


@dataclass(frozen=True)
class ProductQuantity(Quantity):
    """A mass or rate of a product that a liquid may be given in by volume.

    ``liquid_unit`` is the unit in which volumes come back, ``liquid_inside`` that of calculations.
    """

    liquid_unit: str = "mL"
    liquid_inside: str = "L"

    def is_volume(self, unit: str | None) -> bool:
        """Whether a unit measures the product by volume."""
        if unit is None:
            return False
        parts = unit.split("/")
        try:
            return len(parts) == len(self.unit.split("/")) and all(dimension_name(part) == "volume" for part in parts)
        except GrowError:
            return False

    def factors(self, unit: str | None) -> tuple[float, float]:
        if unit is not None and self.is_volume(unit):
            return conversion(unit, self.liquid_inside)
        return super().factors(unit)

    def check_unit(self, unit: str, argument_name: str) -> None:
        if not self.is_volume(unit):
            super().check_unit(unit, argument_name)

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        if isinstance(cell, str) and (volume := self._volume(cell)) is not None:
            return volume
        number = super().read(cell, argument, unit)
        return Measured(number, True) if self.is_volume(unit) else number

    def _volume(self, text: str) -> float | None:
        """The volume that a text such as ``5 mL/gal`` is, or None."""
        parts = split_quantity(text)
        if not parts or not all(self.is_volume(unit) for _, unit in parts):
            return None
        return Measured(sum(number * self.factors(unit)[0] for number, unit in parts), True)

    def shown_in(self, value: object, unit: str | None, name: str) -> tuple[object, float, float]:
        """The same, also of a volume. Raises GrowError where a mass is asked for as a volume, or the other way round,
        and no density is known."""
        if not isinstance(value, float):
            return super().shown_in(value, unit, name)
        by_volume, density = is_by_volume(value), value.density if isinstance(value, Measured) else None
        if unit is None:
            return float(value), *(self.factors(self.liquid_unit) if by_volume else self.factors(None))
        if by_volume != self.is_volume(unit):
            if density is None:
                given, asked = ("a volume", "a mass") if by_volume else ("a mass", "a volume")
                raise GrowError(f"{name} gives {given} here, and {unit} is {asked}: {WEIGH}")
            factor = density * GRAMS_IN_LITRE_OF_DENSITY_ONE
            value = value * factor if by_volume else value / factor
        return float(value), *self.factors(unit)


PRODUCT = ProductQuantity("mass", "g", "g", "68 g", "grams")

PRODUCT_RATE = ProductQuantity(
    "mass per volume", "g/gal", "g/L", "2 g/gal", "grams a gallon", liquid_unit="mL/gal", liquid_inside="L/L"
)

PRODUCT_PACKAGE = ProductQuantity("mass", "lb", "g", "10 lb", "pounds")
