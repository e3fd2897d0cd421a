"""The page to take to the scale: a full fill of each bed, the next top-up, and what changed since last week."""

from __future__ import annotations

from collections.abc import Iterator

from ...cautions import cautions
from ...sheets.table_columns import FINE, PLAIN, Column, Formula, Sum, Value, mass_format
from ..figures.changes import Previous, same
from ..figures.common_practice import limit
from ..figures.topping_up import refill_volume, top_up, wanted_ec, water_ec
from ..figures.week_figures import BedWeek, Figures
from .material import Material
from .page import Block, Gap, Page, Section, Table, Text

AT_THE_SCALE = ("Labels and codes", "Acids and alkalis", "Oxidizers", "Concentrates")
"""The cautions that belong beside a scale."""


def doses_page(material: Material) -> Iterator[Page]:
    """What to weigh in the coming week."""
    columns = _fill_columns(material)
    yield material.page("Doses", "To weigh in the coming week", columns, _blocks(material, columns))


def _blocks(material: Material, fill: list[Column]) -> Iterator[Block]:
    figures = material.figures
    yield Section("A full fill, at today's tank sizes")
    volumes = [bed.volume for bed in figures.beds if bed.volume is not None]
    dose = sum(bed.dose for bed in figures.beds if bed.dose is not None)
    totals = ["Total", "", Sum(sum(volumes)) if volumes else None, "", Sum(dose) if dose else None, None, None]
    yield Table(fill, [_fill_row(figures, bed) for bed in figures.beds], totals)
    for text in _fill_notes(figures):
        yield Text(text, small=True)
    yield Gap()
    yield from _top_ups(figures, fill)
    yield Gap()
    yield from _changes(figures, material.previous, fill)
    yield Gap()
    yield Section("Before you mix")
    for caution in cautions():
        if caution.about in AT_THE_SCALE:
            yield Text(f"{caution.about}. {caution.text}")


def _fill_columns(material: Material) -> list[Column]:
    unit = material.figures.unit_label
    dose = unit("beds.dose")
    return [
        material.bed_column(12),
        material.feed_column(14),
        Column(f"tank full\n[{unit('beds.volume')}]", 12, PLAIN),
        Column(f"rate\n[{unit('feeds.rate')}]", 12, "0.0##"),
        Column(f"to weigh\n[{dose}]", 12, mass_format(dose)),
        Column(f"on your scale\n[{dose}]", 14, FINE),
        Column(f"largest step of\nthe scale [{dose}]", 17, "#,##0.0#" if dose == "g" else FINE),
    ]


def _fill_row(figures: Figures, bed: BedWeek) -> list[Value]:
    dose: Value = bed.dose
    step = None
    if bed.dose is not None:
        step = bed.dose * 2 * limit("weigh_error")
        dose = _followed(figures, bed)
    return [bed.name, bed.bed.feed, bed.volume, bed.rate, dose, _on_scale(figures, bed), step]


def _followed(figures: Figures, bed: BedWeek) -> Value:
    """The dose as volume times rate, where it is that: the log may hold another."""
    if bed.volume is None or bed.rate is None:
        return bed.dose
    factor = _factor(figures)
    if not same(bed.volume * bed.rate * factor, bed.dose):
        return bed.dose
    times = "" if factor == 1 else f"*{factor!r}"
    return Formula(f"={{2}}*{{3}}{times}", bed.volume * bed.rate * factor)


def _factor(figures: Figures) -> float:
    """What makes volume times rate a dose in the log's units; 1 for gallons, grams a gallon and grams."""
    value = figures.call(
        "GROW_DOSE", 1, 1, figures.unit("beds.volume"), figures.unit("feeds.rate"), figures.unit("beds.dose")
    )
    assert isinstance(value, float)
    return 1.0 if same(value, 1.0) else value


def _on_scale(figures: Figures, bed: BedWeek) -> float | None:
    """The dose as the scale of its feed can show it, where the log gives its step."""
    if bed.dose is None or bed.feed is None or not bed.feed.scale:
        return None
    units = (figures.unit("beds.dose"), figures.unit("feeds.scale"), figures.unit("beds.dose"))
    return figures.calculate(f"{bed.name} on the scale", "GROW_WEIGH", bed.dose, bed.feed.scale, *units)


def _fill_notes(figures: Figures) -> list[str]:
    notes = [
        "The mass to weigh is the full tank times the rate. On a scale with larger steps than the last column says it "
        f"may be off by more than {limit('weigh_error') * 100:g} %."
    ]
    if not any(feed.feed.scale for feed in figures.feeds):
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
        Column("level read on", above[1].width),
        Column(f"in the tank\n[{volume}]", 12, PLAIN),
        Column(f"water to add\n[{volume}]", 12, PLAIN),
        Column(f"EC now\n[{ec}]", 12, "0.00"),
        Column(f"EC wanted\n[{ec}]", 14, "0.00"),
        Column(f"feed to add\n[{dose}]", 17, mass_format(dose)),
    ]
    yield Section("The next top-up")
    rows = [_top_up_row(figures, bed) for bed in figures.beds]
    yield Table(columns, rows)
    notes = [
        "The sides of a tank are taken as straight. The feed to add is what GROW_TOPUP gives: it brings the full tank "
        "to the EC wanted, which is the middle of the band in the log or, where the log has none, the EC of the bed's "
        "own first reading. That first reading is taken for a fresh fill, and it also tells how much EC the feed "
        "makes. So add the feed in parts, stir, and measure."
    ]
    if not any(water_ec(figures, bed) for bed in figures.beds):
        notes.append("The log does not give the EC of the source water, so it is taken as 0.")
    for text in notes:
        yield Text(text, small=True)


def _top_up_row(figures: Figures, bed: BedWeek) -> list[Value]:
    level, now, wanted = bed.level, bed.spans["ec"].latest, wanted_ec(bed)
    feed: Value = None
    if now is not None and wanted is not None and bed.volume is not None and level is not None:
        feed = top_up(figures, bed, now, wanted)
        if feed is None and now > wanted:
            feed = 0.0
    return [
        bed.name,
        f"{level.date.day} {level.date:%b}" if level else "not read",
        level.volume if level else None,
        refill_volume(bed) if level else None,
        now,
        wanted,
        feed,
    ]


def _changes(figures: Figures, previous: Previous | None, above: list[Column]) -> Iterator[Block]:
    yield Section("What changed since last week")
    if previous is None:
        yield Text(
            "The log holds only the present size, feed and rate of each bed, so it cannot tell what they were last "
            "week. Keep a copy of the log each week and give it with --previous: this section then says what changed, "
            "and why."
        )
        return
    volume, dose = figures.unit_label("beds.volume"), figures.unit_label("beds.dose")
    columns = [
        above[0],
        Column(f"tank before\n[{volume}]", above[1].width, PLAIN),
        Column(f"tank now\n[{volume}]", 12, PLAIN),
        Column(f"dose before\n[{dose}]", 12, mass_format(dose)),
        Column(f"dose now\n[{dose}]", 12, mass_format(dose)),
        Column("why", 31, wrap=True, span=2),
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
