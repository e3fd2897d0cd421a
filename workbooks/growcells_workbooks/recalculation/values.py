"""The values of a workbook's formulas in memory, for who reads the workbook and writes nothing into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from growcells.cells.errors import CellError

from ..gate import Progress, silent
from .cells import ErrorValue, Value, read_place
from .package import Package
from .results import FailedCell, KeptCell, RestingCell
from .sheet_xml import has_formulas, scan_sheet

if TYPE_CHECKING:
    from .sheet_formulas import Place


@dataclass(frozen=True)
class ComputedValues:
    """What the formulas of a workbook give now.

    ``values`` holds, by sheet and by row and column (counted from 1), the value of each cell that a formula fills and
    that can be trusted: a number (dates are serial numbers of the workbook's own calendar), a truth, a text, or None
    for a cell that stays empty. ``without`` holds, by the same keys, why each other one has none: the code that the
    cell shows, or "no value", and a sentence. A cell in neither holds no formula: what the file stores is its value.
    """

    values: Mapping[str, Mapping[Place, Value]]
    without: Mapping[str, Mapping[Place, CellError]]
    formulas: int
    failed: tuple[FailedCell, ...]
    kept: tuple[KeptCell, ...]
    resting: tuple[RestingCell, ...]
    notes: tuple[str, ...]


def computed_values(
    workbook: Path | Package, as_of: date | None = None, progress: Progress | None = None
) -> ComputedValues:
    """The values of all formulas of a workbook, which is only read; TODAY gives ``as_of``.

    A value that the file stores and that did not have to change is trusted. Raises FileProblem, whose text is one
    sentence.
    """
    package = workbook if isinstance(workbook, Package) else Package(workbook)
    sheets = package.book.sheets.values()
    if not any(has_formulas(package.read(part)) for part in sheets):
        for part in sheets:
            scan_sheet(package.read(part))  # which refuses what is damaged
        none: dict[str, dict[Place, CellError]] = {name: {} for name in package.book.sheets}
        return ComputedValues({name: {} for name in none}, none, 0, (), (), (), ())
    from .computation import Computation  # with the engine it is imported where something is computed alone
    from .outcomes import failed_cells, kept_cells, resting_cells, value_of

    computation = Computation(package, as_of, progress or silent)
    computation.run()
    failed, kept = tuple(failed_cells(computation)), tuple(kept_cells(computation))
    resting = tuple(resting_cells(computation))
    without: dict[str, dict[Place, CellError]] = {name: {} for name in computation.sheets}
    for cell in kept:
        without[cell.sheet][read_place(cell.cell)] = CellError("no value", f"it has no sure value here: {cell.why}")
    for rest in resting:
        why = f"it rests on {rest.rests_on}, not computed here"
        without[rest.sheet][read_place(rest.cell)] = CellError("no value", why)
    for failure in failed:
        without[failure.sheet][read_place(failure.cell)] = CellError(failure.code, failure.why)
    values: dict[str, dict[Place, Value]] = {}
    for name, sheet in computation.sheets.items():
        trusted = values[name] = {}
        for filled in sheet.cells:
            value = value_of(computation, sheet, filled)
            if isinstance(value, ErrorValue):
                without[name].setdefault(
                    filled.place, CellError(value.code, "the formula that fills it gives an error here")
                )
            elif filled.place not in without[name]:
                trusted[filled.place] = value
    return ComputedValues(values, without, computation.total, failed, kept, resting, tuple(computation.notes))
