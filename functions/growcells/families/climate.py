"""Air and light: vapour pressure deficit, dew point, daily light."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import OutOfRange
from ..cells.kinds import NUMBER, TEMPERATURE, TIME, Kind, Quantity, read_number, shown
from ..cells.registry import Family, cell_function
from ..chemistry.unit_factors import PERCENT_IN_WHOLE

PRESSURE_AT_0 = 0.6108

SLOPE = 17.27

SHIFT = 237.3
"""Constants of equation 11 of FAO Irrigation and Drainage Paper 56: [kPa], none, [°C]."""

FAO_56 = "Allen, Pereira, Raes & Smith, FAO Irrigation and Drainage Paper 56 (1998)"


SECONDS_IN_HOUR = 3600

MICROMOLES_IN_MOLE = 1e6

PRESSURE = Quantity("pressure", "kPa", "kPa", "1.2 kPa", "kPa")


@dataclass(frozen=True)
class Humidity(Kind):
    """A relative humidity, as meters show it (65), as a share (0.65) or as a text (65 %); read as a share."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        text = cell.rstrip() if isinstance(cell, str) else ""
        number = read_number(text.removesuffix("%") or cell, argument, '65, 0.65 or a text such as "65 %"')
        share = number / PERCENT_IN_WHOLE if text.endswith("%") or number > 1 else number
        if share > 1:
            raise OutOfRange(f"{argument.name} is {shown(cell)}: give a relative humidity of at most 100 %")
        return share


def air_temperature(name: str, help: str, required: bool = True) -> Argument:
    """A temperature within the reach of equation 11."""
    return Argument(name, TEMPERATURE, help, required, unit="temp_unit", negative=True, low=-40, high=60)


AIR = air_temperature("air_temp", "the temperature of the air among the leaves")

HUMIDITY = Argument("humidity", Humidity("relative humidity"), "the relative humidity: 65, 65 % or 0.65")


def saturation_pressure(temperature: float) -> float:
    """Saturation vapour pressure [kPa] over water at a temperature [°C]: FAO-56 equation 11."""
    return PRESSURE_AT_0 * math.exp(SLOPE * temperature / (temperature + SHIFT))


@cell_function(
    "GROW_VPD",
    family=Family.TRIAL,
    help="Vapour pressure deficit between leaf and air: how hard the air pulls water from the leaf.",
    arguments=(
        AIR,
        HUMIDITY,
        air_temperature("leaf_temp", "the temperature of the leaf; that of the air if left out", required=False),
    ),
    result=Result(PRESSURE, "the deficit, below zero where dew forms on the leaf", "pressure_unit", negative=True),
    examples=(
        Example((24.5, "50 %"), 3.075 / 2, "FAO-56 Annex 2: 3.075 kPa at 24.5 °C", 2e-4),
        Example((25, 54), 3.168 * 0.46, "FAO-56 Example 5: 3.168 kPa at 25 °C and 54 % humidity", 2e-4),
        Example((24.5, 0.5, 15), 1.705 - 3.075 / 2, "FAO-56 Annex 2: 1.705 kPa at 15 °C", 5e-3),
        Example((77, 54, 77, "F", "Pa"), 3168 * 0.46, "77 °F is 25 °C", 2e-4),
    ),
    formula="e(leaf) − humidity × e(air), e(T) = 0.6108 exp(17.27 T ÷ (T + 237.3)) kPa",
    source=f"{FAO_56}, equations 11 and 17",
    advice="Leaves in light with little wind can be warmer than the air, well watered ones in wind colder: measure "
    "them with an infrared thermometer.",
)
def vapour_pressure_deficit(air_temp: float, humidity: float, leaf_temp: float | None) -> float:
    """Vapour pressure deficit [kPa] of a leaf [°C] in air [°C] of a relative humidity [1].

    The leaf is as warm as the air for None.

    >>> round(vapour_pressure_deficit(25.0, 0.6, None), 3)
    1.267
    """
    leaf = air_temp if leaf_temp is None else leaf_temp
    return saturation_pressure(leaf) - humidity * saturation_pressure(air_temp)


@cell_function(
    "GROW_DEW_POINT",
    family=Family.TRIAL,
    help="The temperature at which dew forms: a leaf, pipe or pane colder than this gets wet.",
    arguments=(AIR, HUMIDITY),
    result=Result(TEMPERATURE, "the dew point", unit_name="result_unit", follows="temp_unit", negative=True),
    examples=(
        Example((24.5, 1.705 / 3.075), 15.0, "FAO-56 Annex 2: 1.705 kPa at 15 °C, 3.075 kPa at 24.5 °C", 5e-4),
        Example((68, "100 %", "F"), 68.0, "saturated air is at its dew point"),
    ),
    formula="T at which e(T) = humidity × e(air): T = 237.3 x ÷ (17.27 − x), x = ln(humidity × e(air) ÷ 0.6108)",
    source=f"{FAO_56}, equation 11 solved for the temperature",
    advice="Dew on leaves overnight invites mould: keep the coldest surface above the dew point. Below 0 °C this is "
    "the dew point over liquid water; frost forms on surfaces that are a tenth less cold: at −9 °C where it is −10.",
)
def dew_point(air_temp: float, humidity: float) -> float:
    """Dew point [°C] of air [°C] of a relative humidity [1].

    >>> round(dew_point(25.0, 0.6), 2)
    16.7
    """
    exponent = SLOPE * air_temp / (air_temp + SHIFT) + math.log(humidity)
    return SHIFT * exponent / (SLOPE - exponent)


@cell_function(
    "GROW_DLI",
    family=Family.TRIAL,
    help="Daily light integral: the light that falls on the leaves in a day.",
    arguments=(
        Argument("ppfd", NUMBER, "the photosynthetic photon flux density at the leaves in µmol/(m² s)", high=1e4),
        Argument("hours", TIME, "the hours of light in a day", high=24),
    ),
    result=Result(NUMBER, "light in mol/(m² day)"),
    examples=(
        Example((200, 16), 11.52, "200 × 16 × 3600 ÷ 1,000,000"),
        Example((250, "18 h"), 16.2, "250 × 18 × 3600 ÷ 1,000,000"),
    ),
    formula="ppfd × hours × 3600 ÷ 1,000,000",
    source="definition of the daily light integral",
    advice="Measure at several places of the bed and take the mean: the middle gets more than the edge.",
)
def daily_light(ppfd: float, hours: float) -> float:
    """Daily light integral [mol/(m² day)] of a photon flux density [µmol/(m² s)] over hours [h].

    >>> daily_light(200.0, 16.0)
    11.52
    """
    return ppfd * hours * SECONDS_IN_HOUR / MICROMOLES_IN_MOLE
