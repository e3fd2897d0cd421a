"""Amounts and charges: millimoles, milliequivalents, and whether the ions of a table balance."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import CONCENTRATION, NUMBER
from ..cells.registry import Family, cell_function
from ..chemistry.charges import Ion, charge_without_nitrogen, charged_nitrogen
from ..chemistry.chemical_formulas import ATOMIC_WEIGHTS
from ..chemistry.nutrient_bases import Nutrient
from ..chemistry.products import PpmTable
from ..terms.names import ION, NUTRIENT_ASKED
from ..terms.ppm_tables import PPM_TABLE

PPM = Argument("ppm", CONCENTRATION, "the concentration", zero=True)


@cell_function(
    "GROW_MMOL",
    family=Family.CHEMISTRY,
    help="Millimoles in a litre of a nutrient, from its ppm.",
    arguments=(PPM, NUTRIENT_ASKED),
    result=Result(NUMBER, "mmol/L of the element; of CaCO3 for alkalinity"),
    examples=(
        Example((210, "N"), 15.0, "Hoagland & Arnon 1950, Circ. 347: 15 mmol/L of N are 210 ppm", 1e-3),
        Example((235, "K"), 6.0, "Hoagland & Arnon 1950, Circ. 347: 6 mmol/L of K are 235 ppm", 2e-3),
    ),
    formula="ppm ÷ atomic weight",
    source=ATOMIC_WEIGHTS,
)
def millimoles(ppm: float, nutrient: Nutrient) -> float:
    """Amount [mmol/L] of the element in a concentration [mg/L] of a nutrient on its basis.

    >>> from growcells.terms.names import find_nutrient
    >>> round(millimoles(200.4, find_nutrient("Ca")), 3)
    5.0
    """
    return ppm * nutrient.share / nutrient.key_mass


@cell_function(
    "GROW_MEQ",
    family=Family.CHEMISTRY,
    help="Milliequivalents in a litre of an ion, from its ppm: its charge.",
    arguments=(
        PPM,
        Argument(
            "ion", ION, "the ion: Ca, Mg, K, NO3-N or NH4-N (ppm of nitrogen), NO3 (ppm of nitrate), SO4, S, P, HCO3 …"
        ),
    ),
    result=Result(NUMBER, "meq/L, without sign"),
    examples=(
        Example((200, "Ca"), 9.98, "IUPAC atomic weights: 200 ÷ 40.078 × 2", 1e-3),
        Example((62.004, "NO3"), 1.0, "IUPAC atomic weights: 14.007 + 3 × 15.999", 1e-4),
        Example((100, "alkalinity"), 1.998, "IUPAC atomic weights: 100 ÷ 100.09 × 2", 1e-3),
    ),
    formula="ppm ÷ mass of a mole × charge",
    source=ATOMIC_WEIGHTS,
    advice="Phosphorus counts as H2PO4 with one charge, as at the pH of water culture; iron, manganese, zinc and "
    "copper with two.",
)
def milliequivalents(ppm: float, ion: Ion) -> float:
    """Charge [meq/L] of a concentration [mg/L] of an ion.

    >>> from growcells.terms.names import find_ion
    >>> round(milliequivalents(200.4, find_ion("Ca")), 3)
    10.0
    """
    return ppm / ion.milliequivalent


@cell_function(
    "GROW_BALANCE",
    family=Family.CHEMISTRY,
    help="Cations less anions in a table of ppm: 0 where every ion is listed; anything else is missing or mistyped.",
    arguments=(Argument("ppm_table", PPM_TABLE, "a range of nutrient, ppm; alkalinity or HCO3 counts too"),),
    result=Result(NUMBER, "meq/L; above 0 where anions are missing, below 0 where cations are", negative=True),
    examples=(
        Example(
            ((("NO3-N", 210.105), ("P", 30.974), ("K", 234.59), ("Ca", 200.39), ("Mg", 48.61)),),
            4.0,
            "Hoagland & Arnon 1950, Circ. 347, solution 1 with its 2 mmol/L of sulfate forgotten",
            1e-3,
        ),
        Example(((("Ca", 40.078), ("HCO3", 61.017)),), 1.0, "2 meq/L of calcium less 1 of bicarbonate", 1e-3),
    ),
    formula="sum of ppm ÷ mass of a mole × charge, cations less anions",
    source=ATOMIC_WEIGHTS + "; water is neutral",
    advice="Nitrogen of a form not told counts as nitrate as far as it is needed to balance, the rest as urea. A water "
    "report should balance within 5 % of its cations (common practice, no source). An alkali such as KHCO3, given by "
    "its formula, shows as missing anions: its bicarbonate is no nutrient.",
)
def balance(ppm_table: PpmTable) -> float:
    """Cations less anions [meq/L] of a table [mg/L]; 0 where every ion is listed.

    >>> round(balance({"Ca": 40.078, "Cl": 35.45}), 3)
    1.0
    """
    nitrate, ammonium = charged_nitrogen(ppm_table)
    return charge_without_nitrogen(ppm_table) + ammonium - nitrate
