"""ppm, tables of ppm, blends, doses to a target and the price of a nutrient."""

from __future__ import annotations

import pytest

import growcells
from chemistry import column, weight
from growcells import GrowError
from growcells.chemistry.nutrient_bases import LABEL_OXIDES, nutrients
from growcells.chemistry.products import mixed, solution
from growcells.terms.analyses import parse_analysis
from growcells.terms.mixes import parts_of
from growcells.terms.ppm_tables import PPM_TABLE, table_row


# Extension bulletins: ppm = 75 × percent/100 × ounces in 100 US gal; exact 74.89.
def test_ounces_in_a_hundred_gallons() -> None:
    value = growcells.call("GROW_PPM", 1, 100, "17-7-21", "N", "oz", "gal")
    assert value == pytest.approx(0.17 * 74.89, rel=1e-4)
    assert value == pytest.approx(0.17 * 75, rel=2e-3)


# Hoagland & Arnon 1950, Calif. Agr. Exp. Sta. Circ. 347: mmol/L of each salt, and the rounded ppm of them.
SOLUTION_1 = {"KNO3": 5, "Ca(NO3)2.4H2O": 5, "KH2PO4": 1, "MgSO4.7H2O": 2}
SOLUTION_2 = {"KNO3": 6, "Ca(NO3)2.4H2O": 4, "NH4H2PO4": 1, "MgSO4.7H2O": 2}
MMOL_1 = {"N": 15, "P": 1, "K": 6, "Ca": 5, "Mg": 2, "S": 2}
MMOL_2 = {"N": 15, "P": 1, "K": 6, "Ca": 4, "Mg": 2, "S": 2}
PRINTED_1 = {"N": 210, "P": 31, "K": 235, "Ca": 200, "Mg": 48.6, "S": 64}
PRINTED_2 = {"N": 210, "P": 31, "K": 235, "Ca": 160, "Mg": 48.6, "S": 64}


def from_salts(salts: dict[str, float]) -> dict[str, float]:
    """ppm of so many mmol/L of each salt."""
    masses = column(*(amount * weight(salt) / 1000 for salt, amount in salts.items()))
    return dict(growcells.call("GROW_PPM_TABLE", masses, 1, column(*salts), None, "g", "L")[1:])


@pytest.mark.parametrize(
    ("salts", "mmol", "printed"), [(SOLUTION_1, MMOL_1, PRINTED_1), (SOLUTION_2, MMOL_2, PRINTED_2)]
)
def test_hoagland_and_arnon_from_salts(
    salts: dict[str, float], mmol: dict[str, float], printed: dict[str, float]
) -> None:
    reached = from_salts(salts)
    for element, amount in mmol.items():
        print(
            f"{element}: {reached[element]:.2f} ppm; {amount} mmol × {weight(element):.3f}; {printed[element]} printed"
        )
        assert reached[element] == pytest.approx(amount * weight(element), rel=5e-3)
        assert reached[element] == pytest.approx(printed[element], abs=0.5)


def test_table_lists_what_is_absent_and_counts_the_water() -> None:
    water = (("water", "ppm"), ("Ca", 40), ("SO4", 30), ("HCO3", 122), ("Na", 12), ("pH", 7.6))
    table = dict(growcells.call("GROW_PPM_TABLE", 1, 1, "17-7-21", water, "g", "L")[1:])
    assert table["N"] == pytest.approx(170)
    assert table["Ca"] == 40
    assert table["Mg"] == 0
    assert table["S"] == pytest.approx(30 * weight("S") / weight("SO4"), rel=2e-4)
    assert table["alkalinity"] == pytest.approx(100.0, rel=2e-3)  # 122 mg/L of HCO3 are 2 meq/L
    assert table["Na"] == 12
    assert "pH" not in table


def test_forms_are_left_out_where_a_part_does_not_tell_them() -> None:
    known = dict(growcells.call("GROW_PPM_TABLE", ((1,), (1,)), 1, (("KNO3",), ("urea",)), None, "g", "L")[1:])
    assert known["NO3-N"] + known["urea-N"] == pytest.approx(known["N"])
    unknown = dict(growcells.call("GROW_PPM_TABLE", ((1,), (1,)), 1, (("KNO3",), ("17-7-21",)), None, "g", "L")[1:])
    assert "NO3-N" not in unknown
    assert growcells.call("GROW_BLEND", ((1,), (1,)), (("KNO3",), ("17-7-21",))) == "15.4269-3.5-33.792"


def test_blend_halves_and_does_not_add() -> None:
    label = growcells.call("GROW_BLEND", ((1,), (1,)), (("13.3-0-0 Ca 17",), ("7-9-26 Mg 4",)))
    assert label == "10.15-4.5-13 Ca 8.5 Mg 2"
    assert growcells.call("GROW_PERCENT", label, "N") == (13.3 + 7) / 2 != 13.3 + 7


