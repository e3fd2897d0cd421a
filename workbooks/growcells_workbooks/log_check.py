"""What ``growcells check`` says of a log: what it was taken for, what could not be read and why, and the counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from itertools import groupby
from pathlib import Path

from growcells.cells.number_texts import count

from .gate import Progress, Runner, check_file, here, status_of
from .reading import CellNote, Certainty, ColumnFound, Fate, GrowLog, TableFound, map_beside, read_log
from .reading.inputs.log_cells import cut
from .reading.mapping import Layout, check_new_map, map_text, put_map

HEADING, QUIET = "bold", "dim"
"""Styles of lines, as the rich library names them."""
MOST_SHOWN, FIRST_SHOWN = 8, 5
"""Where more cells of a column than the first have one kind of problem, only as many as the second are shown."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class Line:
    """A line to print, how far it is indented [spaces], and its style."""

    text: str
    indent: int = 0
    style: str = ""


@dataclass(frozen=True)
class Checked:
    """What is to be said of a log, how many things in it should be looked into, and the mapping file it would have."""

    lines: tuple[Line, ...]
    problems: int
    map_text: str
    new_map: Path | None = None
    """Where the mapping file was written, if it was asked for."""


def check_log(
    log: Path,
    map_path: Path | None = None,
    *,
    as_of: date | None = None,
    every: bool = False,
    write_map: bool = False,
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Checked:
    """Say what a log is taken for; each of many like cells with ``every``.

    ``map_path`` is its mapping file, by default the one beside it, if there is one; with ``write_map`` it is written
    as far as it can be guessed. ``run`` is how the log is worked on. Raises FileProblem.
    """
    check_file(log)
    target = map_path or map_beside(log)
    if write_map:
        check_new_map(target, overwrite)
        map_path = None if status_of(target) is None else map_path
    checked = run(partial(_checked, log, as_of, map_path, every), log, progress)
    if not write_map:
        return checked
    put_map(checked.map_text, target, overwrite)
    return replace(checked, new_map=target)


def _checked(log: Path, as_of: date | None, map_path: Path | None, every: bool, progress: Progress) -> Checked:
    found = read_log(log, as_of, progress, map_path)
    return Checked(tuple(lines_of(found, every)), count_problems(found), map_text(found))


def count_problems(log: GrowLog) -> int:
    """How many things in a log should be looked into."""
    formulas = _formula_cells(log)
    left = [left for left in log.left_out if left.problem and (left.sheet, left.cell) not in formulas]
    return len(_by_row(left)) + len(formulas) + len(log.doubts) + len(log.outdated)


def _by_row(cells: Sequence[CellNote]) -> list[CellNote]:
    """Neighbours in a row that were left out for one reason, as one."""
    rows: list[CellNote] = []
    for _, alike in groupby(cells, key=lambda left: (left.sheet, left.cell.lstrip(LETTERS), left.reason)):
        first, *others = alike
        if others:
            content = " | ".join(left.content for left in (first, *others))
            first = replace(first, cell=f"{first.cell}:{others[-1].cell}", content=content)
        rows.append(first)
    return rows


def _formula_cells(log: GrowLog) -> set[tuple[str, str]]:
    """The formulas without a value; where one is a reading, that it cannot be read needs no second word."""
    return {(cell.sheet, cell.cell) for cell in log.failed} | {(cell.sheet, cell.cell) for cell in log.kept}


def lines_of(log: GrowLog, every: bool = False) -> Iterator[Line]:
    """All that is to be said of a log, line by line; many cells of one column in short, unless ``every``."""
    parts = [
        *((len(log.tables), "table"), (len(log.beds), "bed"), (len(log.feeds), "feed"), (len(log.readings), "reading")),
        *((len(log.weights), "weight"), (len(log.rounds), "planting"), (len(log.harvests), "harvest")),
        *((len(log.fills), "fill"), (log.formulas, "formula")),
    ]
    told = ", ".join(count(number, word) for number, word in parts if number or word in ("table", "bed", "reading"))
    yield Line(f"{log.path.name}: {told}.")
    yield from _section("What each sheet was taken for", _tables(log))
    yield from _section("Not understood", _left_out(log, every, problem=True))
    yield from _section("Used, but out of a plausible range", _cells(log.doubts, every))
    yield from _section("Formulas without a value", _formulas(log))
    yield from _section("Stored values that growcells would now compute otherwise, but used", _outdated(log))
    yield from _section("Ignored on purpose", _left_out(log, every, problem=False))
    yield from _section("All rows and cells", _counts(log))
    yield from _section("About the workbook", (Line(note, 2) for note in log.notes))
    yield Line("")
    counts = log.counts
    yield Line(
        f"{count(counts.filled, 'filled cell')} = {counts.used:,} used + {counts.ignored:,} ignored on purpose + "
        f"{counts.not_understood:,} not understood."
    )
    problems = count_problems(log)
    yield Line(f"{count(problems, 'problem')} to look into." if problems else "No problems.", style=HEADING)


def _section(title: str, lines: Iterable[Line]) -> Iterator[Line]:
    """A heading and its lines, or nothing where there are none."""
    lines = list(lines)
    if lines:
        yield Line("")
        yield Line(title, style=HEADING)
        yield from lines


def _tables(log: GrowLog) -> Iterator[Line]:
    for sheet, rows in log.rows.items():
        tables = [table for table in log.tables if table.sheet == sheet]
        if not tables:
            yield Line(f"{sheet}: {'no table was recognised on it' if rows else 'the sheet is empty'}", 2)
        for table in tables:
            title = f' under "{cut(table.title)}"' if table.title else ""
            yield Line(f"{sheet}, headings in row {table.heading_row}{title}: {table.kind}, {_sureness(table)}", 2)
            yield Line(f"{table.layout}; {_records(table)}", 4)
            for column in table.columns:
                yield _column(table, column)


def _records(table: TableFound) -> str:
    if table.problem:
        return table.problem
    rows = f"{count(table.records, 'row' if table.layout == Layout.ROWS else 'record')} read"
    return rows + (f", {table.carried} of them with the date or bed of the row above" if table.carried else "")


def _sureness(table: TableFound) -> str:
    unused = sum(column.field is None for column in table.columns)
    return f"{table.certainty}" + (f"; {count(unused, 'column')} not used" if unused else "")


def _column(table: TableFound, column: ColumnFound) -> Line:
    taken = f"{column.cell}  {cut(column.heading)}"
    if column.field is None:
        why = column.why or ("a known heading with no use here" if column.other else "the heading is not known")
        return Line(f"{taken}: not used, {why}", 4, QUIET)
    taken += f": {column.field.replace('_', ' ')}" + (f" of {column.bed}" if column.bed else "")
    if column.unit:
        taken += f" [{column.unit}]"
    if column.field == "date" and table.date_order in ("day first", "month first"):
        taken += f", {table.date_order}"
    if column.unit_from == "cells":
        taken += ", as its cells say"
    if column.certainty is not Certainty.SURE:
        taken += f"  ({column.certainty}: {column.why})"
    return Line(taken, 4)


def _left_out(log: GrowLog, every: bool, problem: bool) -> Iterator[Line]:
    formulas = _formula_cells(log)
    left = [left for left in log.left_out if left.problem is problem and (left.sheet, left.cell) not in formulas]
    return _cells(_by_row(left), every)


def _cells(cells: Sequence[CellNote], every: bool) -> Iterator[Line]:
    """Cells and what is to be said of each; where a column has very many, the first of them and a count."""
    counts = Counter(map(_column_of, cells))
    told: Counter[tuple[str, str]] = Counter()
    shown: list[CellNote] = []
    for cell in cells:
        told[_column_of(cell)] += 1
        if every or counts[_column_of(cell)] <= MOST_SHOWN or told[_column_of(cell)] <= FIRST_SHOWN:
            shown.append(cell)
    # Neighbours for the same reason share a line that says it.
    for reason, alike in groupby(shown, key=_reason):
        for cell in alike:
            yield Line(f"{cell.sheet}!{cell.cell}  {cut(cell.content)}", 2)
        yield Line(reason, 6)
    for (sheet, letters), found in counts.items():
        if not every and found > MOST_SHOWN:
            last = next(cell for cell in reversed(cells) if _column_of(cell) == (sheet, letters))
            yield Line(
                f"{sheet}: {found - FIRST_SHOWN:,} more in column {letters}, the last in {last.cell}; "
                "growcells check --all lists each",
                2,
            )


def _column_of(cell: CellNote) -> tuple[str, str]:
    return cell.sheet, cell.cell.split(":")[0].rstrip("0123456789")


def _reason(cell: CellNote) -> str:
    return cell.reason


def _formulas(log: GrowLog) -> Iterator[Line]:
    for failed in log.failed:
        yield Line(f"{failed.sheet}!{failed.cell}  {failed.code}  {failed.formula}", 2)
        yield Line(failed.why, 6)
    for kept in log.kept:
        yield Line(f"{kept.sheet}!{kept.cell}  has no sure value here  {kept.formula}", 2)
        yield Line(kept.why, 6)
    for resting in log.resting:
        yield Line(
            f"{resting.sheet}!{resting.cell}  is computed from {resting.rests_on}, which has no sure value here", 2
        )


def _outdated(log: GrowLog) -> Iterator[Line]:
    for cell in log.outdated:
        yield Line(f"{cell.sheet}!{cell.cell}  {cut(cell.stored)}  {cell.formula}", 2)
        yield Line(f"it is {cell.now} now: open the log in LibreOffice and save it, or growcells recalc it", 6)


FATE_WORDS = {
    Fate.HEADING: "in headings",
    Fate.READ: "read",
    Fate.UNREADABLE: "not understood",
    Fate.IGNORED: "ignored on purpose",
}


def _counts(log: GrowLog) -> Iterator[Line]:
    for sheet, rows in log.rows.items():
        for what, counts in (("row", rows), ("cell", log.cells.get(sheet, {}))):
            parts = " + ".join(f"{counts[fate]:,} {word}" for fate, word in FATE_WORDS.items() if counts.get(fate))
            if parts:
                yield Line(f"{sheet}: {count(sum(counts.values()), f'filled {what}')} = {parts}", 2)
