"""The sheet of a starter log that plans a trial, compares feeds on equal terms and tells what the weights show."""

from __future__ import annotations

from growcells.terms.trial_table import COLUMNS as TRIAL_COLUMNS

from ..sheets.cell_writer import Computed
from ..sheets.sheet_writer import SheetWriter
from ..sheets.styles import Painter, Style
from ..sheets.table_columns import Column
from .planning_sheets import Figure, finish_page, plan_page, write_array, write_blank_table, write_figures
from .season_tables import FEEDS, FIRST_ROW, WEIGHTS

PAPER = (Column("", 13), *([Column("", 8)] * 3), *([Column("", 10)] * 8))
"""The columns of the sheet, as many as the result has."""

PLAN = (
    Figure("difference", "Difference worth seeing [g]", 20, "0.##", "the smallest that would change what you do"),
    Figure(
        "spread",
        "Spread between beds treated alike [g]",
        8,
        "0.##",
        "standard deviation of bed means, from an earlier trial",
    ),
    Figure("treatments", "Treatments", 2, "0"),
    Figure(
        "needed",
        "Beds needed for each",
        "=GROW_TRIAL_SIZE({difference},{spread},{treatments})",
        "0",
        "to see it in 8 trials of 10",
    ),
    Figure("beds", "Beds that you have for each", 2, "0"),
    Figure(
        "shown",
        "Difference that these show [g]",
        "=GROW_TRIAL_DETECTS({beds},{spread},{treatments})",
        "0.0",
        "in 8 trials of 10",
    ),
    Figure("plants", "Plants wanted", 36, "0"),
    Figure("sprouted", "Seeds that sprouted in a test", 17, "0", "of those in the next row"),
    Figure("sown", "Seeds that were sown in it", 20, "0"),
    Figure(
        "seeds",
        "Seeds to sow",
        "=GROW_SEEDS_TO_SOW({plants},GROW_GERM_LOW({sprouted},{sown}),0.95)",
        "0",
        "enough 19 times in 20, even if the test was lucky",
    ),
)

TERMS = (
    Figure("volume", "Volume of a bed [gal]", 34, "0.##"),
    Figure("rate", "Grams a gallon of every feed [g/gal]", 1.8, "0.##", "equal grams are not equal nitrogen"),
    Figure("wanted", "Nitrogen to compare at [ppm]", 100, "0"),
)
SHOWN_FEEDS = 6
FEED_COLUMNS = (
    Column("This feed", 13),
    Column("holds", 34, span=4),
    Column("N at these g/gal [ppm]", 20, "0", span=2),
    Column("g for that ppm N", 20, "0.0", span=2),
    Column("g/gal for that ppm N", 30, "0.00", span=3),
)

FEWEST_WEIGHTS = 3
"""Weights from which on a result is asked for."""
MOST_TREATMENTS = 6
"""Treatments for which the result has rows; more than people run at home."""
RESULT_FORMATS = ("", "0", "0", *("0.0",) * 4, *("+0.0;-0.0;0.0",) * 3, "0.0000", "")
SENTENCES = 7
"""Sentences below the numbers of GROW_TRIAL_TABLE."""
SENTENCE_HEIGHT = 28
"""Height of a sentence of two lines, as the longest have [points]."""
TOO_MANY = (
    f"Only the first {MOST_TREATMENTS} treatments are shown here: type =GROW_TRIAL_TABLE(weights, treatments, beds) "
    "into an empty sheet to see all, and what is said of them."
)


def write_trial(painter: Painter) -> None:
    """How large a trial must be, feeds on equal terms, and what it showed."""
    page = plan_page(
        painter,
        "Trial",
        "Trial",
        "Plan it before you sow, compare feeds at equal nitrogen, and read the result with its limits. The figures are "
        "examples: type your own over them. What stands in bold is computed.",
        PAPER,
    )
    _plan(page)
    page.gap()
    _equal_terms(page)
    page.gap()
    _result(page)
    finish_page(page)


