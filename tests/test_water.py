"""Water lost, mixed and warmed: balances by hand, and pint for the units."""

from __future__ import annotations

import pint
import pytest

import growcells
from growcells.families.water import HEAT_OF_WATER


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


def test_heat_of_water_is_that_of_iapws() -> None:
    # IAPWS-95 at 20 °C and 101.325 kPa: 4.184 kJ/(kg K) and 0.99821 kg/L, from memory.
    assert pytest.approx(4.184 * 0.99821, rel=2e-3) == HEAT_OF_WATER


@pytest.mark.parametrize(("litres", "start", "end", "watts"), [(100, 15, 20, 500), (40, 10, 25, 50), (1, 0.5, 1, 1)])
def test_heat_time_is_the_energy_over_the_power(litres: float, start: float, end: float, watts: float) -> None:
    units = pint.UnitRegistry()
    energy = litres * (end - start) * HEAT_OF_WATER * units.kilojoule
    hours = (energy / (watts * units.watt)).to("hour").magnitude
    assert growcells.call("GROW_HEAT_TIME", f"{litres} L", start, end, watts) == pytest.approx(hours)


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
    quantity = pint.UnitRegistry().Quantity(value, unit.replace("gal", "gallon").replace("L", "liter"))
    assert growcells.call("GROW_CONVERT", value, unit, to) == pytest.approx(quantity.to(to).magnitude)
