"""Electrical conductivity of a nutrient solution from its ions, and what meters make of a reading."""

from __future__ import annotations

import math
from collections.abc import Mapping

from .charges import charged_nitrogen
from .errors import OutOfRange
from .ions import (
    ABSOLUTE_ZERO,
    ROOM,
    Equilibrium,
    Species,
    all_species,
    debye_hueckel,
    dielectric_constant,
    equilibrium,
    log_activity_coefficient,
)
from .kinds import CONCENTRATION, CONDUCTIVITY, NUMBER, TEMPERATURE
from .nutrients import ALKALINITY, formula_mass
from .ppm import MILLIGRAMS_IN_GRAM, PH, PPM_TABLE, PpmTable
from .registry import Argument, Example, Result, cell_function

FAMILY = "Conductivity, pH, water"
USUAL_PH = 6.0
"""pH of a nutrient solution whose table gives none; common practice is 5.5 to 6.5, no source."""
STRONGEST = 0.3
"""Ionic strength [mol/kg], some 20 mS/cm, beyond which the law of Onsager is no longer near the truth."""
ION_DISTANCE = 3.8
"""Nearest approach of two ions [Å]: fits KCl up to 0.1 mol/L; Robinson & Stokes, Electrolyte Solutions, 1959."""
WARMING_PER_KELVIN = 0.0191
"""Rise of conductivity for each degree from that at 25 °C: Standard Methods 2510 B, from memory."""
METER_SCALES = (500.0, 640.0, 700.0)
"""ppm that meters show for 1 mS/cm: 500 and 640 on a NaCl basis, 700 on the 442 basis; common practice, no source."""

COMPONENTS = {
    "K": "K",
    "Ca": "Ca",
    "Mg": "Mg",
    "Na": "Na",
    "Cl": "Cl",
    "F": "F",
    "Fe": "Fe",
    "Mn": "Mn",
    "Zn": "Zn",
    "Cu": "Cu",
    "S": "SO4",
    "P": "PO4",
    "Mo": "MoO4",
    "B": "H3BO3",
    "Si": "H4SiO4",
}
"""The ion or molecule that carries each nutrient."""


def viscosity(temperature: float) -> float:
    """Of water [mPa s] at a temperature [°C]: Kestin, Sokolov & Wakeham 1978, J. Phys. Chem. Ref. Data 7:941."""
    below = 20 - temperature
    log = below / (temperature + 96) * (1.2364 - 1.37e-3 * below + 5.7e-6 * below**2)
    return float(1.0020 * 10**log)


def limiting_conductivity(species: Species, temperature: float) -> float:
    """Molar conductivity at infinite dilution [S cm²/mol] of an ion at a temperature [°C].

    Warmed by the polynomial of McCleskey et al. 2012, or by the viscosity of water where there is none (Walden).
    """
    if species.warming is None:
        return species.conductivity * viscosity(ROOM) / viscosity(temperature)
    square, slope, start = species.warming
    return species.conductivity * (
        (square * temperature**2 + slope * temperature + start) / (square * ROOM**2 + slope * ROOM + start)
    )


def component_moles(table: PpmTable) -> dict[str, float]:
    """Moles in a litre of each component that a table [mg/L] holds, carbonate left out."""
    moles = {
        component: table.get(key, 0.0) / MILLIGRAMS_IN_GRAM / formula_mass(key) for key, component in COMPONENTS.items()
    }
    nitrate, ammonium = charged_nitrogen(table)
    return moles | {"NO3": nitrate / MILLIGRAMS_IN_GRAM, "NH4": ammonium / MILLIGRAMS_IN_GRAM}


def carbonate(alkalinity: float, ph: float, strength: float, temperature: float) -> float:
    """Moles of carbonate in all its forms that carry an alkalinity [eq/L] at a pH."""
    forms = {s.name: s for s in all_species() if s.name in ("CO3-2", "HCO3-", "CO2")}
    relative = {
        name: 10 ** (s.log_k_at(temperature) - s.components.get("H", 0) * ph)
        / 10 ** log_activity_coefficient(s, strength, temperature)
        for name, s in forms.items()
    }
    charged = relative["HCO3-"] + 2 * relative["CO3-2"]
    return alkalinity * sum(relative.values()) / charged


def dissolved(table: PpmTable, temperature: float) -> Equilibrium:
    """The species in a solution of a table [mg/L] at its pH and a temperature [°C]."""
    ph = table.get(PH, USUAL_PH)
    moles = component_moles(table)
    alkalinity = 2 * table.get(ALKALINITY, 0.0) / MILLIGRAMS_IN_GRAM / formula_mass("CaCO3")
    if alkalinity:
        moles["CO3"] = carbonate(alkalinity, ph, equilibrium(moles, ph, temperature).strength, temperature)
    return equilibrium(moles, ph, temperature)


