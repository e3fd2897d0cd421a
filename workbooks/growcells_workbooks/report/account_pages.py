"""The pages that account for the report: what was left out, and how the figures were made."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

from growcells.registry import functions
from growcells.version import VERSION

from ..reading import Fate, TableFound
from .figures import Figures
from .look import Column, Page, Value
from .paper import Paper, freeze
from .week import long_date

_WORDS = {Fate.UNREADABLE: "could not be read", Fate.IGNORED: "ignored"}


def left_out_page(paper: Paper) -> None:
    """Every cell that was not used and why; and the rows of each sheet, counted."""
    figures = paper.figures
    columns = [
        Column("Sheet", 16, wrap=True),
        Column("Cell", 8),
        Column("What stands there", 36, wrap=True),
        Column("What became of it", 18),
        Column("Why", 46, wrap=True),
    ]
    page = paper.page("Left out", "What was left out, and why", columns, landscape=True)
    heading = page.row
    by_fate = sorted(figures.log.left_out, key=lambda left: left.fate is not Fate.UNREADABLE)
    rows: list[list[Value]] = [
        [left.sheet, left.cell, left.content, _WORDS[left.fate], left.reason] for left in by_fate
    ]
    page.table(columns, rows)
    if not rows:
        page.line("Nothing: every filled cell was read.")
    freeze(page, heading)
    if figures.problems:
        page.gap()
        page.section("Figures that could not be worked out")
        for problem in figures.problems:
            page.line(problem)
    page.gap()
    _row_counts(page, figures)


def _row_counts(page: Page, figures: Figures) -> None:
    page.section("The rows of each sheet")
    for sheet, rows in figures.log.rows.items():
        counts = ", ".join(
            f"{rows.get(fate, 0)} {word}"
            for fate, word in (
                (Fate.HEADING, "with headings"),
                (Fate.READ, "read"),
                (Fate.UNREADABLE, "that could not be read"),
                (Fate.IGNORED, "ignored"),
            )
        )
        page.line(f"{sheet}: {sum(rows.values())} filled rows, of which {counts}.")


ASSUMPTIONS = (
    "Weeks run from Monday to Sunday and are numbered as in ISO 8601.",
    "Volumes, feed to mix and N are those that the log's own formulas give, computed anew for this report.",
    "A bed is filled to the depth that the log says, and mixed at the rate of its feed.",
    "Feed added to a bed is taken to be the feed that the log says the bed is on.",
    "What a label does not list counts as absent; what the source water brings is not counted.",
    "Lowest, highest and latest are of the readings as typed, with no correction.",
)
CAUTIONS = (
    "The label of a feed and the local code come first. Keep oxidizers away from acids and from what burns.",
    "Electricity near water can kill: use ground-fault protection. Fill through an air gap: a hose that hangs in the "
    "water can draw it back into drinking water.",
)
REPORT_FUNCTIONS = frozenset({"GROW_DOSE", "GROW_PPM", "GROW_COST", "GROW_FILLS_LEFT"})
"""The cell functions that the report itself calls."""
MADE_WITH = ("formualizer", "openpyxl", "pandas", "pint")


def method_page(paper: Paper) -> None:
    """How the figures came about: versions, formulas, sources, assumptions."""
    figures = paper.figures
    formulas = [Column("Function", 22), Column("Formula", 42, wrap=True), Column("Source", 40, wrap=True)]
    tables = [Column("Sheet", 22), Column("Taken for", 42, wrap=True), Column("Columns not used", 40, wrap=True)]
    page = paper.page("Method", "How these figures were made", formulas, landscape=False)
    width = sum(column.width for column in formulas)
    page.section("The log and the day")
    page.line(f"Log: {figures.log.path.name}, with {figures.log.formulas} formulas, all computed anew.")
    page.line(f"Day of the report: {long_date(figures.as_of)}. Readings after it are not used.")
    page.line(f"Made with growcells {VERSION}, {_versions()}.")
    for note in figures.log.notes:
        page.line(note)
    page.gap()
    page.section("Formulas")
    names = [name for name in functions() if name in REPORT_FUNCTIONS or name in figures.log.functions]
    page.table(formulas, [[name, functions()[name].formula, functions()[name].source] for name in names])
    page.gap()
    page.section("What each sheet was taken for")
    page.table(tables, [_table_row(table) for table in figures.log.tables])
    page.gap()
    page.section("Assumptions")
    worked_out = [f"Not in the log and worked out here: {', '.join(figures.worked_out)}."] if figures.worked_out else []
    for text in (*ASSUMPTIONS, *worked_out):
        page.paragraph(text, width)
    page.gap()
    page.section("Cautions")
    for text in CAUTIONS:
        page.paragraph(text, width)


def _versions() -> str:
    found = []
    for name in MADE_WITH:
        try:
            found.append(f"{name} {version(name)}")
        except PackageNotFoundError:
            continue
    return ", ".join(found)


def _table_row(table: TableFound) -> list[Value]:
    unused = ", ".join(f"{column.heading} ({column.cell})" for column in table.columns if column.field is None)
    guessed = [
        f"{column.heading} in {column.unit}" for column in table.columns if column.unit_from in ("values", "usual")
    ]
    taken = f"{table.kind}, headings in row {table.heading_row}"
    if table.date_order in ("day first", "month first"):
        taken += f", dates {table.date_order}"
    if guessed:
        taken += f"; no unit is written, taken for: {', '.join(guessed)}"
    return [table.sheet, taken, unused]
