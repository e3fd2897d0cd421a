"""ppm, tables of ppm, blends, doses to a target and the price of a nutrient."""

from __future__ import annotations

import periodictable
import pytest

import growcells
from growcells import CellError

LITRES_IN_GALLON = 3.785411784  # NIST SP 811 Appendix B


def weight(formula: str) -> float:
    return float(periodictable.formula(formula).mass)


# Extension bulletins: ppm = 75 × percent/100 × ounces in 100 US gal; exact 74.89.
def test_ounces_in_a_hundred_gallons() -> None:
    value = growcells.GROW_PPM(1, 100, "20-20-20", "N", "oz", "gal")
    assert value == pytest.approx(0.20 * 74.89, rel=1e-4)
    assert value == pytest.approx(0.20 * 75, rel=2e-3)


# Hoagland & Arnon 1950, Calif. Agr. Exp. Sta. Circ. 347: mmol/L of each salt, and the ppm that checks.md prints.
SOLUTION_1 = {"KNO3": 5, "Ca(NO3)2.4H2O": 5, "KH2PO4": 1, "MgSO4.7H2O": 2}
SOLUTION_2 = {"KNO3": 6, "Ca(NO3)2.4H2O": 4, "NH4H2PO4": 1, "MgSO4.7H2O": 2}
MMOL_1 = {"N": 15, "P": 1, "K": 6, "Ca": 5, "Mg": 2, "S": 2}
MMOL_2 = {"N": 15, "P": 1, "K": 6, "Ca": 4, "Mg": 2, "S": 2}
PRINTED_1 = {"N": 210, "P": 31, "K": 235, "Ca": 200, "Mg": 48.6, "S": 64}
PRINTED_2 = {"N": 210, "P": 31, "K": 235, "Ca": 160, "Mg": 48.6, "S": 64}


@pytest.mark.parametrize(
    ("salts", "mmol", "printed"), [(SOLUTION_1, MMOL_1, PRINTED_1), (SOLUTION_2, MMOL_2, PRINTED_2)]
)
def test_hoagland_and_arnon_from_salts(
    salts: dict[str, float], mmol: dict[str, float], printed: dict[str, float]
) -> None:
    masses = tuple((amount * weight(salt.replace(".", "+")) / 1000,) for salt, amount in salts.items())
    table = growcells.GROW_PPM_TABLE(masses, 1, tuple((salt,) for salt in salts), None, "g", "L")
    reached = dict(table[1:])
    for element, amount in mmol.items():
        print(
            f"{element}: {reached[element]:.2f} ppm; {amount} mmol × {weight(element):.3f}; {printed[element]} printed"
        )
        assert reached[element] == pytest.approx(amount * weight(element), rel=5e-3)
        assert reached[element] == pytest.approx(printed[element], abs=0.5)


def test_table_lists_what_is_absent_and_counts_the_water() -> None:
    water = (("water", "ppm"), ("Ca", 40), ("SO4", 30), ("HCO3", 122), ("Na", 12), ("pH", 7.6))
    table = dict(growcells.GROW_PPM_TABLE(1, 1, "18-9-18", water, "g", "L")[1:])
    assert table["N"] == pytest.approx(180)
    assert table["Ca"] == 40
    assert table["Mg"] == 0
    assert table["S"] == pytest.approx(30 * weight("S") / weight("SO4"), rel=2e-4)
    assert table["alkalinity"] == pytest.approx(100.0, rel=2e-3)  # 122 mg/L of HCO3 are 2 meq/L
    assert table["Na"] == 12
    assert "pH" not in table


def test_forms_are_left_out_where_a_part_does_not_tell_them() -> None:
    known = dict(growcells.GROW_PPM_TABLE(((1,), (1,)), 1, (("KNO3",), ("urea",)), None, "g", "L")[1:])
    assert known["NO3-N"] + known["urea-N"] == pytest.approx(known["N"])
    unknown = dict(growcells.GROW_PPM_TABLE(((1,), (1,)), 1, (("KNO3",), ("20-20-20",)), None, "g", "L")[1:])
    assert "NO3-N" not in unknown
    assert growcells.GROW_BLEND(((1,), (1,)), (("KNO3",), ("20-20-20",))) == "16.9269-10-33.292"


