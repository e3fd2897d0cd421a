"""Conductivity against PHREEQC, the calibration solutions, and other readings of the literature."""

from __future__ import annotations

import math
import random

import numpy
import pytest
import scipy.constants as si
from hypothesis import example, given, settings
from hypothesis import strategies as st

import growcells
from chemistry import complete_solution, diffusion_coefficients, of_water, phreeqc, solution
from growcells import CellError
from growcells.chemistry import ions
from growcells.chemistry.charges import charge_without_nitrogen, charged_nitrogen, untold_nitrogen
from growcells.chemistry.formulas import formula_mass
from growcells.chemistry.ion_mobility import (
    carbonate,
    component_moles,
    conductivity,
    dissolved,
    limiting_conductivity,
    viscosity,
)
from growcells.chemistry.ions import (
    Equilibrium,
    Species,
    TooStrong,
    all_species,
    component_charges,
    debye_hueckel,
    dielectric_constant,
    equilibrium,
    log_activity_coefficient,
)
from growcells.data import read_data
from growcells.no_answer import NoAnswer

SOLUTIONS = 250


def by_name() -> dict[str, Species]:
    """The species of the table by their names."""
    return {species.name: species for species in all_species()}


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
    assert half < 0.02
    assert nearly_all < 0.05


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


def test_species_against_phreeqc() -> None:
    """Ions, pairs and phosphate species of a strong feed, to 2 % of PHREEQC's amounts."""
    table = {"NO3-N": 210, "P": 62, "K": 235, "Ca": 200, "Mg": 48.6, "S": 100}
    reference = solution(table, 6.5).species
    ours = {species.name: amount for species, amount in dissolved({**table, "pH": 6.5}, 25.0).moles.items()}
    for name in ("Ca+2", "CaSO4", "MgSO4", "KSO4-", "HPO4-2", "H2PO4-", "CaHPO4", "CaH2PO4+", "MgHPO4", "SO4-2"):
        assert ours[name] == pytest.approx(reference[name], rel=0.02), name


EVERY_COMPONENT = {
    **{"K": ("K", 5), "NH4": ("N(-3)", 1), "Na": ("Na", 2), "Ca": ("Ca", 4), "Mg": ("Mg", 2), "Fe": ("Fe(2)", 0.1)},
    **{"Mn": ("Mn(2)", 0.1), "Zn": ("Zn", 0.1), "Cu": ("Cu(2)", 0.1), "NO3": ("N(5)", 8), "Cl": ("Cl", 3)},
    **{"F": ("F", 0.05), "SO4": ("S(6)", 3), "PO4": ("P", 1), "CO3": ("C(4)", 1), "H3BO3": ("B", 0.05)},
    **{"H4SiO4": ("Si", 0.1), "citrate": ("Citrate", 0.5)},
}
"""PHREEQC's name of each component but molybdate, which phreeqc.dat lacks, and an amount [mmol/kg]."""


@pytest.mark.parametrize(("temperature", "near"), [(5, 0.11), (10, 0.08), (25, 0.01), (40, 0.08)])
def test_every_constant_against_phreeqc(temperature: float, near: float) -> None:
    """log10 of the formation constants and of the activity coefficients, from the activities that PHREEQC finds.

    Away from 25 °C phreeqc.dat has polynomials for some, and the citrates of MINTEQ are added to it without enthalpies.
    """
    amounts = dict(EVERY_COMPONENT.values())
    found = phreeqc().add_solution({"units": "mmol/kgw", "temp": temperature, "pH": 6.5, **amounts})
    theirs = {
        name.replace("Citrate", "citrate"): math.log10(max(a, 1e-99)) for name, a in found.species_activities.items()
    }
    free = {next(iter(s.components)): s.name for s in all_species() if s.log_k == 0 and sum(s.components.values()) == 1}
    tried = [species for species in all_species() if species.name in theirs]
    assert {species.name for species in all_species()} - {species.name for species in tried} == {"MoO4-2"}
    for species in tried:
        parts = sum(count * theirs[free[name]] for name, count in species.components.items())
        assert species.log_k_at(temperature) == pytest.approx(theirs[species.name] - parts, abs=near), species.name
        molality = found.species_molalities[species.name.replace("citrate", "Citrate")]
        coefficient = log_activity_coefficient(species, found.mu(), temperature)
        assert coefficient == pytest.approx(theirs[species.name] - math.log10(molality), abs=0.01), species.name


