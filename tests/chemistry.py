"""The references of the chemistry tests: PHREEQC and the weights of periodictable; random solutions; columns.

PHREEQC goes by the database phreeqc.dat of the USGS, and where concentrates are saturated by its pitzer.dat. Citrate
and CaHPO4·2H2O, which phreeqc.dat lacks, are added from the MINTEQ database minteq.v4.dat of the USGS.
"""

from __future__ import annotations

import functools
import math
import random
import re
from pathlib import Path
from typing import Any

import periodictable

ADDED = """
SOLUTION_MASTER_SPECIES
Citrate Citrate-3 2.0 189.102 189.102
SOLUTION_SPECIES
Citrate-3 = Citrate-3
 log_k 0
H+ + Citrate-3 = HCitrate-2
 log_k 6.396
2H+ + Citrate-3 = H2Citrate-
 log_k 11.157
3H+ + Citrate-3 = H3Citrate
 log_k 14.285
Ca+2 + Citrate-3 = CaCitrate-
 log_k 4.87
Ca+2 + Citrate-3 + H+ = CaHCitrate
 log_k 9.26
Ca+2 + Citrate-3 + 2H+ = CaH2Citrate+
 log_k 12.257
Mg+2 + Citrate-3 = MgCitrate-
 log_k 4.89
Mg+2 + Citrate-3 + H+ = MgHCitrate
 log_k 8.91
Mg+2 + Citrate-3 + 2H+ = MgH2Citrate+
 log_k 12.2
PHASES
Brushite
 CaHPO4:2H2O = Ca+2 + H+ + PO4-3 + 2H2O
 log_k -18.995
 delta_h 23 kJ
END
"""
ELEMENTS = {
    "K": ("K", "K"),
    "Ca": ("Ca", "Ca"),
    "Mg": ("Mg", "Mg"),
    "Na": ("Na", "Na"),
    "NH4-N": ("N(-3)", "N"),
    "NO3-N": ("N(5)", "N"),
    "P": ("P", "P"),
    "S": ("S(6)", "S"),
    "Cl": ("Cl", "Cl"),
    "B": ("B", "B"),
    "Mn": ("Mn", "Mn"),
    "Zn": ("Zn", "Zn"),
}
"""Our key: PHREEQC's name, and the element whose moles both count."""


def column(*cells: object) -> tuple[tuple[object], ...]:
    """Cells as a range of one column."""
    return tuple((cell,) for cell in cells)


def formula(written: str) -> Any:
    """periodictable's reading of a formula such as ``5Ca(NO3)2.NH4NO3.10H2O``."""
    # It joins parts with +, and takes a count in front as that of the first group only.
    return periodictable.formula(re.sub(r"^(\d+)(.*?)\.", r"(\2)\1.", written).replace(".", "+"))


def weight(written: str) -> float:
    """Mass of a mole of a formula [g], from the atomic weights of periodictable."""
    return float(formula(written).mass)


def mass_shares(written: str) -> dict[str, float]:
    """Share of each element in the mass of a formula, from the same weights."""
    return {element.symbol: share for element, share in formula(written).mass_fraction.items()}


@functools.cache
def phreeqc() -> Any:
    """PHREEQC with phreeqc.dat and the additions above."""
    from phreeqpython import PhreeqPython

    program = PhreeqPython(database="phreeqc.dat")
    program.ip.run_string(ADDED)
    return program


@functools.cache
def phreeqc_pitzer() -> Any:
    """PHREEQC with pitzer.dat, which holds up to saturated solutions."""
    from phreeqpython import PhreeqPython

    return PhreeqPython(database="pitzer.dat")


def diffusion_coefficients() -> dict[str, float]:
    """Diffusion coefficient in water at 25 °C [m²/s] of each species for which phreeqc.dat has one."""
    import phreeqpython

    text = Path(phreeqpython.__file__).with_name("database").joinpath("phreeqc.dat").read_text("utf-8", "replace")
    found, species = {}, ""
    for line in text.splitlines():
        if reaction := re.match(r"[^#-][^#]*=\s*(\S+)", line):
            species = reaction[1]
        elif coefficient := re.match(r"\s*-dw\s+(\S+)", line):
            found[species] = float(coefficient[1])
    return found


def of_water(property: str, temperature: float) -> float:
    """A property of water that PHREEQC's BASIC knows, such as VISCOS [mPa s], at a temperature [°C]."""
    program = phreeqc_pitzer().ip
    program.run_string(
        f"SELECTED_OUTPUT\n -reset false\nUSER_PUNCH\n -headings it\n 10 PUNCH {property}\n"
        f"SOLUTION\n temp {temperature}\nEND"
    )
    return float(program.get_selected_output_array()[1][0])


