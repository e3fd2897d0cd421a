"""Recalculation of workbook files."""

from .recalc import Computed, computed, recalculate
from .results import FailedCell, KeptCell, Recalculation, RestingCell

__all__ = [
    "Computed",
    "FailedCell",
    "KeptCell",
    "Recalculation",
    "RestingCell",
    "computed",
    "recalculate",
]
