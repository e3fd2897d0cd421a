"""Stock concentrates: saturation against PHREEQC, solubility, and what the verdicts say."""

from __future__ import annotations

import functools
import math
import random

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import growcells
from chemistry import column, dissolving, phreeqc, random_concentrate, settled_concentrate, weight
from concentrates import RandomConcentrate, mineral_constant, random_concentrates, saturation_indices
from growcells.chemistry.chemical_formulas import formula_mass
from growcells.chemistry.concentrates import Part, settled, space, water_left
from growcells.chemistry.equilibria import equilibrium
from growcells.chemistry.ions import warmed
from growcells.chemistry.saturation import (
    NEARBY,
    NEARBY_DOUBT,
    _log_product_saturated,
    minerals,
    salt_volumes,
    salts,
)
from growcells.chemistry.substances import substances
from growcells.data import read_data
from growcells.no_answer import NoAnswer
from growcells.terms.analyses import parse_analysis
from growcells.terms.stock_sentences import ALL_WELL, source

CONCENTRATES = 260
NAMES = {"gypsum": "Gypsum", "calcium phosphate (CaHPO4·2H2O)": "Brushite"}
NEAR_SATURATION = 0.3
SEED = 14
RANDOM_CONCENTRATES = 700


def check(masses: object, salts: object, *rest: object) -> str:
    """The verdict on a concentrate."""
    verdict = growcells.call("GROW_STOCK_CHECK", masses, salts, *rest)
    assert isinstance(verdict, str)
    return verdict


def part(mass: float, text: str) -> Part:
    return Part(mass, parse_analysis(text))


@functools.cache
def saturations(name: str) -> list[tuple[float, float]]:
    """Our log10 saturation with a mineral and PHREEQC's, for random concentrates that hold its ions."""
    numbers = random.Random(45)
    mineral = next(mineral for mineral in minerals() if mineral.name == name)
    found = []
    for _ in range(CONCENTRATES):
        moles, temperature = random_concentrate(numbers)
        ours = settled([part(amount * weight(salt), salt) for salt, amount in moles.items()], 1.0, temperature)
        if not all(component in ours.dissolved.log_activities for component in mineral.components):
            continue
        reference = settled_concentrate(moles, temperature)
        found.append((mineral.saturation(ours.dissolved, temperature), reference.si(NAMES[name])))
        reference.forget()
    return found


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_saturation_against_phreeqc(name: str) -> None:
    found = saturations(name)
    misses = [abs(ours - theirs) for ours, theirs in found]
    print(f"{name}: {len(found)} concentrates, log10 saturation differs by at most {max(misses):.3f}")
    assert len(found) >= 80
    assert max(misses) < 0.2


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


@pytest.mark.parametrize("row", read_data("minerals.csv"), ids=lambda row: row["mineral"])
def test_solubility_products_against_phreeqc(row: dict[str, str]) -> None:
    """Each mineral of a database, at room temperature and away from it, where its polynomials are made straight."""
    database, _, phase = row["source"].partition(" of USGS PHREEQC: ")
    if not phase:
        assert row["mineral"] == "struvite"
        return
    mineral = next(mineral for mineral in minerals() if mineral.name == row["mineral"])
    for temperature, near in ((25, 0.02), (10, 0.08), (35, 0.08)):
        expected = mineral_constant(database, phase, mineral.components, mineral.water, temperature)
        ours = warmed(mineral.log_k, mineral.enthalpy, temperature)
        assert ours == pytest.approx(expected, abs=near * max(1, sum(mineral.components.values()) / 4)), temperature


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


# Salts of the table that pitzer.dat knows at several temperatures; below 10 °C Epsom salt is not what crystallizes.
@pytest.mark.parametrize(
    ("formula", "mineral", "element", "count", "near"),
    [
        ("KCl", "Sylvite", "K", 1, 0.05),
        ("K2SO4", "Arcanite", "K", 2, 0.11),
        ("MgSO4", "Epsomite", "Mg", 1, 0.07),
        ("NaCl", "Halite", "Na", 1, 0.01),
    ],
)
def test_solubilities_against_phreeqc(formula: str, mineral: str, element: str, count: int, near: float) -> None:
    salt = salts()[formula]
    for temperature in salt.temperatures:
        if temperature <= 40 and (mineral != "Epsomite" or temperature >= 10):
            expected = dissolving(mineral, element, temperature) / count * weight(formula) / 100
            assert salt.most(temperature) == pytest.approx(expected, rel=near), temperature