def conductivity(solution: Equilibrium, temperature: float) -> float:
    """Conductivity [mS/cm] of a solution at a temperature [°C].

    The law of Onsager with the ions' size (Robinson & Stokes 1959, chapter 7): each ion is slowed by the water that
    its neighbours drag along (electrophoretic term) and by their pull (relaxation term). In a mixture the neighbours
    are taken as one ion with the mean charge and mobility of all ions of opposite sign.
    Raises OutOfRange beyond an ionic strength of 0.3 mol/kg.
    """
    if solution.strength > STRONGEST:
        raise OutOfRange(
            f"the solution has an ionic strength of {solution.strength:.2g} mol/L, too strong for this formula: "
            "give the ppm of the diluted feed"
        )
    mobile = {s: limiting_conductivity(s, temperature) for s, amount in solution.moles.items() if s.charge and amount}
    neighbours = {sign: _mean_ion(solution, mobile, sign) for sign in (1, -1)}
    thermal = dielectric_constant(temperature) * (temperature - ABSOLUTE_ZERO)
    relaxation = 8.204e5 / thermal**1.5
    electrophoretic = 82.5 / (viscosity(temperature) / 100 * thermal**0.5)
    root = math.sqrt(solution.strength)
    shielding = root / (1 + debye_hueckel(temperature)[1] * ION_DISTANCE * root)
    total = 0.0
    for species, limit in mobile.items():
        charge = abs(species.charge)
        other_charge, other_mobility = neighbours[-1 if species.charge > 0 else 1]
        mobility = limit / charge
        ratio = (
            charge
            * other_charge
            / (charge + other_charge)
            * (mobility + other_mobility)
            / (other_charge * mobility + charge * other_mobility)
        )
        pull = ONSAGER_1_1 * relaxation * charge * other_charge * ratio / (1 + math.sqrt(ratio)) * mobility
        drag = electrophoretic / 2 * charge
        total += solution.moles[species] * charge * (mobility - (pull + drag) * shielding)
    return total


ONSAGER_1_1 = (1 + math.sqrt(0.5)) / 0.5
"""Makes the general relaxation term that of an electrolyte of single charges, for which its constant is given."""


def _mean_ion(solution: Equilibrium, mobile: Mapping[Species, float], sign: int) -> tuple[float, float]:
    """Mean charge and mean equivalent conductivity of the ions of one sign, weighted by their charge."""
    side = [species for species in mobile if species.charge * sign > 0]
    equivalents = sum(solution.moles[species] * abs(species.charge) for species in side)
    charge = sum(solution.moles[species] * species.charge**2 for species in side) / equivalents
    return charge, sum(solution.moles[species] * mobile[species] for species in side) / equivalents


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


@cell_function(
    "GROW_EC",
    family=FAMILY,
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
    source="limiting conductivities of the CRC Handbook; warming of McCleskey et al. 2012; ion pairs of the USGS "
    "PHREEQC database; law of Onsager in Robinson & Stokes 1959",
    advice="It counts what the table lists: where GROW_BALANCE finds anions missing the reading will be higher. "
    "Nitrogen of a form not told counts as nitrate as far as the charges call for it.",
)
def expected_conductivity(ppm_table: PpmTable, temperature: float) -> float:
    """Conductivity [mS/cm] of a table [mg/L] at a temperature [°C]."""
    return conductivity(dissolved(ppm_table, temperature), temperature)


@cell_function(
    "GROW_EC_25",
    family=FAMILY,
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
    """Conductivity [mS/cm] at 25 °C of a reading [mS/cm] at a temperature [°C]."""
    return reading / (1 + WARMING_PER_KELVIN * (temperature - ROOM))


SCALE = Argument("scale", NUMBER, "the scale of the meter: 500, 640 or 700 ppm for 1 mS/cm")


def _check_scale(scale: float) -> None:
    if scale not in METER_SCALES:
        raise OutOfRange(f"scale is {scale:g}: give that of the meter, 500, 640 or 700")


@cell_function(
    "GROW_TDS",
    family=FAMILY,
    help="What a ppm meter of a scale shows at a conductivity. It measures no ppm: it multiplies a conductivity.",
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
    """Reading [mg/L] of a meter of a scale at a conductivity [mS/cm]. Raises OutOfRange for no known scale."""
    _check_scale(scale)
    return ec * scale


@cell_function(
    "GROW_EC_FROM_TDS",
    family=FAMILY,
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
    """Conductivity [mS/cm] of a reading [mg/L] on a scale. Raises OutOfRange for no known scale."""
    _check_scale(scale)
    return tds / scale