def test_polynomials_of_the_temperature_give_the_conductivity_at_25_degrees() -> None:
    """Two measurements of the same, by different people: the limiting conductivity, and its polynomial at 25 °C."""
    warmed = [species for species in all_species() if species.warming]
    assert len(warmed) == 17
    for species in warmed:
        assert numpy.polyval(species.warming, 25) == pytest.approx(species.conductivity, rel=0.02), species.name


def test_every_conductivity_against_the_diffusion_coefficients_of_phreeqc() -> None:
    """Nernst and Einstein: λ = z² F² D ÷ (R T). Of what diffuses nobody has measured how fast, a small ion is taken."""
    faraday = si.physical_constants["Faraday constant"][0]
    measured = diffusion_coefficients()
    ions_there = [species for species in all_species() if species.charge]
    known = [species for species in ions_there if species.name in measured]
    assert len(known) > 25
    for species in known:
        expected = species.charge**2 * faraday**2 * measured[species.name] / (si.R * 298.15) * 1e4
        assert species.conductivity == pytest.approx(expected, rel=0.04), species.name
    unknown = {species.name: species.conductivity for species in ions_there if species not in known}
    handbook = {"MoO4-2", "citrate-3", "Hcitrate-2", "H2citrate-"}
    assert {conductivity for name, conductivity in unknown.items() if name not in handbook} == {19.0}


def test_ions_of_the_table_carry_the_charge_of_their_species() -> None:
    charges = {row["ion"]: int(row["charge"]) for row in read_data("ions.csv")}
    as_component = component_charges() | {"NH4-N": 1, "NO3-N": -1, "S": -2, "Mo": -2, "alkalinity": -2}
    # Phosphorus counts as H2PO4, which carries one charge at the pH of water culture.
    for ion, charge in charges.items():
        assert charge == (as_component | {"P": -1, "H2PO4": -1, "HPO4": -2, "HCO3": -1})[ion], ion


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


def test_balance_and_charges() -> None:
    table = (("NO3-N", 210.1), ("P", 30.97), ("K", 234.6), ("Ca", 200.4), ("Mg", 48.61), ("S", 64.12))
    assert growcells.call("GROW_BALANCE", table) == pytest.approx(0, abs=0.01)
    assert growcells.call("GROW_BALANCE", (*table, ("Na", 23))) == pytest.approx(1, abs=0.02)
    assert growcells.call("GROW_MEQ", 40.078, "Ca") == pytest.approx(2)
    assert growcells.call("GROW_MEQ", 14.007, "NO3-N") == pytest.approx(
        growcells.call("GROW_MEQ", 62.004, "nitrate"), rel=1e-4
    )
    assert growcells.call("GROW_MMOL", 234.59, "K") == pytest.approx(6, rel=1e-4)


def test_nitrogen_of_unknown_form_balances() -> None:
    """210 ppm of nitrogen beside 20 meq/L of cations and 5 of anions: all of it is nitrate; with less to do, less."""
    known = (("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64))
    unknown = (("N", 210), *known[1:])
    assert growcells.call("GROW_EC", unknown) == pytest.approx(growcells.call("GROW_EC", known), rel=1e-3)
    urea = (("urea-N", 110), ("NO3-N", 100), *known[1:])
    assert growcells.call("GROW_EC", urea) < growcells.call("GROW_EC", known)


def test_nitrate_share() -> None:
    assert growcells.call("GROW_NITRATE_SHARE", "calcium nitrate") == pytest.approx(11 / 12)
    assert growcells.call("GROW_NITRATE_SHARE", "20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5") == pytest.approx(0.28)


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


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["K", "Ca", "Mg", "Na", "NH4", "NO3", "Cl", "SO4", "PO4", "CO3"]), st.floats(1e-8, 0.5)
    ),
    st.floats(2, 12),
)
@example({"PO4": 0.5, "K": 0.5, "Ca": 0.5}, 11.0)  # the slowest
def test_equilibrium_gives_back_what_was_put_in(totals: dict[str, float], ph: float) -> None:
    moles = equilibrium(totals, ph).moles
    for name, total in totals.items():
        assert sum(s.components.get(name, 0) * amount for s, amount in moles.items()) == pytest.approx(total, rel=1e-8)


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


