"""Ions in water against PHREEQC, against constants of the literature, and by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from chemistry import phreeqc, solution
from concentrates import FREE, log_activities
from growcells.chemistry import equilibria
from growcells.chemistry.equilibria import Equilibrium, equilibrium
from growcells.chemistry.ion_mobility import (
    dissolved,
)
from growcells.chemistry.ions import (
    Species,
    all_species,
    component_charges,
    debye_hueckel,
    dielectric_constant,
    log_activity_coefficient,
)
from growcells.data import read_data
from growcells.no_answer import NoAnswer


def by_name() -> dict[str, Species]:
    """The species of the table by their names."""
    return {species.name: species for species in all_species()}


EVERY_COMPONENT = {
    **{"K": ("K", 5), "NH4": ("N(-3)", 1), "Na": ("Na", 2), "Ca": ("Ca", 4), "Mg": ("Mg", 2), "Fe": ("Fe(2)", 0.1)},
    **{"Mn": ("Mn(2)", 0.1), "Zn": ("Zn", 0.1), "Cu": ("Cu(2)", 0.1), "NO3": ("N(5)", 8), "Cl": ("Cl", 3)},
    **{"F": ("F", 0.05), "SO4": ("S(6)", 3), "PO4": ("P", 1), "CO3": ("C(4)", 1), "H3BO3": ("B", 0.05)},
    **{"H4SiO4": ("Si", 0.1), "citrate": ("Citrate", 0.5)},
}
"""PHREEQC's name of each component but molybdate, which phreeqc.dat lacks, and an amount [mmol/kg]."""


def test_species_against_phreeqc() -> None:
    """Ions, pairs and phosphate species of a strong feed, to 2 % of PHREEQC's amounts."""
    table = {"NO3-N": 210, "P": 62, "K": 235, "Ca": 200, "Mg": 48.6, "S": 100}
    reference = solution(table, 6.5).species
    ours = {species.name: amount for species, amount in dissolved({**table, "pH": 6.5}, 25.0).moles.items()}
    for name in ("Ca+2", "CaSO4", "MgSO4", "KSO4-", "HPO4-2", "H2PO4-", "CaHPO4", "CaH2PO4+", "MgHPO4", "SO4-2"):
        assert ours[name] == pytest.approx(reference[name], rel=0.02), name


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
    tried = [species for species in all_species() if species.name in theirs and species.name not in of_minteq()]
    assert {species.name for species in all_species()} - {species.name for species in tried} == of_minteq() | {"MoO4-2"}
    for species in tried:
        parts = sum(count * theirs[free[name]] for name, count in species.components.items())
        assert species.log_k_at(temperature) == pytest.approx(theirs[species.name] - parts, abs=near), species.name
        molality = found.species_molalities[species.name.replace("citrate", "Citrate")]
        coefficient = log_activity_coefficient(species, found.mu(), temperature)
        assert coefficient == pytest.approx(theirs[species.name] - math.log10(molality), abs=0.01), species.name


def of_minteq() -> set[str]:
    """The species whose constants are those of minteq.v4.dat, but citrates, which are added to phreeqc.dat."""
    rows = [row for row in read_data("species.csv") if "citrate" not in row["species"]]
    return {row["species"] for row in rows if "minteq.v4.dat" in row["source"]}


MINTEQ_NAMES = {"Fe": "Fe(2)", "Mn": "Mn(2)", "Cu": "Cu(2)", "SO4": "S(6)", "NO3": "N(5)", "NH4": "N(-3)", "PO4": "P"}
MINTEQ_NAMES |= {"CO3": "C(4)", "H3BO3": "B", "MoO4": "Mo", "H4SiO4": "Si", "citrate": "Citrate"}


