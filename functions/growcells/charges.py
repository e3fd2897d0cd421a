"""Amounts and charges: millimoles, milliequivalents, and whether the ions of a table balance."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from .errors import GrowError
from .kinds import CONCENTRATION, NUMBER, Kind, shown
from .nutrients import (
    ATOMIC_WEIGHTS,
    FAMILY,
    NITROGEN_FORMS,
    NUTRIENT_ASKED,
    TOTAL_NITROGEN,
    Nutrient,
    folded,
    formula_mass,
    look_up,
    names_in,
)
from .ppm import PPM_TABLE, PpmTable
from .registry import Argument, Example, Result, cell_function
from .tables import read_data

PPM = Argument("ppm", CONCENTRATION, "the concentration", zero=True)
UNCHARGED = {"B": "boric acid", "Si": "silicic acid", "urea-N": "urea"}
"""What carries these nutrients at the pH of water culture: molecules without charge."""


@dataclass(frozen=True)
class Ion:
    """An ion; ``formula`` is what its ppm are ppm of."""

    formula: str
    charge: int

    @property
    def milliequivalent(self) -> float:
        """Mass [mg] of a milliequivalent."""
        return formula_mass(self.formula) / abs(self.charge)


@functools.cache
def ions() -> Mapping[str, Ion]:
    """All ions by the name on a label or report."""
    return {row["ion"]: Ion(row["formula"], int(row["charge"])) for row in read_data("ions.csv")}


@functools.cache
def find_ion(name: str) -> Ion:
    """The ion of this name.

    Raises UnknownName with the nearest names, GrowError for a nutrient that carries no charge or any charge.
    """
    if folded(name) in ("n", "nitrogen"):
        raise GrowError(f'"{name}" has no charge of its own: give NO3-N for nitrate or NH4-N for ammonium')
    for symbol, molecule in UNCHARGED.items():
        if folded(name) == folded(symbol):
            raise GrowError(f"{symbol} is {molecule} in water culture, which carries no charge: give an ion such as Ca")
    return ions()[look_up(name, names_in("ions.csv", "ion"), "ion", "give one such as Ca, K, NO3-N, SO4 or HCO3")]


@dataclass(frozen=True)
class IonName(Kind):
    """The symbol or name of an ion."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> Ion:
        if not isinstance(cell, str):
            raise GrowError(f"{argument.name} is {shown(cell)}: give an ion as text, such as Ca or NO3-N")
        return find_ion(cell.strip())


ION = IonName("ion")


@cell_function(
    "GROW_MMOL",
    family=FAMILY,
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
    """Amount [mmol/L] of the element in a concentration [mg/L] of a nutrient on its basis."""
    return ppm * nutrient.share / formula_mass(nutrient.key_formula)


@cell_function(
    "GROW_MEQ",
    family=FAMILY,
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
    """Charge [meq/L] of a concentration [mg/L] of an ion."""
    return ppm / ion.milliequivalent


def untold_nitrogen(table: PpmTable) -> float:
    """Nitrogen [mg/L] whose form a table does not tell."""
    told = sum(table.get(form, 0.0) for form in NITROGEN_FORMS)
    return max(table.get(TOTAL_NITROGEN, 0.0) - told, 0.0)


def charge_without_nitrogen(table: PpmTable) -> float:
    """Cations less anions [meq/L] of everything but nitrogen."""
    total = 0.0
    for key, ppm in table.items():
        if key in ions() and key not in NITROGEN_FORMS:
            ion = ions()[key]
            total += ppm / ion.milliequivalent * (1 if ion.charge > 0 else -1)
    return total


def charged_nitrogen(table: PpmTable) -> tuple[float, float]:
    """Nitrate and ammonium [mmol/L] of a table.

    Nitrogen of a form not told counts as nitrate as far as the other ions call for it, the rest as urea.
    """
    atom = formula_mass("N")
    nitrate = table.get("NO3-N", 0.0) / atom
    ammonium = table.get("NH4-N", 0.0) / atom
    gap = charge_without_nitrogen(table) + ammonium - nitrate
    return nitrate + min(max(gap, 0.0), untold_nitrogen(table) / atom), ammonium


@cell_function(
    "GROW_BALANCE",
    family=FAMILY,
    help="Cations less anions in a table of ppm: 0 where every ion is listed, else what is missing or mistyped.",
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
    """Cations less anions [meq/L] of a table [mg/L]."""
    nitrate, ammonium = charged_nitrogen(ppm_table)
    return charge_without_nitrogen(ppm_table) + ammonium - nitrate
