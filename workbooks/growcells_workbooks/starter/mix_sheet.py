"""The sheet of a starter log that tells what a mix brings into the water, and what it lacks beside a recipe."""

from __future__ import annotations

from growcells.chemistry.published_solutions import recipes
from growcells.families.recipes import GAP_COLUMNS, OVER, SHORT

from ..data import USUAL_RECIPE
from ..sheets.cell_writer import Computed
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import Painter, Style
from ..sheets.table_columns import PPM, Column
from .planning_sheets import Figure, finish_page, plan_page, write_array, write_blank_table, write_figures
from .table_sheets import CHOOSE_ONE, WARNING, name_examples

MIX = "Mix"
FIGURES = (
    Figure("recipe", "Recipe", USUAL_RECIPE, "@", "choose one; GROW_TARGET has their sources"),
    Figure("volume", "Water [gal]", 34, "0.##"),
)
PARTS = 6
"""Rows for the parts of a mix."""
EXAMPLES: tuple[tuple[float, str], ...] = ((61.2, "17-7-21"), (46, "Ca(NO3)2.4H2O"), (20, "MgSO4.7H2O"))
"""Mass [g], and analysis or substance."""
MOST_NUTRIENTS = 16
"""More than any recipe lists."""
PAPER = (Column("", 14), *([Column("", 9)] * 3), Column("", 16), *([Column("", 14)] * 3))
PART_COLUMNS = (Column("Part [g]", 14, "0.0#"), Column("Analysis or substance", 85, span=7))
NUTRIENT_COLUMNS = (
    Column("Nutrient", 14),
    Column("ppm", 9, PPM),
    Column("recipe", 9, PPM),
    Column("of it", 9, '0" %"'),
    Column("Verdict", 58, span=4),
)


def write_mix(painter: Painter, examples: bool) -> None:
    """What a mix brings into the water, and what it lacks beside a recipe; ``examples`` puts an invented mix in."""
    page = plan_page(
        painter,
        MIX,
        "What a mix brings, and what it lacks",
        "Weigh on paper before you weigh in the shed: choose a recipe, then say what goes into how much water.",
        PAPER,
    )
    figures = write_figures(page, FIGURES)
    recipe, volume = figures["recipe"], figures["volume"]
    rule = {"validate": "list", "source": list(recipes()), "error_title": "Recipe", "error_message": CHOOSE_ONE}
    page.sheet.data_validation(recipe.replace("$", ""), {**rule, **WARNING})
    page.gap()
    rows = write_blank_table(page, PART_COLUMNS, PARTS)
    for row in rows:
        # A grade such as 17-7-21 must not become a date.
        page.paint(row, 2, Style("body", "thin", indent=1, format="@"))
    if examples:
        for row, (mass, analysis) in zip(rows, EXAMPLES, strict=False):
            page.put(row, 1, mass)
            page.put(row, 2, analysis)
        name_examples(page, rows[0], len(EXAMPLES), 2)
    page.gap()
    masses, analyses = (f"${letter}${rows[0]}:${letter}${rows[-1]}" for letter in "AB")
    _nutrients(page, masses, analyses, recipe, volume)
    page.gap()
    page.paragraph(
        f"Below {SHORT * 100:g} % of the recipe counts as short, above {OVER * 100:g} % as over (common practice, no "
        "source). What a label does not list counts as absent. Never put calcium salts into one concentrate with "
        "sulfates or phosphates: GROW_STOCK_CHECK says what stays dissolved.",
        "small",
    )
    finish_page(page)


def _nutrients(page: SheetWriter, masses: str, analyses: str, recipe: str, volume: str) -> None:
    """Every nutrient of the recipe beside what the mix brings."""
    formula = (
        f'=IF(OR(COUNT({masses})=0,{recipe}="",{volume}=""),"",'
        f"GROW_GAPS(GROW_PPM_TABLE({masses},{volume},{analyses}),{recipe}))"
    )
    letters = write_array(page, page.row, MOST_NUTRIENTS, len(GAP_COLUMNS), formula)
    for row in write_blank_table(page, NUTRIENT_COLUMNS, MOST_NUTRIENTS - 1):
        for place, (letter, column) in enumerate(zip(letters, NUTRIENT_COLUMNS, strict=True), 1):
            is_number = f'=IF(ISNUMBER({letter}{row}),{letter}{row},"")'
            page.put(row, place, Computed(f'=IFERROR({letter}{row}&"","")' if column.is_text else is_number))
