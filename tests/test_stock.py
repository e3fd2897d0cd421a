"""Stock concentrates: what the verdicts say, and that none is said to dissolve in which PHREEQC finds a solid."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import growcells
from chemistry import column
from concentrates import RandomConcentrate, part, random_concentrates, saturation_indices
from growcells.chemistry.substances import substances
from growcells.no_answer import NoAnswer
from growcells.terms.stock_sentences import ALL_WELL, source

NEAR_SATURATION = 0.3
SEED = 14
RANDOM_CONCENTRATES = 700


def check(masses: object, salts: object, *rest: object) -> str:
    """The verdict on a concentrate."""
    verdict = growcells.call("GROW_STOCK_CHECK", masses, salts, *rest)
    assert isinstance(verdict, str)
    return verdict


@pytest.mark.slow
@pytest.mark.parametrize("database", ["minteq.v4.dat", "pitzer.dat", "phreeqc.dat"])
def test_no_false_all_dissolves(database: str) -> None:
    """Concentrates of all salts of the table: where PHREEQC finds any solid over saturation the cell says something."""
    tried, over, false = 0, 0, []
    for concentrate in random_concentrates(SEED, RANDOM_CONCENTRATES, names_for(database)):
        answer = saturation_indices(database, concentrate)
        if answer is None:
            continue
        tried += 1
        solids = {name: index for name, index in answer[1].items() if index > NEAR_SATURATION}
        over += bool(solids)
        if solids and check(*concentrate.cells) == ALL_WELL:
            false.append((solids, concentrate))
    print(f"{database}: {tried} concentrates, {over} oversaturated, {len(false)} of them called {ALL_WELL!r}")
    assert tried >= 400
    assert not false


def names_for(database: str) -> list[str] | None:
    """The substances that a database knows, where it lacks so much that few mixes of all would be left."""
    if database != "pitzer.dat":
        return None
    return [name for name, substance in substances().items() if substance.formula and not lacks(substance.formula)]


def lacks(formula: str) -> bool:
    """Whether pitzer.dat lacks an element of a formula."""
    return any(symbol in formula for symbol in ("N", "P", "Zn", "Cu", "Mo", "C6")) and "Na" not in formula


def test_two_tanks_are_fine_and_one_is_not() -> None:
    """Hoagland & Arnon 1 a hundredfold: calcium apart dissolves, all together falls out, the feed itself does not."""
    texts = column("KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "Epsom salt")
    masses = column(50.6, 118.1, 13.6, 49.3)
    together = check(masses, texts, "1 L")
    assert "gypsum" in together and "calcium phosphate" in together and "two tanks" in together
    assert "Ca(NO3)2.4H2O" in together and "Epsom salt" in together
    assert check(masses[:2], texts[:2], "1 L") == ALL_WELL
    assert check(masses, texts, "100 L") == ALL_WELL
    # Newberyite: PHREEQC with minteq.v4.dat finds a saturation index of -0.26 in the other tank.
    other = check(masses[2:], texts[2:], "1 L")
    assert other.startswith("magnesium phosphate (MgHPO4·3H2O)") and other.count(";") == 0 and "near" in other


# Saturation indices of PHREEQC: minteq.v4.dat, struvite with 13.26 (Ronteltap et al. 2007); potassium sulfate in
# a solution full of potassium chloride by pitzer.dat.
@pytest.mark.parametrize(
    ("masses", "texts", "said"),
    [
        ((100, 10), ("Ca(NO3)2.4H2O", "K2CO3"), "calcium carbonate, calcium with carbonate (from"),
        ((100, 10), ("Ca(NO3)2.4H2O", "KHCO3"), "calcium carbonate, calcium with carbonate (from"),
        ((30, 50), ("diammonium phosphate", "Epsom salt"), "struvite, magnesium and ammonium with phosphate (from"),
        ((10, 50), ("KOH", "Epsom salt"), "magnesium hydroxide, magnesium with alkali (from Epsom salt and KOH) falls"),
        ((20, 50), ("KOH", "Ca(NO3)2.4H2O"), "calcium hydroxide, calcium with alkali (from"),
        ((5, 30), ("ferrous sulfate", "K2HPO4"), "iron phosphate (vivianite), iron with phosphate (from"),
        ((60, 250), ("potassium sulfate", "KCl"), "potassium sulfate (from KCl and potassium sulfate) falls out at 25"),
        ((1100,), ("NH4NO3",), "ammonium nitrate: 1100 g/L is more than the 890 g/L that dissolves at 25 °C"),
        ((50, 50), ("potassium silicate", "phosphoric acid"), "silica gel, silicate with acid (from"),
        ((50, 50), ("potassium silicate", "Epsom salt"), "magnesium silicate (sepiolite, precipitated), magnesium"),
        ((5,), ("disodium octaborate",), "not checked: how much of disodium octaborate dissolves"),
        ((5,), ("molybdic acid",), "molybdic acid, molybdate with acid (from molybdic acid) falls out"),
        ((5, 100), ("iron DTPA", "KNO3"), "not checked: how much of iron DTPA dissolves"),
        ((900,), ("17-7-21",), 'not checked: how much of "17-7-21" dissolves'),
        ((5, 50), ("ferrous sulfate", "KNO3"), "not checked: air, which turns ferrous iron to rust within days"),
        ((150, 40), ("hydrochloric acid", "NaCl"), "not checked: what falls out of so strong an acid"),
        ((1, 20), ("manganese sulfate", "borax"), "not checked: air, which turns manganese brown above pH 5.5"),
        ((13.6, 0.5), ("KH2PO4", "manganese sulfate"), "manganese phosphate (MnHPO4), manganese with phosphate (from"),
        ((300, 20), ("calcium nitrate", "KCl"), ALL_WELL),
        ((300, 250), ("calcium nitrate", "KCl"), "KNO3 (from KCl and calcium nitrate) falls out at 25 °C"),
        ((100, 100), ("7-9-26 Mg 3.5 S 5", "13.3-0-0 Ca 17"), "gypsum, calcium with sulfate (from 13.3-0-0 Ca 17"),
    ],
)
def test_what_is_said(masses: tuple[float, ...], texts: tuple[str, ...], said: str) -> None:
    assert said in check(column(*masses), column(*texts), "1 L")


def test_slow_solids_are_told_as_such() -> None:
    said = check(column(13.6, 0.5), column("KH2PO4", "manganese sulfate"), "1 L")
    assert "may fall out within days or weeks: keep them in two tanks" in said and "falls out" not in said


# CRC Handbook, 98th ed., percent by mass at 20 °C: KNO3 24.2, K2SO4 9.95, KH2PO4 18.25; densities of Laliberté 2007.
@pytest.mark.parametrize(("salt", "most"), [("KNO3", 279), ("K2SO4", 107), ("KH2PO4", 205), ("NH4NO3", 859)])
def test_solubility_in_a_litre(salt: str, most: float) -> None:
    """Weighing a third less dissolves, a fiftieth more does not: what salts take up errs to the safe side."""
    assert check(0.7 * most, salt, "1 L", 20) == ALL_WELL
    assert " is near the " in check(0.95 * most, salt, "1 L", 20)
    assert "that dissolves at 20 °C" in check(1.02 * most, salt, "1 L", 20)


def test_cold_makes_salts_less_soluble() -> None:
    assert check(200, "KNO3", "1 L", 25) == ALL_WELL
    assert "dissolves at 5 °C" in check(200, "KNO3", "1 L", 5)


GIVEN = [name for name, substance in substances().items() if substance.formula] + ["17-7-21", "13.3-0-0 Ca 17", "HNO3"]


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 1e5), st.sampled_from(GIVEN)), min_size=1, max_size=5),
    st.floats(0.1, 1000),
    st.floats(0, 50),
)
def test_any_mix_gets_a_verdict(mix: list[tuple[float, str]], volume: float, temperature: float) -> None:
    masses, analyses = column(*(mass for mass, _ in mix)), column(*(name for _, name in mix))
    cell = growcells.functions()["GROW_STOCK_CHECK"].evaluate((masses, analyses, f"{volume} L", f"{temperature} °C"))
    assert isinstance(cell, str), cell


def test_more_salt_than_water() -> None:
    """A kilogram of KNO3 takes up 0.463 L, one of a feed by its grade as much as the widest salt, 0.77 L."""
    assert check(2170, "KNO3", "1 L").startswith("there is more salt than water: give less mass")
    assert check(2100, "KNO3", "1 L").startswith("potassium nitrate: 2100 g/L is more than the ")
    assert check(1300, "17-7-21", "1 L").startswith("there is more salt than water")
    assert check(1200, "17-7-21", "1 L").startswith("not checked")


def test_a_substance_given_twice_is_one() -> None:
    assert check(column(180), column("KNO3"), "1 L", 20) == ALL_WELL
    twice = check(column(180, 180), column("KNO3", "potassium nitrate"), "1 L", 20)
    assert twice.startswith("potassium nitrate: 360 g/L is more than the ")
    assert twice.count("g/L that dissolves") == 1


def test_between_the_temperatures_of_the_table() -> None:
    """KNO3 is 27.7 and 31.3 percent of saturated solutions at 25 and 30 °C: 29.5 half way, and it takes up 0.463 L."""
    solubility = 29.5 / 70.5
    most = 1000 * solubility / (1 + 0.463 * solubility)
    assert f"more than the {most:.3g} g/L that dissolves at 27.5 °C" in check(500, "KNO3", "1 L", 27.5)


def test_chelated_metals_do_not_fall_out_and_salts_of_metals_do() -> None:
    assert "iron phosphate" not in check(column(5, 30), column("iron EDTA", "K2HPO4"), "1 L")
    assert "iron phosphate" in check(column(5, 30), column("ferrous sulfate", "K2HPO4"), "1 L")


def test_a_part_without_a_component_is_never_its_source() -> None:
    parts = [part(1000.0, "KNO3"), part(1.0, "CaCl2")]
    assert source("Ca", parts) == "CaCl2"


def test_near_saturation_is_said() -> None:
    """0.208 % of CaSO4 is saturated at 30 °C (CRC Handbook); three quarters of it are near, a tenth is far."""
    texts = column("CaCl2", "K2SO4")

    def checked(share: float) -> str:
        moles = 2.08 / 136.14 * share
        return check(column(moles * 110.98, moles * 174.26), texts, "1 L", 30)

    near = "gypsum, calcium with sulfate (from CaCl2 and K2SO4) is near saturation and may fall out: "
    assert checked(0.75) == near + "keep them in two tanks"
    assert checked(0.1) == ALL_WELL
    assert "falls out" in checked(1.5) and "times over its solubility product: keep them in two tanks" in checked(1.5)


def test_several_verdicts_stand_side_by_side() -> None:
    said = check(column(400, 250, 200), column("KNO3", "CaCl2", "K2SO4"), "1 L", 10).split("; ")
    assert said[0].startswith("potassium nitrate: 400 g/L is more than the ")
    assert said[1].startswith("potassium sulfate: 200 g/L is more than the ")
    assert any(one.startswith("gypsum, calcium with sulfate (from CaCl2 and K2SO4) falls out, ") for one in said)


def test_equal_amounts_that_just_dissolve() -> None:
    """Three quarters of the limit is all well, a little more is near it, and from the limit on it is too much."""
    solubility = 24.2 / 75.8
    limit = 1000 * solubility / (1 + 0.463 * solubility)
    assert check(limit * 0.7499, "KNO3", "1 L", 20) == ALL_WELL
    assert " is near the " in check(limit * 0.7501, "KNO3", "1 L", 20)
    assert " is near the " in check(limit * 0.9999, "KNO3", "1 L", 20)
    assert " is more than the " in check(limit * 1.0001, "KNO3", "1 L", 20)


def test_solubility_of_a_hydrate_beside_another_salt_by_hand() -> None:
    """Epsom salt brings water of its own; KNO3 takes up 0.463 L a kilogram, MgSO4 0.142."""
    share = part(1.0, "Epsom salt").dry_mass
    solubility = 25.1 / 74.9
    most = solubility * (10 - 0.463) / (1 + 0.142 * solubility) / share * 1000 / 10
    said = check(column(9000, 1000), column("Epsom salt", "KNO3"), "10 L", 20)
    assert said.startswith(f"magnesium sulfate: 900 g/L is more than the {most:.3g} g/L that dissolves at 20 °C")


def test_a_solution_too_strong_to_tell_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*given: object) -> object:
        raise NoAnswer("no equilibrium")

    monkeypatch.setattr("growcells.terms.stock_sentences.settled", refuse)
    said = growcells.call("GROW_STOCK_CHECK", ((100,),), (("KNO3",),), "2 L")
    assert "not checked: what falls out" in str(said)


def test_a_salt_near_its_limit_falls_out_beside_one_that_brings_the_same_ion() -> None:
    """100 g of potassium sulfate dissolve, and beside 250 g of potassium chloride do not: PHREEQC, pitzer.dat."""
    grams = {"potassium sulfate": 100.0, "potassium chloride": 250.0}
    answer = saturation_indices("pitzer.dat", RandomConcentrate(grams, 25.0))
    assert answer is not None and answer[1]["Arcanite"] > NEAR_SATURATION
    assert "potassium sulfate (from potassium chloride and potassium sulfate) falls out" in check(
        column(*grams.values()), column(*grams), "1 L"
    )
    assert "is near the 115 g/L" in check(column(100.0), column("potassium sulfate"), "1 L")
