"""What ``growcells check`` says of a log: what it was taken for, what could not be read and why, and the counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from .reading import Certainty, ColumnFound, Fate, GrowLog, TableFound

HEADING, QUIET = "bold", "dim"
"""Styles of lines, as the rich library names them."""
LONGEST_CONTENT = 60
"""Signs of a cell's content that are shown; longer contents are cut."""


@dataclass(frozen=True)
class Line:
    """A line to print, how far it is indented [spaces], and its style."""

    text: str
    indent: int = 0
    style: str = ""


def count_problems(log: GrowLog) -> int:
    """How many things in a log should be looked into."""
    return len(log.failed) + len(log.kept) + len(log.doubts) + sum(left.problem for left in log.left_out)


def lines_of(log: GrowLog) -> Iterator[Line]:
    """All that is to be said of a log, line by line."""
    yield Line(
        f"{log.path.name}: {_number(len(log.tables), 'table')}, {_number(len(log.beds), 'bed')}, "
        f"{_number(len(log.feeds), 'feed')}, {_number(len(log.readings), 'reading')}, "
        f"{_number(len(log.weights), 'weight')}, {_number(log.formulas, 'formula')}."
    )
    yield from _section("What each sheet was taken for", _tables(log))
    yield from _section("Could not be read, or was lost", _left_out(log, problem=True))
    yield from _section("Out of a plausible range, but used", _doubts(log))
    yield from _section("Formulas without a value", _formulas(log))
    yield from _section("Passed over", _left_out(log, problem=False))
    yield from _section("The rows of each sheet", _rows(log))
    yield from _section("About the workbook", (Line(note, 2) for note in log.notes))
    yield Line("")
    problems = count_problems(log)
    yield Line(f"{_number(problems, 'problem')} to look into." if problems else "No problems.", style=HEADING)


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
            yield Line(f"{sheet}: {'no table is known on it' if rows else 'empty'}", 2)
        for table in tables:
            yield Line(f"{sheet}, headings in row {table.heading_row}: {table.kind}, {_sureness(table)}", 2)
            for column in table.columns:
                yield _column(table, column)


def _sureness(table: TableFound) -> str:
    unused = sum(column.field is None for column in table.columns)
    return f"{table.certainty}" + (f"; {_number(unused, 'column')} not used" if unused else "")


def _column(table: TableFound, column: ColumnFound) -> Line:
    taken = f"{column.cell}  {_cut(column.heading)}"
    if column.field is None:
        return Line(f"{taken}: not used, the heading is not known", 4, QUIET)
    taken += f": {column.field.replace('_', ' ')}"
    if column.unit:
        taken += f" [{column.unit}]"
    if column.field == "date" and table.date_order in ("day first", "month first"):
        taken += f", {table.date_order}"
    if column.certainty is not Certainty.SURE:
        taken += f"  ({column.certainty}: {column.why})"
    return Line(taken, 4)


def _left_out(log: GrowLog, problem: bool) -> Iterator[Line]:
    for left in log.left_out:
        if left.problem is problem:
            yield Line(f"{left.sheet}!{left.cell}  {_cut(left.content)}", 2)
            yield Line(left.reason, 6, QUIET if not problem else "")


def _doubts(log: GrowLog) -> Iterator[Line]:
    for doubt in log.doubts:
        yield Line(f"{doubt.sheet}!{doubt.cell}  {_cut(doubt.content)}", 2)
        yield Line(doubt.reason, 6)


def _formulas(log: GrowLog) -> Iterator[Line]:
    for failed in log.failed:
        yield Line(f"{failed.sheet}!{failed.cell}  {failed.code}  {failed.formula}", 2)
        yield Line(failed.why, 6)
    for kept in log.kept:
        yield Line(f"{kept.sheet}!{kept.cell}  cannot be computed here  {kept.formula}", 2)
        yield Line(kept.why, 6)
    for resting in log.resting:
        yield Line(f"{resting.sheet}!{resting.cell}  rests on {resting.rests_on}, not computed here", 2)


def _rows(log: GrowLog) -> Iterator[Line]:
    words = {
        Fate.HEADING: "with headings",
        Fate.READ: "read",
        Fate.UNREADABLE: "that could not be read",
        Fate.IGNORED: "passed over",
    }
    for sheet, rows in log.rows.items():
        counts = " + ".join(f"{rows[fate]} {word}" for fate, word in words.items() if rows.get(fate))
        yield Line(f"{sheet}: {_number(sum(rows.values()), 'filled row')}" + (f" = {counts}" if counts else ""), 2)


def _number(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"


def _cut(text: str) -> str:
    shown = " ".join(text.split())
    return shown if len(shown) <= LONGEST_CONTENT else f"{shown[: LONGEST_CONTENT - 1]}…"
