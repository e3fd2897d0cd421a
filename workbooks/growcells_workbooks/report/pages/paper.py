"""What all pages of the report share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from ...sheets.print_setup import A4, LETTER, set_up_print
from ...sheets.sheet_writer import Page
from ...sheets.styles import Painter
from ...sheets.table_columns import Column
from ...sheets.text_size import text_width
from ..figures.week_figures import Figures

if TYPE_CHECKING:
    from ..figures.changes import Previous
    from ..photos import Photos


WIDEST_NAME, ROOM_BESIDE_NAME = 24.0, 2.0
"""Of a column of names [digits]; longer ones take several lines."""


@dataclass(frozen=True)
class Paper:
    """What all pages share; ``stored`` takes the values of formulas."""

    book: Workbook
    figures: Figures
    previous: Previous | None = None
    photos: Photos | None = None
    painter: Painter = field(default_factory=Painter)
    stored: dict[tuple[str, str], float | str] = field(default_factory=dict)

    def bed_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the names of the beds, as wide as they need."""
        return self._names("Bed", (bed.name for bed in self.figures.beds), least, most)

    def feed_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the names of the feeds, as wide as they need."""
        return self._names("Feed", (feed.feed.name for feed in self.figures.feeds), least, most)

    def crop_column(self, least: float, most: float = WIDEST_NAME) -> Column:
        """The column with the crops, as wide as they need."""
        return self._names("Crop", (bed.bed.crop for bed in self.figures.beds), least, most)

    def _names(self, heading: str, names: Iterable[str], least: float, most: float) -> Column:
        needed = max((text_width(name) for name in names), default=0.0) + ROOM_BESIDE_NAME
        return Column(heading, min(max(least, needed), most), wrap=True)

    @property
    def size(self) -> int:
        """Letter where the log measures in US units, else A4."""
        units = {self.figures.unit_label(key) for key in ("beds.volume", "beds.depth")}
        return LETTER if units & {"gal", "in"} else A4

    def page(
        self,
        name: str,
        title: str,
        columns: Sequence[Column],
        *,
        landscape: bool,
        width: int = 0,
        one_page: bool = False,
        subtitle: str = "",
    ) -> Page:
        """A new sheet with its title, set up to print."""
        sheet = self.book.create_sheet(name)
        assert isinstance(sheet, Worksheet)
        week, log = self.figures.week, self.figures.log
        under = subtitle or " · ".join(part for part in (week.title, week.span, log.title) if part)
        page = Page(sheet, title, under, width or len(columns), self.painter, self.stored, columns)
        footer = f"{week.title} · {log.path.name}"
        set_up_print(sheet, landscape=landscape, paper=self.size, footer=footer, one_page=one_page)
        return page


def freeze(page: Page, heading_row: int, columns: int = 0) -> None:
    """Keep the rows down to the headings in view, and on every printed page."""
    page.sheet.freeze_panes = page.sheet.cell(heading_row + 1, columns + 1).coordinate
    page.sheet.print_title_rows = f"{heading_row}:{heading_row}"


def finish(page: Page) -> None:
    """Print what was written and nothing else."""
    page.sheet.print_area = f"A1:{page.sheet.cell(max(page.row - 1, 4), page.width).coordinate}"
