"""What the headings of a column may mean, held against what stands in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from ..inputs.log_cells import LogCell
from ..vocabulary.date_texts import SUNDAY, weekday_of
from ..vocabulary.names import looks_like_bed
from ..vocabulary.shapes import Shape
from ..vocabulary.units import Unit
from ..vocabulary.words import MEASURED, Claim, Field, claims, fields, heads_others, is_other, words_of

OTHER = "other"
"""The kind of a table of which nothing is used here: climate, expenses."""
SIZES = frozenset({"length", "width", "depth", "volume", "size"})
BANDS = frozenset(f"{measure}_{end}" for measure in ("ph", "ec", "temp") for end in ("low", "high", "band"))
ROUND_FIELDS = frozenset({"planted", "sown", "transplanted", "expected", "ended", "round"})
NEEDED: dict[str, tuple[frozenset[str], ...]] = {
    "readings": (frozenset({"date"}), MEASURED | {"value", "several"}),
    "beds": (frozenset({"bed"}), frozenset(known.name for known in fields()["beds"]) - {"bed", "notes", "round"}),
    "feeds": (frozenset({"feed", "product"}), frozenset({"analysis", "rate", "price", "package", "on_hand"})),
    "weights": (frozenset({"bed", "treatment"}), frozenset({"mass"})),
    "harvests": (
        frozenset({"bed"}),
        frozenset({"mass", "heads", "income", "sold", "sold_mass", "bunches"}),
        frozenset({"date", "heads", "income", "sold", "bunches"}),
    ),
    "fills": (frozenset({"date"}), frozenset({"bed"}), frozenset({"rate", "mass"})),
}
"""What makes a table one of its kind: a field of each set."""
_OF_METER = frozenset({"scale", "calibrated", "calibration"})
SHARED = frozenset({"date", "year", "month", "time", "crop", "feed", "round"})
"""Fields of readings that stand once for all beds of a row."""
MOST_TEXT = 0.6
"""The share of a column's cells that decides what it holds; ours."""


@dataclass
class Column:
    """A column of a table, by its place in the grid: its headings, the lowest first, and what it was taken for."""

    place: int
    cells: tuple[LogCell, ...]
    texts: tuple[str, ...]
    shapes: Counter[Shape] = field(default_factory=Counter)
    sample: tuple[LogCell, ...] = ()
    """Some of its cells."""
    numbered: bool = False
    """Whether its heading is the number of a bed, in a column of labels that a word for a bed heads."""
    headed: tuple[Claim, ...] = ()
    """The measures whose numbers stand together in its cells, where its heading names several."""
    pieces: dict[str, Column] = field(default_factory=dict)
    """Where its cells hold several values: by measure and unit, the columns that those of one make."""
    field: Field | None = None
    unit: Unit | None = None
    bed: str = ""
    exact: bool = True
    bare: bool = False
    """Whether only a unit names it."""
    settled: bool = False
    """Whether a mapping file says so."""
    why: str = ""
    """Why it is not used, where more is known than that its heading is not."""
    other: bool = False
    """Whether its heading is known and names nothing that is used here."""
    units_of: str = ""
    """The field whose units its cells hold."""

    @property
    def heading(self) -> str:
        """The whole text of its heading, from top to bottom."""
        return " ".join(dict.fromkeys(text for text in reversed(self.texts) if text))

    @property
    def lowest(self) -> str:
        """The lowest text of its heading."""
        return self.texts[0] if self.texts else ""

    @property
    def cell(self) -> LogCell:
        """Its lowest heading."""
        return self.cells[0]

    def is_mostly(self, *shapes: Shape) -> bool:
        """Whether most of its cells look so; not where it has none."""
        total = sum(self.shapes.values()) - self.shapes[Shape.NOTHING] - self.shapes[Shape.ERROR]
        return total > 0 and sum(self.shapes[shape] for shape in shapes) >= MOST_TEXT * total

    @property
    def names_weekdays(self) -> bool:
        """Whether most of its cells are days of the week: ``Mon``; ``sun`` alone is weather."""
        texts = [cell.text.strip(" .:") for cell in self.sample if isinstance(cell.value, str)]
        days = [day for text in texts if (day := weekday_of(text)) is not None]
        return len(days) * 2 > len(self.sample) and set(days) != {SUNDAY}

    @property
    def is_empty(self) -> bool:
        """Whether it has no cells."""
        return not self.shapes

    def piece(self, claim: Claim) -> Column:
        """The column that the values of one measure make, where its cells hold several."""
        key = f"{claim.field.name} {claim.unit.label if claim.unit else ''}"
        if key not in self.pieces:
            self.pieces[key] = replace(self, field=claim.field, unit=claim.unit, pieces={})
        return self.pieces[key]

    def take(self, claim: Claim, bed: str = "") -> None:
        """Be what a heading claims."""
        self.field, self.unit, self.bed, self.exact, self.bare = claim.field, claim.unit, bed, claim.exact, claim.bare


