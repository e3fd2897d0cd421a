"""Recalculation of a workbook file without a spreadsheet program."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path

from ..gate import Progress, Runner, Target, here
from .package import Book, Package
from .results import Recalculation


def recalculate(
    source: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    everything: bool = False,
    as_of: date | None = None,
    progress: Progress | None = None,
    run: Runner = here,
) -> Recalculation:
    """Compute what has to be computed in a workbook and write a copy in which only the values of formulas differ.

    With neither ``output`` nor ``in_place`` nothing is written. ``in_place`` replaces the source at once and whole,
    and keeps its old content beside it. ``everything`` computes the formulas too whose stored value nothing changed;
    ``deciding.py`` says which these are. ``as_of`` is the day that TODAY and NOW give, at midnight; without it they
    give the clock's. ``run`` is how a file is worked on. Raises FileProblem, whose text is one sentence; the source is
    then as it was.
    """
    target = Target.checked(source, output, in_place=in_place, overwrite=overwrite)
    made = run(partial(computed, target.source, as_of, everything=everything), source, progress)
    return made.put(target)


@dataclass(frozen=True)
class Computed:
    """A workbook computed: what is to be told of it, and the bytes of its copy."""

    done: Recalculation
    content: bytes

    def put(self, target: Target) -> Recalculation:
        """Write the copy; raises FileProblem."""
        return replace(self.done, output=target.path, backup=target.put(self.content))


def computed(
    source: Path,
    as_of: date | None,
    progress: Progress,
    prepare: Callable[[Package], None] | None = None,
    everything: bool = False,
) -> Computed:
    """Compute what has to be computed in a workbook; ``prepare`` may edit it before that. Raises FileProblem."""
    from .computation import Computation  # with the engine it is imported where something is computed alone
    from .outcomes import failed_cells, kept_cells, resting_cells

    package = Package(source)
    if prepare is not None:
        prepare(package)
    computation = Computation(package, as_of, progress, everything)
    computation.run()
    changed_parts, changed = computation.patched_parts()
    done = Recalculation(
        source=source,
        output=None,
        backup=None,
        formulas=computation.total,
        changed=changed,
        failed=tuple(failed_cells(computation)),
        kept=tuple(kept_cells(computation)),
        resting=tuple(resting_cells(computation)),
        notes=(*computation.notes, *(_notes_of_change(package.book) if changed else ())),
    )
    progress("writing", 0, 1)
    copy = io.BytesIO()
    package.write_copy(copy, changed_parts)
    progress("writing", 1, 1)
    return Computed(done, copy.getvalue())


def _notes_of_change(book: Book) -> Iterator[str]:
    """What else in the workbook does not go with the new values."""
    if book.has_pivots:
        yield "pivot tables show what they showed before, until a spreadsheet program refreshes them"
    if book.is_signed:
        yield "the workbook was signed, and the digital signature does not hold for the new values: sign it again"