def _plan(page: SheetWriter) -> None:
    page.section("Plan: how many beds, how many seeds")
    write_figures(page, PLAN)
    page.gap()
    page.paragraph(
        "A bed is one replicate, however many plants stand in it: plants on one reservoir share its luck. Give "
        "each treatment two beds or more, placed by lot.",
        "small",
    )


def _equal_terms(page: SheetWriter) -> None:
    page.section("Equal terms: the feeds beside each other")
    terms = write_figures(page, TERMS)
    volume, rate, wanted = terms["volume"], terms["rate"], terms["wanted"]
    page.gap()
    for source, row in enumerate(write_blank_table(page, FEED_COLUMNS, SHOWN_FEEDS), FIRST_ROW):
        feed, analysis = (f"{FEEDS.sheet}!${FEEDS.letter(name)}${source}" for name in ("feed", "analysis"))
        known = f'=IF(OR({feed}="",{analysis}=""),"",'
        dose = f'GROW_DOSE_FOR({wanted},"N",{analysis},{volume})'
        for place, formula in (
            (1, f'=IF({feed}="","",{feed})'),
            (2, f'=IF({analysis}="","",{analysis})'),
            (6, f'{known}GROW_PPM(GROW_DOSE({volume},{rate}),{volume},{analysis},"N"))'),
            (8, f"{known}{dose})"),
            (10, f"{known}GROW_RATE({dose},{volume}))"),
        ):
            page.put(row, place, Computed(formula))


def _result(page: SheetWriter) -> None:
    page.section("Result: the weights on the sheet Weights")
    areas = ",".join(WEIGHTS.area(name) for name in ("mass", "treatment", "bed"))
    enough = f"COUNT({WEIGHTS.area('mass')})>={FEWEST_WEIGHTS}"
    test = f'IFERROR(GROW_TRIAL_P({areas}),GROW_WHY("GROW_TRIAL_P",{areas}))'
    write_figures(page, [Figure("p", "p, if there were no difference", f'=IF({enough},{test},"")', "0.0000")])
    page.gap()
    start, rows = page.row, 1 + MOST_TREATMENTS + SENTENCES
    letters = write_array(page, start, rows, len(TRIAL_COLUMNS), f'=IF({enough},GROW_TRIAL_TABLE({areas}),"")')
    columns = [
        Column(heading, paper.width, format)
        for heading, paper, format in zip(TRIAL_COLUMNS, PAPER, RESULT_FORMATS, strict=True)
    ]
    for row in write_blank_table(page, columns, MOST_TREATMENTS):
        for place, letter in enumerate(letters, 1):
            page.put(row, place, Computed(f'=IF(ISNUMBER(${letters[1]}${row}),{letter}{row},"")'))
    page.gap()
    texts, counts = (f"${letter}${start}:${letter}${start + rows - 1}" for letter in letters[:2])
    _sentences(page, texts, f"COUNT({counts})")
    page.gap()
    page.paragraph(
        f"One formula gives all of it: GROW_TRIAL_TABLE in {letters[0]}{start}, beside this page. It has room for "
        f"{MOST_TREATMENTS} treatments.",
        "small",
    )


def _sentences(page: SheetWriter, texts: str, treatments: str) -> None:
    """What GROW_TRIAL_TABLE says below its heading and as many rows of numbers as there are treatments."""
    for number in range(1, SENTENCES + 1):
        too_many = TOO_MANY if number == 1 else ""
        said = f'IF({treatments}>{MOST_TREATMENTS},"{too_many}",INDEX({texts},1+{treatments}+{number}))'
        page.put(page.row, 1, Computed(f'=IF({treatments}=0,"",{said})'))
        for column in range(1, page.width + 1):
            page.paint(page.row, column, Style("body", "thin", wrap=True))
        page.merge(page.row, 1, page.width)
        page.set_height(page.row, SENTENCE_HEIGHT)
        page.row += 1
