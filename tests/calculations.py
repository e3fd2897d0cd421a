"""Which tests are those of the calculations alone: deterministic, quick, and without a spreadsheet program.

Coverage (``measure_coverage.py``) and mutation (``mutation.py``) are measured with them.
"""

from __future__ import annotations

SUBJECTS = (
    "acid analyses cell_function cells charges climate comparison conductivity cost dose growth help ions kinds ppm "
    "paired_rounds proportions recipes reference saturation seed sentences stock studentized_range trial units "
    "volume water"
)
FILES = tuple(f"test_{subject}.py" for subject in SUBJECTS.split())
# Tests of random examples are not the same twice.
SELECTION = ("-m", "not hypothesis and not slow")
