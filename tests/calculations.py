"""Which tests are those of the calculations alone: deterministic, quick, and without a spreadsheet program.

Coverage (``measure_coverage.py``) and mutation (``mutation.py``) are measured with them.
"""

from __future__ import annotations

SUBJECTS = (
    "acid analyses cell_function cells charges climate comparison conductivity cost dose growth help ions kinds ppm "
    "recipes reference seed sentences stock trial units volume water"
)
FILES = tuple(f"test_{subject}.py" for subject in SUBJECTS.split())
SLOW = (
    "test_false_alarms_with_and_without_beds",
    "test_letters_of_a_thousand_random_trials_against_scipy",
    "test_letters_of_welch_trials_against_scipy",
    "test_ph_after_the_dose_against_phreeqc",
    "test_random_complete_solutions_against_phreeqc",
    "test_saturation_against_phreeqc",
)
"""Tests that take seconds each."""
# Tests of random examples are not the same twice.
SELECTION = ("-m", "not hypothesis", "-k", f"not {' and not '.join(SLOW)}")
