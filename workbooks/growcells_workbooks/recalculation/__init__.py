"""Recalculation of workbook files."""

from .recalc import Computed, computed, recalculate
from .results import FailedCell, KeptCell, Recalculation, RestingCell
from .values import ComputedValues, computed_values

__all__ = [
    "Computed",
    "ComputedValues",
    "FailedCell",
    "KeptCell",
    "Recalculation",
    "RestingCell",
    "computed",
    "computed_values",
    "recalculate",
]
