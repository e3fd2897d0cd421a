"""The page of what to check in the log: what was unreadable, implausible, odd, stale or not used."""

from __future__ import annotations

from collections.abc import Iterator

from growcells.cells.number_texts import count

from ...log_check import FATE_WORDS
from ...reading import Fate
from ...sheets.table_columns import Column, Value
from ..advice.odd_readings import oddities
from ..figures.common_practice import MEASURES
from ..figures.iso_week import long_date
from ..figures.week_figures import BedWeek, Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text


def checks_page(material: Material) -> Iterator[Page]:
    """Everything that was unreadable, implausible, stale or not used, each with its place."""
    figures = material.figures
    columns = [
        Column("Sheet", 11, wrap=True),
        Column("Cell", 8, wrap=True),
        Column("What stands there", 24, wrap=True),
        Column("What became of it", 13, wrap=True),
        Column("Why", 34, wrap=True),
    ]
    yield material.page("Checks", "What to check in the log", _blocks(figures, columns), behind=True)


MOST_LISTED = 5_000
"""Most cells that the page lists: our choice, since nobody looks at more on paper."""


def _blocks(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    told = [left for left in figures.log.left_out if left.fate is Fate.UNREADABLE or left.problem]
    by_fate = sorted(told, key=lambda left: left.fate is not Fate.UNREADABLE)
    passed_over = len(figures.log.left_out) - len(told)
    rows: list[list[Value]] = [
        [left.sheet, left.cell, left.content, FATE_WORDS[left.fate], left.reason] for left in by_fate
    ]
    doubts: list[list[Value]] = [
        [doubt.sheet, doubt.cell, doubt.content, "used", doubt.reason] for doubt in figures.log.doubts
    ]
    unreadable = sum(left.fate is Fate.UNREADABLE for left in by_fate)
    if rows or doubts:
        listed = [*rows[:unreadable], *doubts, *rows[unreadable:]]
        yield Table(columns, listed[:MOST_LISTED])
        if len(listed) > MOST_LISTED:
            yield Text(f"{len(listed) - MOST_LISTED:,} more are not listed here: growcells check --all lists all.")
    else:
        yield Text("There is nothing to check: every value is plausible, and every filled cell was understood.")
    if passed_over:
        yield Text(
            f"Passed over on purpose: {count(passed_over, 'cell')} with titles, hints and the like; "
            "growcells check --all lists them.",
            small=True,
        )
    yield Gap()
    yield from _odd(figures)
    yield from _stale(figures)
    if figures.problems:
        yield Section("Figures that could not be worked out")
        for problem in figures.problems:
            yield Text(problem)
        yield Gap()
    yield from _row_counts(figures)


def _odd(figures: Figures) -> Iterator[Block]:
    found = oddities(figures)
    yield Section("Readings of the last four weeks to look at again")
    if found:
        columns = [
            Column("Bed", 14, wrap=True),
            Column("In the log", 26, wrap=True),
            Column("What is odd", 50, wrap=True),
        ]
        yield Table(columns, [[odd.bed, odd.place, odd.why] for odd in found])
    else:
        yield Text(
            "None: no reading jumps, no meter shows one value for long, and no depth is above that of the full bed."
        )
    yield Gap()


def _stale(figures: Figures) -> Iterator[Block]:
    """What was not read for long, measure by measure."""
    yield Section("Not read in the week")
    lines = [line for bed in figures.beds if (line := _unread(bed))]
    for line in lines:
        yield Text(line)
    if not lines:
        yield Text("pH, EC and water temperature of every bed were read in the week.")
    yield Gap()


def _unread(bed: BedWeek) -> str:
    missing = []
    for name in MEASURES:
        if bed.spans[name].latest is None:
            last = next((r.date for r in reversed(bed.course) if getattr(r, name) is not None), None)
            missing.append(f"{MEASURES[name]} ({f'last read on {long_date(last)}' if last else 'never read'})")
    return f"{bed.name}: {', '.join(missing)}." if missing else ""


def _row_counts(figures: Figures) -> Iterator[Block]:
    yield Section("The rows of each sheet")
    for sheet, rows in figures.log.rows.items():
        counts = ", ".join(f"{rows[fate]} {word}" for fate, word in FATE_WORDS.items() if rows.get(fate))
        yield Text(
            f"{sheet} has {count(sum(rows.values()), 'filled row')}: {counts}." if counts else f"{sheet} is empty."
        )