@dataclass(frozen=True)
class Context:
    """What stands around a table: the texts above it, the nearest first, and the name of its sheet."""

    titles: tuple[LogCell, ...] = ()
    sheet: str = ""
    has_date: bool = False
    """Whether a title or the name of the sheet gives the day of the whole table."""
    bed: str = ""
    """The bed that a title or the sheet names."""
    bed_cell: LogCell | None = None
    """The cell that names it, beside a label such as ``Bed:``."""
    settled: Claim | None = None
    """What all numbers of the table are by a mapping file."""

    def texts(self) -> Iterator[str]:
        """The texts, then the name of the sheet."""
        yield from (cell.text for cell in self.titles if isinstance(cell.value, str))
        yield self.sheet

    def measured(self) -> Claim | None:
        """What all numbers of the table are, by its title or the name of its sheet."""
        if self.settled:
            return self.settled
        for text in self.texts():
            # The meter of a scale is no unit of length: of a text that speaks of one only the whole may be a heading.
            of_meter = bool(_OF_METER & set(words_of(text)))
            for heading in (text, *([] if of_meter else _parts(text))):
                best = sorted(
                    (c for c in claims(heading, "readings") if c.field.name in MEASURED), key=lambda c: -c.points
                )
                if len(best) == 1 or (best and best[0].points > best[1].points):
                    return best[0]
            if of_meter:
                continue
            # A title that speaks of both pH and EC does not say which.
            named = {
                c.field.name: c
                for word in text.split()
                for c in claims(word.strip(":,.()"), "readings")
                if c.field.name in MEASURED
            }
            if len(named) == 1 and not is_other(text):
                return next(iter(named.values()))
        return None


def _parts(text: str) -> list[str]:
    return [
        part.strip()
        for sign in (" - ", ":", " of ", " for ", " by ", " in each ", "–")
        if sign in text
        for part in text.split(sign)
    ]


@dataclass(frozen=True)
class Understood:
    """What a row of headings was taken for."""

    kind: str
    columns: list[Column]
    points: float
    problem: str = ""
    """Why none of it can be read, where that is so."""


WHAT_IS_MEASURED = (
    "nothing says what its numbers are: write pH, EC or the like above it, or say it in the mapping file "
    "(growcells check --write-map)"
)


def column_claims(column: Column, table: str, texts: Sequence[str] | None = None) -> list[Claim]:
    """The fields of a kind of table that the headings of a column name, alone or together."""
    texts = [text for text in (column.texts if texts is None else texts) if text]
    if not texts:
        return []
    lowest = texts[0]
    if looks_like_bed(lowest) or column.names_weekdays:
        return []
    found = {claim.field.name: claim for claim in claims(lowest, table)}
    if any(map(heads_others, texts[1:])):
        found = {name: claim for name, claim in found.items() if not claim.field.is_number}
    is_day = bool(found) and words_of(lowest)[-1:] == ("on",)
    for upper in () if is_day else texts[1:]:
        for joined in (f"{upper} {lowest}", f"{lowest} {upper}", f"{upper} ({lowest})"):
            for claim in claims(joined, table):
                known = found.get(claim.field.name)
                if known is None or claim.points > known.points:
                    found[claim.field.name] = claim
    return _fitting(column, list(found.values()))


def _fitting(column: Column, found: list[Claim]) -> list[Claim]:
    """Claims that a column's cells do not speak against, where there are others; the likeliest first."""
    order = sorted(found, key=lambda claim: (-_fits(column, claim.field), -claim.points))
    return [claim for claim in order if _fits(column, claim.field) >= 0]


def _fits(column: Column, known: Field) -> int:
    """Whether the cells of a column may be of a field: 1 yes, 0 perhaps, -1 no."""
    if column.is_empty:
        return 1
    numbers, dates = column.is_mostly(Shape.NUMBER), column.is_mostly(Shape.DATE)
    if known.quantity == "date":
        return int(dates)
    if known.quantity == "time":
        return 1
    if known.quantity == "part":
        return int(not dates)
    if known.quantity in ("text", "size"):
        if known.name in ("crop",) and numbers:
            return -1
        if known.name == "feed" and numbers:
            return 0
        return 1 if known.name == "analysis" or not dates else 0
    if known.quantity == "value":
        return 1 if numbers else 0
    return 1 if numbers else 0 if not dates else -1


def assign(columns: Sequence[Column], options: Mapping[int, Sequence[tuple[str, Claim]]]) -> float:
    """Give columns their fields, each of a bed's fields once, the surest first; gives the points of all."""
    taken: dict[tuple[str, str], Column] = {}
    total = 0.0
    waiting = [column for column in columns if options.get(column.place)]
    by_points = sorted(
        waiting,
        key=lambda column: max((-_fits(column, claim.field), -claim.points) for _, claim in options[column.place][:1]),
    )
    for final in (False, True):
        for column in by_points:
            if column.field is not None:
                continue
            free = [(bed, claim) for bed, claim in options[column.place] if (bed, claim.field.name) not in taken]
            if not free:
                first = options[column.place][0]
                column.why = (
                    f"{taken[first[0], first[1].field.name].cell.name} is taken for the {_plain(first[1].field)}"
                )
                continue
            best_fit = max(_fits(column, claim.field) for _, claim in free)
            free = [(bed, claim) for bed, claim in free if _fits(column, claim.field) == best_fit]
            most = max(claim.points for _, claim in free)
            best = [(bed, claim) for bed, claim in free if claim.points == most]
            if len({claim.field.name for _, claim in best}) > 1:
                if final:
                    column.why = "it may be " + " or ".join(sorted(_plain(claim.field) for _, claim in best))
                continue
            bed, claim = best[0]
            column.take(claim, bed)
            taken[bed, claim.field.name] = column
            total += claim.points
    return total


def _plain(known: Field) -> str:
    return known.name.replace("_", " ")
