"""The form to write the readings of the coming week into by hand, with the beds and the days filled in."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...sheets.table_columns import Column, Value
from ..figures.iso_week import Week, week_of
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Gap, Lines, Page, Section, Table, Text

MOST_ROWS = 54
"""Rows of the form in a report: our choice, about two sheets of paper. The command ``form`` prints all of them."""
FEW = 3
"""Up to so many beds have a table each with a row for each day; with more each day has a table with all beds."""


def form_page(material: Material) -> Iterator[Page]:
    """The form as it stands in a report."""
    yield _page(material, MOST_ROWS)


def whole_form(material: Material) -> Iterator[Page]:
    """The form with every visit of the week."""
    yield _page(material, DAYS_IN_WEEK * max(len(material.figures.beds), 1))


def _page(material: Material, most: int) -> Page:
    figures = material.figures
    week = coming(figures)
    return material.page(
        "Form",
        "Readings of the coming week",
        _blocks(material, week, most),
        subtitle=" · ".join(part for part in (week.title, week.span, figures.log.title) if part),
    )


def coming(figures: Figures) -> Week:
    """The week after that of the report, or the one of its day where that is later."""
    return max(week_of(figures.week.last + datetime.timedelta(days=1)), week_of(figures.as_of), key=lambda w: w.first)


def visits(figures: Figures, week: Week) -> list[datetime.date]:
    """The days of the week on which somebody usually comes, counted on from the last visit."""
    every = max(round(figures.visit_days), 1)
    last = max((bed.last for bed in figures.beds if bed.last), default=None)
    first = week.first
    if last is not None and every < DAYS_IN_WEEK:
        first += datetime.timedelta(days=-(first - last).days % every)
    return [day for shift in range(0, DAYS_IN_WEEK, every) if (day := first + datetime.timedelta(days=shift)) in week]


def _blocks(material: Material, week: Week, most: int) -> Iterator[Block]:
    figures = material.figures
    days, beds = visits(figures, week), [bed.name for bed in figures.beds]
    shown = days[: max(most // max(len(beds), 1), 1)]
    yield Text("Measure before anything is added. Note what you add, and how leaves and roots look.")
    yield Text("Read by: ______________________    pH meter checked on: ______________________")
    if len(beds) <= FEW:  # there is room for every day
        shown = [week.first + datetime.timedelta(days=shift) for shift in range(DAYS_IN_WEEK)]
    dates = [f"{day:%a} {day.day} {day:%b}" for day in shown]
    tables = [(bed, "", dates) for bed in beds] if len(beds) <= FEW else [(date, "Bed", beds) for date in dates]
    for title, heading, names in tables:
        first = material.bed_column(14, 22) if heading else Column("Day", 14)
        columns = [first, *_to_fill_in(figures, 90 - first.width)]
        rows: list[list[Value]] = [[name, *([None] * (len(columns) - 1))] for name in names]
        yield Section(title)
        yield Table(columns, rows, by_hand=True)
        yield Gap()
    if len(shown) < len(days):
        yield Text(
            f"By the log somebody comes {len(days)} times a week. The form for all of them: "
            f"growcells form {figures.log.path.name}",
            small=True,
        )
    yield Lines("Notes")


def _to_fill_in(figures: Figures, room: float) -> list[Column]:
    """The columns of what is read, added and noted."""
    unit = figures.unit_label
    read = [
        Column("pH", 8),
        Column(f"EC\n[{unit('readings.ec')}]", 10),
        Column(f"water\n[{unit('readings.temperature')}]", 8),
        Column(f"depth\n[{unit('readings.depth')}]", 8),
        Column(f"water in\n[{unit('readings.water_added')}]", 10),
        Column(f"feed in\n[{unit('readings.feed_added')}]", 9),
    ]
    return [*read, Column("notes", room - sum(column.width for column in read))]
