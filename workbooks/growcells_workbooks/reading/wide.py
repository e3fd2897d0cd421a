"""Tables of readings that lie across: a column for each bed, or a column for each date."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass

from .cells import LogCell
from .dates import looks_like_date
from .grid import Sheet
from .headings import may_be_heading, titles_above
from .heads import Head
from .mapping import MapTable
from .model import name_key
from .tables import Heading, Layout, Record, Settings, Table
from .words import LABEL_POINTS, MEASURED, Claim, Field, best_claim, fields, is_unit, label_key

MEASURED_OR_NOTED = MEASURED | {"notes"}
NUMBERED = re.compile(r"(?:([^\W\d_]{2,}) ?)?[^\W\d_]?\d+[^\W\d_]?")
"""A word or none, and a letter with a number: Tub 2, bed A1, T1; ours."""
ROWS_LOOKED_AT = 50
"""Rows from which it is judged what a column of labels holds; ours."""
WHAT_IS_MEASURED = (
    "nothing says what these numbers are, such as pH or EC mS: write it above the table or in the mapping file "
    "(growcells check --write-map)"
)


@dataclass(frozen=True)
class Place:
    """What a column of a table with a column for each bed holds: of which bed (None: of the day), and what."""

    bed: LogCell | None
    heading: Heading


@dataclass(frozen=True)
class WideHead(Head):
    """What heads a table of readings that lies across."""

    cells: tuple[LogCell, ...]
    settings: Settings
    title: str
    problem: str

    def unread(self, end: int) -> tuple[LogCell, ...]:
        """All cells below, where a problem keeps them from being read."""
        numbers = self.sheet.numbers_between(self.last_row, end) if self.problem else []
        return tuple(
            cell
            for number in numbers
            for column, cell in self.sheet.rows[number].items()
            if self.left <= column <= self.right
        )


@dataclass(frozen=True)
class BedsHead(WideHead):
    """Headings that name beds over readings, with dates down the side."""

    date: LogCell
    places: Mapping[int, Place]
    unused: tuple[LogCell, ...]

    def table(self, end: int) -> Table:
        headings = {"date": Heading(_field("date"), self.date)}
        for place in self.places.values():
            headings.setdefault(place.heading.field.name, place.heading)
        first_bed = next((place.bed for place in self.places.values() if place.bed), None)
        if first_bed:
            headings["bed"] = Heading(_field("bed"), first_bed)
        records = [] if self.problem else list(self._records(end))
        listed = tuple((heading.cell, heading.cell.text) for heading in headings.values())
        listed += tuple((cell, cell.text) for cell in self.unused)
        return Table(
            self.sheet, "readings", Layout.BEDS_ACROSS, self.last_row, headings, self.cells, listed, records,
            self.left, self.right, self.title, self.unread(end), self.settings, self.problem,
        )  # fmt: skip

    def _records(self, end: int) -> Iterator[Record]:
        for number in self.sheet.numbers_between(self.last_row, end):
            row = self.sheet.rows[number]
            date = row.get(self.date.column) or self.sheet.merged.get((number, self.date.column))
            by_bed: dict[int | None, dict[str, LogCell]] = {}
            for column, cell in row.items():
                place = self.places.get(column)
                if place:
                    key = place.bed.column if place.bed else None
                    start = {"bed": place.bed} if place.bed else {}
                    by_bed.setdefault(key, start)[place.heading.field.name] = cell
            of_day = {**by_bed.pop(None, {}), **({"date": date} if date is not None else {})}
            if not by_bed and (of_day.keys() != {"date"} or (date is not None and date.row == number)) and of_day:
                yield Record(number, of_day)
            for cells in by_bed.values():
                yield Record(number, {**of_day, **cells})
                # What is noted of the day stands with the first bed that was read.
                of_day = {name: cell for name, cell in of_day.items() if name == "date"}


@dataclass(frozen=True)
class DatesHead(WideHead):
    """A row of dates over readings, with labels down the side."""

    dates: Mapping[int, LogCell]
    bed_column: int | None = None
    measured_column: int | None = None
    measured: Heading | None = None

    def table(self, end: int) -> Table:
        headings = {"date": Heading(_field("date"), next(iter(self.dates.values())))}
        labels: list[LogCell] = []
        unused: list[LogCell] = []
        records: dict[tuple[object, ...], Record] = {}
        last: dict[int | None, LogCell] = {}
        for number in self.sheet.numbers_between(self.last_row, end) if not self.problem else ():
            row = self.sheet.rows[number]
            bed = self._label(number, self.bed_column, last)
            label = self._label(number, self.measured_column, last)
            heading = self.measured
            if self.measured_column is not None:
                heading = _heading_of(label) if label else None
                if label and label.row == number and heading:
                    labels.append(label)
                elif label and label.row == number and not bed:
                    unused.append(label)
            if heading is None:
                continue
            headings.setdefault(heading.field.name, heading)
            if bed:
                headings.setdefault("bed", Heading(_field("bed"), bed))
            self._take(row, number, bed, heading, records)
        listed = tuple((heading.cell, heading.cell.text) for heading in headings.values())
        listed += tuple((cell, cell.text) for cell in unused)
        return Table(
            self.sheet, "readings", Layout.DATES_ACROSS, self.last_row, headings, (*self.cells, *labels, *unused),
            listed, list(records.values()), self.left, self.right, self.title, self.unread(end), self.settings,
            self.problem,
        )  # fmt: skip

    def _label(self, number: int, column: int | None, last: dict[int | None, LogCell]) -> LogCell | None:
        """The label of a row, or the one above where a label stands once for several rows."""
        if column is None:
            return None
        cell = self.sheet.shown_at(number, column)
        if cell is not None:
            last[column] = cell
        elif column == self.measured_column and self.bed_column is None:
            return None
        return last.get(column)

    def _take(
        self, row: Mapping[int, LogCell], number: int, bed: LogCell | None, heading: Heading,
        records: dict[tuple[object, ...], Record],
    ) -> None:  # fmt: skip
        for column, cell in row.items():
            if column not in self.dates:
                continue
            turn = 0
            key: tuple[object, ...] = (name_key(bed.text) if bed else "", column, turn)
            while key in records and heading.field.name in records[key].cells:
                turn += 1
                key = (*key[:2], turn)
            if key not in records:
                records[key] = Record(number, {"date": self.dates[column], **({"bed": bed} if bed else {})})
            records[key].cells[heading.field.name] = cell


def _field(name: str) -> Field:
    return next(known for known in fields()["readings"] if known.name == name)


def _heading_of(cell: LogCell) -> Heading | None:
    claim = best_claim((cell.text,), "readings", MEASURED_OR_NOTED)
    return Heading.of(claim, cell) if claim else None


@dataclass(frozen=True)
class Context:
    """What stands around a table that lies across: texts nearest first, and what a mapping file says of it."""

    texts: tuple[LogCell, ...]
    title: str
    entry: MapTable | None

    @property
    def settings(self) -> Settings:
        """The settings of the table."""
        return self.entry.settings if self.entry else Settings()

    def measured(self) -> Heading | None:
        """What all numbers of the table are: by the mapping file, its corner, its title or the name of its sheet."""
        if self.entry and self.entry.measured:
            return Heading(_field(self.entry.measured), self.texts[0], self.entry.unit, settled=True)
        for cell in self.texts:
            offers = [best_claim((cell.text,), "readings", frozenset({name})) for name in MEASURED]
            best = sorted((claim for claim in offers if claim), key=lambda claim: -claim.points)
            # A title that speaks of both pH and EC does not say which.
            if len(best) == 1 or (best and best[0].points > best[1].points):
                return Heading.of(best[0], cell)
        return None


def _context(
    sheet: Sheet, mapped: Sequence[MapTable], layout: Layout, corner: Sequence[LogCell], row: int, left: int, right: int
) -> Context:
    near = (*corner, *titles_above(sheet, row, left, right))
    title = near[0].text if near else ""
    texts = [cell.text for cell in near]
    entry = next((entry for entry in mapped if entry.layout is layout and entry.has_title(texts)), None)
    return Context((*near, LogCell(sheet.title, row, left, sheet.title)), title, entry)


def beds_head(sheet: Sheet, row: int, beds: Set[str], mapped: Sequence[MapTable]) -> BedsHead | None:
    """A table with a column for each bed, or several, whose lowest headings stand in a row."""
    cells = sheet.rows[row]
    dates = [cell for cell in cells.values() if _is_date_heading(cell)]
    if len(dates) != 1:
        return None
    date = dates[0]
    heads = {column: cell for column, cell in cells.items() if column != date.column and may_be_heading(cell)}
    if not heads:
        return None
    left, right = min(date.column, *heads), max(date.column, *heads)
    context = _context(sheet, mapped, Layout.BEDS_ACROSS, (), row, left, right)

    def made(places: Mapping[int, Place], upper: tuple[LogCell, ...] = (), problem: str = "") -> BedsHead:
        unused = tuple(cell for column, cell in heads.items() if column not in places and not problem)
        return BedsHead(
            sheet, min([row, *(cell.row for cell in upper)]), row, left, right, (date, *heads.values(), *upper),
            context.settings, context.title, problem, date, places, unused,
        )  # fmt: skip

    if groups := _groups(sheet, row, date, heads, beds):
        return made(*groups)
    places = _split_places(heads, beds or _names_in(heads.values()))
    if len(places) > 1 and any(place.bed for place in places.values()):
        return made(places)
    noted = {
        column: Place(None, heading)
        for column, cell in heads.items()
        if name_key(cell.text) not in beds and (heading := _heading_of(cell)) and heading.exact
    }
    if any(place.heading.field.name != "notes" for place in noted.values()):
        return None
    named = {column: cell for column, cell in heads.items() if column not in noted}
    listed = sum(name_key(cell.text) in beds for cell in named.values())
    if listed * 2 < len(named) if beds else len(named) < 2:
        return None
    measured = context.measured()
    if measured is None:
        return made({}, problem=WHAT_IS_MEASURED) if listed else None
    return made({**{column: Place(cell, measured) for column, cell in named.items()}, **noted})


def _is_date_heading(cell: LogCell) -> bool:
    return isinstance(cell.value, str) and label_key(cell.text) in _field("date").words


def _groups(
    sheet: Sheet, row: int, date: LogCell, heads: Mapping[int, LogCell], beds: Set[str]
) -> tuple[dict[int, Place], tuple[LogCell, ...]] | None:
    """Headings under the names of beds in the row above, each name over the columns up to the next."""
    above = {column: cell for column, cell in sheet.rows.get(row - 1, {}).items() if column > date.column}
    if not above or not all(may_be_heading(cell) for cell in above.values()):
        return None
    known = [cell for cell in above.values() if name_key(cell.text) in beds]
    if not known and (len(above) < 2 or beds):
        return None
    places: dict[int, Place] = {}
    labels: list[str] = []
    for column, cell in heads.items():
        heading = _heading_of(cell)
        name = next((above[place] for place in sorted(above, reverse=True) if place <= column), None)
        if heading is None or name is None:
            continue
        if heading.field.name == "notes" and column - 1 not in heads:
            name = None
        places[column] = Place(name, heading)
        labels.append(heading.field.name)
    repeated = len(set(labels)) < len(labels)
    if not known and (not repeated or any(_heading_of(cell) for cell in above.values())):
        return None
    return (places, tuple(above.values())) if places else None


def _names_in(heads: Iterable[LogCell]) -> Set[str]:
    """The keys of numbered names over columns of one quantity, ``T1 pH`` and ``T2 pH``: beds that no table lists."""
    found: dict[str, set[str]] = {}
    for cell in heads:
        for name, rest in _splits(cell.text):
            claim = _rest_claim(rest) if _is_numbered_bed(name) and not is_unit(rest) else None
            if claim:
                found.setdefault(claim.field.name, set()).add(name_key(name))
    return frozenset().union(*(names for names in found.values() if len(names) > 1))


def _is_numbered_bed(name: str) -> bool:
    """Whether a text names a bed by itself: ``T1`` and ``Tub 2`` do, ``2`` and ``probe 2`` do not."""
    match = NUMBERED.fullmatch(name)
    return match is not None and name[0].isalpha() and (not match[1] or label_key(match[1]) in _field("bed").words)


def _splits(heading: str) -> Iterator[tuple[str, str]]:
    """The ways in which a heading may be the name of a bed and what is measured, or the other way round."""
    words = heading.replace("-", " ").replace("/", " / ").split()
    for size in range(1, len(words)):
        yield " ".join(words[:size]), " ".join(words[size:])
        yield " ".join(words[-size:]), " ".join(words[:-size])


def _split_places(heads: Mapping[int, LogCell], beds: Set[str]) -> dict[int, Place]:
    """Headings that name a bed and what is measured: ``T1 pH``, ``EC mS T2``."""
    places: dict[int, Place] = {}
    for column, cell in heads.items():
        for name, rest in _splits(cell.text):
            claim = _rest_claim(rest) if name_key(name) in beds else None
            if claim:
                bed = LogCell(cell.sheet, cell.row, cell.column, name)
                places.setdefault(column, Place(bed, Heading.of(claim, cell)))
        heading = _heading_of(cell)
        if column not in places and heading and heading.exact and heading.field.name == "notes":
            places[column] = Place(None, heading)
    return places


def _rest_claim(text: str) -> Claim | None:
    claim = best_claim((text.strip(" /:,"),), "readings", MEASURED_OR_NOTED)
    return claim if claim and claim.points >= LABEL_POINTS else None


def dates_head(sheet: Sheet, row: int, beds: Set[str], mapped: Sequence[MapTable]) -> DatesHead | None:
    """A table with a column for each date, whose dates stand in a row."""
    cells = sheet.rows[row]
    dates: dict[int, LogCell] = {}
    for column in reversed(cells):
        if not looks_like_date(cells[column].value):
            break
        dates[column] = cells[column]
    dates = dict(sorted(dates.items()))
    corner = [cell for column, cell in cells.items() if column not in dates]
    if len(dates) < 2 or len(corner) > 2 or not all(may_be_heading(cell) for cell in corner):
        return None
    first = min(dates)
    below = [sheet.rows[number] for number in sheet.numbers_between(row, row + ROWS_LOOKED_AT)]
    values = [cell for line in below for column, cell in line.items() if column in dates]
    if not values or sum(looks_like_date(cell.value) for cell in values) * 2 >= len(values):
        return None
    labels = {
        column: texts
        for column in range(max(1, first - 2), first)
        if (texts := [line[column] for line in below if column in line and isinstance(line[column].value, str)])
    }
    measured_column = next((column for column, texts in labels.items() if _mostly_measured(texts)), None)
    bed_column = next((column for column in labels if column != measured_column), None)
    known = bed_column is not None and any(name_key(cell.text) in beds for cell in labels[bed_column])
    named = any(label_key(cell.text) in _field("bed").words for cell in corner)
    left, right = min([first, *labels]), max(dates)
    context = _context(sheet, mapped, Layout.DATES_ACROSS, () if named else corner, row, left, right)
    measured = context.measured() if measured_column is None else None
    if measured_column is None and (bed_column is None or not (measured or known or named)):
        return None
    problem = "" if measured or measured_column is not None else WHAT_IS_MEASURED
    return DatesHead(
        sheet, row, row, left, right, (*corner, *dates.values()), context.settings, context.title, problem,
        dates, bed_column, measured_column, measured,
    )  # fmt: skip


def _mostly_measured(texts: Sequence[LogCell]) -> bool:
    distinct = {label_key(cell.text): cell for cell in texts}
    known = [cell for cell in distinct.values() if (heading := _heading_of(cell)) and heading.field.name != "notes"]
    return len(known) * 2 >= len(distinct)
