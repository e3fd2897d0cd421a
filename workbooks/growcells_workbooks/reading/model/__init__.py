"""What does a log hold, once it is read? Numbers in its own units, which ``units`` names; frames in fixed ones."""

from .entries import (
    READING_NUMBERS,
    Bed,
    Feed,
    Fill,
    Harvest,
    Part,
    Reading,
    Round,
    Weight,
    name_key,
    where,
)
from .found import CellNote, Certainty, ColumnFound, Counts, Fate, TableFound
from .log import FIXED_UNITS, GrowLog, bed_with, round_on

__all__ = [
    "FIXED_UNITS",
    "READING_NUMBERS",
    "Bed",
    "CellNote",
    "Certainty",
    "ColumnFound",
    "Counts",
    "Fate",
    "Feed",
    "Fill",
    "GrowLog",
    "Harvest",
    "Part",
    "Reading",
    "Round",
    "TableFound",
    "Weight",
    "bed_with",
    "name_key",
    "round_on",
    "where",
]
