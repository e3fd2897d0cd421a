"""What a column is: the field, the unit and the bed that its headings name, judged for a whole row of headings."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from .cells import LogCell
from .dates import is_weekday
from .names import MOST_WORDS_OF_NAME, Names, is_bed_word, is_generic, looks_like_bed, numbered_in
from .several import measure_named, measures_headed, pieces
from .shapes import Shape
from .units import Unit, is_unit, unit_of
from .words import (
    LABEL_POINTS,
    MEASURED,
    MEASURED_OR_NOTED,
    Claim,
    Field,
    all_claims,
    claims,
    field_of,
    fields,
    is_filler,
    is_other,
    words_of,
    words_of_readings,
)

OTHER = "other"
"""The kind of a table of which nothing is used here: climate, expenses."""
SIZES = frozenset({"length", "width", "depth", "volume", "size"})
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
WHOSE_MASS = (
    "nothing says whether these are single plants or whole beds: head the mass Plant weight or Total weight, or say it "
    "in the mapping file (growcells check --write-map)"
)
NUMBERED = re.compile(r"#\s?\d{1,3}")
"""A name that is a number: ``#2``."""
_LETTER = re.compile(r"[A-Z]")
_JOINED = re.compile(r"[()\[\]_:]| - ")
_BRACKETED = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
_OF_METER = frozenset({"scale", "calibrated", "calibration"})
TIMES = frozenset(
    (*("am", "pm", "morning", "evening", "noon", "night", "before", "after", "first", "second"),
     *("old", "new", "min", "max", "left", "right", "in", "out", "low", "high", "lower", "upper", "lowest", "highest"))
)  # fmt: skip
"""Words before a measure that tell when or how it was read, and no bed; common practice, no source."""
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
    if looks_like_bed(lowest):
        return []
    found = {claim.field.name: claim for claim in claims(lowest, table)}
    if any(is_other(text) and not all_claims(text) for text in texts[1:]):
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


def _assign(columns: Sequence[Column], options: Mapping[int, Sequence[tuple[str, Claim]]]) -> float:
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


def _fresh(columns: Sequence[Column]) -> list[Column]:
    return [
        replace(column, field=None, unit=None, bed="", exact=True, why="", other=False, headed=(), pieces={})
        for column in columns
    ]


def understood(columns: Sequence[Column], context: Context, names: Names) -> Understood | None:
    """The likeliest kind of table of which these are the headings, or None where they are of none."""
    found: list[Understood] = []
    for kind in NEEDED:
        fresh = _fresh(columns)
        points = _as_readings(fresh, context, names) if kind == "readings" else _as_kind(fresh, kind, context, names)
        if points:
            found.append(Understood(kind, fresh, points))
    if not found:
        return _unmeasured(columns, names) or _as_other(columns)
    most = max(one.points for one in found)
    best = [one for one in found if one.points == most]
    chosen = best[0] if len(best) == 1 else _chosen(best, context)
    _beside_numbers(chosen)
    for column in chosen.columns:
        if column.field is None and any(is_other(text) and not all_claims(text) for text in column.texts if text):
            column.other = True
    return chosen


_UNITS = frozenset({"unit", "units", "uom"})


def _beside_numbers(chosen: Understood) -> None:
    """Take a column of units for those of the numbers that its heading names, else of those left of it that fit.

    Where none fit they are of the numbers right beside them all the same: a number without its unit is no number.
    """
    if any(column.field and column.field.name == "value" for column in chosen.columns):
        return
    left: list[Column] = []
    for column in sorted(chosen.columns, key=lambda column: column.place):
        words = words_of(column.lowest)
        if column.field is not None and column.field.name == "unit":
            column.field = None
        if column.field is not None:
            left.insert(0, column)
        elif _UNITS & set(words) and any(is_unit(cell.text) for cell in column.sample):
            named = {claim.field.name for claim in claims(" ".join(w for w in words if w not in _UNITS), chosen.kind)}
            free = [other for other in left if other.field and other.field.is_number and other.unit is None]
            free = [other for other in free if other.field and other.field.name in named] or free
            fitting = (other for other in free if other.field and _has_units(column, other.field.quantity))
            of = next(fitting, free[0] if free else None)
            column.units_of, column.bed = (of.field.name, of.bed) if of and of.field else ("", "")