# Malmberg & Maryott 1956, from memory.
@pytest.mark.parametrize(("temperature", "expected"), [(0, 87.740), (20, 80.10), (25, 78.30), (50, 69.91)])
def test_dielectric_constant_of_water(temperature: float, expected: float) -> None:
    assert dielectric_constant(temperature) == pytest.approx(expected, abs=0.015)


def test_activity_coefficients() -> None:
    """The three laws by hand, at an ionic strength of 0.05 mol/kg and 25 °C."""
    species = by_name()
    a, b = debye_hueckel(25)
    root = math.sqrt(0.05)
    found = {name: log_activity_coefficient(species[name], 0.05, 25) for name in ("Ca+2", "HSO4-", "MoO4-2", "CO2")}
    assert found["CO2"] == pytest.approx(0.1 * 0.05)
    assert found["Ca+2"] == pytest.approx(-a * 4 * root / (1 + b * 5.0 * root) + 0.165 * 0.05)
    assert found["HSO4-"] == pytest.approx(-a * (root / (1 + root) - 0.3 * 0.05))
    assert found["MoO4-2"] == pytest.approx(-4 * a * (root / (1 + root) - 0.3 * 0.05))


def test_formation_constants_are_warmed_by_vant_hoff() -> None:
    species = by_name()
    assert species["CaSO4"].log_k_at(25) == 2.25
    # Δlog K = ΔH ÷ (R ln 10) × (1 ÷ T0 − 1 ÷ T)
    change = 5.544 / (8.314462618e-3 * math.log(10)) * (1 / 298.15 - 1 / 283.15)
    assert species["CaSO4"].log_k_at(10) == pytest.approx(2.25 + change)


def test_species_of_the_table() -> None:
    species = by_name()
    assert species["CaH2PO4+"].components == {"Ca": 1, "PO4": 1, "H": 2}
    assert (species["K+"].warming, species["HSO4-"].warming) == ((0.003046, 1.261, 40.7), None)
    assert (species["HSO4-"].ion_size, species["HSO4-"].salting, species["CO2"].conductivity) == (None, 0, 0)
    assert (species["OH-"].charge, species["OH-"].log_k, species["OH-"].enthalpy) == (-1, -14.0, 55.81)


def test_charges_of_components() -> None:
    singles = dict.fromkeys(("K", "NH4", "Na", "H"), 1)
    doubles = dict.fromkeys(("Ca", "Mg", "Fe", "Mn", "Zn", "Cu"), 2)
    anions = {"NO3": -1, "Cl": -1, "F": -1, "SO4": -2, "MoO4": -2, "PO4": -3, "CO3": -2, "citrate": -3}
    assert component_charges() == {**singles, **doubles, **anions, "H3BO3": 0, "H4SiO4": 0}


def test_equilibrium_knows_its_charge_and_its_water() -> None:
    found = equilibrium({"K": 0.01, "Cl": 0.02}, 7)
    amounts = {species.name: amount for species, amount in found.moles.items()}
    assert set(amounts) == {"K+", "Cl-", "H+", "OH-"}
    assert found.charge == pytest.approx(-0.01, rel=1e-4)
    assert found.strength == pytest.approx(0.015, rel=1e-4)
    assert found.log_water_activity == pytest.approx(math.log10(1 - 0.017 * 0.03), rel=1e-4)
    assert found.log_activities["H"] == -7
    # pH is an activity: 10^-7 ÷ γ of hydrogen.
    species = by_name()
    assert math.log10(amounts["H+"]) == pytest.approx(-7 - log_activity_coefficient(species["H+"], found.strength, 25))
    strong = Equilibrium({species["K+"]: 50.0}, {}, 25)
    assert strong.log_water_activity == math.log10(0.3)