@pytest.mark.parametrize("temperature", [10, 25, 35])
def test_constants_of_minteq(temperature: float) -> None:
    """Formation constants from the activities that PHREEQC finds with minteq.v4.dat."""
    tried = [species for species in all_species() if species.name in of_minteq()]
    amounts = {MINTEQ_NAMES.get(name, name): 0.01 for name in FREE if name != "H"}
    names = [*FREE.values(), *(species.name for species in tried)]
    theirs = log_activities("minteq.v4.dat", amounts, 6.5, temperature, names)
    for species in tried:
        parts = sum(count * theirs[FREE[name]] for name, count in species.components.items())
        assert species.log_k_at(temperature) == pytest.approx(theirs[species.name] - parts, abs=0.01), species.name


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


def test_no_equilibrium_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(equilibria, "MOST_ROUNDS", 1)
    with pytest.raises(NoAnswer, match=r"^no equilibrium was found for this solution: look for an amount far"):
        equilibrium({"Ca": 0.1, "SO4": 0.1}, 7)


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


# Plummer & Busenberg 1982 for carbonic acid; CRC Handbook for the others; all from memory.
@pytest.mark.parametrize(
    ("acid", "base", "expected"),
    [
        ("CO2", "HCO3-", 6.352),
        ("HCO3-", "CO3-2", 10.329),
        ("H2PO4-", "HPO4-2", 7.198),
        ("HPO4-2", "PO4-3", 12.35),
        ("HSO4-", "SO4-2", 1.99),
    ],
)
def test_acids_of_the_literature(acid: str, base: str, expected: float) -> None:
    species = by_name()
    assert species[acid].log_k_at(25) - species[base].log_k_at(25) == pytest.approx(expected, abs=0.03)


# CRC Handbook, ion product of water, from memory.
@pytest.mark.parametrize(
    ("temperature", "expected"), [(0, 14.94), (10, 14.53), (25, 13.995), (40, 13.535), (50, 13.26)]
)
def test_ion_product_of_water(temperature: float, expected: float) -> None:
    assert -by_name()["OH-"].log_k_at(temperature) == pytest.approx(expected, abs=0.06)


# Mean activity coefficients at 25 °C: Robinson & Stokes 1959, appendix 8.10, from memory.
@pytest.mark.parametrize(
    ("cation", "anion", "molal", "expected"),
    [
        ("Na+", "Cl-", 0.1, 0.778),
        ("K+", "Cl-", 0.1, 0.770),
        ("K+", "NO3-", 0.1, 0.739),
        ("Ca+2", "Cl-", 0.1, 0.518),
        ("Mg+2", "Cl-", 0.1, 0.528),
    ],
)
def test_mean_activity_coefficients_of_the_literature(cation: str, anion: str, molal: float, expected: float) -> None:
    species = by_name()
    charge = species[cation].charge
    strength = molal * (charge**2 + charge) / 2
    logs = [log_activity_coefficient(species[name], strength, 25) for name in (cation, anion)]
    assert 10 ** ((logs[0] + charge * logs[1]) / (1 + charge)) == pytest.approx(expected, rel=0.05)


def test_gypsum_saturated_water_holds_its_pairs() -> None:
    """15.2 mmol/kg of CaSO4 saturate water at 25 °C, about a third of it as pairs: CRC Handbook, from memory."""
    found = {species.name: moles for species, moles in equilibrium({"Ca": 0.0152, "SO4": 0.0152}, 7).moles.items()}
    assert found["CaSO4"] / 0.0152 == pytest.approx(0.33, abs=0.06)
    assert found["Ca+2"] + found["CaSO4"] == pytest.approx(0.0152, rel=1e-4)


def test_coefficients_stay_beyond_the_reach_of_the_formulas() -> None:
    strong, stronger = equilibrium({"K": 10.0, "Cl": 10.0}, 7), equilibrium({"K": 25.0, "Cl": 25.0}, 7)
    assert 10 ** (stronger.log_activities["K"] - strong.log_activities["K"]) == pytest.approx(2.5, rel=1e-6)
