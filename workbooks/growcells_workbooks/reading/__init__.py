"""Reading a grow log as people keep it: tables found by what they look like, nothing dropped in silence."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from growcells import functions
from growcells.cells.errors import CellError

from ..gate import Progress, silent
from ..recalculation import FailedCell, KeptCell, RestingCell
from ..recalculation.computation import Computation
from ..recalculation.outcomes import failed_cells, kept_cells, resting_cells
from ..recalculation.package import Package
from .grid import read_sheets
from .mapping import load_map, map_beside, map_text, put_map
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
    """Read a grow log with its formulas computed anew; values that the file stores for them are not trusted.

    ``as_of`` is the day that TODAY gives, ``map_path`` the mapping file, by default the one beside the log, if there
    is one. The file is only read. Raises FileProblem, whose text is one sentence.
    """
    log_map = load_map(path, map_path)
    package = Package(path)
    computation = Computation(package, as_of, progress or silent)
    computation.run()
    failed, kept = tuple(failed_cells(computation)), tuple(kept_cells(computation))
    resting = tuple(resting_cells(computation))
    changed, _ = computation.patched_parts()
    parts = {sheet: changed.get(part) or computation.sheets[sheet].data for sheet, part in package.book.sheets.items()}
    errors = dict(_without_value(failed, kept, resting))
    log = read_tables(read_sheets(package, parts, errors, progress), path, log_map, progress)
    return replace(
        log,
        functions=_functions_used(parts.values()),
        formulas=computation.total,
        notes=tuple(computation.notes),
        failed=failed,
        kept=kept,
        resting=resting,
    )


def _without_value(
    failed: Iterable[FailedCell], kept: Iterable[KeptCell], resting: Iterable[RestingCell]
) -> Iterator[tuple[tuple[str, str], CellError]]:
    """The formula cells that have no value to trust, by sheet and name, and why."""
    for failure in failed:
        yield (failure.sheet, failure.cell), CellError(failure.code, failure.why)
    for cell in kept:
        yield (cell.sheet, cell.cell), CellError("no value", f"it cannot be computed here, {cell.why}")
    for rest in resting:
        yield (rest.sheet, rest.cell), CellError("no value", f"it rests on {rest.rests_on}, not computed here")


_FORMULA = re.compile(rb"<f[ >][^<]*")
_CALL = re.compile(rb"GROW_[A-Z0-9_]+")


def _functions_used(parts: Iterable[bytes]) -> tuple[str, ...]:
    formulas = (formula for part in parts for formula in _FORMULA.findall(part))
    used = {name.decode() for formula in formulas for name in _CALL.findall(formula)}
    return tuple(name for name in functions() if name in used)