def test_blend_halves_and_does_not_add() -> None:
    label = growcells.GROW_BLEND(((1,), (1,)), (("15.5-0-0 Ca 19",), ("6-12-30 Mg 4",)))
    assert label == "10.75-6-15 Ca 9.5 Mg 2"
    assert growcells.GROW_PERCENT(label, "N") == (15.5 + 6) / 2 != 15.5 + 6


def test_blend_gives_the_ppm_of_its_parts() -> None:
    masses, feeds = ((30,), (12,), (7.5,)), (("calcium nitrate",), ("5-12-26 Mg 6.3 Fe 0.3",), ("Epsom salt",))
    label = growcells.GROW_BLEND(masses, feeds)
    table = dict(growcells.GROW_PPM_TABLE(masses, 100, feeds, None, "g", "L")[1:])
    for nutrient, ppm in table.items():
        if ppm:
            assert growcells.GROW_PPM(49.5, 100, label, nutrient, "g", "L") == pytest.approx(ppm, rel=1e-5)


def test_dose_for_and_ppm_undo_each_other() -> None:
    mass = growcells.GROW_DOSE_FOR(150, "N", "15.5-0-0", 28, 12)
    assert growcells.GROW_PPM(mass, 28, "15.5-0-0", "N") == pytest.approx(138)
    assert growcells.GROW_DOSE_FOR(100, "N", "15.5-0-0", 1, 0, "L", "mg") == pytest.approx(645.1612903)


def test_cost_of_a_nutrient() -> None:
    assert growcells.GROW_COST_NUTRIENT(31.5, 10, "20-20-20", "N", "kg") == pytest.approx(15.75)
    assert growcells.GROW_COST_NUTRIENT(31.5, 10, "20-20-20", "N", "lb", "lb") == pytest.approx(15.75)


def test_stock_gives_the_rate_after_the_injector() -> None:
    mass = growcells.GROW_STOCK(2, 100, 5)
    assert mass == 1000.0
    assert mass / (5 * 100) == 2


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("GROW_PPM", ("ten", 5, "20-20-20", "N"), 'mass is "ten"'),
        ("GROW_PPM", (10, "5 lb", "20-20-20", "N"), "measures mass"),
        ("GROW_PPM", (10, None, "20-20-20", "N"), "volume is blank"),
        ("GROW_PPM", (10, 0, "20-20-20", "N"), "zero or blank"),
        ("GROW_PPM", (-10, 5, "20-20-20", "N"), "below zero"),
        ("GROW_PPM", (10, 5, "20-20-20", "Nitrogn"), "did you mean nitrogen"),
        ("GROW_PPM", (10, 5, "20-20-20", 7), "give a nutrient as text"),
        ("GROW_DOSE_FOR", (100, "Ca", "20-20-20", 5), "lists no Ca"),
        ("GROW_DOSE_FOR", (100, "N", "20-20-20", 5, 120), "above the target"),
        ("GROW_COST_NUTRIENT", (10, 5, "20-20-20", "Fe"), "lists no Fe"),
        ("GROW_ELEMENTAL", (10, "P"), "elemental already"),
        ("GROW_OXIDE", (10, "Fe"), "no oxide basis"),
        ("GROW_BLEND", (((0,), (0,)), (("20-20-20",), ("KNO3",))), "add up to 0"),
        ("GROW_BLEND", (((1,), (2,)), (("20-20-20",),)), "columns of one length"),
        ("GROW_PPM_TABLE", (1, 1, "20-20-20", "Ca 40"), "range of two columns"),
        ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("Ca", -4.0),)), "below zero"),
        ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("Ca", 4.0), ("CaO", 3))), "lists Ca twice"),
        ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("pH", 17),)), "pH is 17"),
        ("GROW_PPM_TABLE", (1, 1, "20-20-20", (("N", 10), ("NO3-N", 30))), "more than N"),
        ("GROW_STOCK", (2, 0.5, 5), "at least 1"),
    ],
)
def test_bad_input(name: str, arguments: tuple[object, ...], says: str) -> None:
    cell = getattr(growcells, name).evaluate(arguments)
    assert isinstance(cell, CellError)
    assert says in cell.message
    assert growcells.GROW_WHY(name, *arguments) == cell.message
