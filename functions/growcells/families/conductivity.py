"""Electrical conductivity of a nutrient solution from its ions, and what meters make of a reading."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import OutOfRange
from ..cells.kinds import CONCENTRATION, CONDUCTIVITY, NUMBER
from ..cells.registry import Family, cell_function
from ..chemistry.ion_mobility import conductivity, dissolved
from ..chemistry.ions import ROOM, TooStrong
from ..chemistry.products import PpmTable
from ..terms.given import water_temperature
from ..terms.ppm_tables import PPM_TABLE

WARMING_PER_KELVIN = 0.0191
"""Rise of conductivity for each degree from that at 25 °C: Standard Methods 2510 B, from memory."""

METER_SCALES = (500.0, 640.0, 700.0)
"""ppm that meters show for 1 mS/cm: 500 and 640 on a NaCl basis, 700 on the 442 basis; common practice, no source."""


@cell_function(
    "GROW_EC",
    family=Family.CONDUCTIVITY,
    help="Conductivity to expect of a solution, from the ions in it. Urea, boron and silicon carry no current.",
    arguments=(
        Argument(
            "ppm_table",
            PPM_TABLE,
            "a range of nutrient, ppm; rows for pH (6 if left out), alkalinity or HCO3, Na and Cl count too",
        ),
        water_temperature(False, "the temperature of the water; 25 °C if left out, which is what meters refer to"),
    ),
    result=Result(CONDUCTIVITY, "the conductivity at that temperature", unit_name="ec_unit"),
    examples=(
        Example(
            ((("K", 390.983), ("Cl", 354.53), ("pH", 7)),),
            1.413,
            "KCl 0.01 mol/L at 25 °C: OIML R 56, from memory",
            0.01,
        ),
        Example(
            ((("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64), ("pH", 5.8)),),
            2.16,
            "Hoagland & Arnon 1950 solution 1: 2.161 by PHREEQC with phreeqc.dat",
            0.02,
        ),
    ),
    formula="sum of moles × charge × mobility, slowed by the ionic strength (Onsager), after ion pairs are formed",
    needs=("numpy",),
    source="limiting conductivities of the CRC Handbook as the thermo package carries them; warming of McCleskey et "
    "al. 2012; ion pairs of the USGS PHREEQC database; law of Onsager in Robinson & Stokes 1959",
    advice="How near it is: feeds of nitrates within 1.7 % of PHREEQC up to 4.5 mS/cm; single salts (McCleskey et al. "
    "2012) within 4 % up to 2.2 mS/cm, then too low where there is much calcium, magnesium or sulfate: by up to 7 % at "
    "6 mS/cm and 12 % at 20, where it ends. It counts what the table lists: where GROW_BALANCE finds anions missing "
    "the reading will be higher. "
    "Nitrogen of a form not told counts as nitrate as far as the charges call for it.",
)
def expected_conductivity(ppm_table: PpmTable, temperature: float) -> float:
    """Conductivity [mS/cm] of a table [mg/L] at a temperature [°C].

    Raises OutOfRange for a solution that is too strong for the formula.

    >>> round(expected_conductivity({"K": 390.98, "Cl": 354.5, "pH": 7.0}, 25.0), 2)
    1.41
    """
    try:
        return conductivity(dissolved(ppm_table, temperature), temperature)
    except TooStrong as problem:
        raise OutOfRange(f"{problem}: give the ppm of the diluted feed") from None


@cell_function(
    "GROW_EC_25",
    family=Family.CONDUCTIVITY,
    help="A conductivity reading corrected to 25 °C, for a meter that does not do it.",
    arguments=(
        Argument("reading", CONDUCTIVITY, "the uncorrected reading", unit="ec_unit", rare_zero="0 mS/cm"),
        water_temperature(True, "the temperature of the water when it was read"),
    ),
    result=Result(CONDUCTIVITY, "the conductivity at 25 °C", unit_name="result_unit", follows="ec_unit"),
    examples=(
        Example((1.8, 25), 1.8, "nothing to correct"),
        Example((1.2785, 20), 1.4135, "KCl 0.01 mol/L reads 1.278 at 20 °C: OIML R 56, from memory", 2e-3),
        Example((1800, 68, "uS/cm", "F"), 1800 / (1 - 0.0191 * 5), "68 °F are 20 °C"),
    ),
    formula="reading ÷ (1 + 0.0191 × (temperature − 25))",
    source="Standard Methods for the Examination of Water and Wastewater 2510 B, from memory",
    advice="Most meters correct by themselves (ATC): correcting twice makes the reading wrong.",
)
def corrected_conductivity(reading: float, temperature: float) -> float:
    """Conductivity [mS/cm] at 25 °C of a reading [mS/cm] at a temperature [°C].

    >>> round(corrected_conductivity(1.278, 20.0), 3)
    1.413
    """
    return reading / (1 + WARMING_PER_KELVIN * (temperature - ROOM))


SCALE = Argument("scale", NUMBER, "the scale of the meter: 500, 640 or 700 ppm for 1 mS/cm")


def _check_scale(scale: float) -> None:
    if scale not in METER_SCALES:
        raise OutOfRange(f"scale is {scale:g}: give the scale of the meter: 500, 640 or 700")


@cell_function(
    "GROW_TDS",
    family=Family.CONDUCTIVITY,
    help="What a ppm meter of a scale shows at a conductivity. It does not measure ppm: it multiplies a conductivity.",
    arguments=(Argument("ec", CONDUCTIVITY, "the conductivity", unit="ec_unit", rare_zero="0 mS/cm"), SCALE),
    result=Result(CONCENTRATION, "the ppm that the meter shows", unit_name="ppm_unit"),
    examples=(
        Example((1.8, 500), 900.0, "1.8 × 500"),
        Example((1.8, 700), 1260.0, "1.8 × 700"),
        Example(("1600 uS/cm", 640), 1024.0, "1.6 × 640"),
    ),
    formula="conductivity in mS/cm × scale",
    source="scales of meters, common practice, no source",
    advice="Compare readings in mS/cm: 900 ppm on one scale are 1260 ppm on another.",
)
def meter_ppm(ec: float, scale: float) -> float:
    """Reading [ppm] of a meter of a scale [ppm cm/mS] at a conductivity [mS/cm].

    Raises OutOfRange for a scale that no meter has.

    >>> meter_ppm(1.8, 500.0)
    900.0
    """
    _check_scale(scale)
    return ec * scale


@cell_function(
    "GROW_EC_FROM_TDS",
    family=Family.CONDUCTIVITY,
    help="The conductivity behind the reading of a ppm meter of a known scale.",
    arguments=(Argument("tds", CONCENTRATION, "the reading of the meter", unit="ppm_unit", rare_zero="0 ppm"), SCALE),
    result=Result(CONDUCTIVITY, "the conductivity", unit_name="ec_unit"),
    examples=(
        Example((900, 500), 1.8, "900 ÷ 500"),
        Example((1260, 700), 1.8, "1260 ÷ 700"),
        Example((1024, 640, None, "uS/cm"), 1600.0, "1024 ÷ 640"),
    ),
    formula="reading ÷ scale",
    source="scales of meters, common practice, no source",
)
def conductivity_of_meter_ppm(tds: float, scale: float) -> float:
    """Conductivity [mS/cm] of a reading [ppm] on a scale [ppm cm/mS].

    Raises OutOfRange for a scale that no meter has.

    >>> conductivity_of_meter_ppm(1260.0, 700.0)
    1.8
    """
    _check_scale(scale)
    return tds / scale