def _has_units(column: Column, quantity: str) -> bool:
    """Whether units of a quantity stand in a column."""
    return any(unit_of(quantity, cell.text) is not None for cell in column.sample)


def _chosen(best: list[Understood], context: Context) -> Understood:
    kinds = {one.kind: one for one in best}
    if {"weights", "harvests"} <= kinds.keys():
        kind = _weights_or_harvests(kinds["harvests"], context)
        return kinds[kind] if kind else replace(kinds["harvests"], problem=WHOSE_MASS)
    return best[0]


_HARVEST_WORDS = frozenset({"harvest", "harvested", "yield", "picked", "cut", "sale", "sold", "crop", "picking"})
_WEIGHT_WORDS = frozenset({"weight", "plant", "trial", "weighing", "sample", "single", "individual", "specimen"})


def _weights_or_harvests(harvests: Understood, context: Context) -> str:
    """What a table of beds and masses holds, by headings, unit, title and name of the sheet; "" where nothing says."""
    mass = next((column for column in harvests.columns if column.field and column.field.name == "mass"), None)
    counted = next((column for column in harvests.columns if column.field and column.field.name == "heads"), None)
    if counted is not None:
        return "harvests" if counted.lowest.strip().casefold().endswith("s") else "weights"
    heading = set(words_of(mass.heading)) if mass else set()
    if heading & {"fresh", "plant", "single", "each", "per", "shoot"} and not heading & {"total", "all"}:
        return "weights"
    if heading & {"total", "yield", "harvest", "harvested", "all", "gross", "net"}:
        return "harvests"
    if mass and mass.unit and mass.unit.name in ("kg", "lb"):
        return "harvests"
    for text in context.texts():
        words = set(words_of(text))
        if words & _HARVEST_WORDS and not words & _WEIGHT_WORDS:
            return "harvests"
        if words & _WEIGHT_WORDS:
            return "weights"
    return ""


def _as_kind(columns: list[Column], kind: str, context: Context, names: Names) -> float:
    if kind == "beds":
        _imply_beds(columns, names, kind)
    options = {column.place: [("", claim) for claim in column_claims(column, kind)] for column in columns}
    if kind == "beds":
        _drop_lone_letters(columns, options)
    points = _assign(columns, options)
    if kind == "feeds":
        points += _parts_of_feeds(columns)
    taken = {column.field.name for column in columns if column.field}
    needed = NEEDED[kind]
    if kind == "beds" and "bed" not in taken and context.bed and len(taken & SIZES) + ("crop" in taken) > 1:
        needed = needed[1:]
    headed = [column for column in columns if column.lowest]
    known = sum(column.field is not None or any(map(is_other, column.texts)) for column in headed)
    enough = known * 2 >= len(headed) + (kind == "feeds" and len(headed) > 3) and all(taken & names for names in needed)
    return points if enough and _has_data(columns) else 0.0


def _drop_lone_letters(columns: Sequence[Column], options: dict[int, list[tuple[str, Claim]]]) -> None:
    """L, W and D are sizes only beside each other: L alone may be litres."""
    sizes = {claim.field.name for column in columns for _, claim in options[column.place] if claim.field.name in SIZES}
    if len(sizes & {"length", "width", "depth"}) > 1:
        return
    for column in columns:
        if len(column.lowest.strip(" .:")) == 1:
            options[column.place] = [
                (bed, claim)
                for bed, claim in options[column.place]
                if claim.field.name not in ("length", "width", "depth")
            ]


def _parts_of_feeds(columns: Sequence[Column]) -> float:
    """Columns with a rate each, named after the parts of a mix: ``part A g/gal``, ``Epsom salt g/gal``."""
    rates = [column for column in columns if column.field is None and not column.other and _part_of(column)]
    first = next((column for column in columns if column.field and column.field.name == "rate"), None)
    if len(rates) + (first is not None) < 2 or not rates:
        return 0.0
    rate = field_of("feeds", "rate")
    for column in rates:
        column.field, column.unit, column.why = rate, _part_of(column)[1], ""  # type: ignore[index]
        column.bed = _part_of(column)[0]  # type: ignore[index]
    return LABEL_POINTS * len(rates)


