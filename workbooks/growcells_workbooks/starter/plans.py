"""The sheets of the starter log that plan and weigh up: the trial, and what a mix lacks beside a recipe."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.formula import ArrayFormula
from openpyxl.worksheet.worksheet import Worksheet

from growcells.recipes import GAP_COLUMNS, recipes
from growcells.trial import COLUMNS as TRIAL_COLUMNS

from ..report.feeds_pages import PPM
from ..report.look import LETTER, Column, Page, Painter, Style, set_up_print
from .layout import FEEDS, FIRST_ROW, WEIGHTS

MOST_TREATMENTS = 6
"""Treatments for which the result has rows; more than people run at home."""
SENTENCES = 7
"""Sentences below the numbers of GROW_TRIAL_TABLE."""
SHOWN_FEEDS = 6
PARTS = 6
"""Rows for the parts of a mix."""
MOST_NUTRIENTS = 16
"""More than any recipe lists."""
LABEL_COLUMNS = 4
"""Columns that the label of a figure takes."""
LETTERS = len(TRIAL_COLUMNS)
"""The last column of the result, a text beside a number."""


@dataclass(frozen=True)
class Line:
    """A figure of a plan: its label, what stands there, its number format, and what to know of it."""

    label: str
    value: float | str
    format: str
    note: str = ""


class Plan:
    """A sheet of labelled figures, written from the top down; ``clear`` gathers the cells that hold examples."""

    def __init__(self, book: Workbook, name: str, title: str, hint: str, columns: Sequence[Column]) -> None:
        sheet = book.create_sheet(name)
        assert isinstance(sheet, Worksheet)
        self.sheet = sheet
        self.page = Page(sheet, title, hint, len(columns), Painter(), columns=columns)
        set_up_print(sheet, landscape=False, paper=LETTER, footer=title, one_page=True)

    def lines(self, lines: Sequence[Line]) -> list[str]:
        """Write figures below each other; the answer is the cell of each, as formulas name it."""
        cells = []
        for line in lines:
            row, place = self.page.row, LABEL_COLUMNS + 1
            self.page.put(row, 1, line.label)
            computed = isinstance(line.value, str) and line.value.startswith("=")
            for column in range(1, LABEL_COLUMNS + 1):
                self.page.paint(row, column, Style("body", "thin"))
            self.page.merge(row, 1, LABEL_COLUMNS)
            self.write(row, place, line.value, line.format, strong=computed)
            self.page.put(row, place + 1, line.note)
            self.page.paint(row, place + 1, Style("small", indent=1))
            self.sheet.row_dimensions[row].height = 16
            cells.append(f"${get_column_letter(place)}${row}")
            self.page.row += 1
        return cells

    def write(self, row: int, column: int, value: float | str | None, number_format: str, strong: bool = False) -> None:
        """A cell that holds an example or a formula."""
        cell = self.page.cell(row, column)
        cell.value = value
        text = number_format == "@"
        self.page.paint(
            row,
            column,
            Style(
                "strong" if strong else "body", "thin", "left" if text else "right", wrap=False, format=number_format
            ),
        )

    def array(self, area_column: int, row: int, rows: int, columns: int, formula: str) -> None:
        """A formula that gives a table, beside the printed page."""
        last = f"{get_column_letter(area_column + columns - 1)}{row + rows - 1}"
        first = f"{get_column_letter(area_column)}{row}"
        for down in range(rows):
            for across in range(columns):
                # A cell must stand in the file for a value to be stored in it.
                self.page.paint(row + down, area_column + across, Style("small"))
        self.sheet[first] = ArrayFormula(f"{first}:{last}", formula)

    def finish(self, columns: int) -> None:
        """Print the page and not what it is worked out from."""
        self.sheet.print_area = f"A1:{get_column_letter(columns)}{self.page.row - 1}"


def write_trial(book: Workbook) -> None:
    """How large a trial must be, feeds on equal terms, and what it showed."""
    columns = [Column("", 12), *([Column("", 7)] * 3), *([Column("", 9)] * 8)]
    plan = Plan(
        book,
        "Trial",
        "Trial",
        "Plan it before you sow, compare feeds at equal nitrogen, and read the result with its limits. What stands in "
        "bold is computed.",
        columns,
    )
    _plan(plan)
    plan.page.gap()
    _equal_terms(plan)
    plan.page.gap()
    _result(plan)
    plan.finish(len(columns))


def _plan(plan: Plan) -> None:
    plan.page.section("Plan: how many beds, how many seeds")
    at = plan.page.row
    cells = [f"$E${at + place}" for place in range(9)]
    plan.lines(
        [
            Line("Difference worth seeing [g]", 20, "0.##", "the smallest that would change what you do; example"),
            Line(
                "Spread between beds treated alike [g]",
                8,
                "0.##",
                "standard deviation of bed means, from an earlier trial",
            ),
            Line("Treatments", 2, "0"),
            Line("Beds needed for each", f"=GROW_TRIAL_SIZE({cells[0]},{cells[1]},{cells[2]})", "0", "8 chances in 10"),
            Line("Beds that you have for each", 2, "0"),
            Line("Difference that these show [g]", f"=GROW_TRIAL_DETECTS({cells[4]},{cells[1]},{cells[2]})", "0.0"),
            Line("Plants wanted", 36, "0"),
            Line("Seeds that sprouted in a test", 17, "0", "of those in the next row"),
            Line("Seeds that were sown in it", 20, "0"),
            Line(
                "Seeds to sow",
                f"=GROW_SEEDS_TO_SOW({cells[6]},GROW_GERM_LOW({cells[7]},{cells[8]}),0.95)",
                "0",
                "19 times in 20 enough, even if the test was lucky",
            ),
        ]
    )
    plan.page.paragraph(
        "A bed is one replicate, however many plants stand in it: plants on one reservoir share its luck. Two beds or "
        "more for each treatment, placed by lot.",
        "small",
    )


def _equal_terms(plan: Plan) -> None:
    plan.page.section("Equal terms: the feeds beside each other")
    volume, rate, wanted = plan.lines(
        [
            Line("Volume of a bed [gal]", 28, "0.##"),
            Line("Grams a gallon of every feed [g/gal]", 2, "0.##", "equal grams are not equal nitrogen"),
            Line("Nitrogen to compare at [ppm]", 100, "0"),
        ]
    )
    plan.page.gap()
    row = plan.page.row
    for first, size, heading in (
        (1, 1, "This feed"),
        (2, 4, "holds"),
        (6, 2, "N at these g/gal [ppm]"),
        (8, 2, "g for that ppm N"),
        (10, 3, "g/gal for that ppm N"),
    ):
        plan.page.put(row, first, heading)
        for column in range(first, first + size):
            plan.page.paint(row, column, Style("head", "dark", "left" if first < 6 else "right", "bottom"))
        plan.page.merge(row, first, first + size - 1)
    for place in range(SHOWN_FEEDS):
        row += 1
        source = FIRST_ROW + place
        feed, analysis = (f"{FEEDS.sheet}!${FEEDS.letter(name)}${source}" for name in ("feed", "analysis"))
        blank = f'IF(OR({feed}="",{analysis}=""),"",'
        dose = f'GROW_DOSE_FOR({wanted},"N",{analysis},{volume})'
        cells: tuple[tuple[int, int, str, str], ...] = (
            (1, 1, f'=IF({feed}="","",{feed})', "@"),
            (2, 4, f'=IF({analysis}="","",{analysis})', "@"),
            (6, 2, f'={blank}GROW_PPM(GROW_DOSE({volume},{rate}),{volume},{analysis},"N"))', "0"),
            (8, 2, f"={blank}{dose})", "0.0"),
            (10, 3, f"={blank}GROW_RATE({dose},{volume}))", "0.00"),
        )
        for first, size, formula, number_format in cells:
            for column in range(first, first + size):
                plan.write(row, column, None, number_format)
            plan.sheet.cell(row, first).value = formula
            # A text that a formula gives is shown as General; @ would show the formula itself.
            if number_format == "@":
                for column in range(first, first + size):
                    plan.page.paint(row, column, Style("body", "thin"))
            plan.page.merge(row, first, first + size - 1)
    plan.page.row = row + 1


def _result(plan: Plan) -> None:
    areas = ",".join(WEIGHTS.area(name) for name in ("mass", "treatment", "bed"))
    enough = f"COUNT({WEIGHTS.area('mass')})<3"
    plan.page.section("Result: the weights on the sheet Weights")
    test = f'IFERROR(GROW_TRIAL_P({areas}),GROW_WHY("GROW_TRIAL_P",{areas}))'
    plan.lines([Line("p, if there were no difference", f'=IF({enough},"",{test})', "0.0000")])
    plan.page.gap()
    rows = 1 + MOST_TREATMENTS + SENTENCES
    start, left = plan.page.row, len(TRIAL_COLUMNS) + 2
    formula = f'=IF({enough},"",GROW_TRIAL_TABLE({areas}))'
    plan.array(left, start, rows, len(TRIAL_COLUMNS), formula)
    letters = [get_column_letter(left + place) for place in range(len(TRIAL_COLUMNS))]
    counts = f"${letters[1]}${start}:${letters[1]}${start + rows - 1}"
    texts = f"${letters[0]}${start}:${letters[0]}${start + rows - 1}"
    formats = ("@", "0", "0", *("0.0",) * 4, *("+0.0;-0.0;0.0",) * 3, "0.0000", "@")
    for place, heading in enumerate(TRIAL_COLUMNS, 1):
        plan.page.put(start, place, heading)
        plan.page.paint(
            start,
            place,
            Style("head", "dark", "left" if place in (1, LETTERS) else "right", "bottom", int(place == LETTERS), True),
        )
    plan.sheet.row_dimensions[start].height = 28
    for down in range(1, MOST_TREATMENTS + 1):
        row = start + down
        for place, (letter, number_format) in enumerate(zip(letters, formats, strict=True), 1):
            plan.sheet.cell(row, place).value = f'=IF(ISNUMBER(${letters[1]}${row}),{letter}{row},"")'
            shown = (
                Style("body", "thin", indent=int(place == LETTERS))
                if number_format == "@"
                else Style("body", "thin", "right", format=number_format)
            )
            plan.page.paint(row, place, shown)
    plan.page.row = start + MOST_TREATMENTS + 2
    for number in range(1, SENTENCES + 1):
        row = plan.page.row
        said = f"INDEX({texts},1+COUNT({counts})+{number})"
        plan.sheet.cell(row, 1).value = f'=IF(COUNT({counts})=0,"",{said})'
        plan.page.paint(row, 1, Style("body", down="top", wrap=True))
        plan.page.merge(row, 1, len(TRIAL_COLUMNS))
        plan.sheet.row_dimensions[row].height = 27
        plan.page.row += 1
    plan.page.paragraph(
        f"One formula gives all of it: GROW_TRIAL_TABLE in {letters[0]}{start}, beside this page. It has room for "
        f"{MOST_TREATMENTS} treatments.",
        "small",
    )


def write_mix(book: Workbook) -> None:
    """What a mix brings into the water, and what it lacks beside a recipe."""
    columns = [Column("", 14), *([Column("", 9)] * 3), Column("", 16), *([Column("", 14)] * 3)]
    plan = Plan(
        book,
        "Mix",
        "What a mix brings, and what it lacks",
        "Weigh on paper before you weigh in the shed: choose a recipe, say what goes into how much water. What stands "
        "in bold is computed.",
        columns,
    )
    recipe, volume = plan.lines(
        [
            Line("Recipe", "Leafy greens", "@", "choose one; GROW_TARGET has their sources"),
            Line("Water [gal]", 28, "0.##"),
        ]
    )
    rule = DataValidation("list", formula1=f'"{",".join(recipes())}"', allow_blank=True)
    rule.errorStyle, rule.errorTitle, rule.error = "warning", "Recipe", "Choose one from the list."
    plan.sheet.add_data_validation(rule)
    rule.add(recipe.replace("$", ""))
    plan.page.gap()
    parts = plan.page.row
    for place, heading in ((1, "Part [g]"), (2, "Analysis or substance")):
        plan.page.put(parts, place, heading)
    for column in range(1, len(columns) + 1):
        plan.page.paint(
            parts, column, Style("head", "dark", "right" if column == 1 else "left", "bottom", int(column > 1))
        )
    examples: tuple[tuple[float, str], ...] = ((56, "18-9-18"), (35, "Ca(NO3)2.4H2O"), (20, "MgSO4.7H2O"))
    for place in range(PARTS):
        row = parts + 1 + place
        mass, analysis = examples[place] if place < len(examples) else (None, None)
        plan.write(row, 1, mass, "0.0#")
        plan.write(row, 2, analysis, "@")
        for column in range(2, len(columns) + 1):
            plan.page.paint(row, column, Style("body", "thin", indent=int(column == 2), format="@"))
        plan.page.merge(row, 2, len(columns))
    last = parts + PARTS
    plan.page.row = last + 1
    plan.page.gap()
    _gaps(plan, f"$A${parts + 1}:$A${last}", f"$B${parts + 1}:$B${last}", recipe, volume, len(columns))
    plan.page.paragraph(
        "Short is below 80 %, over above 125 % of the recipe (common practice, no source); what a label does not list "
        "counts as absent. Calcium salts never go with sulfates or phosphates into one concentrate: GROW_STOCK_CHECK.",
        "small",
    )
    plan.finish(len(columns))


def _gaps(plan: Plan, masses: str, analyses: str, recipe: str, volume: str, width: int) -> None:
    start, left = plan.page.row, width + 2
    formula = (
        f'=IF(OR(COUNT({masses})=0,{recipe}="",{volume}=""),"",'
        f"GROW_GAPS(GROW_PPM_TABLE({masses},{volume},{analyses}),{recipe}))"
    )
    plan.array(left, start, MOST_NUTRIENTS, len(GAP_COLUMNS), formula)
    letters = [get_column_letter(left + place) for place in range(len(GAP_COLUMNS))]
    formats = ("@", PPM, PPM, '0" %"', "@")
    for place, heading in enumerate(("Nutrient", "ppm", "recipe", "of it", "Verdict"), 1):
        plan.page.put(start, place, heading)
    for column in range(1, width + 1):
        across = "right" if column in (2, 3, 4) else "left"
        plan.page.paint(start, column, Style("head", "dark", across, "bottom", int(column == 5)))
    for row in range(start + 1, start + MOST_NUTRIENTS):
        for place, (letter, number_format) in enumerate(zip(letters, formats, strict=True), 1):
            plan.sheet.cell(row, place).value = (
                f'=IFERROR({letter}{row}&"","")'
                if number_format == "@"
                else (f'=IF(ISNUMBER({letter}{row}),{letter}{row},"")')
            )
        for column in range(1, width + 1):
            across = "right" if column in (2, 3, 4) else "left"
            number_format = formats[column - 1] if column in (2, 3, 4) else "General"
            plan.page.paint(
                row, column, Style("body", "thin", across, "top", int(column == 5), column >= 5, number_format)
            )
        plan.page.merge(row, 5, width)
        plan.sheet.row_dimensions[row].height = 16
    plan.page.row = start + MOST_NUTRIENTS