def test_traces_count_as_nothing() -> None:
    assert "K" not in equilibrium({"K": 1e-15, "Cl": 0.01}, 7).log_activities
    assert "K" in equilibrium({"K": 1.1e-15, "Cl": 0.01}, 7).log_activities


@pytest.mark.parametrize("temperature", [5, 25, 45])
def test_carbonic_acid_at_a_ph(temperature: float) -> None:
    """The ratios of the forms are the constants over the activities: by hand, at any temperature."""
    found = equilibrium({"CO3": 0.002, "Na": 0.002}, 6.3, temperature)
    species = by_name()

    def activity(name: str) -> float:
        coefficient = log_activity_coefficient(species[name], found.strength, temperature)
        return math.log10(found.moles[species[name]]) + coefficient

    first = species["CO2"].log_k_at(temperature) - species["HCO3-"].log_k_at(temperature)
    assert activity("CO2") - activity("HCO3-") == pytest.approx(first - 6.3, abs=1e-8)
    assert activity("HCO3-") - activity("CO3-2") == pytest.approx(
        species["HCO3-"].log_k_at(temperature) - 6.3, abs=1e-8
    )


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


def test_no_equilibrium_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ions, "MOST_ROUNDS", 1)
    with pytest.raises(NoAnswer, match=r"^no equilibrium was found for this solution: look for an amount far"):
        equilibrium({"Ca": 0.1, "SO4": 0.1}, 7)


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


def test_charges_by_hand() -> None:
    assert growcells.call("GROW_MEQ", 48.61, "Mg") == pytest.approx(4, rel=1e-3)
    assert growcells.call("GROW_MEQ", 96.06, "SO4") == pytest.approx(2, rel=1e-3)
    assert growcells.call("GROW_MEQ", 96.06, "sulphate") == pytest.approx(2, rel=1e-3)
    assert growcells.call("GROW_MMOL", 141.94, "P2O5") == pytest.approx(2, rel=1e-3)
    with pytest.raises(growcells.GrowError, match=r"^urea-N is urea in water culture"):
        growcells.call("GROW_MEQ", 10, "urea-N")
    with pytest.raises(growcells.GrowError, match=r"^Si is silicic acid in water culture"):
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


def test_ammonium_counts_as_a_cation() -> None:
    mole = formula_mass("N")
    assert growcells.call("GROW_BALANCE", (("NH4-N", 2 * mole), ("Cl", formula_mass("Cl")))) == pytest.approx(1)
    assert growcells.call("GROW_BALANCE", (("NO3-N", 2 * mole), ("K", formula_mass("K")))) == pytest.approx(-1)


def test_an_equilibrium_is_settled() -> None:
    """What was put in is found again, and the ionic strength is that of the moles found."""
    put_in = {"Ca": 0.3, "SO4": 0.2, "Mg": 0.2, "PO4": 0.2, "NH4": 0.3, "CO3": 0.1}
    found = equilibrium(put_in, 7.5)
    for name, total in put_in.items():
        holding = sum(s.components.get(name, 0) * amount for s, amount in found.moles.items())
        assert holding == pytest.approx(total, rel=1e-9)
    strength = sum(amount * s.charge**2 for s, amount in found.moles.items()) / 2
    assert found.strength == pytest.approx(strength, abs=1e-9)
    again = {
        s: 10
        ** (
            s.log_k
            + sum(count * found.log_activities[name] for name, count in s.components.items())
            - log_activity_coefficient(s, found.strength, 25)
        )
        for s in found.moles
    }
    assert list(again.values()) == pytest.approx(list(found.moles.values()), rel=1e-8)
