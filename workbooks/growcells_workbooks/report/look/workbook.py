"""The report as a workbook."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from ...gate.safe_xml import writable
from ...sheets.print_setup import A4, LETTER, set_up_print
from ...sheets.sheet_writer import SheetWriter
from ...sheets.styles import Painter, new_book
from ...sheets.workbook_files import workbook_bytes
from ..pages.page import Block, ChartGrid, Document, Gap, NewPage, Page, PhotoRow, Section, Table, Text
from .charts import draw_charts
from .pictures import draw_photos

PAPERS = {"Letter": LETTER, "A4": A4}
LEAST_ROWS = 4
"""Rows that are printed of a page with nothing below its title."""


@dataclass
class BookWriter:
    """A workbook in the making; ``stored`` takes the values of its formulas."""

    book: Workbook = field(default_factory=new_book)
    painter: Painter = field(default_factory=Painter)
    stored: dict[tuple[str, str], float | str] = field(default_factory=dict)
    tables: dict[str, tuple[Worksheet, int]] = field(default_factory=dict)
    """Where the tables with a key stand: the sheet, and the row of the first record."""
    charts: list[tuple[Worksheet, int, ChartGrid]] = field(default_factory=list)
    """What is drawn once all tables stand: on which sheet, and from which row on."""

    def write(self, page: Page, paper: int, footer: str) -> None:
        """Add a sheet with a page."""
        sheet = self.book.create_sheet(page.name)
        assert isinstance(sheet, Worksheet)
        writer = SheetWriter(
            sheet, page.title, page.subtitle, len(page.columns), self.painter, self.stored, page.columns
        )
        set_up_print(sheet, landscape=page.landscape, paper=paper, footer=footer, one_page=page.one_page)
        for block in page.blocks:
            self._draw(writer, block, page.one_page)
        sheet.print_area = f"A1:{sheet.cell(max(writer.row - 1, LEAST_ROWS), writer.width).coordinate}"

    def _draw(self, writer: SheetWriter, block: Block, one_page: bool) -> None:
        match block:
            case Section():
                writer.section(block.title)
            case Text():
                writer.paragraph(block.text, "small" if block.small else "body")
            case Gap():
                writer.gap()
            case NewPage():
                writer.turn()
            case Table():
                self._table(writer, block, one_page)
            case PhotoRow():
                draw_photos(writer, block)
            case ChartGrid():
                writer.sheet.print_title_rows = f"1:{writer.row - 1}"
                self.charts.append((writer.sheet, writer.row + 1, block))

    def _table(self, writer: SheetWriter, table: Table, one_page: bool) -> None:
        first, _ = writer.table(table.columns, table.rows, table.totals)
        if table.key:
            self.tables[table.key] = writer.sheet, first
        if table.frozen_columns is not None:
            writer.sheet.freeze_panes = writer.sheet.cell(first, table.frozen_columns + 1).coordinate
            if not one_page:
                writer.sheet.print_title_rows = f"{first - 1}:{first - 1}"


def report_bytes(document: Document, day: datetime.date, creator: str, category: str) -> bytes:
    """The file of the report, dated to a day."""
    writer = BookWriter()
    for page in document.pages:
        writer.write(page, PAPERS[document.paper], document.footer)
    for sheet, top, grid in writer.charts:
        draw_charts(sheet, top, grid, writer.tables)
    properties = writer.book.properties
    properties.title, properties.creator, properties.category = writable(document.title), creator, category
    return workbook_bytes(writer.book, day, writer.stored)
