"""Giving a log the names, renewing them, and taking them away again."""

from __future__ import annotations

import io
import posixpath
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from ..gate import FileProblem, Progress, Runner, Target, here
from ..recalculation.package import Package
from . import package_edits as edits
from .native_names import SHEET, carried, names, not_carried, tables

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

    Only the workbook's names, one hidden sheet, the list of parts, the part with metadata, and the marks of cells that
    call a function change. Raises FileProblem, whose text is one sentence.
    """
    if log.suffix.lower() not in WORKBOOKS:
        raise FileProblem(f"{log} is no Excel workbook, and no other file can carry functions: give an .xlsx")
    target = Target.checked(log, output, in_place=in_place, overwrite=overwrite)
    done, content = run(partial(carrying, target.source, remove), log, progress)
    backup = target.put(content)
    return replace(done, output=target.path, backup=backup)


def carrying(log: Path, remove: bool, progress: Progress) -> tuple[Carried, bytes]:
    """A log with the names, or without them."""
    package = Package(log)
    progress("reading", 0, 1)
    if package.book.is_signed:
        raise FileProblem(f"{log} is signed, and another name would break its signature: take a copy that is not signed")
    _take_away(package)
    calling = 0 if remove else _give(package)
    copy = io.BytesIO()
    package.write_copy(copy, {})
    progress("reading", 1, 1)
    given = () if remove else tuple(carried())
    return Carried(given, () if remove else tuple(not_carried()), calling), copy.getvalue()


def _take_away(package: Package) -> None:
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
    _edit(package, workbook, edits.without_names(package.read(workbook)))


def _give(package: Package) -> int:
    """Put the names, the hidden sheet and the marks into a package; gives how many cells are marked."""
    workbook = package.workbook_part
    folder = posixpath.dirname(workbook)
    calling = 0
    for part in list(package.book.sheets.values()):
        before = package.read(part)
        after = edits.marked(before)
        calling += after.count(b' cm="1"') - before.count(b' cm="1"')
        _edit(package, part, after)
    if calling:
        _give_metadata(package, posixpath.join(folder, edits.METADATA_PART))
    table = posixpath.join(folder, "worksheets", edits.SHEET_PART)
    relation = _give_part(
        package, table, edits.table_sheet(list(tables().values())), "worksheet", edits._SHEET_TYPE
    )
    data = edits.with_sheet(package.read(workbook), relation)
    _edit(package, workbook, edits.with_names(data, names()))
    return calling


def _give_metadata(package: Package, part: str) -> None:
    if part not in package.parts():
        _give_part(package, part, edits.METADATA, "sheetMetadata", edits._METADATA_TYPE)
    elif b'<rc t="1" v="0"/>' not in package.read(part) or b"XLDAPR" not in package.read(part):
        raise FileProblem(f"{package.path} marks its cells in a way not known here: save it once with Excel, then try again")


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
