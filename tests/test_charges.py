"""Charges of ions and tables: against published solutions, atomic weights, and by hand."""

from __future__ import annotations

import pytest

import growcells
from chemistry import weight
from growcells.chemistry.charges import UNCHARGED, charge_without_nitrogen, charged_nitrogen, ions, untold_nitrogen
from growcells.chemistry.chemical_formulas import formula_mass
from growcells.chemistry.ions import (
    component_charges,
)
from growcells.chemistry.nutrient_bases import nutrients
from growcells.data import read_data


def test_ions_of_the_table_carry_the_charge_of_their_species() -> None:
    charges = {row["ion"]: int(row["charge"]) for row in read_data("ions.csv")}
    as_component = component_charges() | {"NH4-N": 1, "NO3-N": -1, "S": -2, "Mo": -2, "alkalinity": -2}
    # Phosphorus counts as H2PO4, which carries one charge at the pH of water culture.
    for ion, charge in charges.items():
        assert charge == (as_component | {"P": -1, "H2PO4": -1, "HPO4": -2, "HCO3": -1})[ion], ion


def test_balance_and_charges() -> None:
    table = (("NO3-N", 210.1), ("P", 30.97), ("K", 234.6), ("Ca", 200.4), ("Mg", 48.61), ("S", 64.12))
    assert growcells.call("GROW_BALANCE", table) == pytest.approx(0, abs=0.01)
    assert growcells.call("GROW_BALANCE", (*table, ("Na", 23))) == pytest.approx(1, abs=0.02)
    assert growcells.call("GROW_MEQ", 40.078, "Ca") == pytest.approx(2)
    assert growcells.call("GROW_MEQ", 14.007, "NO3-N") == pytest.approx(
        growcells.call("GROW_MEQ", 62.004, "nitrate"), rel=1e-4
    )
    assert growcells.call("GROW_MMOL", 234.59, "K") == pytest.approx(6, rel=1e-4)


def test_charges_by_hand() -> None:
    assert growcells.call("GROW_MEQ", 48.61, "Mg") == pytest.approx(4, rel=1e-3)
    assert growcells.call("GROW_MEQ", 96.06, "SO4") == pytest.approx(2, rel=1e-3)
    assert growcells.call("GROW_MEQ", 96.06, "sulphate") == pytest.approx(2, rel=1e-3)
    assert growcells.call("GROW_MMOL", 141.94, "P2O5") == pytest.approx(2, rel=1e-3)
    with pytest.raises(growcells.GrowError, match=r"^ion: urea-N is urea in water culture"):
        growcells.call("GROW_MEQ", 10, "urea-N")
    with pytest.raises(growcells.GrowError, match=r"^ion: Si is silicic acid in water culture"):
        growcells.call("GROW_MEQ", 10, "si")


def test_nitrogen_of_a_form_not_told() -> None:
    """Nitrate as far as the charges call for it, the rest urea; never more than there is, never less than none."""
    mole = formula_mass("N")
    potassium = formula_mass("K")
    assert charged_nitrogen({"N": 3 * mole, "K": 2 * potassium}) == pytest.approx((2, 0))
    assert charged_nitrogen({"N": mole, "K": 2 * potassium}) == pytest.approx((1, 0))
    assert charged_nitrogen({"N": mole}) == pytest.approx((0, 0))
    assert charged_nitrogen({"N": mole, "Cl": formula_mass("Cl")}) == pytest.approx((0, 0))
    known = {"N": 6 * mole, "NO3-N": mole, "NH4-N": 2 * mole, "urea-N": mole, "K": potassium}
    assert untold_nitrogen(known) == pytest.approx(2 * mole)
    assert charged_nitrogen(known) == pytest.approx((3, 2))
    assert charged_nitrogen({**known, "N": 10 * mole}) == pytest.approx((3, 2))
    assert untold_nitrogen({"NO3-N": mole}) == 0
    assert charge_without_nitrogen({"Ca": formula_mass("Ca"), "S": formula_mass("S"), "pH": 6.0, "B": 1.0}) == 0
    assert charge_without_nitrogen({"K": potassium, "NH4-N": mole, "NO3-N": mole}) == pytest.approx(1)


def test_ammonium_counts_as_a_cation() -> None:
    mole = formula_mass("N")
    assert growcells.call("GROW_BALANCE", (("NH4-N", 2 * mole), ("Cl", formula_mass("Cl")))) == pytest.approx(1)
    assert growcells.call("GROW_BALANCE", (("NO3-N", 2 * mole), ("K", formula_mass("K")))) == pytest.approx(-1)


# Hoagland & Arnon 1950, Circ. 347: solution 1 in meq/L, from its salts.
SOLUTION_1 = (
    ("NO3-N", 210.1, 15),
    ("P", 30.97, 1),
    ("SO4", 192.1, 4),
    ("K", 234.6, 6),
    ("Ca", 200.4, 10),
    ("Mg", 48.61, 4),
)


@pytest.mark.parametrize(("ion", "ppm", "expected"), SOLUTION_1)
def test_milliequivalents_of_a_published_solution(ion: str, ppm: float, expected: float) -> None:
    assert ppm / ions()[ion].milliequivalent == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("name", ions())
def test_mass_of_a_milliequivalent_against_periodictable(name: str) -> None:
    ion = ions()[name]
    assert ion.milliequivalent == pytest.approx(weight(ion.formula) / abs(ion.charge), rel=2e-4)


def test_every_nutrient_is_an_ion_or_known_to_carry_no_charge() -> None:
    """Of cobalt, nickel and selenium plants take so little that no balance shows it; N alone tells no form."""
    keys = {nutrient.key for nutrient in nutrients().values()}
    assert keys - set(ions()) == {*UNCHARGED, "N", "Co", "Ni", "Se"}
    assert all(ion.charge for ion in ions().values())
