"""Recalculation of workbook files, and safe reading and writing of them."""

from .apart import recalculate_apart
from .recalc import recalculate
from .results import FailedCell, KeptCell, Progress, Recalculation, RestingCell
from .safe_files import FileProblem, check_output, check_unlocked, make_folder, write_whole
from .values import ComputedValues, computed_values

__all__ = [
    "ComputedValues",
    "FailedCell",
    "FileProblem",
    "KeptCell",
    "Progress",
    "Recalculation",
    "RestingCell",
    "check_output",
    "check_unlocked",
    "computed_values",
    "make_folder",
    "recalculate",
    "recalculate_apart",
    "write_whole",
]
