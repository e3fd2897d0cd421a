"""The page on water: what each bed took, and how long what is left lasts."""

from __future__ import annotations

from collections.abc import Iterator

from growcells.chemistry.unit_factors import DAYS_IN_WEEK

from ...cautions import caution
from ...sheets.table_columns import PLAIN, Column, Formula, Sum, Value
from ..figures.common_practice import limit
from ..figures.topping_up import refill_volume
from ..figures.week_figures import BedWeek, Figures
from .material import Material, used
from .page import Block, Page, Table, Text


def water_page(material: Material) -> Iterator[Page]:
    """The water that each bed took, and how long what is left lasts."""
    figures = material.figures
    unit = figures.unit_label
    added, volume, depth = unit("readings.water_added"), unit("beds.volume"), unit("readings.depth")
    columns = [
        material.bed_column(9, 14),
        material.crop_column(9, 14),
        Column(f"week\n[{added}]", 7, PLAIN, group="Added"),
        Column(f"to date\n[{added}]", 8, PLAIN, group="Added"),
        Column(f"depth\n[{depth}]", 6, "0.0#", group="Now"),
        Column(f"in tank\n[{volume}]", 7, PLAIN, group="Now"),
        Column(f"to top\nup [{volume}]", 7, PLAIN, group="Now"),
        Column(f"a day\n[{depth}]", 6, "0.00", group="Lost"),
        Column(f"a week\n[{volume}]", 7, PLAIN, group="Lost"),
        Column(f"a plant a\nday [{volume}]", 9, "0.000", group="Lost"),
        Column(f"not below\n[{depth}]", 9, "0.0#", group="Lasts"),
        Column("days", 6, "0.0", group="Lasts"),
    ]
    yield material.page("Water", "Water used", _blocks(figures, columns), behind=True)


def _blocks(figures: Figures, columns: list[Column]) -> Iterator[Block]:
    rows = [_water_row(figures, bed) for bed in figures.beds]
    totals: list[Value] = ["Total", "", *([None] * 10)]
    for place, name in ((2, "water_added"), (3, "water_to_date")):
        total = sum(getattr(bed, name) for bed in figures.beds)
        totals[place] = Sum(total) if total else None
    yield used(Table(columns, rows, totals))
    for text in (
        f"The water lost is what the depths of the last {limit('trend_days'):g} days show between readings without "
        "added water or, where they show nothing, the water added in that time. The sides of a tank are taken as "
        "straight. The days run from the last depth read until pots hang dry, at the depth that the log gives as "
        "Lowest water.",
        caution("Drinking water").text,
    ):
        yield Text(text, small=True)


def _water_row(figures: Figures, bed: BedWeek) -> list[Value]:
    level, full = bed.level, bed.full_depth
    lost = plant = lasts = None
    if bed.drop and full and bed.volume:
        lost = bed.drop * DAYS_IN_WEEK * bed.volume / full
        if bed.bed.plants:
            plant = Formula(f"={{8}}/{DAYS_IN_WEEK}/{bed.bed.plants:g}", lost / DAYS_IN_WEEK / bed.bed.plants)
    if level and bed.drop and bed.lowest is not None and level.depth > bed.lowest:
        days = figures.calculate(
            f"the days that the water in {bed.name} lasts", "GROW_REFILL_DAYS", level.depth - bed.lowest, bed.drop
        )
        lasts = None if days is None else Formula("=({4}-{10})/{7}", days)
    now: list[Value] = [level.depth, level.volume, refill_volume(bed) or 0.0] if level else [None] * 3
    return [
        *(bed.name, bed.bed.crop, bed.water_added or None, bed.water_to_date or None),
        *now,
        *(bed.drop, lost, plant, bed.lowest, lasts),
    ]