def _part_of(column: Column) -> tuple[str, Unit] | None:
    """The part and the unit in a heading such as ``calcium nitrate (g/gal)``."""
    from .words import splits

    for text in (column.lowest, column.heading):  # a title may stand over the headings
        for label, unit_text in splits(text):
            unit = unit_of("rate", unit_text) if unit_text else None
            if unit and label.strip():
                return label.strip(" ()[],:-"), unit
    return None


def _has_data(columns: Sequence[Column]) -> bool:
    """Whether what stands below headings is of their fields, or nothing stands there."""
    numbers = [
        column for column in columns if column.field and (column.field.is_number or column.field.quantity == "date")
    ]
    if all(column.is_empty for column in columns):
        return True
    if not numbers:
        return True
    return any(
        column.shapes[Shape.NUMBER] or column.shapes[Shape.DATE] or column.shapes[Shape.ERROR] for column in numbers
    ) or all(column.is_empty for column in numbers)


def _unmeasured(columns: Sequence[Column], names: Names) -> Understood | None:
    """A table of dates and a column for each bed, of which nothing says what is measured."""
    fresh = _fresh(columns)
    _imply(fresh, names)
    dates = [c for c in fresh if c.field or any(claim.field.name == "date" for claim in claims(c.lowest, "readings"))]
    beds = [c for c in fresh if names.exactly(c.lowest) and c.is_mostly(Shape.NUMBER)]
    if len(dates) != 1 or not beds or len(beds) * 2 < len(fresh) - 1:
        return None
    dates[0].field = field_of("readings", "date")
    return Understood("readings", fresh, 1.0, WHAT_IS_MEASURED)


def _as_other(columns: Sequence[Column]) -> Understood | None:
    """A table of which every column of numbers is known and none is used."""
    fresh = _fresh(columns)
    if any(_names_fields(column) for column in fresh):
        return None  # labels down the side
    known = 0
    for column in fresh:
        column.other = any(is_other(text) for text in column.texts if text)
        keys = {claim.field.name for claim in all_claims(column.lowest)}
        if column.is_mostly(Shape.NUMBER) and not column.other:
            return None
        known += column.other or bool(keys & {"date", "time", "notes", "bed"})
    others = sum(column.other and not column.is_mostly(Shape.TEXT) for column in fresh)
    return Understood(OTHER, fresh, float(known)) if others > 1 and known * 2 > len(fresh) else None


def _names_fields(column: Column) -> bool:
    """Whether most cells of a column are headings themselves."""
    texts = [cell.text for cell in column.sample if isinstance(cell.value, str)]
    return len(texts) > 1 and sum(bool(all_claims(text)) for text in texts) >= MOST_TEXT * len(column.sample)


def _bed_named(text: str, names: Names) -> str:
    """The bed that a heading names, as it is listed or, where it is not, as it is written; "" for none."""
    text = text.strip(" :;,.-–")
    if found := names.exactly(text):
        return found
    if not any(sign.isalpha() for sign in text) or is_unit(text) or (all_claims(text) and not looks_like_bed(text)):
        return ""
    return names.find(text) or (numbered_in(text) if looks_like_bed(text) else "")


def bed_and_rest(text: str, names: Names) -> Iterator[tuple[str, str]]:
    """The ways in which a heading may name a bed and what is measured: ``T1 pH``, ``pH (Tub 2)``."""
    unit = next((match[0] for match in _BRACKETED.finditer(text) if is_unit(match[1].strip())), "")
    text = text.replace(unit, " ") if unit else text  # a unit is no part of a name: Water (L) #2
    words = _JOINED.sub(" ", text).split()
    if len(words) == 1:
        words = text.replace("-", " ").replace("/", " ").split()
    for size in range(min(4, len(words) - 1), 0, -1):
        for name, rest in ((words[:size], words[size:]), (words[-size:], words[:-size])):
            found = _bed_named(" ".join(name).strip("-/,"), names)
            if found and not is_unit(" ".join(name)) and not (name[-1].startswith("#") and is_unit(name[0])):
                yield found, f"{' '.join(rest).strip(' -/,')} {unit}".strip()


