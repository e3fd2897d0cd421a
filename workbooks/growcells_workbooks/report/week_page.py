"""The first page of the report."""

from __future__ import annotations

from ..reading import Fate
from .figures import BedWeek, Figures
from .look import PLAIN, SHORT_DATE, WHOLE, Column, Page, Value
from .paper import Paper
from .week import long_date


def week_page(paper: Paper) -> None:
    """The first page: each bed with what to mix, what was read, what was added."""
    figures = paper.figures
    unit = figures.unit_label
    mix, ph, ec = "To mix for a full bed", "pH", f"EC [{unit('readings.ec')}]"
    temperature, added = f"Water [{unit('readings.temperature')}]", "Added"
    columns = [
        Column("Bed", 7, wrap=True),
        Column("Crop", 12, wrap=True),
        Column("Feed", 7, wrap=True),
        Column(f"volume\n[{unit('beds.volume')}]", 7.5, PLAIN, group=mix),
        Column(f"feed\n[{unit('beds.dose')}]", 7.5, PLAIN, group=mix),
        Column(f"N\n[{unit('beds.n_ppm')}]", 7.5, PLAIN, group=mix),
        *(Column(name, 7, "0.0", group=ph) for name in ("latest", "lowest", "highest")),
        *(Column(name, 7, "0.00", group=ec) for name in ("latest", "lowest", "highest")),
        *(Column(name, 7, "0.0", group=temperature) for name in ("latest", "lowest", "highest")),
        Column(f"water\n[{unit('readings.water_added')}]", 7, PLAIN, group=added),
        Column(f"feed\n[{unit('readings.feed_added')}]", 7, PLAIN, group=added),
        Column("readings", 8.5, WHOLE),
        Column("latest on", 11, SHORT_DATE),
    ]
    page = paper.page("Week", figures.week.title, columns, landscape=True)
    subtitle = page.sheet.cell(2, 1)
    subtitle.value = " · ".join(part for part in (figures.week.span, figures.log.title) if part)
    subtitle.data_type = "s"
    rows = [_bed_row(bed) for bed in figures.beds]
    page.table(columns, rows, _totals(figures))
    page.sheet.freeze_panes = "B6"
    page.gap()
    _counts(page, figures)
    _notes(page, figures)


def _bed_row(week: BedWeek) -> list[Value]:
    spans = [week.spans[name] for name in ("ph", "ec", "temperature")]
    measured: list[Value] = [value for span in spans for value in (span.latest, span.lowest, span.highest)]
    added: list[Value] = [week.water_added or None, week.feed_added or None]
    last: Value = week.last or "no reading"
    texts: list[Value] = [week.bed.name, week.bed.crop, week.bed.feed]
    return [*texts, week.volume, week.dose, week.n_ppm, *measured, *added, week.readings, last]


def _totals(figures: Figures) -> list[Value]:
    beds = figures.beds
    volumes = [bed.volume for bed in beds if bed.volume is not None]
    doses = [bed.dose for bed in beds if bed.dose is not None]
    water, feed = sum(bed.water_added for bed in beds), sum(bed.feed_added for bed in beds)
    sums: list[Value] = [sum(volumes) or None, sum(doses) or None, None]
    return ["Total", "", "", *sums, *([None] * 9), water or None, feed or None, len(figures.in_week), ""]


def _counts(page: Page, figures: Figures) -> None:
    log = figures.log
    unreadable = sum(left.fate is Fate.UNREADABLE for left in log.left_out)
    ignored = len(log.left_out) - unreadable
    page.section("What was read")
    sentences = [
        f"{_count(len(figures.in_week), 'reading')} in the week, {_count(len(log.readings), 'reading')} in the log."
    ]
    if figures.later:
        day = long_date(figures.as_of)
        sentences.append(f"{_count(figures.later, 'reading')} after {day}, the day of this report: not used.")
    sentences.append(
        f"{_count(unreadable, 'cell')} could not be read and {ignored} were ignored: "
        "each is on the sheet Left out, with its place and the reason."
    )
    if figures.problems:
        sentences.append(f"{_count(len(figures.problems), 'figure')} could not be worked out: see the sheet Left out.")
    for sentence in sentences:
        page.line(sentence)


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _notes(page: Page, figures: Figures) -> None:
    notes = [reading for reading in figures.in_week if reading.notes]
    if not notes:
        return
    page.gap()
    page.section("Notes of the week")
    for reading in sorted(notes, key=lambda reading: reading.date):
        page.line(f"{reading.date:%a} {reading.date.day} {reading.date:%b}   {reading.bed}   {reading.notes}")
