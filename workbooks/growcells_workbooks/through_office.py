"""Recalculation of an .ods log, by LibreOffice: no other program writes all that such a file may hold."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path

from growcells.cells.errors import CellError
from growcells_addin.bridge_files import BridgeProblem
from growcells_addin.libreoffice.recompute import recompute

from .gate import FileProblem, Progress, Runner, Target, here
from .reading.inputs import read_input
from .recalculation import FailedCell, Recalculation

STEP = "computing in LibreOffice"


def recalculate_opendocument(
    source: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    everything: bool = True,
    as_of: date | None = None,
    progress: Progress | None = None,
    run: Runner = here,
) -> Recalculation:
    """Have LibreOffice compute every formula of an .ods log and save it, in a copy or in place of the log.

    LibreOffice leaves no formula out, so that ``everything`` changes nothing here.
    With neither ``output`` nor ``in_place`` nothing is written; ``in_place`` keeps the log's old content beside it.
    Raises FileProblem, whose text is one sentence; the log is then as it was.
    """
    if as_of is not None:
        raise FileProblem("LibreOffice computes an .ods log for today: leave out --as-of, or save the log as .xlsx")
    target = Target.checked(source, output, in_place=in_place, overwrite=overwrite)
    before = run(partial(_formulas, target.source), source, progress)
    if progress:
        progress(STEP, 0, 1)
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        computed = Path(folder) / "computed.ods"
        try:
            recompute(target.source, computed, needs_functions=before.needs_functions)
        except BridgeProblem as problem:
            raise FileProblem(f"{source} is computed by LibreOffice, and it was not. {problem}") from None
        after = run(partial(_formulas, computed), computed, progress)
        content = computed.read_bytes()
    if progress:
        progress(STEP, 1, 1)
    changed = sum(before.values.get(place) != value for place, value in after.values.items())
    return Recalculation(
        source=source,
        output=target.path,
        backup=target.put(content),
        formulas=after.count,
        changed=changed,
        failed=after.failed,
        kept=(),
        resting=(),
        notes=(),
    )


@dataclass(frozen=True)
class _Formulas:
    """What an .ods file stores for its formulas."""

    values: Mapping[tuple[str, int, int], object]
    """By sheet, row and column of the cells that they fill; an error is its code."""
    count: int
    needs_functions: bool
    failed: tuple[FailedCell, ...]


def _formulas(path: Path, progress: Progress) -> _Formulas:
    given = read_input(path, progress=progress)
    values: dict[tuple[str, int, int], object] = {}
    for sheet in given.sheets:
        for row, column in sheet.computed:
            cell = sheet.rows.get(row, {}).get(column)
            value = None if cell is None else cell.value
            values[sheet.title, row, column] = value.code if isinstance(value, CellError) else value
    return _Formulas(values, given.formulas, bool(given.functions), given.failed)
