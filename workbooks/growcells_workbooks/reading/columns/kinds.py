"""Which kind of table a row of headings is of: the one for which most speaks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..vocabulary.names import Names
from ..vocabulary.shapes import Shape
from ..vocabulary.units import Unit, is_unit, unit_of
from ..vocabulary.words import (
    LABEL_POINTS,
    Claim,
    all_claims,
    claims,
    field_of,
    heads_others,
    is_other,
    splits,
    words_of,
)
from .column import (
    BANDS,
    MOST_TEXT,
    NEEDED,
    OTHER,
    SIZES,
    WHAT_IS_MEASURED,
    Column,
    Context,
    Understood,
    assign,
    column_claims,
)
from .readings_tables import as_readings, has_data, imply_beds, imply_fields

WHOSE_MASS = (
    "nothing says whether these are single plants or whole beds: head the mass Plant weight or Total weight, or say it "
    "in the mapping file (growcells check --write-map)"
)


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
        points = as_readings(fresh, context, names) if kind == "readings" else _as_kind(fresh, kind, context, names)
        if points:
            found.append(Understood(kind, fresh, points))
    if not found:
        return _unmeasured(columns, names) or _as_other(columns)
    most = max(one.points for one in found)
    best = [one for one in found if one.points == most]
    chosen = best[0] if len(best) == 1 else _chosen(best, context)
    _beside_numbers(chosen)
    for column in chosen.columns:
        if column.field is None and _is_of_others(column):
            column.other = True
    return chosen


def _is_of_others(column: Column) -> bool:
    """Whether the heading of a column, or what stands over it, is of something that is not used here."""
    return (is_other(column.lowest) and not all_claims(column.lowest)) or _stands_under_others(column)


def _stands_under_others(column: Column) -> bool:
    return any(map(heads_others, column.texts[1:]))


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
        imply_beds(columns, names, kind)
    options = {column.place: [("", claim) for claim in column_claims(column, kind)] for column in columns}
    if kind == "beds":
        _drop_lone_letters(columns, options)
    points = assign(columns, options)
    if kind == "feeds":
        points += _parts_of_feeds(columns)
    taken = {column.field.name for column in columns if column.field}
    dated = any(column.field is None and column.is_mostly(Shape.DATE) for column in columns)
    if kind == "beds" and dated and taken <= BANDS | {"bed", "crop", "notes"}:
        return 0.0  # the lowest and the highest of a day are no band to keep to
    if kind == "beds" and taken & SIZES <= {"depth"} and any(map(_is_measured, columns)):
        return 0.0  # readings whose days stand nowhere
    needed = NEEDED[kind]
    if kind == "beds" and "bed" not in taken and context.bed and len(taken & SIZES) + ("crop" in taken) > 1:
        needed = needed[1:]
    headed = [column for column in columns if column.lowest]
    known = sum(
        column.field is not None or is_other(column.lowest) or _stands_under_others(column) for column in headed
    )
    enough = known * 2 >= len(headed) + (kind == "feeds" and len(headed) > 3) and all(taken & names for names in needed)
    return points if enough and has_data(columns) else 0.0


def _is_measured(column: Column) -> bool:
    """Whether a column of numbers that is of no bed is headed as what was read of one."""
    if column.field is not None or not column.is_mostly(Shape.NUMBER):
        return False
    return any(claim.field.name in ("ph", "ec", "temperature") for claim in claims(column.lowest, "readings"))


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
    for text in (column.lowest, column.heading):  # a title may stand over the headings
        for label, unit_text in splits(text):
            unit = unit_of("rate", unit_text) if unit_text else None
            if unit and label.strip():
                return label.strip(" ()[],:-"), unit
    return None


def _unmeasured(columns: Sequence[Column], names: Names) -> Understood | None:
    """A table of dates and a column for each bed, of which nothing says what is measured."""
    fresh = _fresh(columns)
    imply_fields(fresh, names)
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
        column.other = is_other(column.lowest) or _stands_under_others(column)
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
