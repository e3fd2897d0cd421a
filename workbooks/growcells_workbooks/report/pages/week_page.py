"""The first page of the report, on one sheet of paper: how each bed stands, and what to do next."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from growcells.cells.number_texts import count

from ...reading import Fate
from ...sheets.table_columns import SHORT_DATE, WHOLE, Column, Value, row_height
from ..advice import actions
from ..advice.action import Action
from ..figures.common_practice import MEASURES
from ..figures.in_words import amount, band_text, currency, listed, measure_labels
from ..figures.iso_week import long_date
from ..figures.standings import leading
from ..figures.week_figures import BedWeek, Figures, count_cells
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

ABOVE, BELOW = "▲ above", "▼ below"
ROOM_FOR_ACTIONS = 330
"""Height of the actions that a first page holds [points], with six beds above them; measured on our own pages."""
BED_ROW = 16
TO_DO = "To do"
FORMATS = {"ph": "0.0#", "ec": "0.00", "temperature": "0.0"}


def week_page(material: Material) -> Iterator[Page]:
    """The first page, and a page of its own for the actions that it has no room for."""
    figures = material.figures
    aged = any(bed.day is not None for bed in figures.beds)
    columns = _columns(material, aged)
    subtitle = " · ".join(part for part in (figures.week.span, figures.log.title) if part)
    found = actions(figures)
    room = _room_for(found, action_columns(columns), len(figures.beds))
    beds = Table(columns, [_bed_row(bed, aged) for bed in figures.beds], frozen_columns=1)
    blocks = (beds, *_below(figures, action_columns(columns), found, room))
    yield material.page("Week", figures.week.title, columns, blocks, landscape=True, one_page=True, subtitle=subtitle)
    if room < len(found):
        yield _rest_page(material, found[room:])


def _columns(material: Material, aged: bool) -> list[Column]:
    columns = [material.bed_column(9, 18), material.crop_column(13, 18)]
    columns += [Column("days since\nplanting", 9, WHOLE)] if aged else []
    for measure, group in measure_labels(material.figures).items():
        columns += [Column(name, 7.5, FORMATS[measure], group=group) for name in ("latest", "lowest", "highest")]
        columns.append(Column("beside its band", 16, group=group))
    columns.append(Column("latest on", 11, SHORT_DATE))
    return columns


def _below(figures: Figures, columns: list[Column], found: list[Action], room: int) -> Iterator[Block]:
    """What stands below the beds."""
    if any(band and not band.own for bed in figures.beds for band in bed.bands.values()):
        yield Text(
            "* The log gives no band here, so the usual one is shown. The sheet Method lists the usual bands.",
            small=True,
        )
    yield Gap()
    yield from _to_do(figures, columns, found, room)
    yield Gap()
    yield Section("In short")
    for sentence in _in_short(figures):
        yield Text(sentence)


def _bed_row(week: BedWeek, aged: bool) -> list[Value]:
    row: list[Value] = [week.bed.name, week.bed.crop, *([week.day] if aged else [])]
    for name in MEASURES:
        span = week.spans[name]
        row += [span.latest, span.lowest, span.highest, verdict(week, name)]
    return [*row, week.last or "no reading"]


def verdict(week: BedWeek, measure: str) -> str:
    """The latest reading of the week beside its band, in words and a mark."""
    band, span = week.bands[measure], week.spans[measure]
    if span.latest is None:
        return "not read"
    if band is None:
        return "no band"
    star = "" if band.own else " *"
    side = band.side(span.latest)
    if side:
        end = band.high if side > 0 else band.low
        return f"{ABOVE if side > 0 else BELOW} {end:g}{star}"
    return f"in {band_text(band)}{star}"


def action_columns(columns: list[Column]) -> list[Column]:
    """The columns of a list of actions laid over those of the page."""
    spans = (("When", 1), ("Where", 1), ("What to do", 6), ("Why", len(columns) - 8))
    made, start = [], 0
    for heading, span in spans:
        width = sum(column.width for column in columns[start : start + span])
        made.append(Column(heading, width, wrap=True, span=span))
        start += span
    return made


def _room_for(found: list[Action], columns: list[Column], beds: int) -> int:
    """How many of the actions the first page has room for."""
    room = max(ROOM_FOR_ACTIONS - BED_ROW * max(beds - 6, 0), ROOM_FOR_ACTIONS / 2)
    heights = itertools.accumulate(row_height(columns, action_row(action)) for action in found)
    return sum(height <= room for height in heights)


def _to_do(figures: Figures, columns: list[Column], found: list[Action], room: int) -> Iterator[Block]:
    yield Section("What to do next")
    unknown = [line for bed in figures.beds if (line := not_known(bed))]
    if found:
        yield Table(columns, [action_row(action) for action in found[:room]])
    elif not unknown:
        yield Text(ALL_CLEAR)
    if room < len(found):
        yield Text(f"The sheet {TO_DO} lists {len(found) - room} more.", small=True)
    for line in unknown:
        yield Text(line, small=bool(found))


ALL_CLEAR = "Nothing: the readings are in their bands, water and feeds last, and readings come as often as usual."
VITAL = ("ph", "ec")
"""The measures without which nothing is said to be well."""


def not_known(bed: BedWeek) -> str:
    """What keeps a bed from being said to be well: pH or EC not read in the week, or no band to hold them to; or ""."""
    unread = [MEASURES[name] for name in VITAL if bed.spans[name].latest is None]
    loose = [MEASURES[name] for name in VITAL if bed.spans[name].latest is not None and bed.bands[name] is None]
    parts = []
    if unread:
        parts.append(f"{listed(unread)} not read this week")
    if loose:
        parts.append(f"no band is known for {listed(loose)}")
    return f"Whether {bed.name} is well is not known: {'; '.join(parts)}." if parts else ""


def action_row(action: Action) -> list[Value]:
    """An action as a row of a table."""
    return [action.urgency.word, action.about, action.what, action.why]


def _rest_page(material: Material, rest: list[Action]) -> Page:
    columns = [
        Column("When", 11, wrap=True),
        Column("Where", 12, wrap=True),
        Column("What to do", 50, wrap=True),
        Column("Why", 62, wrap=True),
    ]
    table = Table(columns, [action_row(action) for action in rest], frozen_columns=0)
    return material.page(TO_DO, "What to do next, continued", columns, [table], landscape=True)


def _in_short(figures: Figures) -> list[str]:
    sentences = [_added(figures), leading(figures)]
    counts = [f"The log holds {count(len(figures.log.readings), 'reading')}, {len(figures.in_week)} of this week."]
    if figures.later:
        dated = f"{count(figures.later, 'reading')} {'is' if figures.later == 1 else 'are'} dated"
        counts.append(f"{dated} after {long_date(figures.as_of)}, the day of this report, and not used.")
    unreadable, doubtful = count_cells(figures.log, Fate.UNREADABLE), len(figures.log.doubts)
    if unreadable or doubtful or figures.problems:
        told = (
            (unreadable, f"{count(unreadable, 'cell')} could not be read"),
            (doubtful, f"{count(doubtful, 'value')} {'is' if doubtful == 1 else 'are'} hardly possible"),
            (len(figures.problems), f"{count(len(figures.problems), 'figure')} could not be worked out"),
        )
        counts.append(f"{listed([text for number, text in told if number])}. The sheet Checks has the details.")
    return [*filter(None, sentences), " ".join(counts)]


def _added(figures: Figures) -> str:
    water = sum(bed.water_added for bed in figures.beds)
    feed = sum(bed.feed_added for bed in figures.beds)
    if not water and not feed:
        return "The log notes no water and no feed as added in the week."
    return (
        f"{amount(water, figures.unit_label('readings.water_added'))} of water and "
        f"{amount(feed, figures.unit_label('readings.feed_added'))} of feed were added in the week.{_cost(figures)}"
    )


def _cost(figures: Figures) -> str:
    """What the feed of the week cost, and that of the season; "" where the log has no prices."""
    week = [feed.used_cost for feed in figures.feeds if feed.used_cost is not None]
    if not week:
        return ""
    fills = [bed.cost for bed in figures.beds if bed.cost is not None]
    added = [bed.added_cost for bed in figures.beds if bed.added_cost is not None]
    sign = currency(figures.log.money)
    return (
        f" The feed cost {sign}{sum(week):,.2f} in the week and {sign}{sum(fills) + sum(added):,.2f} to date, "
        "including one fill of each bed."
    )
