"""Prints what the chemistry functions were measured to do:  python tests/figures_chemistry.py

Takes about a minute. Needs phreeqpython and phreeqc, which the tests install.
"""

from __future__ import annotations

import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / "functions"), str(PROJECT / "tests")]

import test_acid  # noqa: E402  # the folders must be on the path first
import test_conductivity  # noqa: E402
import test_ppm  # noqa: E402
import test_recipes  # noqa: E402
import test_saturation  # noqa: E402
import test_stock  # noqa: E402
from growcells.chemistry.published_solutions import recipes  # noqa: E402


def main() -> None:
    print("Hoagland & Arnon 1 and 2 from their salts, against molar arithmetic and the printed ppm:")
    test_ppm.test_hoagland_and_arnon_from_salts(test_ppm.SOLUTION_1, test_ppm.MMOL_1, test_ppm.PRINTED_1)
    test_ppm.test_hoagland_and_arnon_from_salts(test_ppm.SOLUTION_2, test_ppm.MMOL_2, test_ppm.PRINTED_2)
    print("\nConductivity, against PHREEQC with phreeqc.dat and the calibration solutions:")
    test_conductivity.test_random_complete_solutions_against_phreeqc()
    for molar, expected in ((0.01, 1.413), (0.001, 0.1469), (0.1, 12.88)):
        test_conductivity.test_potassium_chloride(molar, expected, 0.02)
    test_conductivity.test_hydrogen_carbonate_water()
    print("\nAcid, the pH that PHREEQC finds after our dose less the target:")
    for name in test_acid.ACIDS:
        test_acid.test_ph_after_the_dose_against_phreeqc(name)
    test_acid.test_softened_water_is_told_apart()
    test_acid.test_open_beds_rise_again()
    print("\nPrecipitates of stock concentrates, against PHREEQC's saturation index:")
    for name in test_saturation.NAMES:
        test_saturation.test_saturation_against_phreeqc(name)
    test_saturation.test_common_ions_against_phreeqc()
    for database in ("minteq.v4.dat", "pitzer.dat", "phreeqc.dat"):
        test_stock.test_no_false_all_dissolves(database)
    print("\nRecipes: masses for Hoagland & Arnon 1, and the charges of published solutions:")
    test_recipes.test_hoagland_from_its_salts()
    for name, table in recipes().items():
        if "NO3-N" in table:
            test_recipes.test_ions_of_recipes_balance(name)


if __name__ == "__main__":
    main()
