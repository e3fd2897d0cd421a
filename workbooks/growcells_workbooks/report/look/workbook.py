"""The report as a workbook."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from xlsxwriter.worksheet import Worksheet

from ...sheets.print_setup import PAPERS, room_down, set_up_print
from ...sheets.sheet_writer import SECTION_HEIGHT, SheetWriter, TrialWriter
from ...sheets.styles import Painter, Style
from ...sheets.table_columns import LINE_HEIGHT, Column, Value, heading_height, placed, row_height
from ...sheets.workbook_files import Book, workbook_bytes
from ..pages.page import Block, Card, ChartGrid, Document, Gap, Lines, Page, PhotoRow, Section, Table, Text
from .cards import draw_card
from .charts import draw_charts, rows_high, rows_of_charts
from .grid import Grid, fitted_page, grid_of
from .pictures import draw_photos

LEAST_ROWS = 4
"""Rows that are printed of a page with nothing below its title."""
BY_HAND, HIGH, FEW_ROWS = 21, 24, 8
"""Height of a row to write into [points], and of one where there are few: a ruled pad has 20 to 25. Ours."""
SURE = 0.985
"""Part of the height of the paper that is filled: programs differ by a little in how high rows print."""
HALF = 0.65
"""Of a page filled as far, no half is empty, even where a wide face has all printed a little smaller."""
FLOWS = 0.75
"""A page that is filled less than this goes on with what follows, which then runs on to the next."""
MOST_ROWS_TRIED = 1_000
"""Rows of tables with which it is tried whether a page has room below another."""
FEWEST_ROWS = 3
"""Rows of a long table that stand below its headings at the foot of a page, and at the head of its last."""


@dataclass
class Sheet:
    """A sheet in the making, and how much of its last page is filled [points]."""

    writer: SheetWriter
    grid: Grid
    room: float
    used: float = 0.0

    def took(self, first: int, notes: Sequence[int] = ()) -> None:
        """Take note of what was written from a row on; what does not fit begins a new page.

        ``notes`` are the rows at which it may be parted, where else half of a page would stay empty.
        """
        height = self.writer.height(first)
        if self.used and self.used + height > self.room:
            left = height - self.room + self.used  # at least so much goes to the next page
            parted = [row for row in notes if self.writer.height(row) >= left] if self.used < self.room * HALF else []
            self.writer.turn(max(parted, default=first))
            self.used, height = 0.0, self.writer.height(max(parted, default=first))
        self.used += height

    def gap(self) -> None:
        """Leave some room before what follows, but none where that begins a page."""
        if self.used and self.used + LINE_HEIGHT <= self.room:
            self.writer.gap()
            self.used += LINE_HEIGHT


@dataclass
class BookWriter:
    """A workbook in the making."""

    paper: int
    footer: str = ""
    book: Book = field(default_factory=Book)
    tables: dict[str, tuple[Worksheet, int, Sequence[int]]] = field(default_factory=dict)
    """Where the tables with a key stand: the sheet, the row of the first record, the columns."""
    charts: list[tuple[SheetWriter, int, float, ChartGrid]] = field(default_factory=list)
    """What is drawn once all tables stand: on which sheet, from which row on, and how high a chart is."""

    def __post_init__(self) -> None:
        self.painter = Painter(self.book)

    def write(self, pages: Sequence[Page]) -> None:
        """Add a sheet with pages, which are fitted, below each other."""
        first = pages[0]
        sheet = self.book.add_worksheet(first.name)
        set_up_print(sheet, landscape=first.landscape, paper=self.paper, footer=self.footer)
        writer = self.lay_out(pages, sheet).writer
        writer.finish()
        if first.printed:  # LibreOffice prints even a hidden sheet that has an area to print
            sheet.print_area(0, 0, max(writer.row - 1, LEAST_ROWS) - 1, writer.width - 1)
        else:
            sheet.hide()

    def lay_out(self, pages: Sequence[Page], sheet: Worksheet, writer_of: type[SheetWriter] = SheetWriter) -> Sheet:
        """Draw pages below each other on a sheet."""
        first, grid = pages[0], grid_of(pages)
        columns = [Column("", width) for width in grid.widths]
        writer = writer_of(sheet, self.painter, first.title, first.subtitle, len(columns), columns)
        made = Sheet(writer, grid, room_down(self.paper, first.landscape) * SURE)
        start = 1
        for page in pages:
            if page is not first:
                made.gap()
                start = writer.row
                writer.heading(page.title, "" if page.subtitle == first.subtitle else page.subtitle)
            for unit in units(page.blocks):
                self._draw(made, page, unit, start)
                start = writer.row
        return made

    def _draw(self, made: Sheet, page: Page, unit: Sequence[Block], start: int) -> None:
        """Draw what must stand together, from the row on in which it begins."""
        notes: list[int] = []
        for before, block in zip((None, *unit), unit, strict=False):
            if is_note(block) and is_note(before):
                notes.append(made.writer.row)
            match block:
                case Section():
                    made.writer.section(block.title)
                case Text():
                    made.writer.paragraph(block.text, "small" if block.small else "body")
                case Gap():
                    made.gap()
                    return
                case Table():
                    start = self._table(made, page, block, start)
                case Lines():
                    self._lines(made, block)
                    return
                case Card():
                    draw_card(made.writer, made.grid, block)
                case PhotoRow():
                    draw_photos(made.writer, block)
                case ChartGrid():
                    self._charts(made, block)
                    return
        made.took(start, notes)

    def _table(self, made: Sheet, page: Page, table: Table, start: int) -> int:
        """Draw a table, on several pages where none holds it; the answer is the row from which on none is counted."""
        writer = made.writer
        columns = made.grid.laid(table.columns)
        rule, least = ("frame", HIGH if len(table.rows) <= FEW_ROWS else BY_HAND) if table.by_hand else ("thin", 0.0)
        top = heading_height(columns) + (LINE_HEIGHT + 2) * any(column.group for column in columns)
        first = 0
        parts = (
            list(parts_of(columns, table, least, made, top + writer.height(start))) if page.printed else [table.rows]
        )
        for number, rows in enumerate(parts):
            last = number == len(parts) - 1
            begin, _ = writer.table(columns, rows, table.totals if last else None, rule, least, first)
            first = first or begin
            if not last:
                made.took(start)
                made.used = made.room
                start = writer.row
        if table.key:
            self.tables[table.key] = writer.sheet, first, [place for place, _ in placed(columns)]
        if table.frozen_columns is not None and table is next(iter(page.blocks)):
            frozen = sum(column.span for column in columns[: table.frozen_columns])
            writer.freeze(first, frozen + 1)
        return start

    def _lines(self, made: Sheet, block: Lines) -> None:
        """Draw lines to write on in what is left of the page; nothing where that is little."""
        writer = made.writer
        lines = int((made.room - made.used - SECTION_HEIGHT) / BY_HAND)
        if lines < FEWEST_ROWS:
            return
        begin = writer.row
        writer.section(block.title)
        for _ in range(lines):
            for place in range(1, writer.width + 1):
                writer.paint(writer.row, place, Style(rule="thin"))
            writer.set_height(writer.row, BY_HAND)
            writer.row += 1
        made.took(begin)

    def _charts(self, made: Sheet, grid: ChartGrid) -> None:
        writer = made.writer
        writer.sheet.repeat_rows(0, writer.row - 2)
        room = made.room - writer.height(1)
        height, breaks = rows_of_charts(len(grid.rows), room)
        self.charts.append((writer, writer.row, height, grid))
        for number in range(len(grid.rows)):
            if number in breaks:
                writer.turn()
            for _ in range(rows_high(height)):
                writer.set_height(writer.row, height / rows_high(height))
                writer.row += 1
        made.used = made.room


def units(blocks: Sequence[Block]) -> Iterator[list[Block]]:
    """The blocks in parts that must stand together: headings with what follows them, a table with what leads to it
    below its heading, and with its notes.

    What a page says before anything else stands with what follows it too.
    """
    unit: list[Block] = []
    opening = True
    for block, after in itertools.pairwise((*blocks, None)):
        assert block is not None
        unit.append(block)
        opening = opening and isinstance(block, Text)
        if (
            opening
            or isinstance(block, Section)
            or (isinstance(unit[0], Section) and isinstance(block, Text) and isinstance(after, Table))
            or (is_note(after) and (isinstance(block, Table) or (is_note(block) and len(unit) > 1)))
        ):
            continue
        yield unit
        unit = []
    if unit:
        yield unit


def is_note(block: Block | None) -> bool:
    """Whether a block explains the table above it."""
    return isinstance(block, Text) and block.small


def parts_of(
    columns: Sequence[Column], table: Table, least: float, made: Sheet, above: float
) -> Iterator[Sequence[Sequence[Value]]]:
    """The rows of a table by the page on which they stand: all on one where one page holds them.

    A table that would leave half of a page empty before it runs on to the next, under the same headings.
    """
    heights = [max(row_height(columns, row), least) for row in table.rows]
    below = LINE_HEIGHT + 3.0 if table.totals else 0.0
    whole = sum(heights) + above + below
    if whole <= made.room - made.used or (whole <= made.room and made.used > made.room * HALF):
        yield table.rows
        return
    left = made.room - made.used - above
    if left < sum(heights[:FEWEST_ROWS]):
        left = made.room - above
    begin = start = 0
    latest = len(heights) - FEWEST_ROWS
    for number, height in enumerate(heights):
        if table.rows[number][0] not in ("", None) and number <= latest:
            start = number  # the rows of a bed stand together
        left -= height
        if left < below and number > begin:
            cut = start if start > begin else number
            yield table.rows[begin:cut]
            left = made.room - above - sum(heights[cut : number + 1])
            begin = cut
    yield table.rows[begin:]


def sheets_of(pages: Sequence[Page], paper: int) -> Iterator[list[Page]]:
    """The pages by the sheet on which they stand: one that has room below the one before it stands there."""
    together: list[Page] = []
    trials = Trials(BookWriter(paper))
    for page in pages:
        if together and fits_below(together, page, trials):
            together.append(page)
            continue
        if together:
            yield together
        together = [page]
    if together:
        yield together


@dataclass
class Trials:
    """Sheets of pages that are laid out on paper to see how much of it they take, each once."""

    writer: BookWriter
    made: dict[tuple[int, ...], Sheet] = field(default_factory=dict)
    """By the identities of the pages, which the caller holds."""

    def of(self, pages: Sequence[Page]) -> Sheet:
        """The sheet of some pages below each other."""
        key = tuple(map(id, pages))
        if key not in self.made:
            self.made[key] = self.writer.lay_out(pages, Worksheet(), TrialWriter)
        return self.made[key]


def fits_below(together: Sequence[Page], page: Page, trials: Trials) -> bool:
    """Whether a page has room on the last sheet of paper that others take, or would else leave half of it empty."""
    above = together[-1]
    if not page.joins or (above.landscape, above.behind, above.printed) != (page.landscape, page.behind, page.printed):
        return False
    blocks = [block for other in (*together, page) for block in other.blocks]
    if any(isinstance(block, ChartGrid | PhotoRow) for block in blocks):
        return False
    if sum(len(block.rows) for block in blocks if isinstance(block, Table)) > MOST_ROWS_TRIED:
        return False
    before = trials.of(together)
    if before.used < FLOWS * before.room:
        return True
    pages = len(before.writer.breaks)
    return len(trials.of([*together, page]).writer.breaks) == pages


def report_bytes(document: Document, day: datetime.date, creator: str, category: str) -> bytes:
    """The file of the report, dated to a day."""
    paper = PAPERS[document.paper]
    writer = BookWriter(paper, document.footer)
    for pages in sheets_of([fitted_page(page) for page in document.pages], paper):
        writer.write(pages)
    for sheet, top, height, grid in writer.charts:
        draw_charts(sheet, top, height, grid, writer.tables)
    return workbook_bytes(writer.book, day, title=document.title, author=creator, category=category)
