"""What the columns of a table of readings are: measures, and the beds that headings or contents name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..vocabulary.date_texts import weekday_of
from ..vocabulary.names import MOST_WORDS_OF_NAME, NUMBERED, Names, is_bed_word, is_generic, looks_like_bed, numbered_in
from ..vocabulary.several import measure_named, measures_headed, pieces
from ..vocabulary.shapes import Shape
from ..vocabulary.units import is_unit
from ..vocabulary.words import (
    LABEL_POINTS,
    MEASURED,
    MEASURED_OR_NOTED,
    Claim,
    all_claims,
    claims,
    field_of,
    is_filler,
    is_other,
    words_of,
    words_of_readings,
)
from .column import MOST_TEXT, NEEDED, SHARED, Column, Context, assign, column_claims

_LETTER = re.compile(r"[A-Z]")
_JOINED = re.compile(r"[()\[\]_:]| - ")
_BRACKETED = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
TIMES = frozenset(
    (*("am", "pm", "morning", "evening", "noon", "night", "before", "after", "first", "second"),
     *("old", "new", "min", "max", "left", "right", "in", "out", "low", "high", "lower", "upper", "lowest", "highest"))
)  # fmt: skip
"""Words before a measure that tell when or how it was read, and no bed; common practice, no source."""


def has_data(columns: Sequence[Column]) -> bool:
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


def as_readings(columns: list[Column], context: Context, names: Names) -> float:
    own = _by_contents(columns)
    imply_fields(columns, names)
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
    points = assign(columns, options)
    taken = {column.field.name for column in columns if column.field}
    if "date" not in taken and not context.has_date and not takes_days_of_rows(columns):
        return 0.0
    if "value" in taken and not (taken & MEASURED) and "measure" not in taken:
        return 0.0
    measured_by = [column for column in columns if column.field and column.field.name in MEASURED]
    if measured_by and all(column.bare and column.field.quantity == "mass" for column in measured_by):  # type: ignore[union-attr]
        return 0.0  # nothing says whether it is feed or what was cut
    return points if taken & NEEDED["readings"][1] and has_data(columns) else 0.0


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
    """Whether most cells of a column name what is measured, and not all by a sign or a letter of a unit alone."""
    texts = [cell.text for cell in column.sample if isinstance(cell.value, str)]
    known = [(text, claim) for text in texts if (claim := measure_named(text, spelled=False))]
    signs = all(claim.bare and not (text.isalpha() and len(text) > 1) for text, claim in known)
    return len(known) >= MOST_TEXT * len(column.sample) and not signs


def _is_measure(column: Column) -> bool:
    """Whether a column of names of measures is headed by nothing, by a word for what is measured or for a bed."""
    named = {claim.field.name for claim in all_claims(column.lowest)}
    return not column.lowest or not named - {"bed", "date"} or "measure" in named


def takes_days_of_rows(columns: list[Column]) -> bool:
    """Whether dates stand in the column of the beds, over the beds that were read on them; it is then both."""
    bed = next((column for column in columns if column.field and column.field.name == "bed"), None)
    if bed is None or not bed.shapes[Shape.DATE] or bed.is_mostly(Shape.DATE):
        return False
    columns.insert(0, replace(bed, field=field_of("readings", "date"), unit=None))
    return True


def imply_fields(columns: Sequence[Column], names: Names) -> None:
    """A column of dates without a heading that says so is the date, one of names of beds the bed."""
    if not any(claim.field.name == "date" for column in columns for claim in column_claims(column, "readings")):
        dates = [column for column in columns if column.is_mostly(Shape.DATE) and _may_be_date(column)]
        if len(dates) == 1:
            dates[0].field = field_of("readings", "date")
    imply_beds(columns, names, "readings")


def imply_beds(columns: Sequence[Column], names: Names, table: str) -> None:
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
        is_of_days = column.is_mostly(Shape.DATE) or column.names_weekdays
        if column.field is None and _heads_beds(column) and not is_of_days:
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
        and all(weekday_of(word) is None for word in words)
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
