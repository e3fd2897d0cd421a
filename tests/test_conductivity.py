"""Conductivity against PHREEQC, the calibration solutions, and other readings of the literature."""

from __future__ import annotations

import math
import random

import numpy
import pytest
import scipy.constants as si
from hypothesis import given, settings
from hypothesis import strategies as st

import growcells
from chemistry import complete_solution, diffusion_coefficients, of_water, phreeqc, solution
from growcells import CellError
from growcells.chemistry.chemical_formulas import formula_mass
from growcells.chemistry.equilibria import Equilibrium, equilibrium
from growcells.chemistry.ion_mobility import (
    carbonate,
    component_moles,
    conductivity,
    dissolved,
    ions_of,
    viscosity,
)
from growcells.chemistry.ions import (
    Species,
    TooStrong,
    all_species,
    debye_hueckel,
    dielectric_constant,
    log_activity_coefficient,
)
from growcells.data import read_data

SOLUTIONS = 250


def by_name() -> dict[str, Species]:
    """The species of the table by their names."""
    return {species.name: species for species in all_species()}


def limiting_conductivity(species: Species, temperature: float) -> float:
    """That of one ion."""
    (found,) = ions_of((species,)).limiting(temperature)
    return float(found)


def rows(table: dict[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(table.items())


def against_phreeqc() -> list[tuple[float, float]]:
    """Our conductivity and PHREEQC's [mS/cm] of random complete nutrient solutions at 25 °C."""
    numbers = random.Random(2026)
    pairs = []
    for _ in range(SOLUTIONS):
        table, ph = complete_solution(numbers)
        reference = solution(table, ph)
        pairs.append((growcells.call("GROW_EC", rows({**table, "pH": ph})), reference.sc / 1000))
        reference.forget()
    return pairs


@pytest.mark.slow
def test_random_complete_solutions_against_phreeqc() -> None:
    pairs = against_phreeqc()
    errors = [abs(ours / theirs - 1) for ours, theirs in pairs]
    half, nearly_all = numpy.quantile(errors, [0.5, 0.95])
    references = [theirs for _, theirs in pairs]
    print(
        f"{len(pairs)} solutions, {min(references):.2f} to {max(references):.2f} mS/cm: "
        f"median error {100 * half:.2f} %, 95 % under {100 * nearly_all:.2f} %, "
        f"largest {100 * max(errors):.2f} %"
    )
    assert min(references) < 0.4 and max(references) > 3.5
    # As functions/README.md and the text of GROW_EC tell them.
    assert round(100 * half, 2) == 0.25
    assert round(100 * nearly_all, 2) == 0.95
    assert max(errors) < 0.017


# OIML R 56 and ASTM D1125, from memory: KCl in water at 25 °C, mol/L and mS/cm.
@pytest.mark.parametrize(
    ("molar", "expected", "share"), [(0.01, 1.413, 0.01), (0.001, 0.1469, 0.01), (0.1, 12.88, 0.02)]
)
def test_potassium_chloride(molar: float, expected: float, share: float) -> None:
    value = growcells.call("GROW_EC", (("K", 39098.3 * molar), ("Cl", 35453 * molar), ("pH", 7)))
    print(f"KCl {molar} mol/L: {value:.4f} mS/cm, {expected} expected")
    assert value == pytest.approx(expected, rel=share)


# OIML R 56, from memory: KCl 0.01 mol/L is 1.147 at 15 °C and 1.278 at 20 °C.
@pytest.mark.parametrize(("temperature", "expected"), [(15, 1.147), (20, 1.278)])
def test_temperature(temperature: float, expected: float) -> None:
    table = (("K", 390.983), ("Cl", 354.53), ("pH", 7))
    assert growcells.call("GROW_EC", table, temperature) == pytest.approx(expected, rel=0.015)
    assert growcells.call("GROW_EC_25", expected, temperature) == pytest.approx(1.413, rel=0.015)


def test_hydrogen_carbonate_water() -> None:
    """Calcium bicarbonate, 2 meq/L: PHREEQC's figure for the same water."""
    water = phreeqc().add_solution({"units": "mmol/kgw", "pH": 7.5, "Ca": 1, "Alkalinity": 2})
    ours = growcells.call("GROW_EC", (("Ca", 40.078), ("HCO3", 122.03), ("pH", 7.5)))
    print(f"calcium bicarbonate 2 meq/L: {ours:.4f} mS/cm, PHREEQC {water.sc / 1000:.4f}")
    assert ours == pytest.approx(water.sc / 1000, rel=0.02)


def test_polynomials_of_the_temperature_give_the_conductivity_at_25_degrees() -> None:
    """Two measurements of the same, by different people: the limiting conductivity, and its polynomial at 25 °C."""
    warmed = [species for species in all_species() if species.warming]
    assert len(warmed) == 17
    for species in warmed:
        assert numpy.polyval(species.warming, 25) == pytest.approx(species.conductivity, rel=0.02), species.name


APART = {"HSO4-", "PO4-3", "HPO4-2", "H2PO4-"}
"""Ions for which the diffusion coefficients of phreeqc.dat are 4 to 26 % below the handbook, which is taken."""


def test_conductivities_of_the_handbook() -> None:
    """The CRC Handbook, at infinite dilution and per equivalent, as the thermo package carries it."""
    from thermo import electrochem

    electrochem._load_electrochem_data()
    table = electrochem.CRC_ion_conductivities
    handbook = dict(zip(table["Formula"], table["lambda"] * 1e4, strict=True))
    told = {row["species"] for row in read_data("species.csv") if "as the thermo package carries it" in row["source"]}
    assert len(told) >= 20 and told >= APART
    for species in all_species():
        if species.name in told:
            expected = handbook[species.name] * abs(species.charge)
            assert species.conductivity == pytest.approx(expected, abs=0.006), species.name


def test_every_conductivity_against_the_diffusion_coefficients_of_phreeqc() -> None:
    """Nernst and Einstein: λ = z² F² D ÷ (R T). Of what diffuses nobody has measured how fast, a small ion is taken."""
    faraday = si.physical_constants["Faraday constant"][0]
    measured = diffusion_coefficients()
    ions_there = [species for species in all_species() if species.charge]
    known = [species for species in ions_there if species.name in measured]
    assert len(known) > 25
    for species in known:
        expected = species.charge**2 * faraday**2 * measured[species.name] / (si.R * 298.15) * 1e4
        assert species.conductivity == pytest.approx(expected, rel=0.35 if species.name in APART else 0.04), (
            species.name
        )
    unknown = {
        species.name: species.conductivity / abs(species.charge) for species in ions_there if species not in known
    }
    handbook = {"MoO4-2", "citrate-3", "Hcitrate-2", "H2citrate-"}
    assert {conductivity for name, conductivity in unknown.items() if name not in handbook} == {19.0}


def test_water_and_law() -> None:
    # Robinson & Stokes 1959: A 0.5115 and B 0.3291 at 25 °C.
    assert debye_hueckel(25) == pytest.approx((0.5115, 0.3291), rel=1e-3)
    # K+ and Cl- at 15 °C: 59.66 and 61.42 S cm²/mol, Robinson & Stokes 1959, from memory.
    species = by_name()
    assert limiting_conductivity(species["K+"], 15) == pytest.approx(59.66, rel=0.015)
    assert limiting_conductivity(species["Cl-"], 15) == pytest.approx(61.42, rel=0.015)


def test_rule_of_thumb_of_cations() -> None:
    """Cations in meq/L are about ten times the conductivity: common practice, no source."""
    table = (("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64))
    cations = sum(growcells.call("GROW_MEQ", ppm, ion) for ion, ppm in table if ion in ("K", "Ca", "Mg"))
    assert growcells.call("GROW_EC", table) * 10 == pytest.approx(cations, rel=0.15)


def test_nitrogen_of_unknown_form_balances() -> None:
    """210 ppm of nitrogen beside 20 meq/L of cations and 5 of anions: all of it is nitrate; with less to do, less."""
    known = (("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64))
    unknown = (("N", 210), *known[1:])
    assert growcells.call("GROW_EC", unknown) == pytest.approx(growcells.call("GROW_EC", known), rel=1e-3)
    urea = (("urea-N", 110), ("NO3-N", 100), *known[1:])
    assert growcells.call("GROW_EC", urea) < growcells.call("GROW_EC", known)


KEYS = ["N", "NO3-N", "NH4-N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "B", "Mo", "Fe", "Mn", "pH", "HCO3", "Si", "F"]


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(KEYS), st.floats(0, 5000), min_size=1), st.floats(0, 50))
def test_any_table_gives_a_conductivity_or_a_sentence(table: dict[str, float], temperature: float) -> None:
    for cell in (
        growcells.functions()["GROW_EC"].evaluate((rows(table), f"{temperature} °C")),
        growcells.functions()["GROW_BALANCE"].evaluate((rows(table),)),
    ):
        if isinstance(cell, CellError):
            assert "fault in growcells" not in cell.message, cell.message
        else:
            assert isinstance(cell, float)


@pytest.mark.parametrize("temperature", [5, 25, 40])
@pytest.mark.parametrize("molar", [0.001, 0.02, 0.1])
def test_a_salt_of_two_single_charges_obeys_onsager(molar: float, temperature: float) -> None:
    """Robinson & Stokes 1959, equation 7.36, written out: Λ = Λ0 − (B1 Λ0 + B2) √c ÷ (1 + B a √c).

    B1 = 8.204e5 ÷ (ε T)^1.5, B2 = 82.5 ÷ (η √(ε T)) with η in poise, a of 3.8 Å.
    """
    species = by_name()
    limit = sum(limiting_conductivity(species[name], temperature) for name in ("K+", "Cl-"))
    product = dielectric_constant(temperature) * (temperature + 273.15)
    slowed = 8.204e5 / product**1.5 * limit + 82.5 / (viscosity(temperature) / 100 * product**0.5)
    root = math.sqrt(molar)
    expected = molar * (limit - slowed * root / (1 + 50.29 / product**0.5 * 3.8 * root))
    found = conductivity(Equilibrium({species["K+"]: molar, species["Cl-"]: molar}, {}, molar), temperature)
    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("positive", "charge", "cation", "negative", "other", "anion"),
    [("Mg+2", 2, 106.0, "Cl-", 1, 76.31), ("K+", 1, 73.48, "SO4-2", 2, 160.0)],
)
def test_onsager_of_unlike_charges(
    positive: str, charge: int, cation: float, negative: str, other: int, anion: float
) -> None:
    """The general relaxation term of Robinson & Stokes 1959, equation 7.35, with q of the charges and mobilities."""
    species = by_name()
    molar, strength = 0.01, 0.01 * (other * charge**2 + charge * other**2) / 2
    cation, anion = cation / charge, anion / other
    q = charge * other / (charge + other) * (cation + anion) / (other * cation + charge * anion)
    product = dielectric_constant(25) * 298.15
    relaxation = 8.204e5 / product**1.5 * (1 + math.sqrt(0.5)) / 0.5 * charge * other * q / (1 + math.sqrt(q))
    electrophoretic = 82.5 / (viscosity(25) / 100 * product**0.5) / 2
    root = math.sqrt(strength)
    shielding = root / (1 + 50.29 / product**0.5 * 3.8 * root)
    slowed = [
        mobility - (relaxation * mobility + electrophoretic * number) * shielding
        for mobility, number in ((cation, charge), (anion, other))
    ]
    ions_there = {species[positive]: molar * other, species[negative]: molar * charge}
    found = conductivity(Equilibrium(ions_there, {}, strength), 25)
    assert found == pytest.approx(molar * charge * other * sum(slowed), rel=1e-9)


def test_the_law_ends_at_its_strongest() -> None:
    species = by_name()
    ions = {species["K+"]: 0.3, species["Cl-"]: 0.3, species["H3BO3"]: 1.0}
    assert conductivity(Equilibrium(ions, {}, 0.3), 25) == pytest.approx(
        conductivity(Equilibrium({**ions, species["Na+"]: 0.0}, {}, 0.3), 25)
    )
    with pytest.raises(TooStrong, match=r"^the solution has an ionic strength of 0.31 mol/L, too strong"):
        conductivity(Equilibrium(ions, {}, 0.31), 25)


def test_warming_of_ions() -> None:
    species = by_name()
    assert limiting_conductivity(species["K+"], 25) == pytest.approx(73.48)
    square, slope, start = 0.003046, 1.261, 40.7
    warmed = 73.48 * (square * 100 + slope * 10 + start) / (square * 625 + slope * 25 + start)
    assert limiting_conductivity(species["K+"], 10) == pytest.approx(warmed)
    # Walden: where there is no polynomial, mobility goes with the fluidity of water.
    walden = 149.0 * viscosity(25) / viscosity(10)
    assert limiting_conductivity(species["MoO4-2"], 10) == pytest.approx(walden)


@pytest.mark.parametrize("temperature", [0, 10, 15, 20, 25, 30, 40, 50])
def test_water_against_phreeqc(temperature: float) -> None:
    """PHREEQC takes other equations: Huber and others 2009 for the viscosity, Bradley & Pitzer 1979 for the rest."""
    assert viscosity(temperature) == pytest.approx(of_water("VISCOS", temperature), rel=1e-3)
    assert dielectric_constant(temperature) == pytest.approx(of_water("EPS_R", temperature), rel=2e-3)
    theirs = [of_water(constant, temperature) for constant in ("DH_A", "DH_B")]
    assert list(debye_hueckel(temperature)) == pytest.approx(theirs, rel=6e-3)


def test_viscosity_of_water_at_its_reference() -> None:
    assert viscosity(20) == pytest.approx(1.0020, rel=1e-9)  # Kestin, Sokolov & Wakeham 1978


@pytest.mark.parametrize("ph", [5.0, 7.0, 9.5])
def test_carbonate_carries_its_alkalinity(ph: float) -> None:
    """Bicarbonate and twice the carbonate of what is found make up the alkalinity put in."""
    species = by_name()
    strength = 0.003
    found = carbonate(0.002, ph, strength, 20)
    forms = {
        name: 10
        ** (
            species[name].log_k_at(20)
            - species[name].components.get("H", 0) * ph
            - log_activity_coefficient(species[name], strength, 20)
        )
        for name in ("CO3-2", "HCO3-", "CO2")
    }
    unit = found / sum(forms.values())
    assert unit * (forms["HCO3-"] + 2 * forms["CO3-2"]) == pytest.approx(0.002)


def test_alkalinity_counts_and_ph_is_six_where_it_is_left_out() -> None:
    table = (("K", 200), ("NO3-N", 50))
    assert growcells.call("GROW_EC", (*table, ("pH", 6))) == growcells.call("GROW_EC", table)
    assert growcells.call("GROW_EC", (*table, ("pH", 3))) > 1.1 * growcells.call("GROW_EC", table)
    with_lime = growcells.call("GROW_EC", (*table, ("alkalinity", 100)))
    assert with_lime > growcells.call("GROW_EC", table)
    assert with_lime == pytest.approx(growcells.call("GROW_EC", (*table, ("HCO3", 121.93))), rel=1e-4)


def test_moles_of_components() -> None:
    found = component_moles({"K": 39.0983, "S": 32.06, "P": 30.973762, "B": 10.81, "NO3-N": 14.007, "NH4-N": 28.014})
    assert found["K"] == pytest.approx(1e-3, rel=1e-3)
    assert (found["SO4"], found["PO4"], found["H3BO3"]) == pytest.approx((1e-3, 1e-3, 1e-3), rel=1e-3)
    assert (found["NO3"], found["NH4"], found["Ca"]) == pytest.approx((1e-3, 2e-3, 0), rel=1e-3)


def test_meter_scales() -> None:
    for scale in (500, 640, 700):
        assert growcells.call("GROW_TDS", 2, scale) == pytest.approx(2 * scale)
        assert growcells.call("GROW_EC_FROM_TDS", 2 * scale, scale) == pytest.approx(2)
    assert growcells.call("GROW_EC_25", 1.0, 20) == pytest.approx(1 / (1 - 0.0191 * 5))
    assert growcells.call("GROW_EC_25", 1.0, 30) == pytest.approx(1 / (1 + 0.0191 * 5))


def test_dissolved_at_its_temperature() -> None:
    table = {"Ca": 200.0, "S": 200.0, "P": 62.0, "K": 100.0}
    cold = {species.name: amount for species, amount in dissolved({**table, "pH": 6.5}, 5.0).moles.items()}
    by_hand = {species.name: amount for species, amount in equilibrium(component_moles(table), 6.5, 5.0).moles.items()}
    assert cold == pytest.approx(by_hand)
    assert "HCO3-" not in cold
    limy = dissolved({**table, "pH": 6.5, "alkalinity": 100.0}, 5.0)
    strength = equilibrium(component_moles(table), 6.5, 5.0).strength
    carbon = carbonate(2 * 0.1 / formula_mass("CaCO3"), 6.5, strength, 5.0)
    found = sum(amount * species.components.get("CO3", 0) for species, amount in limy.moles.items())
    assert found == pytest.approx(carbon, rel=1e-6)