def test_blend_gives_the_ppm_of_its_parts() -> None:
    masses, feeds = ((30,), (12,), (7.5,)), (("calcium nitrate",), ("7-9-26 Mg 5 Fe 0.2",), ("Epsom salt",))
    label = growcells.call("GROW_BLEND", masses, feeds)
    table = dict(growcells.call("GROW_PPM_TABLE", masses, 100, feeds, None, "g", "L")[1:])
    for nutrient, ppm in table.items():
        if ppm:
            assert growcells.call("GROW_PPM", 49.5, 100, label, nutrient, "g", "L") == pytest.approx(ppm, rel=1e-5)


def test_dose_for_and_ppm_undo_each_other() -> None:
    mass = growcells.call("GROW_DOSE_FOR", 150, "N", "13.3-0-0", 34, 12)
    assert growcells.call("GROW_PPM", mass, 34, "13.3-0-0", "N") == pytest.approx(138)
    assert growcells.call("GROW_DOSE_FOR", 100, "N", "13.3-0-0", 1, 0, "L", "mg") == pytest.approx(100 / 0.133)


def test_cost_of_a_nutrient() -> None:
    assert growcells.call("GROW_COST_NUTRIENT", 31.5, 10, "17-7-21", "N", "kg") == pytest.approx(31.5 / 1.7)
    assert growcells.call("GROW_COST_NUTRIENT", 31.5, 10, "17-7-21", "N", "lb", "lb") == pytest.approx(31.5 / 1.7)


def test_stock_gives_the_rate_after_the_injector() -> None:
    mass = growcells.call("GROW_STOCK", 2, 100, 5)
    assert mass == 1000.0
    assert mass / (5 * 100) == 2


def test_grams_in_litres() -> None:
    """Half a gram with 12.4 percent of N in two litres are 31 mg/L."""
    assert growcells.call("GROW_PPM", 0.5, 2, "12.4-0-0", "N", "g", "L") == pytest.approx(31)
    assert growcells.call("GROW_PPM", 0.5, 2, "12.4-0-0", "N", "g", "L", "g/L") == pytest.approx(0.031)
    found = growcells.call("GROW_PPM_TABLE", 0.5, 2, "12.4-0-0", None, "g", "L")
    assert found[:2] == (("nutrient", "ppm"), ("N", pytest.approx(31)))
    assert [row[0] for row in found[1:]] == ["N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo"]


def test_the_table_lists_what_else_is_there_behind() -> None:
    found = growcells.call("GROW_PPM_TABLE", 1, 1, "NaCl", (("Si", 5), ("HCO3", 61.017)), "g", "L")
    # In the order of the table of nutrients, sodium and chlorine of the salt among what the water holds.
    assert [row[0] for row in found[13:]] == [key for key in nutrients() if key in ("Na", "Cl", "Si", "alkalinity")]
    assert dict(found[1:])["alkalinity"] == pytest.approx(50.04, rel=1e-3)


def test_parts_add_up() -> None:
    parts = [(10.0, parse_analysis("KNO3")), (5.0, parse_analysis("KCl")), (0.0, parse_analysis("17-7-21"))]
    found = mixed(parts)
    assert found["K"] == pytest.approx(10 * 0.38672 + 5 * 0.52447, rel=1e-4)
    # A part of which there is nothing does not hide the forms of nitrogen of the others.
    assert found["NO3-N"] == pytest.approx(found["N"])
    assert "NO3-N" not in mixed([*parts, (1.0, parse_analysis("17-7-21"))])
    # Once a form is not told it stays so, whatever comes after.
    assert "NO3-N" not in mixed([(1.0, parse_analysis("17-7-21")), (10.0, parse_analysis("KNO3"))])


def test_forms_in_the_water_are_left_out_where_a_feed_does_not_tell_its_own() -> None:
    water = {"N": 10.0, "NO3-N": 10.0, "pH": 7.0, "Ca": 40.0}
    fed = solution([(1.0, parse_analysis("17-7-21"))], 1.0, water)
    assert fed["N"] == pytest.approx(10 + 170) and "NO3-N" not in fed and "pH" not in fed
    told = solution([(1.0, parse_analysis("KNO3"))], 1.0, water)
    assert told["NO3-N"] == pytest.approx(10 + 138.54, rel=1e-4)
    no_nitrogen = solution([(1.0, parse_analysis("KCl"))], 1.0, water)
    assert (no_nitrogen["NO3-N"], no_nitrogen["Ca"]) == (10, 40)