COMMON_IONS = 240


@functools.cache
def common_ion_misses() -> list[float]:
    """log10 of our saturation with a salt less that of PHREEQC's pitzer.dat, in random strong mixes of two salts."""
    numbers = random.Random(11)
    known = {"KCl": "Sylvite", "K2SO4": "Arcanite", "NaCl": "Halite"}
    others = ("KCl", "K2SO4", "NaCl", "MgCl2.6H2O", "Epsom salt", "CaCl2")
    found: list[float] = []
    while len(found) < COMMON_IONS:
        formula, other = numbers.choice(list(known)), numbers.choice(others)
        grams = {formula: numbers.uniform(20, 250), other: numbers.uniform(5, 150)}
        answer = saturation_indices("pitzer.dat", RandomConcentrate(grams, 25.0))
        if len(grams) == 2 and answer:
            parts = [part(mass, text) for text, mass in grams.items()]
            ours = settled(parts, water_left(parts, 1.0), 25.0)
            found.append(salts()[formula].saturation(ours.dissolved, 25.0) - answer[1][known[formula]])
    return found


def test_common_ions_against_phreeqc() -> None:
    misses = common_ion_misses()
    print(
        f"{len(misses)} mixes of two salts: log10 saturation with one of them differs from pitzer.dat by "
        f"{numpy.median(numpy.abs(misses)):.3f} (median), {min(misses):+.3f} to {max(misses):+.3f}"
    )
    assert min(misses) > -0.3


def test_cold_makes_salts_less_soluble() -> None:
    assert check(200, "KNO3", "1 L", 25) == ALL_WELL
    assert "dissolves at 5 °C" in check(200, "KNO3", "1 L", 5)


def test_tables_of_salts() -> None:
    for formula, salt in salts().items():
        assert list(salt.temperatures) == sorted(set(salt.temperatures)), formula
        assert "H2O" not in formula
        counts = part(1.0, formula).moles
        assert {name: count for name, count in salt.components.items() if name != "H"} == pytest.approx(
            {name: moles * formula_mass(formula) for name, moles in counts.items()}
        ), formula
    assert set(salt_volumes()) <= set(salts())
    assert {row["source"].split(",")[0] for row in read_data("solubilities.csv")} == {
        "CRC Handbook of Chemistry and Physics"
    }


# Outliers of an earlier table, CRC Handbook, 98th ed., as grams in 100 g of water.
@pytest.mark.parametrize(
    ("formula", "temperature", "grams"),
    [("(NH4)2HPO4", 0, 57.2), ("CaCl2", 40, 112.1), ("KH2PO4", 0, 13.3), ("Na2B4O7", 20, 2.564), ("H3BO3", 20, 5.01)],
)
def test_solubilities_of_the_handbook(formula: str, temperature: float, grams: float) -> None:
    assert 100 * salts()[formula].most(temperature) == pytest.approx(grams, rel=1e-3)


def test_the_space_that_salts_take_against_the_thermo_package() -> None:
    """Laliberté 2007: no less than what salts take up at saturation, and no more than a hundredth above."""
    from thermo import electrochem

    electrochem._load_electrochem_data()
    numbers = dict(zip(electrochem.Laliberte_data["Formula"], electrochem.Laliberte_data.index, strict=True))
    shares = dict(zip(electrochem.Laliberte_data["Formula"], electrochem.Laliberte_data["Max w"], strict=True))
    for formula, listed in salt_volumes().items():
        salt, taken = salts()[formula], []
        for temperature, percent in zip(salt.temperatures, salt.percents, strict=True):
            share = min(percent / 100, shares[formula])
            density = electrochem.Laliberte_density(273.15 + max(temperature, 15), [share], [numbers[formula]]) / 1000
            taken.append((1 / density - (1 - share) / 0.998) / share)
        assert listed == pytest.approx(max(taken), abs=0.001), formula
    assert space("no salt") == max(salt_volumes().values())


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


