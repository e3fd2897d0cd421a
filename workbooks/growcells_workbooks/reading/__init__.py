"""Reading a grow log as people keep it: tables found by what they look like, nothing dropped in silence."""

from __future__ import annotations

import datetime
import re
import tempfile
from dataclasses import replace
from pathlib import Path

from growcells.errors import CellError
from growcells.registry import functions

from ..recalculation import Progress, Recalculation, recalculate
from ..recalculation.package import Package
from .grid import read_sheets
from .mapping import load_map, map_beside, write_map
from .model import Bed, Certainty, ColumnFound, Doubt, Fate, Feed, GrowLog, LeftOut, Reading, TableFound, Weight
from .read import read_tables

__all__ = [
    "Bed",
    "Certainty",
    "ColumnFound",
    "Doubt",
    "Fate",
    "Feed",
    "GrowLog",
    "LeftOut",
    "Reading",
    "TableFound",
    "Weight",
    "map_beside",
    "read_log",
    "write_map",
]


def read_log(
    path: Path,
    as_of: datetime.date | None = None,
    progress: Progress | None = None,
    map_path: Path | None = None,
) -> GrowLog:
    """Read a grow log with its formulas computed anew; values that the file stores for them are not trusted.

    ``as_of`` is the day that TODAY gives, ``map_path`` the mapping file, by default the one beside the log, if there
    is one. The file is only read. Raises FileProblem, whose text is one sentence.
    """
    log_map = load_map(path, map_path)
    with tempfile.TemporaryDirectory() as folder:
        computed = Path(folder) / f"computed{path.suffix}"
        result = recalculate(path, computed, as_of=as_of, progress=progress)
        log = read_tables(read_sheets(computed, _without_value(result), progress), path, log_map, progress)
    return replace(
        log,
        functions=_functions_used(path),
        formulas=result.formulas,
        notes=result.notes,
        failed=result.failed,
        kept=result.kept,
        resting=result.resting,
    )


def _without_value(result: Recalculation) -> dict[tuple[str, str], CellError]:
    """The formula cells that have no value to trust, and why."""
    errors = {(cell.sheet, cell.cell): CellError(cell.code, cell.why) for cell in result.failed}
    for kept in result.kept:
        errors[kept.sheet, kept.cell] = CellError("no value", f"it cannot be computed here, {kept.why}")
    for resting in result.resting:
        errors[resting.sheet, resting.cell] = CellError(
            "no value", f"it rests on {resting.rests_on}, not computed here"
        )
    return errors


_FORMULA = re.compile(rb"<f[ >][^<]*")
_CALL = re.compile(rb"GROW_[A-Z0-9_]+")


def _functions_used(path: Path) -> tuple[str, ...]:
    package = Package(path)
    formulas = (formula for part in package.book.sheets.values() for formula in _FORMULA.findall(package.read(part)))
    used = {name.decode() for formula in formulas for name in _CALL.findall(formula)}
    return tuple(name for name in functions() if name in used)
