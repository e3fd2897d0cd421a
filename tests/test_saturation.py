"""Solids that may fall out of a solution: their figures and saturation against PHREEQC, handbooks and by hand."""

from __future__ import annotations

import functools
import math
import random

import numpy
import pytest

from chemistry import dissolving, phreeqc, random_concentrate, settled_concentrate, weight
from concentrates import RandomConcentrate, mineral_constant, part, saturation_indices
from growcells.chemistry.chemical_formulas import formula_mass
from growcells.chemistry.concentrates import settled, space, water_left
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
from growcells.data import read_data

CONCENTRATES = 260
NAMES = {"gypsum": "Gypsum", "calcium phosphate (CaHPO4·2H2O)": "Brushite"}


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


def test_solubility_is_of_the_dry_salt() -> None:
    """Epsom salt is 48.8 percent MgSO4, whose solubility the table gives; half as pure, half of it counts."""
    dry = 24.305 + 32.06 + 4 * 15.999
    share = dry / (dry + 7 * 18.015)
    assert part(1.0, "Epsom salt").dry_mass == pytest.approx(share, rel=1e-3)
    assert part(1.0, "Epsom salt 50%").dry_mass == pytest.approx(share / 2, rel=1e-3)


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
