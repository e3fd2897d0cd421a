"""The pages on how the figures were made, and on what can hurt people."""

from __future__ import annotations

from collections.abc import Iterator

import ironcalc

from growcells import functions
from growcells.cells.number_texts import count
from growcells.version import VERSION

from ...cautions import cautions
from ...reading import GrowLog, TableFound
from ...season_figures.parts import WHY, turn_of
from ...sheets.table_columns import Column, Value
from ..figures.common_practice import MEASURES, limits, usual_bands
from ..figures.in_words import band_text, days, named
from ..figures.iso_week import long_date
from ..figures.week_figures import BedWeek, Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

ASSUMPTIONS = (
    "Weeks run from Monday to Sunday and are numbered as in ISO 8601.",
    "Volumes, feed to mix and N are those that the log's own formulas give, computed anew for this report.",
    "A bed is taken to be filled to the depth in the log and mixed at the rate of its feed. Its sides are taken as "
    "straight between the full depth and the one read.",
    "Feed that was added to a bed is taken to be the feed that the log names for this bed, at the price that the log "
    "gives now.",
    "What a label does not list counts as absent. What the source water brings is not counted, except its EC where the "
    "log gives it.",
    "The EC that a feed makes is taken from the first readings after fills at the rate in force; without such fills "
    "from the label, and not at all where the label lists too little of what carries current.",
    "Lowest, highest and latest are taken from the readings as they were typed, without correction. Of several "
    "readings of a day without a time, the one furthest down in the log counts as the latest.",
)
NO_PREVIOUS = (
    "The log holds only the present size, feed and rate of each bed, so it cannot tell what they were last week. Keep "
    "a copy of it each week and give that with --previous: the page of what to weigh then says what changed, and why."
)


def method_page(material: Material) -> Iterator[Page]:
    """How the figures came about: versions, formulas, bands, sources, assumptions."""
    yield material.page(
        "Method", "How these figures were made", _method(material.figures, material.previous is not None), behind=True
    )


def _method(figures: Figures, with_previous: bool) -> Iterator[Block]:
    yield Section("The log and the day")
    yield Text(_log_told(figures.log))
    yield Text(f"Day of the report: {long_date(figures.as_of)}. Readings after it are not used.")
    yield Text(f"By the readings of the last four weeks, visits come every {days(figures.visit_days)}.")
    yield Text(f"Made with growcells {VERSION} and ironcalc {ironcalc.__version__}.")
    for note in figures.log.notes:
        yield Text(note)
    if not with_previous:
        yield Text(NO_PREVIOUS)
    yield Gap()
    yield Section("What each sheet was taken for")
    tables = _columns("Sheet", "Taken for", "Columns not used")
    yield Table(tables, [_table_row(table) for table in figures.log.tables])
    yield Gap()
    yield from _bands(figures)
    yield Gap()
    yield Section("Assumptions")
    for text in (*ASSUMPTIONS, *_worked_out(figures)):
        yield Text(text)
    yield Gap()
    yield from _top_ups(figures)
    yield Gap()
    yield Section("Formulas")
    names = [name for name in functions() if name in figures.called or name in figures.log.functions]
    formulas = _columns("Function", "Formula", "Source")
    yield Table(formulas, [[name, functions()[name].formula, functions()[name].source] for name in names])
    yield Gap()
    yield Section("Limits that the advice goes by")
    yield Table(
        _columns("Limit", "What it is", "Source"),
        [[f"{limit.value:g} {limit.unit}".strip(), limit.meaning, limit.source] for limit in limits().values()],
    )


def _top_ups(figures: Figures) -> Iterator[Block]:
    """What the feed of the next top-ups is worked out from."""
    known: dict[str, list[str]] = {}
    for bed in figures.beds:
        error = f", within {bed.top_up.error * 100:.0f} %" if bed.top_up.error else ""
        said = f"from {bed.top_up.why}{error}" if bed.top_up.known else f"not known: {bed.top_up.why}"
        known.setdefault(said, []).append(bed.name)
    for name, bed in {bed.fill.feed: bed for bed in figures.beds if len(bed.fill.doses) > 1}.items():
        said = "; ".join(f"{dose.part.name}: {WHY[turn_of(dose.part)]}" for dose in bed.fill.doses)
        yield Text(f"Why the parts of {name} are mixed in this order. {said}.")
    if known:
        yield Section("Where the feed of the next top-up is from")
        for told, beds in known.items():
            yield Text(f"{named(beds, len(figures.beds), len(beds))}: {told}.")


def _columns(*headings: str) -> list[Column]:
    """The three columns of all tables on the page."""
    return [Column(heading, width, wrap=True) for heading, width in zip(headings, (24, 33, 33), strict=True)]


def _worked_out(figures: Figures) -> Iterator[str]:
    for (what, function), names in figures.worked_out.items():
        beds = named(names, len(figures.beds), len(names))
        yield f"The {what} of {beds} is not in the log and was worked out here with {function}."


def _log_told(log: GrowLog) -> str:
    told = f"The log is {log.path.name}. It holds {count(log.formulas, 'formula')}"
    if log.kept:
        return f"{told}. Not computed here, and not used: {len(log.kept)}."
    return f"{told}, computed anew for this report." if log.formulas else f"{told}."


def cautions_page(material: Material) -> Iterator[Page]:
    """What can hurt people."""
    yield material.page("Cautions", "Cautions", _cautions(), behind=True)


def _cautions() -> Iterator[Block]:
    for caution in cautions():
        yield Text(f"{caution.about}. {caution.text}")


def _bands(figures: Figures) -> Iterator[Block]:
    yield Section("Bands")
    shared: dict[tuple[str, str], list[str]] = {}
    for name in MEASURES:
        for bed in figures.beds:
            shared.setdefault(_band_told(figures, bed, name), []).append(bed.name)
    columns = _columns("Band", "Beds", "From")
    yield Table(
        columns, [[band, named(beds, len(figures.beds), len(beds)), told] for (band, told), beds in shared.items()]
    )
    usual = sorted(usual_bands(), key=lambda band: band.measure)
    yield Text(
        "The usual bands (common practice, no source) are "
        + "; ".join(
            f"{MEASURES[band.measure]} {band.low:g}–{band.high:g}{f' {band.unit}' if band.unit else ''}"
            f" for {band.group}"
            for band in usual
        )
        + ". A band in the log goes before a usual one: give it in columns pH low, pH high, EC low, EC high, Temp low "
        "and Temp high.",
        small=True,
    )


def _band_told(figures: Figures, bed: BedWeek, name: str) -> tuple[str, str]:
    """The band of a measure with its unit, and where it is from."""
    band, unit = bed.bands[name], "" if name == "ph" else f" {figures.unit_label(f'readings.{name}')}"
    if band is None:
        return f"{MEASURES[name]}: none", "the log has none, and none is usual for this crop"
    return f"{MEASURES[name]} {band_text(band)}{unit}", "the log" if band.own else f"usual: {band.source}"


def _table_row(table: TableFound) -> list[Value]:
    unused = ", ".join(f"{column.heading} ({column.cell})" for column in table.columns if column.field is None)
    guessed = [
        f"{column.heading} in {column.unit}" for column in table.columns if column.unit_from in ("values", "usual")
    ]
    taken = f"{table.kind}, headings in row {table.heading_row}"
    if table.date_order in ("day first", "month first"):
        taken += f", dates {table.date_order}"
    if guessed:
        taken += f"; without a written unit, taken as: {', '.join(guessed)}"
    return [table.sheet, taken, unused]
