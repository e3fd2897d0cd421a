"""Water lost, mixed and warmed: balances by hand, and pint for the units."""

from __future__ import annotations

import pint
import pytest
from chemicals.iapws import iapws95_properties

import growcells


def test_refill_days() -> None:
    assert growcells.call("GROW_REFILL_DAYS", 3, 0.5) == 6.0
    assert growcells.call("GROW_REFILL_DAYS", 1, 2) == 0.5
    assert growcells.call("GROW_REFILL_DAYS", 10, 5, "cm") == 2.0


@pytest.mark.parametrize(("one", "warm", "other", "cold"), [(10, 30, 30, 10), (1, 100, 9, 50), (5, 20, 5, 20)])
def test_heat_is_kept_when_waters_mix(one: float, warm: float, other: float, cold: float) -> None:
    mixed = growcells.call("GROW_MIX_TEMP", one, warm, other, cold)
    assert one * (warm - mixed) == pytest.approx(other * (mixed - cold))


def test_mixed_temperature_comes_in_the_unit_of_the_first() -> None:
    assert growcells.call("GROW_MIX_TEMP", 10, 50, 10, 70, None, "F") == pytest.approx(60)
    assert growcells.call("GROW_MIX_TEMP", 10, 50, 10, 68, None, "F", "°C") == pytest.approx(15)
    assert growcells.call("GROW_MIX_TEMP", 10, "50 F", 10, "20 °C") == pytest.approx(15)


@pytest.mark.parametrize(
    ("litres", "start", "end", "watts"),
    [(100, 15, 20, 500), (40, 10, 25, 50), (1, 0.5, 1, 1), (200, 5, 18, 300), (50, 42, 97, 1000)],
)
def test_heat_time_against_the_chemicals_package(litres: float, start: float, end: float, watts: float) -> None:
    """IAPWS-95: the enthalpy that the mass of the water gains."""
    cold, warm = (iapws95_properties(273.15 + temperature, 101325.0) for temperature in (start, end))
    energy = pint.Quantity(litres * cold[0] / 1000 * (warm[3] - cold[3]) / 1000, "kilojoule")
    hours = (energy / pint.Quantity(watts, "watt")).to("hour").magnitude
    assert growcells.call("GROW_HEAT_TIME", f"{litres} L", start, end, watts) == pytest.approx(
        hours, rel=2e-3 if end < 5 else 3e-4
    )


def test_nothing_to_warm_takes_no_time() -> None:
    assert growcells.call("GROW_HEAT_TIME", 34, 20, 20, 300) == 0.0
    assert growcells.call("GROW_HEAT_TIME", 34, "0 °C", 100, 300, None, None, "day") == pytest.approx(
        growcells.call("GROW_HEAT_TIME", 34, "32 F", 100, 300) / 24
    )


@pytest.mark.parametrize(
    ("value", "unit", "to"),
    [(3, "gal", "L"), (-5, "degC", "degF"), (0, "degF", "degC"), (2.5, "lb", "g"), (10, "inch", "cm"), (1, "day", "s")],
)
def test_convert_against_pint(value: float, unit: str, to: str) -> None:
    quantity = pint.Quantity(value, unit.replace("gal", "gallon").replace("L", "liter"))
    assert growcells.call("GROW_CONVERT", value, unit, to) == pytest.approx(quantity.to(to).magnitude)
