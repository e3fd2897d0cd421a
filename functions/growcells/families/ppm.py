"""What a mix puts into the water, and what a mix of feeds is as a feed."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError
from ..cells.kinds import CONCENTRATION, NUMBER, TEXT
from ..cells.liquids import mass_of
from ..cells.registry import Family, cell_function
from ..chemistry.chemical_formulas import ATOMIC_WEIGHTS
from ..chemistry.nutrient_bases import TOTAL_NITROGEN, Nutrient
from ..chemistry.products import Analysis, PpmTable, mixed, solution
from ..chemistry.unit_factors import MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE
from ..terms.analyses import ANALYSES_GIVEN, ANALYSIS, ANALYSIS_GIVEN, grade_text
from ..terms.given import MASS_GIVEN, VOLUME_GIVEN
from ..terms.mixes import MASSES, parts_of, percent_of, share_above_zero
from ..terms.names import NUTRIENT_ASKED, find_nutrient
from ..terms.ppm_tables import WATER, rows_of

COLUMNS = ("nutrient", "ppm")

NOT_LISTED = "What a label does not list counts as none."


@cell_function(
    "GROW_PPM",
    family=Family.CHEMISTRY,
    help="ppm of one nutrient from a mass of a feed in a volume of water. " + NOT_LISTED,
    arguments=(
        MASS_GIVEN,
        VOLUME_GIVEN,
        ANALYSIS_GIVEN,
        NUTRIENT_ASKED,
    ),
    result=Result(CONCENTRATION, "the concentration of the nutrient", unit_name="ppm_unit"),
    examples=(
        Example(
            (10, 5, "17-7-21", "N"), 1700 / (5 * 3.785411784), "1.7 g of N in 5 gal of 3.785411784 L (NIST SP 811)"
        ),
        Example(
            (1, 100, "17-7-21", "N", "oz", "gal"), 74.89 * 0.17, "extension bulletins: 75 × 0.17, exact 74.89", 1e-4
        ),
        Example((1, 1, "17-7-21", "P", "g", "L"), 70 * 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((1, 1, "17-7-21", "P2O5", "g", "L"), 70.0, "the oxide as asked for"),
        Example(
            (1.1808, 1, "Ca(NO3)2.4H2O", "Ca", "g", "L"), 200.4, "5 mmol/L, Hoagland & Arnon 1950, Circ. 347", 5e-4
        ),
        Example((1, 1, "17-7-21", "Ca", "g", "L"), 0.0, "the label lists no calcium"),
        Example(
            ("50 mL", "10 L", "3-1.2-4.4 density 1.15", "N"), 172.5, "57.5 g at 3 percent are 1.725 g of N in 10 L"
        ),
    ),
    formula="mass × percent ÷ 100 ÷ volume",
    source=ATOMIC_WEIGHTS,
    advice="P and K of a grade are oxides (P2O5, K2O) on the label and elements here, unless the oxide is asked for. A "
    'substance is taken as pure unless its percent follows, as in "KNO3 99%"; a bag of calcium nitrate for greenhouses '
    "is the double salt 5Ca(NO3)2.NH4NO3.10H2O, which the name stands for.",
)
def ppm(mass: float, volume: float, analysis: Analysis, nutrient: Nutrient) -> float:
    """Concentration [mg/L] of a nutrient from a mass [g] of a product in a volume [L].

    Raises GrowError for a form of nitrogen that the analysis does not tell, or a liquid without its density.

    >>> from growcells.terms.analyses import parse_analysis
    >>> from growcells.terms.names import find_nutrient
    >>> round(ppm(60.0, 120.0, parse_analysis("17-7-21"), find_nutrient("N")), 3)
    85.0
    """
    weighed = mass_of(mass, analysis.density)
    return weighed * percent_of(analysis, nutrient) / PERCENT_IN_WHOLE * MILLIGRAMS_IN_GRAM / volume


@cell_function(
    "GROW_PPM_TABLE",
    family=Family.CHEMISTRY,
    help="ppm of every nutrient from a whole mix in a volume of water, source water counted. " + NOT_LISTED,
    arguments=(MASSES, VOLUME_GIVEN, ANALYSES_GIVEN, WATER),
    result=Result(CONCENTRATION, "a heading row, then nutrient and ppm", unit_name="ppm_unit", columns=COLUMNS),
    examples=(
        Example(
            (((60,), (40,)), 100, (("7-9-26 Mg 4",), ("13.3-0-0 Ca 17",)), None, "g", "L"),
            (
                COLUMNS,
                ("N", 95.2),
                ("P", 54 * 0.43642),
                ("K", 156 * 0.83015),
                ("Ca", 68.0),
                ("Mg", 24.0),
                *((symbol, 0.0) for symbol in ("S", "Fe", "Mn", "Zn", "Cu", "B", "Mo")),
            ),
            "mass balance; IUPAC atomic weights: P 0.43642 of P2O5, K 0.83015 of K2O",
            1e-4,
        ),
    ),
    formula="sum of mass × percent ÷ 100 ÷ volume, plus the water",
    source=ATOMIC_WEIGHTS,
    advice="N, P, K, Ca, Mg, S and the six trace elements are always listed, so that one that is absent shows as 0.",
)
def ppm_table(
    masses: list[float | None], volume: float, analyses: list[Analysis | None], water: PpmTable
) -> tuple[tuple[object, ...], ...]:
    """Rows of nutrient and concentration [mg/L] for masses [g] of products in a volume [L] of water [mg/L].

    Raises GrowError where a row has a mass without an analysis or the other way round.

    >>> from growcells.terms.analyses import parse_analysis
    >>> ppm_table([60.0], 120.0, [parse_analysis("17-7-21")], {"Ca": 40.0})[1:5:3]
    (('N', 85.0), ('Ca', 40.0))
    """
    return (COLUMNS, *rows_of(solution(parts_of(masses, analyses), volume, water)))


@cell_function(
    "GROW_PERCENT",
    family=Family.CHEMISTRY,
    help="Percent by mass of one nutrient in a product. " + NOT_LISTED,
    arguments=(ANALYSIS_GIVEN, NUTRIENT_ASKED),
    result=Result(NUMBER, "percent by mass"),
    examples=(
        Example(("KNO3", "N"), 13.85, "IUPAC atomic weights: 14.007 ÷ 101.10", 3e-4),
        Example(("Epsom salt", "Mg"), 9.861, "IUPAC atomic weights: 24.305 ÷ 246.47", 3e-4),
        Example(("7-9-26 Mg 3.5", "K2O"), 26.0, "the label"),
        Example(("Ca(NO3)2.4H2O 98%", "Ca"), 16.97 * 0.98, "IUPAC atomic weights: 40.078 ÷ 236.15", 3e-4),
    ),
    formula="the label's figure, or mass of the element ÷ mass of the formula × purity",
    source=ATOMIC_WEIGHTS,
)
def percent(analysis: Analysis, nutrient: Nutrient) -> float:
    """Percent by mass [%] of a nutrient in a product.

    Raises GrowError for a form of nitrogen that the analysis does not tell.

    >>> from growcells.terms.analyses import parse_analysis
    >>> from growcells.terms.names import find_nutrient
    >>> round(percent(parse_analysis("KNO3"), find_nutrient("N")), 3)
    13.854
    """
    return percent_of(analysis, nutrient)


@cell_function(
    "GROW_NITRATE_SHARE",
    family=Family.CHEMISTRY,
    help="The part of a feed's nitrogen that is nitrate, which is what most plants in water culture live on.",
    arguments=(
        Argument(
            "analysis",
            ANALYSIS,
            'the feed with its forms of nitrogen, such as "KNO3" or "17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5"',
        ),
    ),
    result=Result(NUMBER, "a fraction from 0 to 1"),
    examples=(
        Example(("KNO3",), 1.0, "all of it is nitrate"),
        Example(("NH4NO3",), 0.5, "one of two atoms"),
        Example(("17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5",), 0.3, "5.1 ÷ 17"),
        Example(("urea",), 0.0, "none of it is nitrate"),
    ),
    formula="NO3-N ÷ N",
    source="arithmetic",
    advice="In water culture urea is of little use before bacteria have turned it into ammonium, and meters do not see "
    "it; ammonium is taken up at once, makes the water sour and harms leafy greens where it is more than about a "
    "quarter of the nitrogen (common practice, no source).",
)
def nitrate_share(analysis: Analysis) -> float:
    """Nitrate nitrogen as a part [1] of all nitrogen.

    Raises OutOfRange where there is no nitrogen, GrowError where its form is not told.

    >>> from growcells.terms.analyses import parse_analysis
    >>> nitrate_share(parse_analysis("NH4NO3"))
    0.5
    """
    share_above_zero(analysis, find_nutrient(TOTAL_NITROGEN))
    return percent_of(analysis, find_nutrient("NO3-N")) / percent_of(analysis, find_nutrient(TOTAL_NITROGEN))


@cell_function(
    "GROW_BLEND",
    family=Family.CHEMISTRY,
    help="The label of a mix of dry feeds, weighted by mass, as a text that every function takes as an analysis.",
    arguments=(MASSES, ANALYSES_GIVEN),
    result=Result(TEXT, "the analysis of the mix"),
    examples=(
        Example(
            (((1,), (1,)), (("13.3-0-0 Ca 17",), ("7-9-26 Mg 4",))),
            "10.15-4.5-13 Ca 8.5 Mg 2",
            "equal parts: halves of each figure, not sums",
        ),
        Example((((30,), (10,)), (("17-7-21",), ("0-0-41",))), "12.75-5.25-26", "(30 × 21 + 10 × 41) ÷ 40 = 26"),
        Example(
            ((("20 mL",), (25,)), (("4-0-8 density 1.25",), ("0-0-0 Ca 2",))), "2-0-4 Ca 1", "25 g and 25 g: halves"
        ),
    ),
    formula="sum of mass × percent ÷ sum of masses",
    source="mass balance",
    advice="Adding up the label percents of the parts is wrong: each percent is of its own part, and every part thins "
    "the others. Equal parts of 13.3-0-0 and 7-9-26 are 10.15-4.5-13, not 20.3-9-26. Dry feeds that hold calcium must "
    "not be mixed wet with sulfates or phosphates at stock strength.",
)
def blend(masses: list[float | None], analyses: list[Analysis | None]) -> str:
    """The analysis of a mix of masses [g] of products.

    Raises GrowError where the masses add up to nothing or a row has only one of its two.

    >>> from growcells.terms.analyses import parse_analysis
    >>> blend([2.0, 1.0], [parse_analysis("13.3-0-0 Ca 17"), parse_analysis("7-9-26")])
    '11.2-3-8.66667 Ca 11.3333'
    """
    parts = parts_of(masses, analyses)
    whole = sum(mass for mass, _ in parts)
    if not whole:
        raise GrowError("the masses add up to 0: give the mass of each part")
    return grade_text({key: PERCENT_IN_WHOLE * mass / whole for key, mass in mixed(parts).items()})