def _as_readings(columns: list[Column], context: Context, names: Names) -> float:
    own = _by_contents(columns)
    _imply(columns, names)
    bed_column = _bed_column(columns, names)
    options: dict[int, list[tuple[str, Claim]]] = {}
    measured = None if bed_column else own or _in_corner(columns) or context.measured()
    letters = _letters(columns) if bed_column is None and not names else frozenset()
    for column in columns:
        options[column.place] = _reading_options(column, bed_column is not None, names, measured, letters)
    if bed_column is None and not names:
        _drop_lone_bed(columns, options)
    if bed_column is None:
        _name_by_pattern(columns, options, names)
        _name_by_repetition(columns, options, names, measured)
    points = _assign(columns, options)
    taken = {column.field.name for column in columns if column.field}
    if "date" not in taken and not context.has_date and not _takes_days_of_rows(columns):
        return 0.0
    if "value" in taken and not (taken & MEASURED) and "measure" not in taken:
        return 0.0
    measured_by = [column for column in columns if column.field and column.field.name in MEASURED]
    if measured_by and all(column.bare and column.field.quantity == "mass" for column in measured_by):  # type: ignore[union-attr]
        return 0.0  # nothing says whether it is feed or what was cut
    return points if taken & NEEDED["readings"][1] and _has_data(columns) else 0.0


_OF_BEDS = MEASURED_OR_NOTED | {"value", "several"}
"""What may stand in a column that a bed heads."""


def _by_contents(columns: Sequence[Column]) -> Claim | None:
    """Take columns for what stands in them: names of measures, several values in a cell; gives what beds then head."""
    claim: Claim | None = None
    for column in columns:
        column.headed = measures_headed(column.lowest)
        texts = [cell.text for cell in column.sample if isinstance(cell.value, str)]
        if not texts or (
            not column.headed and any(c.field.name in MEASURED for c in claims(column.lowest, "readings"))
        ):
            continue
        if _holds_several(column):
            claim = Claim(field_of("readings", "several"), None, LABEL_POINTS)
            known = all_claims(column.lowest) or is_filler(column.lowest.casefold())
            if column.headed or (known and not looks_like_bed(column.lowest)):
                column.field = claim.field
        elif _is_measure(column) and _names_measures(column):
            column.field = field_of("readings", "measure")
            if not any(c.field.name == "value" for other in columns for c in claims(other.lowest, "readings")):
                claim = Claim(field_of("readings", "value"), None, LABEL_POINTS)
    return claim


def _holds_several(column: Column) -> bool:
    """Whether most cells of a column hold a value with its measure, or several."""
    held = sum(isinstance(cell.value, str) and bool(pieces(cell.text, column.headed)) for cell in column.sample)
    return held > 0 and held >= MOST_TEXT * len(column.sample)


def _names_measures(column: Column) -> bool:
    """Whether most cells of a column name what is measured, and not all by a unit alone."""
    named = [measure_named(cell.text) for cell in column.sample if isinstance(cell.value, str)]
    known = [claim for claim in named if claim is not None]
    return len(known) >= MOST_TEXT * len(column.sample) and not all(claim.bare for claim in known)


def _is_measure(column: Column) -> bool:
    """Whether a column of names of measures is headed by nothing, by a word for what is measured or for a bed."""
    named = {claim.field.name for claim in all_claims(column.lowest)}
    return not column.lowest or not named - {"bed", "date"} or "measure" in named


def _takes_days_of_rows(columns: list[Column]) -> bool:
    """Whether dates stand in the column of the beds, over the beds that were read on them; it is then both."""
    bed = next((column for column in columns if column.field and column.field.name == "bed"), None)
    if bed is None or not bed.shapes[Shape.DATE] or bed.is_mostly(Shape.DATE):
        return False
    columns.insert(0, replace(bed, field=field_of("readings", "date"), unit=None))
    return True


def _imply(columns: Sequence[Column], names: Names) -> None:
    """A column of dates without a heading that says so is the date, one of names of beds the bed."""
    if not any(claim.field.name == "date" for column in columns for claim in column_claims(column, "readings")):
        dates = [column for column in columns if column.is_mostly(Shape.DATE) and _may_be_date(column)]
        if len(dates) == 1:
            dates[0].field = field_of("readings", "date")
    _imply_beds(columns, names, "readings")


