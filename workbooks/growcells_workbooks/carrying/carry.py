"""Giving a log the names, renewing them, and taking them away again."""

from __future__ import annotations

import io
import posixpath
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from ..gate import FileProblem, Progress, Runner, Target, here
from ..recalculation.package import Package
from ..recalculation.sheet_xml import SheetCell, scan_sheet
from . import package_edits as edits
from .marks import SHEET
from .native_names import carried, names, not_carried, tables

WORKBOOKS = (".xlsx", ".xlsm")


@dataclass(frozen=True)
class Carried:
    """What became of a log."""

    carried: tuple[str, ...]
    """The functions that it computes by itself."""
    needing: tuple[str, ...]
    """Those that need growcells still."""
    calling_cells: int
    """Cells marked as calling one of them."""
    uncarried_cells: tuple[str, ...] = ()
    """Cells that call one of those."""
    output: Path | None = None
    backup: Path | None = None


def carry(
    log: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    remove: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Carried:
    """Give a log the functions as names, those of an earlier growcells renewed; with ``remove`` take them away.

    Only the workbook's names and its wish to be computed, one hidden sheet, the lists of parts, the part with metadata,
    and the marks of cells that call a function change; where cells are marked, Excel's list of the order in which it
    computed goes, which it makes anew. Raises FileProblem, whose text is one sentence.
    """
    target = Target.checked(log, output, in_place=in_place, overwrite=overwrite)
    if log.suffix.lower() not in WORKBOOKS:
        raise FileProblem(f"{log} is no Excel workbook, and no other file can carry functions: give an .xlsx")
    done, content = run(partial(carrying, target.source, remove), log, progress)
    backup = target.put(content)
    return replace(done, output=target.path, backup=backup)


def carrying(log: Path, remove: bool, progress: Progress) -> tuple[Carried, bytes]:
    """A log with the names, or without them."""
    package = Package(log)
    progress("carrying", 0, 1)
    if package.book.is_signed:
        raise FileProblem(
            f"{log} is signed, and another name would break its signature: take a copy that is not signed"
        )
    take_away(package)
    if remove:
        return Carried((), (), 0), copied(package, progress)
    calling, uncarried = _give(package)
    return Carried(tuple(carried()), tuple(not_carried()), calling, tuple(uncarried)), copied(package, progress)


def copied(package: Package, progress: Progress) -> bytes:
    """The bytes of a package as it has become."""
    copy = io.BytesIO()
    package.write_copy(copy, {})
    progress("carrying", 1, 1)
    return copy.getvalue()


def _uncarried_cells(title: str, cells: Iterable[SheetCell]) -> Iterator[str]:
    """The cells of a sheet that call a function which is not carried."""
    for cell in cells:
        if not not_carried().keys().isdisjoint(edits.functions_called(cell.formula or "")):
            yield f"{title}!{cell.name}"


def take_away(package: Package) -> None:
    """Take the names, the hidden sheet and the marks out of a package, as far as they are there."""
    workbook = package.workbook_part
    folder = posixpath.dirname(workbook)
    metadata = posixpath.join(folder, edits.METADATA_PART)
    ours = metadata in package.parts() and package.read(metadata) == edits.METADATA
    if ours:
        for part in package.book.sheets.values():
            _edit(package, part, edits.unmarked(package.read(part)))
        if not any(b" cm=" in package.read(part) for part in package.book.sheets.values()):
            _take_part(package, metadata)
    table = package.book.sheets.get(SHEET)
    if table is not None:
        _take_part(package, table)
        _edit(package, workbook, edits.without_sheet(package.read(workbook)))
        del package.book.sheets[SHEET]
    _edit(package, workbook, edits.without_computing(edits.without_names(package.read(workbook))))


def _give(package: Package) -> tuple[int, list[str]]:
    """Put the names, the hidden sheet and the marks into a package; gives how many cells are marked, and those that
    call a function which is not carried."""
    workbook = package.workbook_part
    folder = posixpath.dirname(workbook)
    calling = 0
    uncomputed = False
    uncarried: list[str] = []
    for title, part in list(package.book.sheets.items()):
        before = package.read(part)
        cells = scan_sheet(before)
        uncarried += _uncarried_cells(title, cells)
        uncomputed = uncomputed or edits.lacks_values(cells)
        after = edits.marked(before, cells)
        calling += after.count(b' cm="1"') - before.count(b' cm="1"')
        _edit(package, part, after)
    if calling:
        _give_metadata(package, posixpath.join(folder, edits.METADATA_PART))
        chain = posixpath.join(folder, "calcChain.xml")
        if chain in package.parts():  # the order in which Excel last computed; it makes it anew where there is none
            _take_part(package, chain)
    give_sheet(package, list(tables().values()))
    data = edits.with_names(package.read(workbook), names())
    # A program that did not know the functions stored an error, and shows it until it computes the cell.
    _edit(package, workbook, edits.with_computing(data) if uncomputed else data)
    return calling, uncarried


def give_sheet(package: Package, rows: Sequence[tuple[tuple[object, ...], ...]]) -> None:
    """Put the hidden sheet with these tables into a package."""
    workbook = package.workbook_part
    table = posixpath.join(posixpath.dirname(workbook), "worksheets", edits.SHEET_PART)
    relation = _give_part(package, table, edits.table_sheet(rows), "worksheet", edits.SHEET_TYPE)
    package.edit(workbook, edits.with_sheet(package.read(workbook), relation))


def _give_metadata(package: Package, part: str) -> None:
    if part not in package.parts():
        _give_part(package, part, edits.METADATA, "sheetMetadata", edits.METADATA_TYPE)
    elif b'<rc t="1" v="0"/>' not in package.read(part) or b"XLDAPR" not in package.read(part):
        raise FileProblem(
            f"{package.path} marks its cells in a way not known here: save it once with Excel, then try again"
        )


def _edit(package: Package, part: str, data: bytes) -> None:
    if data != package.read(part):
        package.edit(part, data)


def _give_part(package: Package, part: str, data: bytes, relation: str, kind: str) -> str:
    """Add a part to which the workbook is related; gives the relationship's id."""
    rels = edits.rels_of(package.workbook_part)
    target = posixpath.relpath(part, posixpath.dirname(package.workbook_part))
    related, number = edits.with_relationship(package.read(rels), relation, target)
    package.edit(part, data)
    package.edit(rels, related)
    package.edit(edits.CONTENT_TYPES, edits.with_content_type(package.read(edits.CONTENT_TYPES), part, kind))
    return number


def _take_part(package: Package, part: str) -> None:
    """Take a part out, and what points to it."""
    rels = edits.rels_of(package.workbook_part)
    name = posixpath.basename(part).encode()
    package.remove(part)
    package.edit(rels, edits.without_relationship(package.read(rels), name))
    package.edit(edits.CONTENT_TYPES, edits.without_content_type(package.read(edits.CONTENT_TYPES), part))
