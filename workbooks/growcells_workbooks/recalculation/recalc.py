"""Recalculation of a workbook file without a spreadsheet program."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial
from pathlib import Path

from .computation import Computation
from .outcomes import failed_cells, kept_cells, resting_cells
from .package import Book, Package
from .results import Progress, Recalculation, silent
from .safe_files import FileProblem, check_output, check_unlocked, keep_backup, write_whole


def recalculate(
    source: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    everything: bool = False,
    as_of: date | None = None,
    progress: Progress | None = None,
    prepare: Callable[[Package], None] | None = None,
) -> Recalculation:
    """Compute what has to be computed in a workbook and write a copy in which only the values of formulas differ.

    With neither ``output`` nor ``in_place`` nothing is written. ``in_place`` replaces the source at once and whole,
    and keeps its old content beside it. ``everything`` computes the formulas too whose stored value nothing changed;
    ``computation.py`` says which these are. ``as_of`` is the day that TODAY and NOW give, at midnight; without it they
    give the clock's. ``prepare`` may edit what is computed and written. Raises FileProblem, whose text is one sentence;
    the source is then as it was.
    """
    if output is not None and in_place:
        raise FileProblem("the result goes either to a new file or in place of the input: ask for one of the two")
    report = progress or silent
    source = source.resolve() if in_place else source  # the file itself is replaced, not a link to it
    target = source if in_place else output
    before = _Fingerprint.of(source)
    package = Package(source)
    if in_place:
        check_unlocked(source)
    elif output is not None:
        check_output(source, output, overwrite)
    if prepare is not None:
        prepare(package)
    computation = Computation(package, as_of, report, everything)
    computation.run()
    changed_parts, changed = computation.patched_parts()
    done = Recalculation(
        source=source,
        output=target,
        backup=None,
        formulas=computation.total,
        changed=changed,
        failed=tuple(failed_cells(computation)),
        kept=tuple(kept_cells(computation)),
        resting=tuple(resting_cells(computation)),
        notes=(*computation.notes, *(_notes_of_change(package.book) if changed else ())),
    )
    if target is None:
        return done
    report("writing", 0, 1)
    if in_place:
        done = replace(done, backup=_replaced(package, changed_parts, before))
    else:
        write_whole(target, partial(package.write_copy, changed=changed_parts))
    report("writing", 1, 1)
    return done


def _replaced(package: Package, changed_parts: dict[str, bytes], before: _Fingerprint | None) -> Path:
    """Replace the workbook itself, which was so ``before``; gives the backup of it. Raises FileProblem."""
    source = package.path
    check_unlocked(source)
    if _Fingerprint.of(source) != before:
        raise FileProblem(f"{source} was changed by another program meanwhile: recalculate it again")
    backup = keep_backup(source, datetime.now())
    try:
        write_whole(source, partial(package.write_copy, changed=changed_parts), like=source)
    except FileProblem:
        if _Fingerprint.of(source) == before:
            backup.unlink()
        raise
    return backup


def _notes_of_change(book: Book) -> Iterator[str]:
    """What else in the workbook does not go with the new values."""
    if book.has_pivots:
        yield "pivot tables show what they showed before, until a spreadsheet program refreshes them"
    if book.is_signed:
        yield "the workbook was signed, and the digital signature does not hold for the new values: sign it again"


@dataclass(frozen=True)
class _Fingerprint:
    """What changes when a program writes a file."""

    size: int
    modified: int

    @classmethod
    def of(cls, path: Path) -> _Fingerprint | None:
        try:
            status = path.stat()
        except OSError:
            return None
        return cls(status.st_size, status.st_mtime_ns)
