"""What becomes of the cells outside the tables: titles, notes, and what is not understood."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from ...recalculation.cells import cell_name
from ..inputs.log_cells import LogCell, Sheet
from ..mapping import IGNORE
from ..model.entries import name_key
from ..model.found import CellNote, Fate
from ..tables.grids import Table
from ..vocabulary.names import is_total
from ..vocabulary.shapes import Shape, is_text, looks_like_data, shape_of
from ..vocabulary.words import is_other, words_of
from .builder import Builder

LONGEST_TITLE = 80
"""Characters beyond which a text above a table is no title; ours."""
FEWEST_DATES, WORDS_OF_SENTENCE, PAGE_SHARE = 3, 3, 10
"""A sheet with so many dates is a log; a sentence has more words than that; one cell in so many makes a page. Ours."""
LISTED_SINGLY = 4
"""Cells of a column that are ignored and listed one by one; more are listed as an area."""
PLACES_BESIDE = 8
"""Cells to the left of a number in which its label is looked for; ours."""
BESIDE_TITLES = frozenset({"year", "season", "page", "version", "week", "phone", "rev", "month", "meter", "scale"})
"""Words of labels whose numbers are no data; common practice, no source."""


def leave_the_rest(
    builder: Builder, sheets: Iterable[Sheet], found: Mapping[str, Sequence[Table]], areas: list[CellNote]
) -> str:
    """Note every cell outside the tables; gives the title of the log, a text above the first table."""
    titles: list[str] = []
    first_sheet = next((title for title, tables in found.items() if tables), None)
    for sheet in sheets:
        tables = found[sheet.title]
        top = min((min(cell.row for cell in table.heading_cells) for table in tables if table.heading_cells), default=0)
        told = any(entry.kind == IGNORE for entry in builder.log_map.on(sheet.title))
        page = not tables and _is_page(sheet)
        ignored: dict[int, list[LogCell]] = {}
        for number, cells in sheet.rows.items():
            for cell in cells.values():
                if number < top and sheet.title == first_sheet and _is_title(cell):
                    titles.append(cell.text)
                if cell.fate is not None:
                    continue
                if (
                    told
                    or not looks_like_data(cell)
                    or (number, cell.column) in sheet.computed
                    or _is_beside(cells, cell)
                    or page
                ):
                    cell.settle(Fate.IGNORED)
                    ignored.setdefault(cell.column, []).append(cell)
                else:
                    why = "stands beside the tables" if tables else "no table is known on this sheet"
                    builder.leave(cell, Fate.UNREADABLE, why)
        _list_ignored(sheet, ignored, top, told, bool(tables), areas)
    return titles[0] if titles else ""


def _is_page(sheet: Sheet) -> bool:
    """Whether a sheet without a table is no log: it has no dates, and sentences or formulas on it."""
    cells = [cell for row in sheet.rows.values() for cell in row.values()]
    if sum(shape_of(cell) is Shape.DATE for cell in cells) >= FEWEST_DATES:
        return False
    texts = [cell for cell in cells if isinstance(cell.value, str) and not looks_like_data(cell)]
    sentences = sum(cell.text.count(" ") >= WORDS_OF_SENTENCE for cell in texts)
    is_text = sentences * PAGE_SHARE >= len(cells) and len(texts) * 2 > len(cells)
    return is_text or len(sheet.computed) * PAGE_SHARE >= len(cells)


def _is_beside(cells: Mapping[int, LogCell], cell: LogCell) -> bool:
    """Whether a number stands beside a label such as ``season`` or ``total``."""
    near = (cells[place] for place in range(cell.column - 1, cell.column - 1 - PLACES_BESIDE, -1) if place in cells)
    label = next((other for other in near if is_text(other)), None)
    if label is None:
        return False
    text = label.text
    words = set(words_of(text))
    is_lone = sum(shape_of(other) is Shape.NUMBER for other in cells.values()) == 1
    return bool(words & BESIDE_TITLES and len(words) <= 3) or is_total(text) or (is_lone and is_other(text))


def _is_title(cell: LogCell) -> bool:
    """Whether a text above a table says more than its sheet's name and less than an instruction."""
    text = cell.text
    return is_text(cell) and name_key(text) != name_key(cell.sheet) and len(text) <= LONGEST_TITLE


def _list_ignored(
    sheet: Sheet, ignored: Mapping[int, Sequence[LogCell]], top: int, told: bool, has_tables: bool,
    areas: list[CellNote],
) -> None:  # fmt: skip
    """List what is ignored on purpose: a sheet without a table as one area, long columns as one each."""
    every = [cell for cells in ignored.values() for cell in cells]
    if not every:
        return
    if not has_tables:
        reason = "no table is known on this sheet"
        if told:
            reason = "the mapping file says to ignore it"
        elif _is_page(sheet):
            reason = "a page of text or calculations: no table is known on it"
        areas.append(_area(every, reason))
        return
    for cells in ignored.values():
        above = [cell for cell in cells if cell.row < top]
        beside = [cell for cell in cells if cell.row >= top]
        for some, reason in ((above, "a title above a table"), (beside, "stands beside the tables")):
            if len(some) > LISTED_SINGLY:
                areas.append(_area(some, reason))
            else:
                areas.extend(CellNote(cell.sheet, cell.name, cell.text, Fate.IGNORED, reason) for cell in some)


def _area(cells: Sequence[LogCell], reason: str) -> CellNote:
    """One entry for several cells."""
    first = cell_name(min(cell.row for cell in cells), min(cell.column for cell in cells))
    last = cell_name(max(cell.row for cell in cells), max(cell.column for cell in cells))
    area = first if first == last else f"{first}:{last}"
    content = cells[0].text if len(cells) == 1 else f"{len(cells)} filled cells"
    return CellNote(cells[0].sheet, area, content, Fate.IGNORED, reason)
