"""Quantities of a log in fixed units: g, L, mL, cm, g/L, mL/L, mS/cm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growcells.cells.errors import GrowError
from growcells.cells.units import conversion

if TYPE_CHECKING:
    from ..model.entries import Part
    from ..model.log import GrowLog

DIGITS = 12
"""Figures of a converted quantity: what a conversion adds beyond is no measurement. Ours."""


class Fixed:
    """Turns the quantities of a log into fixed units."""

    def __init__(self, log: GrowLog) -> None:
        self._log = log
        self._factors: dict[str, tuple[float, float]] = {}

    def __call__(self, key: str, number: float | None) -> float | None:
        """A number of the field ``key``, such as ``readings.ec``, in its fixed unit."""
        return None if number is None else self.known(key, number)

    def known(self, key: str, number: float) -> float:
        """The same of a number that there is."""
        factors = self._factors.get(key)
        if factors is None:
            factors = self._factors[key] = self._log.fixed(key)
        return converted(number, factors)

    def of_part(self, part: Part, name: str, volume_unit: str) -> tuple[float | None, float | None]:
        """A quantity of a part by mass, and by volume where the part is measured so."""
        return self.either(f"feeds.{name}", getattr(part, name), part.units.get(name, ""), volume_unit)

    def either(self, key: str, number: float | None, unit: str, volume_unit: str) -> tuple[float | None, float | None]:
        """A number by mass, or by volume in ``volume_unit`` where its own unit measures volume ("": the log's)."""
        if not unit or number is None:
            return self(key, number), None
        try:
            return None, converted(number, conversion(unit, volume_unit))
        except GrowError:  # a mass in a unit of its own
            return converted(number, self._log.fixed(key, unit)), None


def converted(number: float, factors: tuple[float, float]) -> float:
    """A number times a slope plus an offset, without what the conversion adds in the last bits."""
    slope, offset = factors
    return number if factors == (1.0, 0.0) else float(f"{number * slope + offset:.{DIGITS}g}")
