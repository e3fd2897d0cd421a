"""The page to take to the scale: a full fill of each bed, the next top-up, and what changed since last week."""

from __future__ import annotations

from collections.abc import Iterator

from ...cautions import cautions
from ...season_figures.doses import Dose
from ...season_figures.parts import ORDER
from ...sheets.table_columns import FINE, PLAIN, TICK, Column, Formula, Sum, Value, mass_format
from ..figures.changes import Previous, same
from ..figures.common_practice import limit
from ..figures.in_words import named
from ..figures.log_units import in_unit
from ..figures.topping_up import in_dose_unit, refill_volume, wanted_ec, water_ec
from ..figures.week_figures import BedWeek, Figures
from .material import Material, used
from .page import Block, Gap, Page, Section, Table, Text

AT_THE_SCALE = ("Labels and codes", "Acids and alkalis", "Oxidizers", "Concentrates")
"""The cautions that belong beside a scale."""


def doses_page(material: Material) -> Iterator[Page]:
    """What to weigh in the coming week."""
    yield material.page("Doses", "To weigh in the coming week", _blocks(material, _fill_columns(material)))


def _blocks(material: Material, fill: list[Column]) -> Iterator[Block]:
    figures = material.figures
    yield Section("A full fill, at today's tank sizes")
    rows = [row for bed in figures.beds for row in _fill_rows(figures, bed)]
    yield used(Table(fill, rows, _totals(figures, rows)))
    for text in _fill_notes(figures):
        yield Text(text, small=True)
    yield Gap()
    yield from _top_ups(figures, fill)
    yield Gap()
    if material.previous is not None:
        yield from _changes(figures, material.previous, fill)
        yield Gap()
    told = " ".join(f"{known.about}: {known.text}" for known in cautions() if known.about in AT_THE_SCALE)
    yield Text(f"Before you mix. {told}", small=True)


def _fill_columns(material: Material) -> list[Column]:
    unit = material.figures.unit_label
    dose = unit("beds.dose")
    return [
        material.bed_column(10, 22),
        material.part_column(14, 22),
        Column(f"tank full\n[{unit('beds.volume')}]", 9, PLAIN),
        Column(f"rate\n[{unit('feeds.rate')}]", 9, "0.0##"),
        Column(f"to weigh\n[{dose}]", 9, mass_format(dose)),
        Column("to measure\n[mL]", 11, PLAIN),
        Column(f"on your\nscale [{dose}]", 10, FINE),
        Column(f"largest\nstep [{dose}]", 9, "#,##0.0#" if dose == "g" else FINE),
        Column("done", 6),
    ]


def _totals(figures: Figures, rows: list[list[Value]]) -> list[Value]:
    """The water of all beds, and the mass where every row has one: parts of different kinds do not add up to a dose."""
    volumes = [bed.volume for bed in figures.beds if bed.volume is not None]
    masses = [row[4].value if isinstance(row[4], Formula) else row[4] for row in rows]
    known = [mass for mass in masses if isinstance(mass, float)]
    dose = Sum(sum(known)) if known and not any(bed.fill.doses[1:] for bed in figures.beds) else None
    return ["Total", "", Sum(sum(volumes)) if volumes else None, None, dose, None, None, None, ""]


def _fill_rows(figures: Figures, bed: BedWeek) -> Iterator[list[Value]]:
    """A row for each part in the order of mixing; one that says what is known where there is none."""
    many = len(bed.fill.doses) > 1
    for dose in bed.fill.doses:
        name = f"{dose.order}. {dose.part.name}" if many else bed.fill.feed or dose.part.name
        first = dose.order == 1
        front: list[Value] = [bed.name if first else "", name, bed.volume if first else None]
        yield [*front, *_weighed(figures, bed, dose, first), TICK]
    if not bed.fill.doses:
        told: Value = "not known" if bed.fill.why and bed.volume is not None else None
        yield [
            bed.name,
            bed.bed.feed,
            bed.volume,
            None,
            told if bed.bed.dose is None else bed.bed.dose,
            *([None] * 3),
            "",
        ]


def _weighed(figures: Figures, bed: BedWeek, dose: Dose, first: bool) -> list[Value]:
    """The rate of a part, what to weigh or to measure, what the scale will show, and how fine it must be."""
    if dose.part.millilitres is not None:
        return [None, None, dose.millilitres, None, None]
    mass, _ = in_dose_unit(figures, dose)
    if mass is None or dose.part.grams is None:
        return [None, None if bed.volume is None else "not known", None, None, None]
    rate = float(f"{in_unit(dose.part.grams, 'g/L', figures.unit('feeds.rate')):.10g}")
    shown: Value = mass
    factor = _factor(figures)
    if first and bed.volume is not None and same(bed.volume * rate * factor, mass):
        shown = Formula(f"={{2}}*{{3}}{'' if factor == 1 else f'*{factor!r}'}", mass)
    return [rate, shown, None, _on_scale(figures, bed, dose, mass), mass * 2 * limit("weigh_error")]


