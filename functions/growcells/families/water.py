"""Water that is lost, mixed, warmed; and any unit turned into another."""

from __future__ import annotations

import functools

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import OutOfRange
from ..cells.kinds import LENGTH, NUMBER, POWER, TEMPERATURE, TIME, UNIT, VOLUME
from ..cells.registry import Family, cell_function
from ..cells.units import converted
from ..data import read_data

KILOJOULES_IN_WATT_HOUR = 3.6
"""SI Brochure: a watt is a joule a second."""


@cell_function(
    "GROW_REFILL_DAYS",
    family=Family.WATER,
    help="Days until the water falls below the pots.",
    arguments=(
        Argument(
            "spare_depth",
            LENGTH,
            "how far the water may fall before roots or pots hang dry",
            unit="size_unit",
        ),
        Argument("drop_per_day", LENGTH, "how far it falls in a day", unit="size_unit"),
    ),
    result=Result(NUMBER, "days"),
    examples=(Example((1.5, 0.25), 6.0, "1.5 ÷ 0.25"), Example(("4 cm", "8 mm"), 5.0, "40 ÷ 8")),
    formula="spare depth ÷ drop per day",
    source="arithmetic; the drop is taken to go on as measured, and rises with heat and leaf area",
    elementwise=True,
)
def refill_days(spare_depth: float, drop_per_day: float) -> float:
    """Days [day] until the water has fallen by a depth [dm] at a fall a day [dm/day].

    >>> refill_days(0.5, 0.1)
    5.0
    """
    return spare_depth / drop_per_day


def temperature(name: str, help: str) -> Argument:
    """A water temperature between freezing and boiling."""
    return Argument(name, TEMPERATURE, help, unit="temp_unit", rare_zero="0 °C", negative=True, low=0, high=100)


@cell_function(
    "GROW_MIX_TEMP",
    family=Family.WATER,
    help="Temperature of two waters poured together.",
    arguments=(
        Argument("volume1", VOLUME, "the first volume", unit="volume_unit"),
        temperature("temp1", "its temperature"),
        Argument("volume2", VOLUME, "the second volume", unit="volume_unit"),
        temperature("temp2", "its temperature"),
    ),
    result=Result(TEMPERATURE, "the blended temperature", unit_name="result_unit", follows="temp_unit", negative=True),
    examples=(
        Example((10, 20, 10, 30), 25.0, "equal volumes meet half way"),
        Example((20, 68, 5, "40 °F", "gal", "F"), 62.4, "(20 × 68 + 5 × 40) ÷ 25"),
    ),
    formula="(volume1 × temp1 + volume2 × temp2) ÷ (volume1 + volume2)",
    source="heat balance with equal density and heat capacity, no loss to the tank",
    elementwise=True,
)
def mix_temperature(volume1: float, temp1: float, volume2: float, temp2: float) -> float:
    """Temperature [°C] of two volumes [L] of water at temp1 and temp2 [°C].

    >>> mix_temperature(30.0, 20.0, 10.0, 60.0)
    30.0
    """
    return (volume1 * temp1 + volume2 * temp2) / (volume1 + volume2)


@cell_function(
    "GROW_HEAT_TIME",
    family=Family.WATER,
    help="Hours that a heater takes to warm a reservoir, with nothing lost to the air.",
    arguments=(
        Argument("volume", VOLUME, "the volume of water", unit="volume_unit"),
        temperature("from", "the temperature now"),
        temperature("to", "the temperature wanted"),
        Argument("watts", POWER, "the heater's power in watts"),
    ),
    result=Result(TIME, "the time", unit_name="time_unit"),
    examples=(
        Example(
            (34, 60, 68, 300, "gal", "F"),
            34 * 3.785411784 * 0.99901 * 8 / 1.8 * 4.1859 / 3.6 / 300,
            "IAPWS-95: 0.99901 kg/L at 60 °F, 4.1859 kJ/(kg K) from there to 68 °F",
            2e-4,
        ),
        Example(("100 L", 15, 20, 500), 1.16177, "IAPWS-95: 99.910 kg × (84.007 − 63.077) kJ/kg ÷ 3.6 ÷ 500", 2e-5),
    ),
    formula="volume × density × (enthalpy at to − enthalpy at from) ÷ power",
    source="density and enthalpy of water, IAPWS-95, data/water.csv",
    needs=("numpy",),
    advice="Open beds lose heat to the air and take longer. Electricity near water can kill: use a heater made for "
    "immersion, on a circuit with ground-fault protection, and follow its label and the local code.",
)
def heat_time(volume: float, start: float, end: float, watts: float) -> float:
    """Hours [h] to warm a volume [L] from start to end [°C] with a power [W].

    Raises OutOfRange where the end is colder than the start.

    >>> round(heat_time(100.0, 15.0, 20.0, 500.0), 3)
    1.162
    """
    import numpy

    if end < start:
        raise OutOfRange("to is colder than from: a heater only warms; give the higher temperature as to")
    temperatures, densities, enthalpies = properties_of_water()
    gained = float(numpy.interp(end, temperatures, enthalpies) - numpy.interp(start, temperatures, enthalpies))
    mass = volume * float(numpy.interp(start, temperatures, densities))
    return mass * gained / KILOJOULES_IN_WATT_HOUR / watts


@functools.cache
def properties_of_water() -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Temperatures [°C], and at each of them the density [kg/L] and the enthalpy [kJ/kg] of water."""
    rows = [
        tuple(float(row[name]) for name in ("temperature", "density", "enthalpy")) for row in read_data("water.csv")
    ]
    temperatures, densities, enthalpies = zip(*rows, strict=True)
    return temperatures, densities, enthalpies


@cell_function(
    "GROW_CONVERT",
    family=Family.WATER,
    help="A value in any other unit of its kind: lengths, volumes, masses, concentrations, temperatures and more.",
    arguments=(
        Argument("value", NUMBER, "the number to convert", zero=True, negative=True),
        Argument("from_unit", UNIT, 'its unit, such as "gal"'),
        Argument("to_unit", UNIT, 'the unit wanted, such as "L"'),
    ),
    result=Result(NUMBER, "the value in to_unit", negative=True),
    examples=(
        Example((1, "gal", "L"), 3.785411784, "NIST SP 811 Appendix B"),
        Example((1, "gal_uk", "L"), 4.54609, "NIST SP 811 Appendix B"),
        Example((68, "°F", "°C"), 20.0, "NIST SP 811 Appendix B"),
        Example((2, "g/gal", "ppm"), 528.34410, "2000 mg ÷ 3.785411784 L", 1e-7),
    ),
    formula="value × factor, with the offset of a temperature scale",
    source="pint with units from NIST SP 811 and NIST Handbook 44",
)
def convert(value: float, from_unit: str, to_unit: str) -> float:
    """A value in another unit of its kind.

    Raises GrowError for a text that is no unit and where the units measure different things.

    >>> convert(2.0, "gal", "L")
    7.570823568
    """
    return converted(value, from_unit, to_unit)
