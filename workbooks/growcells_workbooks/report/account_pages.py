"""The pages that account for the report: what to check in the log, and how the figures were made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.metadata import PackageNotFoundError, version

from growcells.registry import functions
from growcells.version import VERSION

from ..cautions import cautions
from ..checking import FATE_WORDS
from ..reading import Fate, GrowLog, TableFound
from .common_practice import MEASURES, limits, usual_bands
from .doubts import oddities
from .figures import MEASURED, BedWeek, Figures
from .look import Column, Page, Value
from .paper import Paper, finish
from .week import long_date
from .wording import band_text, number


def checks_page(paper: Paper) -> None:
    """Everything that was unreadable, implausible, stale or not used, each with its place."""
    figures = paper.figures
    columns = [
        Column("Sheet", 16, wrap=True),
        Column("Cell", 14, wrap=True),
        Column("What stands there", 36, wrap=True),
        Column("What became of it", 18),
        Column("Why", 52, wrap=True),
    ]
    page = paper.page("Checks", "What to check in the log", columns, landscape=True)
    by_fate = sorted(figures.log.left_out, key=lambda left: (left.fate is not Fate.UNREADABLE, not left.problem))
    rows: list[list[Value]] = [
        [left.sheet, left.cell, left.content, FATE_WORDS[left.fate], left.reason] for left in by_fate
    ]
    doubts: list[list[Value]] = [
        [doubt.sheet, doubt.cell, doubt.content, "used", doubt.reason] for doubt in figures.log.doubts
    ]
    unreadable = sum(left.fate is Fate.UNREADABLE for left in by_fate)
    if rows or doubts:
        page.table(columns, [*rows[:unreadable], *doubts, *rows[unreadable:]])
    else:
        page.line("Nothing: every filled cell was read, and every value is one that can be.")
    page.gap()
    _odd(page, figures)
    _stale(page, figures)
    if figures.problems:
        page.section("Figures that could not be worked out")
        for problem in figures.problems:
            page.paragraph(problem)
        page.gap()
    _row_counts(page, figures)
    finish(page)


def _odd(page: Page, figures: Figures) -> None:
    found = oddities(figures)
    page.section("Readings of the last four weeks to look at again")
    if found:
        columns = [
            Column("Bed", 16, wrap=True),
            Column("In the log", 50, wrap=True, span=2),
            Column("What is odd", 70, wrap=True, span=2),
        ]
        page.table(columns, [[odd.bed, odd.place, odd.why] for odd in found])
    else:
        page.line("None: no jump, no meter that shows one value for long, no depth above the full bed.")
    page.gap()


def _stale(page: Page, figures: Figures) -> None:
    """What was not read for long, measure by measure."""
    page.section("Not read in the week")
    lines = [line for bed in figures.beds if (line := _unread(bed))]
    for line in lines:
        page.paragraph(line)
    if not lines:
        page.line("Nothing: pH, EC and water temperature of every bed were read.")
    page.gap()


def _unread(bed: BedWeek) -> str:
    missing = []
    for name in MEASURED:
        if bed.spans[name].latest is None:
            last = next((r.date for r in reversed(bed.course) if getattr(r, name) is not None), None)
            missing.append(f"{MEASURES[name]} ({f'last on {long_date(last)}' if last else 'never'})")
    return f"{bed.name}: {', '.join(missing)}." if missing else ""


def _row_counts(page: Page, figures: Figures) -> None:
    page.section("The rows of each sheet")
    for sheet, rows in figures.log.rows.items():
        counts = ", ".join(f"{rows[fate]} {word}" for fate, word in FATE_WORDS.items() if rows.get(fate))
        page.paragraph(f"{sheet}: {sum(rows.values())} filled rows: {counts}." if counts else f"{sheet}: empty.")


ASSUMPTIONS = (
    "Weeks run from Monday to Sunday and are numbered as in ISO 8601.",
    "Volumes, feed to mix and N are those that the log's own formulas give, computed anew for this report.",
    "A bed is filled to the depth that the log says, and mixed at the rate of its feed. Its sides are taken as "
    "straight between the full depth and the one read.",
    "Feed added to a bed is taken to be the feed that the log says the bed is on, at the price that the log has now.",
    "What a label does not list counts as absent; what the source water brings is not counted, but for its EC where "
    "the log gives it.",
    "The EC that a feed makes is taken from the bed's own first reading since planting, not from the label: labels do "
    "not list all that carries current.",
    "Lowest, highest and latest are of the readings as typed, with no correction; of several readings on a day the "
    "lowest in the log is the latest.",
)
MADE_WITH = ("ironcalc", "openpyxl", "pint", "scipy")


def method_page(paper: Paper) -> None:
    """How the figures came about: versions, formulas, bands, sources, assumptions."""
    figures = paper.figures
    page = paper.page("Method", "How these figures were made", _columns("", "", ""), landscape=False)
    page.section("The log and the day")
    page.paragraph(_log_told(figures.log))
    page.paragraph(f"Day of the report: {long_date(figures.as_of)}. Readings after it are not used.")
    page.paragraph(f"Visits come every {number(figures.visit_days)} days, by the readings of the last four weeks.")
    page.paragraph(f"Made with growcells {VERSION}, {_versions()}.")
    for note in figures.log.notes:
        page.paragraph(note)
    page.gap()
    page.section("What each sheet was taken for")
    tables = _columns("Sheet", "Taken for", "Columns not used")
    page.table(tables, [_table_row(table) for table in figures.log.tables])
    page.gap()
    _bands(page, figures)
    page.gap()
    page.section("Assumptions")
    for text in (*ASSUMPTIONS, *_worked_out(figures)):
        page.paragraph(text)
    page.turn()
    page.section("Formulas")
    names = [name for name in functions() if name in figures.called or name in figures.log.functions]
    formulas = _columns("Function", "Formula", "Source")
    page.table(formulas, [[name, functions()[name].formula, functions()[name].source] for name in names])
    page.gap()
    page.section("Limits that the advice goes by")
    page.table(
        _columns("Limit", "What it is", "Source"),
        [[f"{limit.value:g} {limit.unit}".strip(), limit.meaning, limit.source] for limit in limits().values()],
    )
    finish(page)


def _columns(*headings: str) -> list[Column]:
    """The three columns of all tables on the page."""
    return [Column(heading, width, wrap=True) for heading, width in zip(headings, (28, 40, 40), strict=True)]


def _worked_out(figures: Figures) -> Iterator[str]:
    for (what, function), names in figures.worked_out.items():
        yield f"Not in the log and worked out here with {function}: {what} of {_named(figures, names)}."


def _named(figures: Figures, names: Sequence[str]) -> str:
    """The names of some beds, or that they are all."""
    return "all beds" if len(names) == len(figures.beds) > 1 else ", ".join(names)


def _log_told(log: GrowLog) -> str:
    told = f"not computed here, and not used: {len(log.kept)}" if log.kept else "all computed anew"
    return f"Log: {log.path.name}. Formulas in it: {log.formulas}; {told}."


def cautions_page(paper: Paper) -> None:
    """What can hurt people."""
    columns = [Column("", 24, wrap=True), Column("", 84, wrap=True)]
    page = paper.page("Cautions", "Cautions", columns, landscape=False)
    for caution in cautions():
        page.section(caution.about)
        page.paragraph(caution.text)
        page.gap()
    finish(page)


def _bands(page: Page, figures: Figures) -> None:
    page.section("Bands")
    shared: dict[tuple[str, str], list[str]] = {}
    for name in MEASURED:
        for bed in figures.beds:
            shared.setdefault(_band_told(figures, bed, name), []).append(bed.name)
    columns = _columns("Band", "Beds", "From")
    page.table(columns, [[band, _named(figures, beds), told] for (band, told), beds in shared.items()])
    usual = sorted(usual_bands(), key=lambda band: band.measure)
    page.paragraph(
        "Usual bands, common practice, no source: "
        + "; ".join(
            f"{MEASURES[band.measure]} {band.low:g}–{band.high:g}{f' {band.unit}' if band.unit else ''}"
            f" for {band.group}"
            for band in usual
        )
        + ". A band in the log comes before them: columns pH low, pH high, EC low, EC high, Temp low, Temp high.",
        "small",
    )


def _band_told(figures: Figures, bed: BedWeek, name: str) -> tuple[str, str]:
    """The band of a measure with its unit, and where it is from."""
    band, unit = bed.bands[name], "" if name == "ph" else f" {figures.unit_label(f'readings.{name}')}"
    if band is None:
        return f"{MEASURES[name]}: none", "the log has none, and none is usual for this crop"
    return f"{MEASURES[name]} {band_text(band)}{unit}", "the log" if band.own else f"usual: {band.source}"


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
