"""Finding what heads a table whose records are rows or columns, by what the headings say."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from .cells import LogCell
from .dates import looks_like_date
from .grid import Sheet
from .heads import ColumnsHead, RowsHead
from .mapping import MapTable
from .tables import Heading, Settings
from .words import MEASURED, best_claim, best_match, claims, fields, label_key

LONGEST_HEADING = 60
"""Characters beyond which a text is no heading but a note; ours."""
FUNCTION = "GROW_"
"""How the name of a cell function begins; a list of functions or of formulas, as in the starter log, is no table."""
MOST_HEADINGS = 200
"""Headings of one table beyond which it is no table that a person keeps; ours."""
TITLE_ROWS = 3
"""How far above a table its title may stand [rows]; ours."""


def may_be_heading(cell: LogCell) -> bool:
    """Whether a cell may head a column: a short text that does not begin with a digit and names no cell function."""
    value = cell.value
    if not isinstance(value, str):
        return False
    text = value.strip()
    return not text[:1].isdigit() and not text.lstrip("=").startswith(FUNCTION) and len(text) <= LONGEST_HEADING


Texts = Mapping[int, tuple[str, ...]]
"""The texts that head each column (or row)."""


@dataclass(frozen=True)
class Understood:
    """What a set of headings was taken for."""

    kind: str
    texts: Texts
    headings: dict[int, Heading]
    points: float
    settings: Settings


def understood(texts: Texts, cells: Mapping[int, LogCell], mapped: Sequence[MapTable]) -> Understood | None:
    """What headings were taken for: as a mapping file says, or else by their words; None where they are none."""
    keys = [label_key(" ".join(dict.fromkeys(texts[place][-1:]))) for place in sorted(texts)]
    for entry in mapped:
        if entry.columns and keys == [label_key(column.heading) for column in entry.columns]:
            known = {known.name: known for known in fields().get(entry.kind, ())}
            headings = {
                place: Heading(known[column.field], cells[place], column.unit, settled=True)
                for place, column in zip(sorted(texts), entry.columns, strict=True)
                if column.field in known
            }
            return Understood(entry.kind, texts, headings, float("inf"), entry.settings)
    if len(texts) > MOST_HEADINGS:
        return None
    match = best_match(tuple((place, texts[place]) for place in sorted(texts)))
    if match is None:
        return None
    headings = {place: Heading.of(claim, cells[place]) for place, claim in match.columns.items()}
    return Understood(match.table, texts, headings, match.points, Settings())


def rows_heads(sheet: Sheet, row: int, mapped: Sequence[MapTable]) -> list[RowsHead]:
    """The tables with a row for each record whose headings begin in a row."""
    cells = sheet.rows[row]
    runs = _runs(cells)
    mapped = titled(sheet, row, cells, mapped)
    if not runs or (len(cells) < 2 and row + 1 not in sheet.rows):
        return []
    two = _two_rows(sheet, row, mapped)
    if two is not None:
        return [two]
    whole = {column: cell for column, cell in cells.items() if may_be_heading(cell)}
    if len(whole) < 2:
        return []
    all_text = len(whole) == len(cells)
    parts = [head for run in runs if len(run) > 1 and (head := _one_row(sheet, row, run, mapped))]
    if all_text and not (len(runs) > 1 and len(parts) > 1):
        head = _one_row(sheet, row, whole, mapped)
        if head:
            return [head]
    return parts


def titled(
    sheet: Sheet, row: int, cells: Mapping[int, LogCell], mapped: Sequence[MapTable]
) -> Sequence[MapTable]:  # fmt: skip
    """What a mapping file says of tables whose headings stand in a row, by the texts right above it."""
    if not any(entry.title for entry in mapped):
        return mapped
    above = [cell.text for cell in titles_above(sheet, row, min(cells), max(cells))]
    return [entry for entry in mapped if entry.has_title(above)]


def titles_above(sheet: Sheet, row: int, left: int, right: int) -> list[LogCell]:
    """The texts right above some columns, the nearest first, as far as nothing else stands between."""
    found: list[LogCell] = []
    for number in range(row - 1, max(0, row - 1 - TITLE_ROWS), -1):
        cells = [cell for column, cell in sheet.rows.get(number, {}).items() if left <= column <= right]
        if len(cells) > 1 or (cells and not isinstance(cells[0].value, str)):
            break
        found += cells
    return found


def _runs(cells: Mapping[int, LogCell]) -> list[dict[int, LogCell]]:
    """Neighbouring cells that may be headings."""
    runs: list[dict[int, LogCell]] = []
    for column, cell in cells.items():
        if may_be_heading(cell):
            if runs and column - 1 in runs[-1]:
                runs[-1][column] = cell
            else:
                runs.append({column: cell})
    return runs


def _one_row(sheet: Sheet, row: int, cells: dict[int, LogCell], mapped: Sequence[MapTable]) -> RowsHead | None:
    texts = {column: (cell.text,) for column, cell in cells.items()}
    found = understood(texts, cells, mapped) or _with_dates_unnamed(sheet, row, cells, texts, mapped)
    return _rows_head(sheet, row, row, cells, (), found) if found else None


def _with_dates_unnamed(
    sheet: Sheet, row: int, cells: dict[int, LogCell], texts: Texts, mapped: Sequence[MapTable]
) -> Understood | None:
    """Headings of readings over a column of dates that has no heading, which is the one to their left."""
    if not any(best_claim(text, "readings", MEASURED) for text in texts.values()):
        return None
    column = min(cells) - 1
    below = sheet.rows.get(row + 1, {}).get(column)
    if column in sheet.rows[row] or below is None or not looks_like_date(below.value):
        return None
    cells[column] = LogCell(sheet.title, row, column, "")
    found = understood({**texts, column: ("date",)}, cells, mapped)
    if found is None or found.kind != "readings":
        del cells[column]
        return None
    return found


def _rows_head(
    sheet: Sheet, first: int, row: int, cells: Mapping[int, LogCell], upper: tuple[LogCell, ...], found: Understood
) -> RowsHead:
    every = tuple(cell for _, cell in sorted(cells.items()))
    listed = tuple((cell, found.texts[column][-1]) for column, cell in sorted(cells.items()))
    return RowsHead(
        sheet, first, row, min(cells), max(cells), found.kind, found.headings,
        (*every, *(cell for cell in upper if cell not in every)), listed, found.settings,
    )  # fmt: skip


def _two_rows(sheet: Sheet, row: int, mapped: Sequence[MapTable]) -> RowsHead | None:
    """Headings in two rows, such as what is measured and below it the unit, where both rows say more than one."""
    top, bottom = sheet.rows[row], sheet.rows.get(row + 1)
    # A text alone in its row is a title.
    if not bottom or len(top) < 2:
        return None
    if not all(may_be_heading(cell) for cells in (top, bottom) for cell in cells.values()):
        return None
    cells = {column: bottom.get(column) or top[column] for column in sorted({*top, *bottom})}
    if len(cells) < 2:
        return None
    texts = {column: _texts(_over(top, column), bottom.get(column), column in top) for column in cells}
    found = understood(texts, cells, mapped)
    if found is None:
        return None
    if found.points != float("inf"):
        singles = [
            understood({column: (cell.text,) for column, cell in one.items()}, one, mapped) for one in (top, bottom)
        ]
        if any(single is not None and single.points >= found.points for single in singles):
            return None
        helping = sum(
            column in found.headings and not _says(top.get(column), found.headings[column]) for column in bottom
        )
        if helping * 2 < len(bottom):
            return None
    return _rows_head(sheet, row, row + 1, cells, tuple(top.values()), found)


def _over(top: Mapping[int, LogCell], column: int) -> LogCell | None:
    """The upper heading of a column: that above it or, as it spans several columns, the next to its left."""
    return next((top[place] for place in sorted(top, reverse=True) if place <= column), None)


def _texts(top: LogCell | None, bottom: LogCell | None, own: bool) -> tuple[str, ...]:
    """The texts that may be a heading of two rows, the whole of it last."""
    if bottom is None or top is None:
        return ((bottom or top).text,)  # type: ignore[union-attr]  # one of them is there
    joined = f"{top.text} {bottom.text}"
    return (top.text, bottom.text, joined) if own else (bottom.text, joined)


def _says(cell: LogCell | None, heading: Heading) -> bool:
    """Whether a cell alone names this field and unit."""
    if cell is None:
        return False
    offers = claims((cell.text,), heading.field.table)
    return any(offer.field is heading.field and offer.unit == heading.unit for offer in offers)


def columns_heads(sheet: Sheet, rows: Sequence[int], mapped: Sequence[MapTable]) -> Iterator[ColumnsHead]:
    """The tables with a column for each record whose headings stand one below the other among some rows."""
    columns = sorted({column for row in rows for column, cell in sheet.rows[row].items() if may_be_heading(cell)})
    taken: set[int] = set()
    for column in columns:
        for run in _down_runs(sheet, rows, column):
            if len(run) > 1 and not taken.intersection(run) and (head := _columns_head(sheet, column, run, mapped)):
                taken.update(run)
                yield head


def _down_runs(sheet: Sheet, rows: Sequence[int], column: int) -> list[dict[int, LogCell]]:
    runs: list[dict[int, LogCell]] = []
    for row in rows:
        cell = sheet.rows[row].get(column)
        if cell is None or not may_be_heading(cell):
            continue
        if runs and row - 1 in runs[-1]:
            runs[-1][row] = cell
        else:
            runs.append({row: cell})
    return runs


def _columns_head(sheet: Sheet, column: int, run: dict[int, LogCell], mapped: Sequence[MapTable]) -> ColumnsHead | None:
    # A title may stand right above the headings, and a note right below them.
    places = sorted(run)
    for first, last in ((0, 0), (1, 0), (0, 1), (1, 1)):
        kept = {row: run[row] for row in places[first : len(places) - last]}
        if len(kept) < 2:
            continue
        found = understood({row: (cell.text,) for row, cell in kept.items()}, kept, mapped)
        if found is None:
            continue
        right = column
        while any(right + 1 in sheet.rows[row] for row in kept):
            right += 1
        if right == column or not _holds_values(sheet, found, column + 1, right):
            continue
        return ColumnsHead(
            sheet, min(kept), max(kept), column, right, found.kind, found.headings, tuple(kept.values()),
            tuple((cell, cell.text) for cell in kept.values()), found.settings,
        )  # fmt: skip
    return None


def _holds_values(sheet: Sheet, found: Understood, first: int, last: int) -> bool:
    """Whether what stands beside headings is measured, and not a text that explains them."""
    dates = [row for row, heading in found.headings.items() if heading.field.name == "date"]
    numbers = [row for row, heading in found.headings.items() if heading.field.quantity not in ("text", "date")]
    has_date = any(
        looks_like_date(sheet.rows[row][column].value)
        for row in dates
        for column in range(first, last + 1)
        if column in sheet.rows[row]
    )
    has_number = any(
        sheet.rows[row][column].text[:1].isdigit()
        for row in numbers
        for column in range(first, last + 1)
        if column in sheet.rows[row]
    )
    return has_number and (has_date or found.kind != "readings")