def test_rows_of_a_ppm_table() -> None:
    table = PPM_TABLE.read(
        (
            ("nutrient", "ppm"),
            ("NO3-N", 100),
            ("NH4-N", 10),
            ("P2O5", 71),
            ("HCO3", 61.017),
            ("CO3", 60.008),
            ("ph", 6),
        ),
        growcells.functions()["GROW_EC"].arguments[0],
    )
    assert table["N"] == 110
    assert table["P"] == pytest.approx(71 * 0.43642, rel=1e-4)
    # Both kinds of carbonate are one alkalinity: 50.04 and 100.09 mg/L as CaCO3.
    assert table["alkalinity"] == pytest.approx(150.13, rel=1e-3)
    assert table["pH"] == 6
    with pytest.raises(TypeError):
        table["N"] = 1.0  # type: ignore[index]  # a table read is not to be changed


@pytest.mark.parametrize(
    ("total", "form", "fits"), [(100, 102, True), (100, 102.1, False), (0, 1, True), (0, 1.1, False)]
)
def test_forms_of_nitrogen_and_their_total(total: float, form: float, fits: bool) -> None:
    cell = growcells.functions()["GROW_BALANCE"].evaluate(((("N", total), ("NO3-N", form)),))
    assert isinstance(cell, float) is fits
    if not fits:
        assert f"the forms of nitrogen in ppm_table add up to {form:g} ppm, more than N with {total:g}" in cell.message


def test_limits_of_ph_in_a_table() -> None:
    assert table_row("pH", 14.0) == ("pH", 14.0)
    assert table_row("PH", 0.0) == ("pH", 0.0)
    with pytest.raises(growcells.GrowError, match=r"^pH is 14.1: give one from 0 to 14$"):
        table_row("pH", 14.1)


def test_a_dose_for_nothing_more_is_none() -> None:
    assert growcells.call("GROW_DOSE_FOR", 100, "N", "17-7-21", 5, 100) == 0.0
    assert growcells.call("GROW_DOSE_FOR", 100, "P2O5", "19-11-23", "10 L") == pytest.approx(1 / 0.11)


def test_stock_of_a_concentrate() -> None:
    assert growcells.call("GROW_STOCK", "3 g/L", 50, "4 L") == pytest.approx(600)


def test_share_of_nitrate() -> None:
    assert growcells.call("GROW_NITRATE_SHARE", "13.3-0-0 NO3-N 12.1 NH4-N 1.2") == pytest.approx(12.1 / 13.3)
    assert growcells.call("GROW_NITRATE_SHARE", "(NH4)2SO4") == 0.0


def test_blend_of_a_part_of_which_there_is_none() -> None:
    assert growcells.call("GROW_BLEND", ((1,), (0,)), (("19-11-3",), ("KNO3",))) == "19-11-3"
    assert growcells.call("GROW_BLEND", ((1,), (None,)), (("19-11-3",), (None,))) == "19-11-3"


def test_price_of_a_mass_falls_with_the_unit() -> None:
    per_gram = growcells.call("GROW_COST_NUTRIENT", 31.5, 10, "17-7-21", "N", "kg", "g")
    assert per_gram == pytest.approx(31.5 / 1700)
    assert growcells.call("GROW_COST_NUTRIENT", "0", 10, "17-7-21", "N") == 0.0
    assert growcells.call("GROW_COST_NUTRIENT", 31.5, 10, "17-7-21", "P2O5", "kg") == pytest.approx(31.5 / 0.7)


def test_oxides_and_elements_undo_each_other() -> None:
    for element, oxide in LABEL_OXIDES.items():
        assert growcells.call("GROW_OXIDE", growcells.call("GROW_ELEMENTAL", 7, oxide), element) == pytest.approx(7)
        assert growcells.call("GROW_ELEMENTAL", 7, oxide) < 7


def test_parts_are_the_filled_rows() -> None:
    nitrate, sulfate = parse_analysis("KNO3"), parse_analysis("Epsom salt")
    assert parts_of([1.0, None, 3.0], [nitrate, None, sulfate]) == [(1.0, nitrate), (3.0, sulfate)]
    with pytest.raises(GrowError, match=r"^row 2 has an analysis but no mass: fill in the mass or clear the row$"):
        parts_of([1.0, None], [nitrate, sulfate])
    with pytest.raises(GrowError, match=r"^row 1 has a mass but no analysis: fill in the analysis or clear the row$"):
        parts_of([1.0, None], [None, None])
    with pytest.raises(GrowError, match=r"^masses has 1 row and analyses 2: give columns of the same length$"):
        parts_of([1.0], [nitrate, sulfate])
    with pytest.raises(GrowError, match=r"^masses and analyses are blank: give at least one part$"):
        parts_of([None], [None])


def test_nitrate_share() -> None:
    assert growcells.call("GROW_NITRATE_SHARE", "calcium nitrate") == pytest.approx(11 / 12)
    assert growcells.call("GROW_NITRATE_SHARE", "17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5") == pytest.approx(5.1 / 17)
