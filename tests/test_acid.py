"""Acid doses: the pH that PHREEQC finds after our dose in a closed vessel, and bad input."""

from __future__ import annotations

import functools
import random

import pytest

import growcells
from chemistry import percentile, phreeqc, random_water
from growcells import CellError
from growcells.acid import acid_needed, density, equivalents, find_acid

WATERS = 120
ACIDS = {"nitric": "HNO3", "phosphoric": "H3PO4", "sulfuric": "H2SO4", "citric": "H3Citrate", "hydrochloric": "HCl"}
CLOSE = {"nitric": 0.1, "sulfuric": 0.1, "hydrochloric": 0.1, "phosphoric": 0.15, "citric": 0.15}


@functools.cache
def misses(name: str) -> list[float]:
    """pH that PHREEQC finds less the target, after our dose of an acid in random closed waters."""
    numbers = random.Random(347)
    found = []
    for _ in range(WATERS):
        water = random_water(numbers)
        target = numbers.uniform(5.3, 6.3)
        alkalinity, ph = water["Alkalinity"], water["pH"]
        assert isinstance(alkalinity, float) and isinstance(ph, float)
        dose = acid_needed(alkalinity / 1000, ph, target, find_acid(name))
        reference = phreeqc().add_solution(water)
        reference.add(ACIDS[name], dose * 1000)
        found.append(reference.pH - target)
        reference.forget()
    return found


@pytest.mark.parametrize("name", ACIDS)
def test_ph_after_the_dose_against_phreeqc(name: str) -> None:
    errors = [abs(miss) for miss in misses(name)]
    print(
        f"{name}: {len(errors)} waters, median miss {percentile(errors, 0.5):.3f} pH, largest {max(errors):.3f} "
        f"({CLOSE[name]} allowed)"
    )
    assert max(errors) < CLOSE[name]


def test_softened_water_is_told_apart() -> None:
    """In water softened with salt, citric acid misses by more: the help says so; the strong acids do not."""
    water = {"units": "mmol/kgw", "pH": 7.8, "Alkalinity": 5, "Na": 6, "Cl": "1 charge"}
    for name, allowed in {"nitric": 0.1, "sulfuric": 0.1, "phosphoric": 0.15, "citric": 0.45}.items():
        reference = phreeqc().add_solution(water)
        reference.add(ACIDS[name], acid_needed(0.005, 7.8, 5.5, find_acid(name)) * 1000)
        print(f"softened water, {name}: pH {reference.pH:.3f} for a target of 5.5")
        assert abs(reference.pH - 5.5) < allowed
    assert "softened" in growcells.GROW_ACID.advice


def test_open_beds_rise_again() -> None:
    """PHREEQC lets the carbon dioxide of an acidified water out to that of air: the pH rises, as the help warns."""
    reference = phreeqc().add_solution({"units": "mmol/kgw", "pH": 7.8, "Alkalinity": 2, "Ca": 1})
    reference.add("HNO3", acid_needed(0.002, 7.8, 5.8, find_acid("nitric")) * 1000)
    closed = reference.pH
    reference.equalize(["CO2(g)"], to_si=[-3.4])
    print(f"closed pH {closed:.2f}, after its carbon dioxide has left {reference.pH:.2f}")
    assert reference.pH > closed + 0.5
    assert "open bed" in growcells.GROW_ACID.advice


@pytest.mark.parametrize("name", ["GROW_ACID", "GROW_ACID_ADDS"])
def test_cautions(name: str) -> None:
    advice = getattr(growcells, name).advice
    for word in ("acid to water", "goggles", "gloves", "label", "local rules"):
        assert word in advice


def test_units_of_alkalinity() -> None:
    wanted = growcells.GROW_ACID("100 L", 100.087, 7.8, 5.8, "nitric")
    for same in ("2 meq/L", "100.087 mg/L", "122.03 mg/L HCO3", "5.608 dKH", "5.608 °dKH", "100.087 ppm"):
        assert growcells.GROW_ACID("100 L", same, 7.8, 5.8, "nitric") == pytest.approx(wanted, rel=5e-4)
    # 1 dKH is 17.85 mg/L as CaCO3: 10 mg/L of CaO, DIN 38409, from memory.
    assert equivalents()["mg/l"] / equivalents()["dkh"] == pytest.approx(17.85, rel=1e-3)


