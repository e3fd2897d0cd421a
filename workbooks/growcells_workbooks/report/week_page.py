"""The first page of the report, on one sheet of paper: how each bed stands, and what to do next."""

from __future__ import annotations

import re

from growcells.cells.number_texts import count

from ..reading import Fate
from .action import Action
from .advice import actions
from .figures import MEASURED, BedWeek, Figures, count_cells
from .look import SHORT_DATE, WHOLE, Column, Page, Value, row_height
from .paper import Paper, finish, freeze
from .trial_page import leading
from .week import long_date
from .wording import amount, band_text

ABOVE, BELOW = "▲ above", "▼ below"
ROOM_FOR_ACTIONS = 330
"""Height of the actions that a first page holds [points], with six beds above them; measured on our own pages."""
BED_ROW = 16
TO_DO = "To do"
_NAMED_CURRENCY = re.compile(r"\[\$([^\-\]]+)")
"""As in [$€-407]: ISO/IEC 29500-1, 18.8.31."""
_CURRENCY = re.compile(r"([$€£¥])")


def week_page(paper: Paper) -> None:
    """The first page, and a page of its own for the actions that it has no room for."""
    figures = paper.figures
    unit = figures.unit_label
    groups = {
        "ph": ("pH", "0.0#"),
        "ec": (f"EC [{unit('readings.ec')}]", "0.00"),
        "temperature": (f"Water [{unit('readings.temperature')}]", "0.0"),
    }
    aged = any(bed.day is not None for bed in figures.beds)
    columns = [paper.bed_column(9, 18), paper.crop_column(13, 18)]
    columns += [Column("days since\nplanting", 9, WHOLE)] if aged else []
    for group, number_format in groups.values():
        columns += [Column(name, 7.5, number_format, group=group) for name in ("latest", "lowest", "highest")]
        columns.append(Column("beside its band", 16, group=group))
    columns.append(Column("latest on", 11, SHORT_DATE))
    subtitle = " · ".join(part for part in (figures.week.span, figures.log.title) if part)
    page = paper.page("Week", figures.week.title, columns, landscape=True, one_page=True, subtitle=subtitle)
    page.table(columns, [_bed_row(bed, aged) for bed in figures.beds])
    page.sheet.freeze_panes = "B6"
    if any(band and not band.own for bed in figures.beds for band in bed.bands.values()):
        page.line("* A usual band: the log gives none of its own. They are on the sheet Method.", "small")
    page.gap()
    rest = _to_do(page, columns, actions(figures), len(figures.beds))
    page.gap()
    page.section("In short")
    for sentence in _in_short(paper):
        page.paragraph(sentence)
    finish(page)
    if rest:
        _rest_page(paper, rest)


def _bed_row(week: BedWeek, aged: bool) -> list[Value]:
    row: list[Value] = [week.bed.name, week.bed.crop, *([week.day] if aged else [])]
    for name in MEASURED:
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


def _to_do(page: Page, columns: list[Column], found: list[Action], beds: int) -> list[Action]:
    """Write the actions there is room for; the answer is the others."""
    page.section("What to do next")
    if not found:
        page.line("Nothing: every reading is in its band, the water and the feeds last, and readings come as usual.")
        return []
    spans = action_columns(columns)
    room = max(ROOM_FOR_ACTIONS - BED_ROW * max(beds - 6, 0), ROOM_FOR_ACTIONS / 2)
    shown: list[list[Value]] = []
    for action in found:
        row = action_row(action)
        room -= row_height(spans, row)
        if room < 0:
            break
        shown.append(row)
    page.table(spans, shown)
    rest = found[len(shown) :]
    if rest:
        page.line(f"{len(rest)} more on the sheet {TO_DO}.", "small")
    return rest


def action_row(action: Action) -> list[Value]:
    """An action as a row of a table."""
    return [action.urgency.word, action.about, action.what, action.why]


def _rest_page(paper: Paper, rest: list[Action]) -> None:
    columns = [
        Column("When", 11, wrap=True),
        Column("Where", 12, wrap=True),
        Column("What to do", 50, wrap=True),
        Column("Why", 62, wrap=True),
    ]
    page = paper.page(TO_DO, "What to do next, continued", columns, landscape=True)
    heading = page.row
    page.table(columns, [action_row(action) for action in rest])
    freeze(page, heading)
    finish(page)


def _in_short(paper: Paper) -> list[str]:
    figures = paper.figures
    sentences = [_added(figures), leading(figures)]
    week, all_read = count(len(figures.in_week), "reading"), count(len(figures.log.readings), "reading")
    counts = [f"{week} in the week, {all_read} in the log."]
    if figures.later:
        day = long_date(figures.as_of)
        counts.append(f"{count(figures.later, 'reading')} after {day}, the day of this report: not used.")
    unreadable, doubtful = count_cells(figures.log, Fate.UNREADABLE), len(figures.log.doubts)
    if unreadable or doubtful or figures.problems:
        told = (
            (unreadable, f"{count(unreadable, 'cell')} could not be read"),
            (doubtful, f"{count(doubtful, 'value')} {'is' if doubtful == 1 else 'are'} hardly possible"),
            (len(figures.problems), f"{count(len(figures.problems), 'figure')} could not be worked out"),
        )
        counts.append(f"{', '.join(text for number, text in told if number)}: see the sheet Checks.")
    return [*filter(None, sentences), " ".join(counts)]


def _added(figures: Figures) -> str:
    water = sum(bed.water_added for bed in figures.beds)
    feed = sum(bed.feed_added for bed in figures.beds)
    if not water and not feed:
        return "No water and no feed was noted as added in the week."
    return (
        f"Added in the week: {amount(water, figures.unit_label('readings.water_added'))} of water and "
        f"{amount(feed, figures.unit_label('readings.feed_added'))} of feed.{_cost(figures)}"
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
        f" The feed cost {sign}{sum(week):,.2f} in the week and {sign}{sum(fills) + sum(added):,.2f} to date, one fill "
        "of each bed included."
    )


def currency(money: str) -> str:
    """The sign of a currency in a number format, or "" where it has none."""
    match = _NAMED_CURRENCY.search(money) or _CURRENCY.search(money)
    return match[1] if match else ""
