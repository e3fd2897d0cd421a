"""Arguments and a result that functions of several subjects share."""

from __future__ import annotations

from ..cells.arguments import Argument, Result
from ..cells.kinds import TEMPERATURE, VOLUME
from ..cells.liquids import PRODUCT, PRODUCT_RATE
from ..chemistry.ions import ROOM

VOLUME_GIVEN = Argument("volume", VOLUME, "the volume of water", unit="volume_unit")
MASS_GIVEN = Argument("mass", PRODUCT, "the mass of the feed, or the volume of a liquid", unit="mass_unit")
RATE_GIVEN = Argument(
    "rate",
    PRODUCT_RATE,
    'the rate of the feed, such as grams a gallon; of a liquid a text such as "5 mL/gal"',
    unit="rate_unit",
)
DOSE = Result(PRODUCT, "mL of a liquid whose rate is by volume, else the mass to weigh", unit_name="mass_unit")


def water_temperature(required: bool, help: str) -> Argument:
    """A temperature of water between freezing and 50 °C."""
    return Argument(
        "temperature",
        TEMPERATURE,
        help,
        required,
        default=None if required else ROOM,
        unit="temp_unit",
        negative=True,
        low=0,
        high=50,
    )