def test_strengths() -> None:
    # 63.013 g/mol and 1.3667 kg/L at 60 %: Perry's Handbook.
    percent = growcells.GROW_ACID("100 L", 100, 7.8, 5.8, "nitric", "60%")
    molar = growcells.GROW_ACID("100 L", 100, 7.8, 5.8, "nitric", f"{0.6 * 1366.7 / 63.013} mol/L")
    assert percent == pytest.approx(molar, rel=1e-4)
    assert growcells.GROW_ACID("100 L", 100, 7.8, 5.8, "nitric", 60) == percent
    assert growcells.GROW_ACID("100 L", 100, 7.8, 5.8, "nitric", "2 mol/L") == pytest.approx(
        2 * growcells.GROW_ACID("100 L", 100, 7.8, 5.8, "nitric", "4 M")
    )


# Fertilizer and laboratory practice, from memory: 85 % phosphoric acid is 14.6 mol/L, 37 % hydrochloric 12.0,
# 70 % nitric 15.7, 96 % sulfuric 18.0.
@pytest.mark.parametrize(
    ("name", "percent", "molar"),
    [("phosphoric", 85, 14.6), ("hydrochloric", 37, 12.0), ("nitric", 70, 15.7), ("sulfuric", 96, 18.0)],
)
def test_laboratory_strengths(name: str, percent: float, molar: float) -> None:
    acid = find_acid(name)
    assert density(acid, percent) * 10 * percent / acid.molar_mass == pytest.approx(molar, rel=0.01)


def test_what_an_acid_adds() -> None:
    dose = acid_needed(0.002, 7.8, 5.8, find_acid("sulfuric"))
    assert growcells.GROW_ACID_ADDS("100 L", "2 meq/L", 7.8, 5.8, "sulfuric") == pytest.approx(dose * 32065, rel=1e-3)
    assert growcells.GROW_ACID_ADDS("100 L", "2 meq/L", 7.8, 5.8, "citric") == 0


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        ((28, 120, 7.8, 5.8, "vinegar"), "#N/A", "no acid known here"),
        ((28, 120, 7.8, 5.8, "phosforic"), "#N/A", "did you mean phosphoric"),
        ((28, 120, 7.8, 8.2, "nitric"), "#NUM!", "acid only lowers pH"),
        ((28, 120, 17, 5.8, "nitric"), "#NUM!", "from 0 to 14"),
        ((28, 120, 7.8, -1, "nitric"), "#NUM!", "below zero"),
        ((28, 5, 11, 5.8, "nitric"), "#NUM!", "no water has a pH of 11"),
        ((28, 120, 3.5, 3.2, "nitric"), "#NUM!", "no water has a pH of 3.5"),
        ((28, 120, 7.8, 1.5, "citric"), "#NUM!", "cannot bring this water"),
        ((28, 120, 7.8, 5.8, "nitric", 98), "#NUM!", "up to 70 %"),
        ((28, 120, 7.8, 5.8, "nitric", 140), "#NUM!", "percent by mass up to 100"),
        ((28, 120, 7.8, 5.8, "nitric", "strong"), "#VALUE!", "percent by mass or mol/L"),
        ((28, "hard", 7.8, 5.8, "nitric"), "#VALUE!", "mg/L as CaCO3"),
        ((28, "5 gal", 7.8, 5.8, "nitric"), "#VALUE!", "mg/L as CaCO3"),
        ((28, 0, 7.8, 5.8, "nitric"), "#VALUE!", "zero or blank"),
        ((28, -50, 7.8, 5.8, "nitric"), "#NUM!", "below zero"),
        ((28, 120, None, 5.8, "nitric"), "#VALUE!", "ph is blank"),
        ((CellError("#REF!"), 120, 7.8, 5.8, "nitric"), "#REF!", "mend that cell first"),
    ],
)
def test_bad_input(arguments: tuple[object, ...], code: str, says: str) -> None:
    cell = growcells.GROW_ACID.evaluate(arguments)
    assert isinstance(cell, CellError)
    assert (cell.code, says in cell.message) == (code, True), cell.message
    assert growcells.GROW_WHY("GROW_ACID", *arguments) == cell.message