def dissolving(mineral: str, element: str, temperature: float) -> float:
    """Moles of an element in 100 g of water that a mineral saturates, by PHREEQC with pitzer.dat."""
    saturated = phreeqc_pitzer().add_solution({"units": "mol/kgw", "temp": temperature})
    saturated.equalize([mineral], to_si=[0])
    return float(saturated.total_element(element, units="mol") / saturated.mass / 10)


def solution(table: dict[str, float], ph: float, temperature: float = 25.0) -> Any:
    """PHREEQC's solution of a table of ppm."""
    amounts = {ELEMENTS[key][0]: ppm / weight(ELEMENTS[key][1]) for key, ppm in table.items() if key in ELEMENTS}
    return phreeqc().add_solution({"units": "mmol/kgw", "temp": temperature, "pH": ph, **amounts})


def complete_solution(numbers: random.Random) -> tuple[dict[str, float], float]:
    """ppm of a random complete nutrient solution whose ions balance, and its pH.

    The ranges [mmol/L at full strength] take in all published solutions of recipes.csv; the strength runs over a
    factor of 12 from 0.3 to 4 mS/cm; nitrate closes the balance.
    """
    strength = math.exp(numbers.uniform(math.log(0.22), math.log(2.1)))

    def amount(low: float, high: float) -> float:
        return numbers.uniform(low, high) * strength

    mmol = {
        "K": amount(2, 9),
        "Ca": amount(1, 5),
        "Mg": amount(0.5, 2.5),
        "NH4-N": amount(0, 1.5),
        "Na": amount(0, 1.5),
        "P": amount(0.3, 2),
        "S": amount(0.5, 3),
        "Cl": amount(0, 1.5),
        "B": amount(0.01, 0.05),
        "Mn": amount(0.002, 0.02),
        "Zn": amount(0.001, 0.005),
    }
    cations = mmol["K"] + mmol["NH4-N"] + mmol["Na"] + 2 * (mmol["Ca"] + mmol["Mg"] + mmol["Mn"] + mmol["Zn"])
    mmol["NO3-N"] = cations - mmol["P"] - 2 * mmol["S"] - mmol["Cl"]
    if mmol["NO3-N"] <= 0:
        return complete_solution(numbers)
    ph = numbers.uniform(5, 7)
    return {key: amount * weight(ELEMENTS[key][1]) for key, amount in mmol.items()}, ph


def random_water(numbers: random.Random) -> dict[str, object]:
    """A random tap water for PHREEQC [mmol/L, meq/L of alkalinity]: hardness 0.6 to 1.4 of the alkalinity.

    Sodium, sulfate and chloride make up the rest.
    """
    alkalinity = numbers.uniform(0.5, 6)
    hardness = alkalinity * numbers.uniform(0.6, 1.4)
    magnesium = numbers.uniform(0.1, 0.45)
    sulfate = numbers.uniform(0, 1.5)
    sodium = max(0.0, alkalinity + sulfate - hardness) + numbers.uniform(0, 2)
    return {
        "units": "mmol/kgw",
        "temp": 25,
        "pH": numbers.uniform(6.8, 8.5),
        "Alkalinity": alkalinity,
        "Ca": hardness * (1 - magnesium) / 2,
        "Mg": hardness * magnesium / 2,
        "Na": sodium,
        "S(6)": sulfate / 2,
        "Cl": "1 charge",
    }


SALTS = {
    "KNO3": {"K": 1, "N(5)": 1},
    "Ca(NO3)2.4H2O": {"Ca": 1, "N(5)": 2},
    "KH2PO4": {"K": 1, "P": 1},
    "NH4H2PO4": {"N(-3)": 1, "P": 1},
    "MgSO4.7H2O": {"Mg": 1, "S(6)": 1},
    "K2SO4": {"K": 2, "S(6)": 1},
    "(NH4)2SO4": {"N(-3)": 2, "S(6)": 1},
    "CaCl2": {"Ca": 1, "Cl": 2},
    "NH4NO3": {"N(-3)": 1, "N(5)": 1},
}


def random_concentrate(numbers: random.Random) -> tuple[dict[str, float], float]:
    """Moles in a litre of two to five salts, at once to 250 times the strength of a feed, and a temperature."""
    strength = math.exp(numbers.uniform(0, math.log(250))) / 1000
    salts = numbers.sample(list(SALTS), numbers.randint(2, 5))
    return {salt: numbers.uniform(0.2, 5) * strength for salt in salts}, numbers.uniform(5, 30)


def settled_concentrate(salts: dict[str, float], temperature: float) -> Any:
    """PHREEQC's solution of moles of salts in a kilogram of water, its pH from the balance of charges."""
    amounts: dict[str, float] = {}
    for salt, moles in salts.items():
        for element, count in SALTS[salt].items():
            amounts[element] = amounts.get(element, 0.0) + count * moles
    return phreeqc().add_solution({"units": "mol/kgw", "temp": temperature, "pH": "5 charge", **amounts})