def _imply_beds(columns: Sequence[Column], names: Names, table: str) -> None:
    """A column without a heading that holds names of beds is the bed, where no heading is a word for one."""
    if any(map(_heads_beds, columns)):
        return
    for column in columns:
        if not column.lowest and column.field is None and column.is_mostly(Shape.TEXT):
            named = sum(bool(_bed_named(cell.text, names)) for cell in column.sample)
            if named >= MOST_TEXT * len(column.sample):
                column.field = field_of(table, "bed")
                return


def _may_be_date(column: Column) -> bool:
    """Whether a heading does not name a date of another kind, such as the day of planting."""
    return not any(claim.field.quantity == "date" for claim in all_claims(column.lowest))


def _heads_beds(column: Column) -> bool:
    """Whether the heading of a column is a word for a bed, and not the name of one."""
    return means_bed(column.lowest)


def means_bed(lowest: str) -> bool:
    """Whether a heading is a word for a bed, and not the name of one."""
    return not looks_like_bed(lowest) and any(claim.field.name == "bed" for claim in claims(lowest, "readings"))


def _bed_column(columns: Sequence[Column], names: Names) -> Column | None:
    """The column that names the bed of each row: by its heading, or by what stands in it."""
    for column in columns:
        if column.field is not None and column.field.name == "bed":
            return column
        if column.field is None and _heads_beds(column) and not column.is_mostly(Shape.DATE):
            return column
    return None


def _reading_options(
    column: Column, has_bed: bool, names: Names, measured: Claim | None, letters: frozenset[str] = frozenset()
) -> list[tuple[str, Claim]]:  # fmt: skip
    if column.field is not None:
        known, column.field = column.field, None
        return [("", Claim(known, None, LABEL_POINTS))]
    own = column_claims(column, "readings")
    if has_bed:
        return [("", claim) for claim in own]
    shared = [("", claim) for claim in own if claim.field.name in SHARED]
    if shared and shared[0][1] is own[0]:
        return shared
    found: dict[tuple[str, str], tuple[str, Claim]] = {}

    def offer(bed: str, offered: Sequence[Claim]) -> None:
        for claim in offered:
            key = (bed, claim.field.name)
            if claim.field.name in _OF_BEDS and (key not in found or found[key][1].points < claim.points):
                found[key] = (bed, claim)

    for place, text in enumerate(column.texts):
        rest = [*column.texts[:place], *column.texts[place + 1 :]]
        bed = text if text in letters else _bed_named(text, names) or (names.titled(text) if place else "")
        if text and bed:
            offered = column_claims(column, "readings", rest)
            offer(bed, offered or ([measured] if measured and not any(rest) else []))
            continue
        for bed, label in bed_and_rest(text, names) if len(text) < 60 else ():
            texts = [*column.texts[:place], label, *column.texts[place + 1 :]]
            offer(bed, column_claims(column, "readings", texts))
    if found:
        return sorted(found.values(), key=lambda one: -one[1].points)
    return [("", claim) for claim in own if claim.field.name != "bed"]


def _letters(columns: Sequence[Column]) -> frozenset[str]:
    """Single letters from A on that head several columns: the names of beds."""
    found = {text for column in columns for text in column.texts if _LETTER.fullmatch(text)}
    return frozenset(found) if {"A", "B"} <= found else frozenset()


def _in_corner(columns: Sequence[Column]) -> Claim | None:
    """What all numbers of a table are, by the text over its dates where that is no word for a date."""
    dates = [column for column in columns if column.field is not None and column.field.name == "date"]
    offers = [claim for text in (dates[0].texts if dates else ()) for claim in claims(text, "readings")]
    return next((claim for claim in offers if claim.field.name in MEASURED), None)


def _drop_lone_bed(columns: Sequence[Column], options: dict[int, list[tuple[str, Claim]]]) -> None:
    """One heading that looks like that of a bed, beside others of no bed, names none."""
    measured = [column for column in columns if any(claim.field.name in MEASURED for _, claim in options[column.place])]
    beds = {options[column.place][0][0] for column in measured}
    if len(beds) == 2 and "" in beds:
        for column in measured:
            options[column.place] = [(bed, claim) for bed, claim in options[column.place] if not bed]