def _factor(figures: Figures) -> float:
    """What makes volume times rate a dose in the log's units; 1 for gallons, grams a gallon and grams."""
    value = figures.call(
        "GROW_DOSE", 1, 1, figures.unit("beds.volume"), figures.unit("feeds.rate"), figures.unit("beds.dose")
    )
    assert isinstance(value, float)
    return 1.0 if same(value, 1.0) else value


def _on_scale(figures: Figures, bed: BedWeek, dose: Dose, mass: float) -> float | None:
    """The mass as the scale of its part can show it, where the log gives its step."""
    step = dose.part.part.scale
    if not step:
        return None
    units = (figures.unit("beds.dose"), figures.unit("feeds.scale"), figures.unit("beds.dose"))
    return figures.calculate(f"{dose.part.name} for {bed.name} on the scale", "GROW_WEIGH", mass, step, *units)


def _fill_notes(figures: Figures) -> list[str]:
    notes = [
        "The mass to weigh is the full tank times the rate. On a scale with larger steps than the largest step it may "
        f"be off by more than {limit('weigh_error') * 100:g} %."
    ]
    if any(len(bed.fill.doses) > 1 for bed in figures.beds):
        notes.append(f"Mix the parts in this order. {ORDER}")
    notes += [f"{bed.name}: {bed.fill.why}." for bed in figures.beds if bed.fill.why]
    if not any(part.scale for feed in figures.log.feeds for part in feed.parts):
        notes.append(
            "The log does not say in what steps the scale weighs: add a column Scale to the table of feeds to see here "
            "what the scale will show."
        )
    return notes


def _top_ups(figures: Figures, above: list[Column]) -> Iterator[Block]:
    unit = figures.unit_label
    volume, ec, dose = unit("beds.volume"), unit("readings.ec"), unit("beds.dose")
    columns = [
        above[0],
        Column("part", above[1].width, wrap=True),
        Column(f"water to\nadd [{volume}]", 9, PLAIN),
        Column("level\nread on", 8),
        Column(f"EC now\n[{ec}]", 9, "0.00"),
        Column(f"EC wanted\n[{ec}]", 10, "0.00"),
        Column(f"to weigh\n[{dose}]", 9, mass_format(dose)),
        Column("to measure\n[mL]", 11, PLAIN),
        Column("done", 6),
    ]
    yield Section("The next top-up")
    yield used(Table(columns, [row for bed in figures.beds for row in _top_up_rows(figures, bed)]))
    notes = [
        "What feed does to the EC is taken from fills at the rate in force or, if none was measured, from the label. "
        "The EC wanted is the middle of the log's band, else that of a fresh fill. Add in parts, stir, and measure."
    ]
    if not any(water_ec(figures, bed) for bed in figures.beds):
        notes.append("The log does not give the EC of the source water, so it is taken as 0.")
    unknown = [bed.name for bed in figures.beds if not bed.top_up.known]
    if unknown:
        beds = named(unknown, len(figures.beds), len(unknown))
        notes.append(f"The feed to add to {beds} is not known. The page Method says why.")
    for text in notes:
        yield Text(text, small=True)


def _top_up_rows(figures: Figures, bed: BedWeek) -> Iterator[list[Value]]:
    level, wanted = bed.level, wanted_ec(figures, bed)
    read = f"{level.date.day} {level.date:%b}" if level else "not read"
    front: list[Value] = [refill_volume(bed) if level else None, read, bed.spans["ec"].latest, wanted]
    for dose in bed.top_up.doses if bed.top_up.known else ():
        first, (mass, unit) = dose.order == 1, in_dose_unit(figures, dose)
        amounts: list[Value] = [None, mass] if unit == "mL" else [mass, None]
        yield [bed.name if first else "", dose.part.name, *(front if first else [None] * 4), *amounts, TICK]
    if not bed.top_up.known:
        yield [bed.name, bed.fill.feed, *front, "not known", None, ""]


def _changes(figures: Figures, previous: Previous, above: list[Column]) -> Iterator[Block]:
    yield Section("What changed since last week")
    volume, dose = figures.unit_label("beds.volume"), figures.unit_label("beds.dose")
    columns = [
        above[0],
        Column(f"tank before\n[{volume}]", 11, PLAIN),
        Column(f"tank now\n[{volume}]", 10, PLAIN),
        Column(f"dose before\n[{dose}]", 11, mass_format(dose)),
        Column(f"dose now\n[{dose}]", 10, mass_format(dose)),
        Column("why", 36, wrap=True),
    ]
    changed = [bed for bed in figures.beds if previous.changes[bed.name].why]
    yield Text(f"Compared with {previous.name}:")
    if changed:
        rows: list[list[Value]] = []
        for bed in changed:
            change = previous.changes[bed.name]
            rows.append([bed.name, change.volume, bed.volume, change.dose, bed.dose, change.why])
        yield Table(columns, rows)
    else:
        yield Text("Nothing changed.")
    if previous.gone:
        yield Text(f"No longer in the log: {', '.join(previous.gone)}.")
