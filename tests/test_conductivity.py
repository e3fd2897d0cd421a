"""Conductivity against PHREEQC, the calibration solutions, and other readings of the literature."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import growcells
from chemistry import complete_solution, percentile, solution
from growcells import CellError
from growcells.conductivity import dissolved, limiting_conductivity, viscosity
from growcells.ions import all_species, debye_hueckel, equilibrium

SOLUTIONS = 250


def rows(table: dict[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(table.items())


def against_phreeqc() -> list[tuple[float, float]]:
    """Our conductivity and PHREEQC's [mS/cm] of random complete nutrient solutions at 25 °C."""
    numbers = random.Random(2026)
    pairs = []
    for _ in range(SOLUTIONS):
        table, ph = complete_solution(numbers)
        reference = solution(table, ph)
        pairs.append((growcells.GROW_EC(rows({**table, "pH": ph})), reference.sc / 1000))
        reference.forget()
    return pairs


def test_random_complete_solutions_against_phreeqc() -> None:
    pairs = against_phreeqc()
    errors = [abs(ours / theirs - 1) for ours, theirs in pairs]
    references = [theirs for _, theirs in pairs]
    print(
        f"{len(pairs)} solutions, {min(references):.2f} to {max(references):.2f} mS/cm: "
        f"median error {100 * percentile(errors, 0.5):.2f} %, 95 % under {100 * percentile(errors, 0.95):.2f} %, "
        f"largest {100 * max(errors):.2f} %"
    )
    assert len(pairs) >= 200
    assert min(references) < 0.4 and max(references) > 3.5
    assert percentile(errors, 0.5) < 0.02
    assert percentile(errors, 0.95) < 0.05


# OIML R 56 and ASTM D1125, from memory: KCl in water at 25 °C, mol/L and mS/cm.
@pytest.mark.parametrize(
    ("molar", "expected", "share"), [(0.01, 1.413, 0.01), (0.001, 0.1469, 0.01), (0.1, 12.88, 0.02)]
)
def test_potassium_chloride(molar: float, expected: float, share: float) -> None:
    value = growcells.GROW_EC((("K", 39098.3 * molar), ("Cl", 35453 * molar), ("pH", 7)))
    print(f"KCl {molar} mol/L: {value:.4f} mS/cm, {expected} expected")
    assert value == pytest.approx(expected, rel=share)


# OIML R 56, from memory: KCl 0.01 mol/L is 1.147 at 15 °C and 1.278 at 20 °C.
@pytest.mark.parametrize(("temperature", "expected"), [(15, 1.147), (20, 1.278)])
def test_temperature(temperature: float, expected: float) -> None:
    table = (("K", 390.983), ("Cl", 354.53), ("pH", 7))
    assert growcells.GROW_EC(table, temperature) == pytest.approx(expected, rel=0.015)
    assert growcells.GROW_EC_25(expected, temperature) == pytest.approx(1.413, rel=0.015)


def test_hydrogen_carbonate_water() -> None:
    """Calcium bicarbonate, 2 meq/L: PHREEQC's figure for the same water."""
    from chemistry import phreeqc

    water = phreeqc().add_solution({"units": "mmol/kgw", "pH": 7.5, "Ca": 1, "Alkalinity": 2})
    ours = growcells.GROW_EC((("Ca", 40.078), ("HCO3", 122.03), ("pH", 7.5)))
    print(f"calcium bicarbonate 2 meq/L: {ours:.4f} mS/cm, PHREEQC {water.sc / 1000:.4f}")
    assert ours == pytest.approx(water.sc / 1000, rel=0.02)


def test_species_against_phreeqc() -> None:
    """Ions, pairs and phosphate species of a strong feed, to 2 % of PHREEQC's amounts."""
    table = {"NO3-N": 210, "P": 62, "K": 235, "Ca": 200, "Mg": 48.6, "S": 100}
    reference = solution(table, 6.5).species
    ours = {species.name: amount for species, amount in dissolved({**table, "pH": 6.5}, 25.0).moles.items()}
    for name in ("Ca+2", "CaSO4", "MgSO4", "KSO4-", "HPO4-2", "H2PO4-", "CaHPO4", "CaH2PO4+", "MgHPO4", "SO4-2"):
        assert ours[name] == pytest.approx(reference[name], rel=0.02), name


def test_water_and_law() -> None:
    # Viscosity of water [mPa s]: 0.890 at 25 °C and 1.138 at 15 °C, CRC Handbook, from memory.
    assert viscosity(25) == pytest.approx(0.890, rel=2e-3)
    assert viscosity(15) == pytest.approx(1.138, rel=2e-3)
    # Robinson & Stokes 1959: A 0.5115 and B 0.3291 at 25 °C.
    assert debye_hueckel(25) == pytest.approx((0.5115, 0.3291), rel=1e-3)
    # K+ and Cl- at 15 °C: 59.66 and 61.42 S cm²/mol, Robinson & Stokes 1959, from memory.
    species = {s.name: s for s in all_species()}
    assert limiting_conductivity(species["K+"], 15) == pytest.approx(59.66, rel=0.015)
    assert limiting_conductivity(species["Cl-"], 15) == pytest.approx(61.42, rel=0.015)