def _name_by_pattern(
    columns: Sequence[Column], options: dict[int, list[tuple[str, Claim]]], names: Names
) -> None:  # fmt: skip
    """Names of beds before or after the measures of one row, the same measures for each: ``North pH``, ``South pH``."""
    if names:
        return
    for is_before in (True, False):
        found: dict[str, dict[str, tuple[Column, Claim]]] = {}
        for column in columns:
            if options[column.place] and options[column.place][0][0]:
                return
            name, claim = _name_beside(column.lowest, is_before)
            if claim is not None:
                found.setdefault(name, {})[claim.field.name] = (column, claim)
        measures = {frozenset(of) for of in found.values()}
        if len(found) > 1 and len(measures) == 1:
            for name, of in found.items():
                for column, claim in of.values():
                    options[column.place] = [(name, claim)]
            return


def _may_name_bed(text: str) -> bool:
    """Whether a text that nobody knows may be the name of a bed: it says nothing of a measure, a time or a month."""
    if NUMBERED.fullmatch(text):
        return True
    words = words_of(text)
    return (
        bool(text)
        and not set("()[]") & set(text)
        and not (is_generic(text) or is_other(text) or is_unit(text) or all_claims(text) or set(words) & TIMES)
        and not any(map(is_weekday, words))
        and not any(word in words_of_readings() and not is_bed_word(word) for word in words)
    )


def _name_beside(heading: str, is_before: bool) -> tuple[str, Claim | None]:
    """A name that nobody knows at one end of a heading, and what the rest measures; None where there is none."""
    if claims(heading, "readings"):
        return "", None
    words = heading.split()
    for size in range(1, min(MOST_WORDS_OF_NAME, len(words) - 1) + 1):
        name, rest = (words[:size], words[size:]) if is_before else (words[-size:], words[:-size])
        text = " ".join(name).strip(" :-–/,()[]")
        if not _may_name_bed(text):
            continue
        best = sorted(claims(" ".join(rest).strip(" :-–/,(["), "readings"), key=lambda claim: -claim.points)
        if best and best[0].exact and best[0].field.name in MEASURED:
            return text, best[0]
    return "", None


def _name_by_repetition(
    columns: Sequence[Column], options: dict[int, list[tuple[str, Claim]]], names: Names, measured: Claim | None
) -> None:
    """Names of beds that neither a list nor their looks tell: over repeated measures, or over numbers of one."""
    over: dict[str, dict[str, list[Column]]] = {}
    for column in columns:
        first = options[column.place][:1]
        if first and first[0][1].field.name in MEASURED and not first[0][0]:
            uppers = [text for text in column.texts[1:] if text and not all_claims(text) and not is_unit(text)]
            over.setdefault(first[0][1].field.name, {}).setdefault(uppers[0] if uppers else "", []).append(column)
    for uppers_of in over.values():
        named = [upper for upper in uppers_of if upper]
        if len(named) > 1:
            for upper in named:
                for column in uppers_of[upper]:
                    options[column.place] = [(upper, claim) for _, claim in options[column.place]]
    for column in columns:  # notes and others under the same names
        first = options[column.place][:1]
        if first and not first[0][0] and first[0][1].field.name in MEASURED_OR_NOTED:
            repeated = {upper for uppers_of in over.values() if len(uppers_of) > 1 for upper in uppers_of if upper}
            upper = next((text for text in column.texts[1:] if text in repeated), "")
            if upper:
                options[column.place] = [(upper, claim) for _, claim in options[column.place]]
    unnamed = [
        column
        for column in columns
        if not options[column.place] and column.field is None
        and (not column.is_mostly(Shape.TEXT) or _holds_several(column))
        and (column.numbered or _may_name_bed(column.lowest.strip()))
    ]  # fmt: skip
    by_measure: dict[int, Claim] = {}
    for column in unnamed:
        offers = (claim for text in column.texts[1:] for claim in claims(text, "readings"))
        claim = next((claim for claim in offers if claim.field.name in MEASURED), measured)
        if claim is not None:
            by_measure[column.place] = claim
    listed = [column for column in columns if any(bed for bed, _ in options[column.place])]
    if len(by_measure) > 1 and not (names and len(listed) < len(by_measure)):
        for column in unnamed:
            if column.place in by_measure:
                options[column.place] = [(column.lowest.strip(), by_measure[column.place])]
