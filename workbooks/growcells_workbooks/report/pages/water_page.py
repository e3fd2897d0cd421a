"""The page on water: what each bed took, and how long what is left lasts."""

from __future__ import annotations

from ...sheets.table_columns import PLAIN, Column, Formula, Value
from ..figures.common_practice import limit
from ..figures.topping_up import refill_volume
from ..figures.week_figures import DAYS_IN_WEEK, BedWeek, Figures
from .paper import Paper, finish


def water_page(paper: Paper) -> None:
    """The water that each bed took, and how long what is left lasts."""
    figures = paper.figures
    unit = figures.unit_label
    added, volume, depth = unit("readings.water_added"), unit("beds.volume"), unit("readings.depth")
    columns = [
        paper.bed_column(10),
        paper.crop_column(13),
        Column(f"in the week\n[{added}]", 11, PLAIN, group="Added"),
        Column(f"to date\n[{added}]", 11, PLAIN, group="Added"),
        Column(f"depth\n[{depth}]", 9, "0.0#", group="Now"),
        Column(f"in the tank\n[{volume}]", 11, PLAIN, group="Now"),
        Column(f"to fill up\n[{volume}]", 11, PLAIN, group="Now"),
        Column(f"depth a day\n[{depth}]", 11, "0.00", group="Lost"),
        Column(f"a week\n[{volume}]", 10, PLAIN, group="Lost"),
        Column(f"a plant a day\n[{volume}]", 12, "0.000", group="Lost"),
        Column(f"not below\n[{depth}]", 10, "0.0#", group="Lasts"),
        Column("days", 8, "0.0", group="Lasts"),
    ]
    page = paper.page("Water", "Water used", columns, landscape=True)
    first = page.row + 2
    rows = [_water_row(figures, bed, first + place) for place, bed in enumerate(figures.beds)]
    last = first + len(rows) - 1
    totals: list[Value] = ["Total", "", *([None] * 10)]
    for letter, place, name in (("C", 2, "water_added"), ("D", 3, "water_to_date")):
        total = sum(getattr(bed, name) for bed in figures.beds)
        totals[place] = Formula(f"=SUM({letter}{first}:{letter}{last})", total) if total else None
    page.table(columns, rows, totals)
    for text in (
        f"Lost is what the depths of the last {limit('trend_days'):g} days show between readings without added water, "
        "or else the water added in that time. Sides are taken as straight. Days are counted from the last depth read "
        "to the one below which pots hang dry, which the log gives as Lowest water.",
        "Fill through an air gap: a hose that hangs in the tank can draw solution back into drinking water.",
    ):
        page.paragraph(text, "small")
    finish(page)


def _water_row(figures: Figures, bed: BedWeek, row: int) -> list[Value]:
    level, full = bed.level, bed.full_depth
    lost = plant = lasts = None
    if bed.drop and full and bed.volume:
        lost = bed.drop * DAYS_IN_WEEK * bed.volume / full
        if bed.bed.plants:
            plant = Formula(f"=I{row}/{DAYS_IN_WEEK}/{bed.bed.plants:g}", lost / DAYS_IN_WEEK / bed.bed.plants)
    if level and bed.drop and bed.lowest is not None and level.depth > bed.lowest:
        days = figures.calculate(
            f"the days that the water in {bed.name} lasts", "GROW_REFILL_DAYS", level.depth - bed.lowest, bed.drop
        )
        lasts = None if days is None else Formula(f"=(E{row}-K{row})/H{row}", days)
    now: list[Value] = [level.depth, level.volume, refill_volume(bed) or 0.0] if level else [None] * 3
    return [
        *(bed.name, bed.bed.crop, bed.water_added or None, bed.water_to_date or None),
        *now,
        *(bed.drop, lost, plant, bed.lowest, lasts),
    ]
