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
from growcells.chemistry.formulas import formula_mass
from growcells.chemistry.ions import equilibrium
from growcells.chemistry.products import solution
from growcells.chemistry.saturation import dry_share, ions_known, minerals, neutral_ph, settled, solubilities
from growcells.chemistry.substances import substances
from growcells.data import read_data
from growcells.families.stock import ALL_WELL, source
from growcells.terms.analyses import parse_analysis

CONCENTRATES = 260
NAMES = {"gypsum": "Gypsum", "calcium phosphate (CaHPO4·2H2O)": "Brushite"}
NEAR_SATURATION = 0.3


@functools.cache
def saturations(name: str) -> list[tuple[float, float, str]]:
    """Our log10 saturation with a mineral, PHREEQC's, and our verdict, for random concentrates that hold its ions."""
    numbers = random.Random(45)
    mineral = next(mineral for mineral in minerals() if mineral.name == name)
    found = []
    for _ in range(CONCENTRATES):
        salts, temperature = random_concentrate(numbers)
        parts = [(moles * weight(salt), parse_analysis(salt)) for salt, moles in salts.items()]
        ours = settled(solution(parts, 1.0, {}), parts, temperature)
        if not all(component in ours.log_activities for component in mineral.components):
            continue
        reference = settled_concentrate(salts, temperature)
        masses = column(*(mass for mass, _ in parts))
        verdict = growcells.call("GROW_STOCK_CHECK", masses, column(*salts), "1 L", f"{temperature} °C")
        found.append((mineral.saturation(ours, temperature), reference.si(NAMES[name]), verdict))
        reference.forget()
    return found


@pytest.mark.parametrize("name", NAMES)
def test_saturation_against_phreeqc(name: str) -> None:
    found = saturations(name)
    misses = [abs(ours - theirs) for ours, theirs, _ in found]
    wrong = [
        theirs
        for _, theirs, verdict in found
        if (f"{name}," in verdict and "falls out" in verdict.split(name)[1].split(";")[0]) != (theirs > 0)
    ]
    print(
        f"{name}: {len(found)} concentrates, {sum(theirs > 0 for _, theirs, _ in found)} oversaturated by PHREEQC; "
        f"log10 saturation differs by {numpy.median(misses):.3f} (median), {max(misses):.3f} (largest); "
        f"{len(wrong)} verdicts differ, at saturation indices {[round(value, 3) for value in wrong]}"
    )
    assert len(found) >= 80
    assert all(abs(theirs) < NEAR_SATURATION for theirs in wrong)


