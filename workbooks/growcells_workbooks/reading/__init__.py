"""Reading a grow log as people keep it: tables found by what they look like, nothing dropped in silence."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

from ..gate import Progress
from .inputs import read_input
from .mapping import load_map, map_beside, map_text, put_map
from .model.entries import Bed, Feed, Fill, Harvest, Part, Reading, Round, Weight
from .model.found import CellNote, Certainty, ColumnFound, Counts, Fate, TableFound
from .model.log import GrowLog
from .read import read_tables

__all__ = [
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
    "map_beside",
    "map_text",
    "put_map",
    "read_log",
]


def read_log(
    path: Path,
    as_of: datetime.date | None = None,
    progress: Progress | None = None,
    map_path: Path | None = None,
) -> GrowLog:
    """Read a grow log: an .xlsx or .xlsm with its formulas computed anew, an .ods as LibreOffice stored it, a .csv.

    ``as_of`` is the day that TODAY gives and on which the beds are shown, ``map_path`` the mapping file, by default the
    one beside the log, if there is one. The file is only read. Raises FileProblem, whose text is one sentence.
    """
    log_map = load_map(path, map_path)
    given = read_input(path, as_of, progress)
    log = replace(
        read_tables(given.sheets, path, log_map, progress),
        functions=given.functions,
        formulas=given.formulas,
        notes=given.notes,
        failed=given.failed,
        kept=given.kept,
        resting=given.resting,
        outdated=given.outdated,
        category=given.category,
    )
    return log.on(as_of or datetime.date.today())