def test_saturation_is_the_activity_product_over_the_solubility_product() -> None:
    """By hand from the activities: log10(Ca × SO4 × water²) less log10 K, warmed by van 't Hoff."""
    dissolved = equilibrium({"Ca": 0.02, "SO4": 0.02}, 7, 10)
    gypsum = next(mineral for mineral in minerals() if mineral.name == "gypsum")
    activities = dissolved.log_activities["Ca"] + dissolved.log_activities["SO4"] + 2 * dissolved.log_water_activity
    warmed = gypsum.log_k - gypsum.enthalpy / (math.log(10) * 8.314462618e-3) * (1 / 283.15 - 1 / 298.15)
    assert gypsum.saturation(dissolved, 10) == pytest.approx(activities - warmed, abs=1e-12)


def test_a_salt_is_saturated_where_its_figure_says() -> None:
    for formula, salt in salts().items():
        moles = 1000 * salt.most(25) / formula_mass(formula)
        totals = {name: count * moles for name, count in salt.components.items() if name != "H"}
        assert salt.saturation(equilibrium(totals, None, 25), 25) == pytest.approx(0, abs=1e-6), formula


def test_more_salt_than_water() -> None:
    """A kilogram of KNO3 takes up 0.463 L, one of a feed by its grade as much as the widest salt, 0.77 L."""
    assert check(2170, "KNO3", "1 L").startswith("there is more salt than water: give less mass")
    assert check(2100, "KNO3", "1 L").startswith("potassium nitrate: 2100 g/L is more than the ")
    assert check(1300, "17-7-21", "1 L").startswith("there is more salt than water")
    assert check(1200, "17-7-21", "1 L").startswith("not checked")


def test_solubility_is_of_the_dry_salt() -> None:
    """Epsom salt is 48.8 percent MgSO4, whose solubility the table gives; half as pure, half of it counts."""
    dry = 24.305 + 32.06 + 4 * 15.999
    share = dry / (dry + 7 * 18.015)
    assert part(1.0, "Epsom salt").dry_mass == pytest.approx(share, rel=1e-3)
    assert part(1.0, "Epsom salt 50%").dry_mass == pytest.approx(share / 2, rel=1e-3)


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


@pytest.mark.parametrize(
    ("text", "known"),
    [
        ("KNO3", True),
        ("urea", False),
        ("boric acid", True),
        ("calcium nitrate", True),
        ("gypsum", True),
        ("nitric acid", True),
        ("17-7-21", False),
        ("iron EDTA", False),
        ("citric acid", False),
        ("Na2MoO4.2H2O", True),
        ("K2SiO3", False),
        ("NH4Cl", True),
    ],
)
def test_whose_solubility_is_known(text: str, known: bool) -> None:
    assert part(1.0, text).is_checked is known


def test_where_ions_are_not_known_the_ph_is_taken_as_usual() -> None:
    parts = [part(20.0, "0-19-23 Ca 5 S 5")]
    assert settled(parts, 1.0, 25).dissolved.log_activities["H"] == -5.5
    cold, warm = settled(parts, 1.0, 5).dissolved, settled(parts, 1.0, 25).dissolved
    assert cold.log_activities["SO4"] != pytest.approx(warm.log_activities["SO4"], rel=1e-6)


@pytest.mark.parametrize("temperature", [5, 10, 25, 40])
def test_the_ph_goes_with_the_temperature(temperature: float) -> None:
    """Neutral water, by PHREEQC."""
    reference = phreeqc().add_solution({"units": "mmol/kgw", "temp": temperature, "pH": "7 charge", "K": 1, "Cl": 1})
    ours = -equilibrium({"K": 0.001, "Cl": 0.001}, None, temperature).log_activities["H"]
    assert ours == pytest.approx(reference.pH, abs=0.02)


def test_strong_acids_and_alkalis() -> None:
    def ph(**totals: float) -> float:
        return -equilibrium(totals, None, 25).log_activities["H"]

    assert 0.3 < ph(NO3=0.3) < 0.9 and 0 < ph(NO3=0.8) < 0.3
    assert 13 < ph(K=0.3) < 13.9 and ph(K=2.0) > 14


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


@pytest.mark.slow
def test_figures_of_a_temperature_nearby_leave_out_no_salt() -> None:
    """A salt that is looked at by them alone is never nearer to saturation than they say."""
    tried = []
    for temperature in range(0, 51):
        nearby = NEARBY * round(temperature / NEARBY)
        for formula in salts():
            here, there = (_log_product_saturated(formula, float(place)) for place in (temperature, nearby))
            tried.append(abs(here - there))
    print(f"{len(tried)} salts at temperatures: log10 of the product differs by {max(tried):.2f} at most")
    assert max(tried) < NEARBY_DOUBT