def test_two_tanks_are_fine_and_one_is_not() -> None:
    """Hoagland & Arnon 1 a hundredfold: calcium apart dissolves, all together falls out, the feed itself does not."""
    salts = column("KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "Epsom salt")
    masses = column(50.6, 118.1, 13.6, 49.3)
    together = growcells.call("GROW_STOCK_CHECK", masses, salts, "1 L")
    assert "gypsum" in together and "calcium phosphate" in together and "two tanks" in together
    assert "Ca(NO3)2.4H2O" in together and "Epsom salt" in together
    assert growcells.call("GROW_STOCK_CHECK", masses[:2], salts[:2], "1 L") == ALL_WELL
    assert growcells.call("GROW_STOCK_CHECK", (masses[2], masses[3]), (salts[2], salts[3]), "1 L") == ALL_WELL
    assert growcells.call("GROW_STOCK_CHECK", masses, salts, "100 L") == ALL_WELL


def test_feeds_by_grade_are_checked_too() -> None:
    verdict = growcells.call(
        "GROW_STOCK_CHECK", column(100, 100), column("6-11-31 Mg 3.5 S 5", "15.5-0-0 Ca 19"), "1 L"
    )
    assert "falls out" in verdict and "6-11-31 Mg 3.5 S 5" in verdict


# Saturated solutions at 20 °C in grams in a litre, from their densities (Söhnel & Novotny, from memory): KNO3 279,
# K2SO4 106, KH2PO4 203. Weighing a tenth less dissolves, a tenth more does not.
@pytest.mark.parametrize(("salt", "most"), [("KNO3", 279), ("K2SO4", 106), ("KH2PO4", 203)])
def test_solubility_in_a_litre(salt: str, most: float) -> None:
    assert growcells.call("GROW_STOCK_CHECK", 0.9 * most, salt, "1 L", 20) == ALL_WELL
    assert "that dissolves at 20 °C" in growcells.call("GROW_STOCK_CHECK", 1.1 * most, salt, "1 L", 20)


# Salts of the table that pitzer.dat knows at several temperatures; below 10 °C Epsom salt is not what crystallizes.
@pytest.mark.parametrize(
    ("name", "mineral", "element", "count", "near"),
    [
        ("potassium chloride", "Sylvite", "K", 1, 0.05),
        ("potassium sulfate", "Arcanite", "K", 2, 0.11),
        ("magnesium sulfate", "Epsomite", "Mg", 1, 0.06),
        ("sodium chloride", "Halite", "Na", 1, 0.01),
        ("gypsum", "Gypsum", "Ca", 1, 0.02),
    ],
)
def test_solubilities_against_phreeqc(name: str, mineral: str, element: str, count: int, near: float) -> None:
    basis, temperatures, grams = solubilities()[name]
    for temperature, listed in zip(temperatures, grams, strict=True):
        if mineral != "Epsomite" or temperature >= 10:
            expected = dissolving(mineral, element, temperature) / count * weight(basis)
            assert listed == pytest.approx(expected, rel=near), temperature


def test_cold_makes_salts_less_soluble() -> None:
    assert growcells.call("GROW_STOCK_CHECK", 200, "KNO3", "1 L", 25) == ALL_WELL
    assert "dissolves at 5 °C" in growcells.call("GROW_STOCK_CHECK", 200, "KNO3", "1 L", 5)


def test_table_of_solubilities() -> None:
    by_name: dict[str, list[dict[str, str]]] = {}
    for row in read_data("solubilities.csv"):
        by_name.setdefault(row["substance"], []).append(row)
    assert len(by_name) >= 25
    for name, found in by_name.items():
        assert name in substances(), name
        assert len(found) >= 2, name
        assert [float(row["temperature"]) for row in found] == sorted({float(row["temperature"]) for row in found})
        assert formula_mass(found[0]["basis"]) <= formula_mass(substances()[name].formula) * 1.0001
        assert "H2O" not in found[0]["basis"], name


LEAPS = ("borax", "calcium chloride", "calcium chloride dihydrate", "diammonium phosphate", "sodium molybdate")
"""Another hydrate crystallizes above some temperature of the table; the figures of diammonium phosphate do leap."""


@pytest.mark.parametrize(
    "name", [name for name, (_, temperatures, _) in solubilities().items() if len(temperatures) > 3]
)
def test_solubilities_run_smoothly(name: str) -> None:
    """Each figure lies near a parabola of the logarithms of the three nearest: no two digits are swapped."""
    _, temperatures, grams = solubilities()[name]
    for place in range(1, len(grams) - 1):
        others = sorted(range(len(grams)), key=lambda other, place=place: abs(other - place))[1:4]
        figures = [math.log(grams[other]) for other in others]
        expected = numpy.polyval(
            numpy.polyfit([temperatures[other] for other in others], figures, 2), temperatures[place]
        )
        assert math.log(grams[place]) == pytest.approx(expected, abs=0.14 if name in LEAPS else 0.04)


def test_gypsum_solubility_agrees_with_its_solubility_product() -> None:
    """The table's 0.209 g of CaSO4 in 100 g of water at 30 °C is saturated by the activity product too."""
    moles = 2.09 / formula_mass("CaSO4")
    gypsum = next(mineral for mineral in minerals() if mineral.name == "gypsum")
    assert gypsum.saturation(equilibrium({"Ca": moles, "SO4": moles}, 7, 30), 30) == pytest.approx(0, abs=0.03)


GIVEN = [name for name, substance in substances().items() if substance.formula] + ["20-20-20", "15.5-0-0 Ca 19", "HNO3"]


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


def test_more_salt_than_water() -> None:
    """A kilogram of dry salt takes up 0.35 L: 2.9 kg in a litre leave no water, 2.8 kg leave 20 mL."""
    assert growcells.call("GROW_STOCK_CHECK", 2900, "KNO3", "1 L").startswith(
        "there is more salt than water: give less mass"
    )
    nearly = growcells.call("GROW_STOCK_CHECK", 2800, "KNO3", "1 L")
    assert nearly.startswith("potassium nitrate: 2800 g/L is more than the 7.69 g/L that dissolves at 25 °C")
    assert growcells.call("GROW_STOCK_CHECK", 2800, "20-20-20", "1 L") != ALL_WELL
    assert growcells.call("GROW_STOCK_CHECK", 2900, "20-20-20", "1 L").startswith("there is more salt than water")


def test_solubility_is_of_the_dry_salt() -> None:
    """Epsom salt is 48.8 percent MgSO4, whose solubility the table gives; half as pure, half of it counts."""
    dry = 24.305 + 32.065 + 4 * 15.999
    percent = 100 * dry / (dry + 7 * 18.015)
    assert 100 * dry_share(parse_analysis("Epsom salt")) == pytest.approx(percent, rel=1e-3)
    assert 100 * dry_share(parse_analysis("Epsom salt 50%")) == pytest.approx(percent / 2, rel=1e-3)


def test_a_substance_given_twice_is_one() -> None:
    assert growcells.call("GROW_STOCK_CHECK", column(180), column("KNO3"), "1 L", 20) == ALL_WELL
    twice = growcells.call("GROW_STOCK_CHECK", column(180, 180), column("KNO3", "potassium nitrate"), "1 L", 20)
    assert twice.startswith("potassium nitrate: 360 g/L is more than the ")
    assert twice.count("g/L that dissolves") == 1


def test_between_the_temperatures_of_the_table() -> None:
    """KNO3 dissolves 31.6 g at 20 °C and 45.3 g at 30 °C in 100 g of water: 38.45 g half way."""
    water = 1 - 0.35 * 0.5
    said = growcells.call("GROW_STOCK_CHECK", 500, "KNO3", "1 L", 25)
    assert f"more than the {384.5 * water:.3g} g/L that dissolves at 25 °C" in said


def test_the_ph_of_a_concentrate_follows_from_its_ions() -> None:
    # In salts of strong acids and bases the water stays neutral; acids and alkalis beyond 0 and 14 stand there.
    assert neutral_ph({"K": 0.1, "NO3": 0.1}, 25) == pytest.approx(7, abs=0.1)
    assert neutral_ph({"NO3": 0.1}, 25) == pytest.approx(1, abs=0.15)
    assert neutral_ph({"NO3": 10.0}, 25) == 0.0
    assert neutral_ph({"K": 10.0}, 25) == 14.0


@pytest.mark.parametrize(
    ("given", "known"),
    [
        ("KNO3", True),
        ("urea", True),
        ("boric acid", True),
        ("20-20-20", False),
        ("iron EDTA", False),
        ("citric acid", False),
        ("Na2MoO4.2H2O", False),
        ("K2SiO3", False),
    ],
)
def test_whose_ions_are_all_counted(given: str, known: bool) -> None:
    assert ions_known(parse_analysis(given)) is known


def test_where_ions_are_not_known_the_ph_is_taken_as_usual() -> None:
    parts = [(10.0, parse_analysis("0-20-20 Ca 5"))]
    assert settled(solution(parts, 1.0, {}), parts, 25).log_activities["H"] == -5.5
    salt = [(10.0, parse_analysis("KH2PO4"))]
    assert settled(solution(salt, 1.0, {}), salt, 25).log_activities["H"] == pytest.approx(-4.4, abs=0.2)
    # A part of which there is nothing does not count.
    both = [*salt, (0.0, parse_analysis("20-20-20"))]
    assert settled(solution(both, 1.0, {}), both, 25).log_activities["H"] == pytest.approx(-4.4, abs=0.2)


def test_near_saturation_is_said() -> None:
    """0.209 g of CaSO4 in 100 g of water at 30 °C is saturated; three quarters of it are near, a quarter is far."""
    salts = column("CaCl2", "Na2SO4")

    def checked(share: float) -> str:
        moles = 2.09 / 136.14 * share
        return str(growcells.call("GROW_STOCK_CHECK", column(moles * 110.98, moles * 142.04), salts, "1 L", 30))

    assert checked(0.75) == (
        "gypsum, calcium with sulfate (from CaCl2 and Na2SO4) is near saturation and may fall out: "
        "keep them in two tanks"
    )
    assert checked(0.25) == ALL_WELL
    assert "falls out" in checked(1.5) and "times over its solubility product: keep them in two tanks" in checked(1.5)


def test_the_part_that_brings_most_is_named() -> None:
    parts = [(1.0, parse_analysis(name)) for name in ("KNO3", "Ca(NO3)2.4H2O", "CaCl2")]
    assert source("Ca", parts) == "CaCl2"
    assert source("Ca", [(3.0, parts[1][1]), parts[2]]) == "Ca(NO3)2.4H2O"


def test_too_strong_to_tell() -> None:
    strong = growcells.call("GROW_STOCK_CHECK", column(2000, 500), column("CaCl2", "MgSO4"), "1 L")
    assert strong.endswith("this is too strong to tell what falls out: give less mass or more stock_volume")


def test_several_verdicts_stand_side_by_side() -> None:
    said = growcells.call("GROW_STOCK_CHECK", column(400, 300, 200), column("KNO3", "CaCl2", "K2SO4"), "1 L", 10)
    assert said.split("; ")[0].startswith("potassium nitrate: 400 g/L is more than the ")
    assert said.split("; ")[1].startswith("potassium sulfate: 200 g/L is more than the ")
    assert "; gypsum, calcium with sulfate (from CaCl2 and K2SO4) falls out, " in said


def test_equal_amounts_that_just_dissolve() -> None:
    """At the limit that the verdict itself gives everything dissolves; a little more does not."""
    limit = 316.0 / (1 + 0.35 * 0.316)  # KNO3 at 20 °C: 31.6 g in 100 g of water, which is what its dry mass leaves
    assert growcells.call("GROW_STOCK_CHECK", limit * 0.9999, "KNO3", "1 L", 20) == ALL_WELL
    assert growcells.call("GROW_STOCK_CHECK", limit * 1.0001, "KNO3", "1 L", 20) != ALL_WELL


def test_solubility_of_a_hydrate_beside_another_salt_by_hand() -> None:
    """Epsom salt brings water of its own; the water is what the dry masses of both salts leave of the volume."""
    epsom = parse_analysis("Epsom salt")
    name, share = epsom.substance, dry_share(epsom)
    _, temperatures, grams = solubilities()[name]
    dry = (9000 * share + 1000) / 1000
    water = 10 - 0.35 * dry
    most = grams[temperatures.index(20)] * 10 * water / share / 10
    said = growcells.call("GROW_STOCK_CHECK", column(9000, 1000), column("Epsom salt", "KNO3"), "10 L", 20)
    assert said == f"{name}: 900 g/L is more than the {most:.3g} g/L that dissolves at 20 °C"
    feed = growcells.call("GROW_STOCK_CHECK", column(9000, 1000), column("Epsom salt", "0-0-0 Fe 13"), "10 L", 20)
    assert f"more than the {most:.3g} g/L" in feed


def test_every_solubility_names_its_dry_salt() -> None:
    assert solubilities()["potassium nitrate"][0] == "KNO3"
    assert solubilities()["dipotassium phosphate"] == ("K2HPO4", (20.0, 25.0), (150.0, 168.0))


@pytest.mark.parametrize("temperature", [5, 10, 25, 40])
def test_the_ph_goes_with_the_temperature(temperature: float) -> None:
    """Neutral water, by PHREEQC."""
    reference = phreeqc().add_solution({"units": "mmol/kgw", "temp": temperature, "pH": "7 charge", "K": 1, "Cl": 1})
    assert neutral_ph({"K": 0.001, "Cl": 0.001}, temperature) == pytest.approx(reference.pH, abs=0.02)


def test_strong_acids_and_alkalis_up_to_the_ends_of_the_scale() -> None:
    assert 0.3 < neutral_ph({"NO3": 0.3}, 25) < 0.9
    assert 0 < neutral_ph({"NO3": 0.8}, 25) < 0.3
    assert 13 < neutral_ph({"K": 0.3}, 25) < 13.9
    assert neutral_ph({"K": 2.0}, 25) == 14.0


def test_phosphate_falls_out_without_any_sulfate_and_colder_less() -> None:
    salts = column("Ca(NO3)2.4H2O", "K2HPO4")
    said = growcells.call("GROW_STOCK_CHECK", column(20, 10), salts, "1 L")
    assert said.startswith(
        "calcium phosphate (CaHPO4·2H2O), calcium with phosphate (from Ca(NO3)2.4H2O and K2HPO4) falls out, "
    )
    assert said.endswith(" times over its solubility product: keep them in two tanks")
    # Beside a sulfate that stays dissolved it is found as well.
    both = growcells.call("GROW_STOCK_CHECK", column(20, 10, 0.1), column("Ca(NO3)2.4H2O", "K2HPO4", "K2SO4"), "1 L")
    assert both.startswith("calcium phosphate") and "gypsum" not in both
    assert growcells.call("GROW_STOCK_CHECK", column(20, 10), salts, "1 L", 5) != said


def test_feeds_of_unknown_ph_are_settled_at_their_temperature() -> None:
    parts = [(20.0, parse_analysis("0-20-20 Ca 5 S 5"))]
    table = solution(parts, 1.0, {})
    cold, warm = settled(table, parts, 5), settled(table, parts, 25)
    assert cold.log_activities["SO4"] != pytest.approx(warm.log_activities["SO4"], rel=1e-6)
    salts = [(20.0, parse_analysis("Ca(NO3)2.4H2O")), (5.0, parse_analysis("K2SO4"))]
    mixed = solution(salts, 1.0, {})
    assert settled(mixed, salts, 5).log_activities["SO4"] != pytest.approx(
        settled(mixed, salts, 25).log_activities["SO4"], rel=1e-6
    )


def test_a_part_without_a_nutrient_is_never_its_source() -> None:
    parts = [(1000.0, parse_analysis("KNO3")), (1.0, parse_analysis("CaCl2"))]
    assert source("Ca", parts) == "CaCl2"