def test_rule_of_thumb_of_cations() -> None:
    """Cations in meq/L are about ten times the conductivity: common practice, no source."""
    table = (("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64))
    cations = sum(growcells.GROW_MEQ(ppm, ion) for ion, ppm in table if ion in ("K", "Ca", "Mg"))
    assert growcells.GROW_EC(table) * 10 == pytest.approx(cations, rel=0.15)


def test_balance_and_charges() -> None:
    table = (("NO3-N", 210.1), ("P", 30.97), ("K", 234.6), ("Ca", 200.4), ("Mg", 48.61), ("S", 64.12))
    assert growcells.GROW_BALANCE(table) == pytest.approx(0, abs=0.01)
    assert growcells.GROW_BALANCE((*table, ("Na", 23))) == pytest.approx(1, abs=0.02)
    assert growcells.GROW_MEQ(40.078, "Ca") == pytest.approx(2)
    assert growcells.GROW_MEQ(14.007, "NO3-N") == pytest.approx(growcells.GROW_MEQ(62.004, "nitrate"), rel=1e-4)
    assert growcells.GROW_MMOL(234.59, "K") == pytest.approx(6, rel=1e-4)


def test_nitrogen_of_unknown_form_balances() -> None:
    """210 ppm of nitrogen beside 20 meq/L of cations and 5 of anions: all of it is nitrate; with less to do, less."""
    known = (("NO3-N", 210), ("P", 31), ("K", 235), ("Ca", 200), ("Mg", 48.6), ("S", 64))
    unknown = (("N", 210), *known[1:])
    assert growcells.GROW_EC(unknown) == pytest.approx(growcells.GROW_EC(known), rel=1e-3)
    urea = (("urea-N", 110), ("NO3-N", 100), *known[1:])
    assert growcells.GROW_EC(urea) < growcells.GROW_EC(known)


def test_nitrate_share() -> None:
    assert growcells.GROW_NITRATE_SHARE("calcium nitrate") == pytest.approx(11 / 12)
    assert growcells.GROW_NITRATE_SHARE("20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5") == pytest.approx(0.28)


@pytest.mark.parametrize(
    ("name", "arguments", "says"),
    [
        ("GROW_EC", ("Hoagland",), "range of two columns"),
        ("GROW_EC", ((("K", "lots"), ("Ca", "more")),), "give a nutrient and its ppm"),
        ("GROW_EC", ((("K", 100), ("pH", 15)),), "pH is 15"),
        ("GROW_EC", ((("K", 39000), ("Cl", 35000)),), "too strong"),
        ("GROW_EC", ((("K", 100), ("Cl", 90)), 80), "from 0 to 50"),
        ("GROW_EC_25", (1.8, "20 gal"), "measures volume"),
        ("GROW_TDS", (1.8, 600), "500, 640 or 700"),
        ("GROW_EC_FROM_TDS", (900, "", "ppm"), "scale is blank"),
        ("GROW_MEQ", (100, "N"), "give NO3-N"),
        ("GROW_MEQ", (100, "B"), "no charge"),
        ("GROW_MEQ", (100, "sulfat"), "did you mean sulfate"),
        ("GROW_NITRATE_SHARE", ("20-20-20",), "does not tell the form"),
        ("GROW_NITRATE_SHARE", ("K2SO4",), "lists no N"),
    ],
)
def test_bad_input(name: str, arguments: tuple[object, ...], says: str) -> None:
    cell = getattr(growcells, name).evaluate(arguments)
    assert isinstance(cell, CellError)
    assert says in cell.message
    assert growcells.GROW_WHY(name, *arguments) == cell.message


KEYS = ["N", "NO3-N", "NH4-N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "B", "Mo", "Fe", "Mn", "pH", "HCO3", "Si", "F"]


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(KEYS), st.floats(0, 5000), min_size=1), st.floats(0, 50))
def test_any_table_gives_a_conductivity_or_a_sentence(table: dict[str, float], temperature: float) -> None:
    for cell in (
        growcells.GROW_EC.evaluate((rows(table), f"{temperature} °C")),
        growcells.GROW_BALANCE.evaluate((rows(table),)),
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
def test_equilibrium_gives_back_what_was_put_in(totals: dict[str, float], ph: float) -> None:
    moles = equilibrium(totals, ph).moles
    for name, total in totals.items():
        assert sum(s.components.get(name, 0) * amount for s, amount in moles.items()) == pytest.approx(total, rel=1e-8)
