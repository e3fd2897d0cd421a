"""What the pages of the report are made from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ...sheets.table_columns import Column, Formula, Value
from ...sheets.text_size import text_width
from ..advice import actions
from ..advice.action import Action
from ..figures.changes import Previous
from ..figures.log_units import paper_of_units
from ..figures.photo_folder import Photos
from ..figures.week_figures import Figures
from .page import Block, Page, Table

WIDEST_NAME, ROOM_BESIDE_NAME = 24.0, 3.2
"""Of a column of names [digits]; longer ones take several lines."""


@dataclass(frozen=True)
class Material:
    """The figures of the week, and an earlier log and photos where they were given."""

    figures: Figures
    previous: Previous | None = None
    photos: Photos | None = None
    asked_paper: str = ""
    """``Letter`` or ``A4`` where one was asked for."""

    def bed_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the names of the beds, as wide as they need."""
        return _names("Bed", (bed.name for bed in self.figures.beds), least, most)

    def feed_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the names of the feeds, as wide as they need."""
        return _names("Feed", (feed.feed.name for feed in self.figures.feeds), least, most)

    def part_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the names of feeds and of their parts, as wide as they need."""
        parts = (f"{dose.order}. {dose.part.name}" for bed in self.figures.beds for dose in bed.fill.doses)
        feeds = (feed.feed.name for feed in self.figures.feeds)
        return _names("Feed or part", (*feeds, *parts), least, most)

    def crop_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the crops, as wide as they need."""
        return _names("Crop", (bed.bed.crop for bed in self.figures.beds), least, most)

    @cached_property
    def actions(self) -> list[Action]:
        """What is to be done, the most urgent first."""
        return actions(self.figures)

    @property
    def paper(self) -> str:
        """The paper asked for, else that of the log's units."""
        return self.asked_paper or paper_of_units(self.figures.log.units)

    def page(
        self,
        name: str,
        title: str,
        blocks: Iterable[Block],
        *,
        landscape: bool = False,
        behind: bool = False,
        printed: bool = True,
        subtitle: str = "",
    ) -> Page:
        """A page with the week and the log below its title."""
        week, log = self.figures.week, self.figures.log
        under = subtitle or " · ".join(part for part in (week.title, week.span, log.title) if part)
        return Page(name, title, under, tuple(blocks), landscape, behind, printed, joins=True)


def used(table: Table) -> Table:
    """A table without the columns of numbers of which the log tells nothing."""
    rows = [*table.rows, *([table.totals] if table.totals else [])]
    kept = [
        place
        for place, column in enumerate(table.columns)
        if column.is_text or any(row[place] not in (None, "") for row in rows)
    ]
    places = [f"{{{kept.index(place)}}}" if place in kept else "" for place in range(len(table.columns))]

    def without(row: Sequence[Value]) -> list[Value]:
        cells = [row[place] for place in kept]
        return [replace(c, text=c.text.format(*places)) if isinstance(c, Formula) else c for c in cells]

    totals = without(table.totals) if table.totals else None
    columns = [table.columns[place] for place in kept]
    return replace(table, columns=columns, rows=[without(row) for row in table.rows], totals=totals)


def _names(heading: str, names: Iterable[str], least: float, most: float) -> Column:
    needed = max((text_width(name) for name in names), default=0.0) + ROOM_BESIDE_NAME
    return Column(heading, min(max(least, needed), most), wrap=True)
