"""What all pages of the report share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from .figures import Figures
from .look import A4, LETTER, Column, Page, set_up_print


@dataclass(frozen=True)
class Paper:
    """What all pages share."""

    book: Workbook
    figures: Figures

    @property
    def size(self) -> int:
        """Letter where the log measures in US units, else A4."""
        units = {self.figures.unit_label(key) for key in ("beds.volume", "beds.depth")}
        return LETTER if units & {"gal", "in"} else A4

    def page(self, name: str, title: str, columns: Sequence[Column], *, landscape: bool, width: int = 0) -> Page:
        """A new sheet with its title, set up to print."""
        sheet = self.book.create_sheet(name)
        assert isinstance(sheet, Worksheet)
        week, log = self.figures.week, self.figures.log
        subtitle = " · ".join(part for part in (week.title, week.span, log.title) if part)
        page = Page(sheet, title, subtitle, width or len(columns))
        page.widths(columns)
        set_up_print(sheet, landscape=landscape, paper=self.size, footer=f"{week.title} · {log.path.name}")
        return page


def freeze(page: Page, heading_row: int, columns: int = 0) -> None:
    """Keep the rows down to the headings in view, and on every printed page."""
    page.sheet.freeze_panes = page.sheet.cell(heading_row + 1, columns + 1).coordinate
    page.sheet.print_title_rows = f"{heading_row}:{heading_row}"
