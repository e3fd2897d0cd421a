"""The table of functions/README.md that tells how near other programs our answers are, measured anew."""

from __future__ import annotations

import re

import pytest

import growcells
import test_acid
import test_ppm
from accuracy import FAMILIES, README, Family
from chemistry import weight
from trials import BEDS_EACH, false_alarms


@pytest.mark.slow
@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.what)
def test_each_row_is_what_was_measured(family: Family) -> None:
    row = family.row()
    print(row)
    assert row in README.read_text("utf-8").splitlines()


def test_the_table_lists_every_family_and_no_other() -> None:
    rows = [line for line in README.read_text("utf-8").partition("| what | against |")[2].splitlines()[2:] if line]
    told = [row.split(" | ")[0].removeprefix("| ") for row in rows[: len(FAMILIES)]]
    assert told == [family.what for family in FAMILIES]


def told(pattern: str) -> list[str]:
    """The figures that a sentence of the README tells."""
    found = re.search(pattern, README.read_text("utf-8"))
    assert found, pattern
    return list(found.groups())


@pytest.mark.slow
def test_false_alarms_with_beds_and_without() -> None:
    trials, with_beds, without = told(
        r"In ([\d,]+) simulated .* alarm in ([\d.]+) % with beds and in ([\d.]+) % without"
    )
    found = [false_alarms(int(trials.replace(",", "")), given, BEDS_EACH) for given in (True, False)]
    assert [f"{100 * share:.1f}" for share in found] == [with_beds, without]


def test_figures_of_the_sentences() -> None:
    (molar,) = told(r"from their salts come within ([\d.]+) % of molar arithmetic")
    worst = max(
        abs(reached[element] / (amount * weight(element)) - 1)
        for salts, amounts in ((test_ppm.SOLUTION_1, test_ppm.MMOL_1), (test_ppm.SOLUTION_2, test_ppm.MMOL_2))
        for reached in [test_ppm.from_salts(salts)]
        for element, amount in amounts.items()
    )
    assert 100 * worst <= float(molar)
    (strength,) = told(r"KCl of 0.01 mol/L at 25 °C to ([\d.]+) mS/cm")
    assert f"{growcells.call('GROW_EC', (('K', 390.983), ('Cl', 354.53), ('pH', 7))):.4f}" == strength
    (citric,) = told(r"Citric acid misses by up to ([\d.]+) in water softened with salt")
    assert f"{test_acid.miss_in_softened_water('citric'):.1f}" == citric
    assert citric in growcells.functions()["GROW_ACID"].advice
