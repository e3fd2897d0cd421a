"""Where tables with a row for each record begin: in how many rows of headings, how many side by side."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ..columns.column import OTHER, Column, Context, Understood
from ..columns.kinds import understood
from ..columns.readings_tables import takes_days_of_rows
from ..inputs.log_cells import LogCell, Sheet, ends
from ..mapping import Layout, MapTable, Settings, mapped
from ..model.entries import name_key
from ..vocabulary.date_texts import date_within
from ..vocabulary.names import Names, is_bed_word, is_generic, looks_like_bed, numbered_in
from ..vocabulary.several import values_in
from ..vocabulary.shapes import Shape, shape_of
from ..vocabulary.units import is_unit
from ..vocabulary.words import heads_others, is_known, label_key
from .grids import Grid, Table, may_be_heading, within
from .headings import TITLE_ROWS, Headings

MOST_HEADING_ROWS = 5


@dataclass
class _Block:
    """Rows of headings, and what they were taken for."""

    found: Understood
    first: int
    last: int
    left: int
    right: int
    context: Context
    settings: Settings
    layout: Layout
    cells: tuple[LogCell, ...]
    entry: MapTable | None = None


class Finder:
    """Finds the tables with a row for each record."""

    def __init__(
        self, sheet: Sheet, grid: Grid, names: Names, entries: Sequence[MapTable], titles: tuple[LogCell, ...] = ()
    ) -> None:
        self.sheet, self.grid, self.names = sheet, grid, names
        self.entries = [
            entry for entry in entries if (entry.layout in (Layout.COLUMNS, Layout.DATES_ACROSS)) == grid.turned
        ]
        self.titles = titles
        self.headings = Headings(sheet, grid, names)
        self.open: list[Table] = []
        self.found: list[Table] = []
        self._places: dict[int, list[tuple[int, str]]] = {}
        """By the identity of a table, which ``found`` holds."""

    def tables(self) -> list[Table]:
        """The tables of the grid."""
        busy = 0
        for row in self.grid.numbers:
            if row <= busy:
                continue
            blocks = self._blocks(row)
            for block in blocks:
                self.begin(block)
                busy = max(busy, block.last)
            if not blocks:
                self._end_before(row)
        return self.found

    def _end_before(self, row: int) -> None:
        """End tables of the day above them where their headings come again without one."""
        cells = self.grid.rows[row]
        for table in [table for table in self.open if _repeats(table, cells)]:
            table.end = min(table.end, row)
            self.open.remove(table)

    def begin(self, block: _Block) -> Table:
        """Begin a table, which ends those above it."""
        for table in self.open:
            if table.left <= block.right and block.left <= table.right:
                table.end = min(table.end, self._top_of(block, table))
        self.open = [table for table in self.open if table.right < block.left or block.right < table.left]
        table = Table(
            self.grid, self.sheet, block.found.kind, block.layout, block.found.columns, block.first, block.last,
            block.left, block.right, block.context, block.cells, block.settings, block.entry,
        )  # fmt: skip
        table.problem = block.found.problem
        self.found.append(table)
        self.open.append(table)
        return table

    def _top_of(self, block: _Block, above: Table) -> int:
        """The first row that belongs to a block: its titles stand above its headings and below the table above."""
        rows = [self.grid.place(cell)[0] for cell in block.context.titles]
        return min([block.first, *(row for row in rows if row > above.last_row)])

    def _blocks(self, row: int) -> list[_Block]:
        cells = self.grid.rows[row]
        records: list[Table] = []
        for table in self.open:
            if self._is_record(table, cells):
                first, last = ends(cells)
                if table.left <= first and last <= table.right:
                    return []
                records.append(table)
        if len(cells) == 1 and row not in self.grid.merged_rows and not self._heads_group(row):
            return []  # one text over a table is its title
        if _names_beds_of(list(cells.values())):
            return []
        inside = any(self._is_record(table, self.grid.rows.get(row - 1, {})) for table in self.open)
        if inside and not any(self._is_promising(cell.text) and not is_unit(cell.text) for cell in cells.values()):
            return []  # a bed called C and a note are a row of the table above, no headings
        if records:
            taken = {place for table in records for place, _ in within(cells, table.left, table.right)}
            cells = {column: cell for column, cell in cells.items() if column not in taken}
        texts = {column: cell for column, cell in cells.items() if may_be_heading(cell)}
        if not texts or not (
            any(self._is_promising(cell.text) for cell in texts.values()) or self._stand_over(row, texts)
        ):
            return []
        others = {column: cell for column, cell in cells.items() if column not in texts}
        if (
            others
            and any(is_known(cell.text) for cell in texts.values())
            and all(self.names.exactly(cell.text) and shape_of(cell) is Shape.NUMBER for cell in others.values())
        ):
            texts, others = dict(sorted(cells.items())), {}
        runs = [texts]
        if others:  # what has a number or a date at its side is a record
            runs = [
                run
                for run in _runs(texts)
                if len(run) > 1 and min(run) - 1 not in others and max(run) + 1 not in others
            ]
        return [block for run in runs for block in self._best(row, run, alone=not others)]

    def _is_promising(self, text: str) -> bool:
        return is_known(text) or bool(self.names.exactly(text)) or looks_like_bed(text) or bool(self.entries)

    def _stand_over(self, row: int, texts: Mapping[int, LogCell]) -> bool:
        """Whether texts that nobody knows stand over headings that come again below each: names of beds."""
        below = self.grid.rows.get(row + 1, {})
        if self._heads_group(row):
            return True
        if len(texts) < 2 or len(texts) < len(self.grid.rows[row]) or not all(map(may_be_heading, below.values())):
            return False
        heads = Counter(label_key(cell.text) for cell in below.values() if is_known(cell.text))
        return max(heads.values(), default=0) == len(texts)

    def _heads_group(self, row: int) -> bool:
        """Whether a row says of some of the headings below that they are of what is not used here: ``Air``."""
        cells, below = self.grid.rows[row], self.grid.rows.get(row + 1, {})
        return (
            len(below) > len(cells)
            and min(cells) > min(below)
            and all(map(may_be_heading, (*cells.values(), *below.values())))
            and any(heads_others(cell.text) for cell in cells.values())
        )

    def _is_record(self, table: Table, cells: Mapping[int, LogCell]) -> bool:
        """Whether a row has a number, a date or several values where a table above asks for such."""
        for place, quantity in self._asked(table):
            cell = cells.get(place)
            if cell is not None:
                shape = shape_of(cell)
                if (
                    shape is Shape.NUMBER
                    or (quantity in ("date", "time") and shape is Shape.DATE)
                    or (quantity == "several" and values_in(cell.text))
                ):
                    return True
        return False

    def _asked(self, table: Table) -> list[tuple[int, str]]:
        """The columns of a table in which no texts stand, each with what does."""
        if id(table) not in self._places:
            used = [(column.place, column.field.quantity) for column in table.columns if column.field is not None]
            self._places[id(table)] = [(place, of) for place, of in used if of != "text"]
        return self._places[id(table)]

    def _best(self, row: int, run: Mapping[int, LogCell], alone: bool) -> list[_Block]:
        """The tables whose headings begin in a row: in as many rows, and as many side by side, as say the most."""
        best: list[_Block] = []
        left, right = min(run), max(run)
        rows: list[int] = []
        heads: dict[int, LogCell] = {}
        for last in range(row, row + MOST_HEADING_ROWS):
            lowest: Mapping[int, LogCell] = run
            if last > row:
                below = self.grid.rows.get(last, {})
                lowest = below if alone else {c: x for c, x in below.items() if left - 1 <= c <= right + 1}
                if not lowest or not all(may_be_heading(cell) for cell in lowest.values()):
                    break
                if set(lowest) == {left} and left in heads and len(heads) > 1:
                    break  # a lone text under the first heading is the label of a row, or names those below
                left, right = min(left, *lowest), max(right, *lowest)
            rows.append(last)
            whole = self._block(rows, left, right)
            heads |= {column: cell for column, cell in lowest.items() if left <= column <= right}
            spread = _parts(dict(sorted(heads.items())))
            parts = [block for part in spread if (block := self._block(rows, min(part), max(part)))]
            for found in ([whole] if whole else [], parts):
                if _points(found) > _points(best) or (best == [whole] and _points(found) == _points(best) and found):
                    best = found
        if self.entries and not any(map(_is_mapped, best)) and any(map(self._is_mapped_from, rows[1:])):
            return []  # the mapping file knows the headings without the texts above them
        return best

    def _is_mapped_from(self, row: int) -> bool:
        """Whether the headings that begin in a row are those of a mapping file."""
        cells = self.grid.rows[row]
        block = self._block([row], min(cells), max(cells))
        return block is not None and _is_mapped(block)

    def _block(self, rows: Sequence[int], left: int, right: int) -> _Block | None:
        first, last = rows[0], rows[-1]
        columns, cells = self.headings.under(rows, left, right, last)
        if len(columns) < 2:
            return None
        # A text over headings that come again speaks of what stands below and right of it.
        bound = min(_first_again(columns), right)
        titles = (
            *(cell for cell in self._titles(first, left, right) if self.grid.place(cell)[1] <= bound),
            *self.titles,
        )
        return self._understood(columns, self._context(titles), first, last, cells)

    def _understood(
        self, columns: list[Column], context: Context, first: int, last: int, cells: tuple[LogCell, ...]
    ) -> _Block | None:
        texts = [cell.text for cell in context.titles] + [column.heading for column in columns]
        entry = mapped(self.entries, columns, texts)
        if entry and entry.columns:
            named = {column.field.name for column in columns if column.field}
            if entry.kind == "readings" and "date" not in named and not context.has_date:
                takes_days_of_rows(columns)
            found, layout = Understood(entry.kind, columns, float("inf")), entry.layout
        else:
            if entry and entry.measured_claim:
                context = replace(context, settled=entry.measured_claim)
            guess = understood(columns, context, self.names)
            if guess is None or (entry and entry.kind != guess.kind):
                return None
            found, layout = guess, self._layout(guess)
            if found.kind != "beds" and self._is_worked_out(found.columns):
                found = replace(found, kind=OTHER)
        places = [column.place for column in found.columns]
        settings = entry.settings if entry else Settings()
        return _Block(found, first, last, min(places), max(places), context, settings, layout, cells, entry)

    def _is_worked_out(self, columns: Sequence[Column]) -> bool:
        """Whether formulas fill all of a table: a summary of what stands elsewhere."""
        cells = [cell for column in columns if column.field for cell in column.sample]
        return bool(cells) and all((cell.row, cell.column) in self.sheet.computed for cell in cells)

    def block_across(self, labels: Sequence[int], first_date: int, rows: Sequence[int]) -> _Block | None:
        """Labels down the side of what lies across, in one column or several, and what they were taken for."""
        last = first_date - 1 if first_date else labels[-1]
        columns, cells = self.headings.under(labels, min(rows), max(rows), last)
        return self._understood(self._below_sections(columns), self._context(self.titles), labels[0], last, cells)

    def _below_sections(self, columns: list[Column]) -> list[Column]:
        """A label with nothing beside it that names a bed stands over those after it."""
        section: LogCell | None = None
        kept: list[Column] = []
        unknown = [c for c in columns if c.is_empty and c.lowest and not is_known(c.lowest)]
        alike = len(unknown) > 1 and len({label_key(column.lowest) for column in unknown}) == len(unknown)
        for column in columns:
            if column.is_empty and column.lowest and (self._bed_in(column.lowest) or (alike and column in unknown)):
                section = column.cell
                continue
            if section is not None and column.lowest:
                column = replace(column, cells=(*column.cells, section), texts=(*column.texts, section.text))
            kept.append(column)
        return kept

    def _layout(self, found: Understood) -> Layout:
        if found.problem:
            return Layout.DATES_ACROSS if self.grid.turned else Layout.BEDS_ACROSS
        beds = {name_key(column.bed) for column in found.columns if column.bed}
        if self.grid.turned:
            dates = found.kind == "readings" and not any(c.field and c.field.name == "bed" for c in found.columns)
            return Layout.DATES_ACROSS if dates else Layout.COLUMNS
        return Layout.BEDS_ACROSS if len(beds) > 1 and found.kind == "readings" else Layout.ROWS

    def _titles(self, first: int, left: int, right: int) -> list[LogCell]:
        """The texts above headings, the nearest first, as far as nothing else stands between."""
        found: list[LogCell] = []
        blank = 0
        for number in range(first - 1, max(0, first - 1 - TITLE_ROWS), -1):
            row = self.grid.rows.get(number, {})
            cells = [cell for _, cell in within(row, left, right)]
            spanning = self.grid.merged.get((number, left))
            if not cells and spanning is not None and isinstance(spanning.value, str):
                cells = [spanning]
            if not cells:
                blank += 1
                if blank > 2:
                    break
                continue
            texts = [cell for cell in cells if isinstance(cell.value, str) or cell is _named_beside(cells)]
            dates = [cell for cell in cells if shape_of(cell) is Shape.DATE]
            if len(cells) > 2 or len(texts) + sum(cell not in texts for cell in dates) < len(cells) or len(dates) > 1:
                break
            if any(table.first_row <= number <= table.last_row for table in self.open):
                break
            is_their_day = len(cells) == len(dates) == 1 and number == first - 1  # not one of a table that ends here
            if not is_their_day and any(self._is_record(table, row) for table in self.open):
                break
            found += sorted(cells, key=lambda cell: shape_of(cell) is not Shape.DATE)
        return found

    def _context(self, titles: Sequence[LogCell]) -> Context:
        has_date = any(shape_of(cell) is Shape.DATE or date_within(cell.text) for cell in titles[:2])
        bed = next((name for cell in titles if (name := self._bed_in(cell.text))), "")
        pairs = ([label, name] for label, name in pairwise(titles) if label.row == name.row)
        bed_cell = next((cell for pair in pairs if (cell := _named_beside(pair))), None)
        if bed_cell is not None and not bed:
            bed = self.names.find(bed_cell.text) or bed_cell.text
        title = self.sheet.title
        bed = bed or self.names.within(title) or numbered_in(title) or ("" if is_generic(title) else title)
        return Context(tuple(titles), title, has_date or bool(date_within(title)), bed, bed_cell)

    def _bed_in(self, text: str) -> str:
        return self.names.within(text) or numbered_in(text)


def _first_again(columns: Sequence[Column]) -> float:
    """Where the first of the headings stands that come again further right."""
    places: dict[str, list[int]] = {}
    for column in columns:
        if column.lowest:
            places.setdefault(label_key(column.lowest), []).append(column.place)
    return min((at[0] for at in places.values() if len(at) > 1), default=float("inf"))


def _repeats(table: Table, cells: Mapping[int, LogCell]) -> bool:
    """Whether a row holds the headings of a table whose day stands above it."""
    if not table.context.has_date or len(cells) < 2 or not all(map(may_be_heading, cells.values())):
        return False
    if any(column.field and column.field.name == "date" for column in table.columns):
        return False
    heads = {column.place: label_key(column.lowest) for column in table.columns}
    return all(label_key(cell.text) == heads.get(place) for place, cell in cells.items())


def _named_beside(cells: Sequence[LogCell]) -> LogCell | None:
    """The name or number of a bed beside a label such as ``Bed:``, where just these two cells stand."""
    if len(cells) != 2 or not isinstance(cells[0].value, str) or shape_of(cells[1]) not in (Shape.TEXT, Shape.NUMBER):
        return None
    return cells[1] if is_bed_word(cells[0].text.strip(" :#.")) else None


def _names_beds_of(cells: Sequence[LogCell]) -> bool:
    """Whether a row holds nothing but labels such as ``Bed:``, each with a name beside it: titles of tables."""
    pairs = [cells[place : place + 2] for place in range(0, len(cells), 2)]
    return all(
        _named_beside(pair) is not None and pair[0].text.rstrip().endswith(":") and pair[1].column == pair[0].column + 1
        for pair in pairs
    )


def _is_mapped(block: _Block) -> bool:
    """Whether a mapping file names the columns of a block."""
    return block.entry is not None and bool(block.entry.columns)


def _points(blocks: Sequence[_Block]) -> float:
    return sum(block.found.points for block in blocks)


def _runs(cells: Mapping[int, LogCell]) -> list[dict[int, LogCell]]:
    """Neighbouring cells."""
    runs: list[dict[int, LogCell]] = []
    for column in sorted(cells):
        if runs and column - 1 in runs[-1]:
            runs[-1][column] = cells[column]
        else:
            runs.append({column: cells[column]})
    return runs


def _parts(cells: Mapping[int, LogCell]) -> list[dict[int, LogCell]]:
    """The parts of a row of headings: after a gap, or where its first heading comes again, another table may begin."""
    parts: list[dict[int, LogCell]] = []
    for run in _runs(cells):
        first = label_key(next(iter(run.values())).text)
        part: dict[int, LogCell] = {}
        for column, cell in run.items():
            if part and label_key(cell.text) == first:
                parts.append(part)
                part = {}
            part[column] = cell
        parts.append(part)
    return parts
