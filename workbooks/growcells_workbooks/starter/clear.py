"""Emptying the example rows of a starter log; what somebody has typed stays."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from ..gate import FileProblem, Progress, Runner, Target, here
from ..reading.inputs.workbook import sheets_of
from ..reading.model.log_cells import Sheet
from ..recalculation import Computed, Recalculation, computed
from ..recalculation.cells import Area, read_area
from ..recalculation.package import Book, Package
from ..recalculation.references import references_in
from ..recalculation.sheet_edits import patched, value_edits
from ..recalculation.sheet_xml import scan_sheet
from ..recalculation.tokens import NotComputed
from .examples import example_rows
from .mix_sheet import EXAMPLES, MIX
from .season_tables import TABLES
from .table_sheets import EXAMPLES_NAME

Row = tuple[object, ...]


@dataclass(frozen=True)
class Cleared:
    """What was emptied and what was left; ``done`` tells of the formulas and the files."""

    emptied: Mapping[str, int]
    """Rows by their sheet."""
    left: tuple[str, ...]
    """Rows that stood where the examples did, and were typed over."""
    done: Recalculation


def clear_examples(
    log: Path,
    output: Path | None = None,
    *,
    in_place: bool = False,
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Cleared:
    """Empty the example rows of a log that new_log wrote, and compute it; all else in the file stays as it is.

    Only a row in which every cell is as new_log wrote it is emptied. Raises FileProblem, whose text is one sentence,
    also where there is no such row.
    """
    target = Target.checked(log, output, in_place=in_place, overwrite=overwrite)
    clearing, made = run(partial(_cleared, target.source), log, progress)
    return Cleared(clearing.emptied, tuple(clearing.left), made.put(target))


def _cleared(log: Path, progress: Progress) -> tuple[_Clearing, Computed]:
    """A log computed without its example rows, and what became of these."""
    clearing = _Clearing()
    return clearing, computed(log, None, progress, clearing.clear_all)


@dataclass
class _Clearing:
    emptied: dict[str, int] = field(default_factory=dict)
    left: list[str] = field(default_factory=list)

    def clear_all(self, package: Package) -> None:
        """Edit every sheet that holds examples. Raises FileProblem where there is none."""
        areas = dict(_named_areas(package.book))
        parts = {title: package.read(package.book.sheets[title]) for title, _ in areas.values()}
        sheets = {sheet.title: sheet for sheet in sheets_of(package, parts)}
        for name, (title, area) in areas.items():
            part = package.book.sheets[title]
            package.edit(part, self._cleared(sheets[title], package.read(part), area, _written()[name]))
        if not self.emptied:
            raise FileProblem(
                f"{package.path} holds no example rows as growcells new writes them, so that nothing was cleared: "
                "empty other rows by hand"
            )

    def _cleared(self, sheet: Sheet, data: bytes, area: Area, examples: Sequence[Row]) -> bytes:
        """The XML of a sheet without its examples."""
        columns = range(area.first_column, area.last_column + 1)
        rows = {number: row for number, row in sheet.rows.items() if area.has_row(number)}
        cells = scan_sheet(data, {(number, column) for number in rows for column in columns})
        computed = {cell.place for cell in cells if cell.formula is not None}
        places: set[tuple[int, int]] = set()
        for number, row in rows.items():
            typed = [row[column].value if column in row else None for column in columns]
            here = {(number, column) for column in columns}
            if here.isdisjoint(computed) and any(_same(typed, example) for example in examples):
                places |= here
                self.emptied[sheet.title] = self.emptied.get(sheet.title, 0) + 1
            elif typed.count(None) < len(typed):
                self.left.append(f"{sheet.title} row {number}")
        return patched(data, [edit for cell in cells if cell.place in places for edit in value_edits(data, cell, None)])


def _named_areas(book: Book) -> Iterator[tuple[str, tuple[str, Area]]]:
    """Where the examples stand, by the names that new_log gave them: spreadsheet programs move these along."""
    for name in _written():
        try:
            places = list(references_in(book.names.get((None, name.upper()), ""), ""))
            # Where its rows were deleted a name points nowhere.
            if len(places) == 1 and places[0][0] in book.sheets:
                title, area = places[0]
                yield name, (title, read_area(area))
        except (NotComputed, FileProblem):  # somebody gave the name another meaning
            continue


def _written() -> dict[str, list[Row]]:
    """The rows that new_log writes as examples, by the name of their cells; their dates are those of some day."""
    rows = example_rows(datetime.date.today())
    written: dict[str, list[Row]] = {
        EXAMPLES_NAME + table.sheet: [tuple(row.get(field.name) for field in table.typed) for row in rows[table.key]]
        for table in TABLES
        if table.key in rows
    }
    return {**written, EXAMPLES_NAME + MIX: list(EXAMPLES)}


def _same(typed: Sequence[object], example: Row) -> bool:
    """Whether a row is as it was written; a date is taken for the one that was written that day."""
    return len(typed) == len(example) and all(
        isinstance(value, datetime.date) if isinstance(known, datetime.date) else value == known
        for value, known in zip(typed, example, strict=True)
    )
