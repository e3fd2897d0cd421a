"""What a mix puts into the water, and what a mix of feeds is as a feed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .analysis import ANALYSES_GIVEN, ANALYSIS, ANALYSIS_GIVEN, Analysis, grade_text, nutrient_rows
from .cost import FAMILY as COST_FAMILY
from .cost import PACKAGE_MASS, PRICE
from .dose import MASS_GIVEN, VOLUME_GIVEN
from .errors import CellError, GrowError, OutOfRange, PassedOn
from .kinds import CONCENTRATION, MASS, NUMBER, TEXT, Kind, Quantity, is_range
from .nutrients import (
    ALKALINITY,
    ALWAYS_LISTED,
    ATOMIC_WEIGHTS,
    FAMILY,
    NITROGEN_FORMS,
    NUTRIENT_ASKED,
    TOTAL_NITROGEN,
    Nutrient,
    find_nutrient,
    folded,
    nutrients,
)
from .ranges import Column, check_lengths
from .registry import Argument, Example, Result, cell_function

MILLIGRAMS_IN_GRAM = 1000.0
PERCENT = 100.0
PH = "pH"
HIGHEST_PH = 14.0
COLUMNS = ("nutrient", "ppm")
NOT_LISTED = "What a label does not list counts as none."

PpmTable = Mapping[str, float]
"""ppm by nutrient key, elemental; alkalinity as mg/L of CaCO3; pH as itself."""


@dataclass(frozen=True)
class PpmTableKind(Kind):
    """A range of two columns: nutrient, ppm. Rows for alkalinity and pH are understood."""

    whole = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> PpmTable:
        if isinstance(cell, CellError):
            raise PassedOn(argument.name, cell)
        if not is_range(cell):
            raise GrowError(f"{argument.name} is a single cell: give a range of two columns, nutrient and ppm")
        table: dict[str, float] = {}
        for name, figure in nutrient_rows(cell, argument, "ppm"):
            try:
                key, ppm = table_row(name, figure)
            except GrowError as problem:
                raise type(problem)(f"{argument.name}: {problem}") from None
            if key in table and key != ALKALINITY:
                raise GrowError(f"{argument.name} lists {key} twice: give each nutrient once")
            table[key] = table.get(key, 0.0) + ppm
        if not table:
            raise GrowError(f"{argument.name} is blank: give rows of nutrient and ppm")
        return with_total_nitrogen(table, argument.name)


def table_row(name: str, figure: float) -> tuple[str, float]:
    """Key and elemental ppm of a row. Raises GrowError where the name or the figure cannot be."""
    if figure < 0:
        raise OutOfRange(f"{name} is {figure:g}, below zero: give 0 or more")
    if folded(name) == folded(PH):
        if figure > HIGHEST_PH:
            raise OutOfRange(f"pH is {figure:g}: give one from 0 to {HIGHEST_PH:g}")
        return PH, figure
    nutrient = find_nutrient(name)
    return nutrient.key, figure * nutrient.share


def with_total_nitrogen(table: dict[str, float], name: str) -> PpmTable:
    """The table with N as the sum of its forms where only these are listed.

    Raises OutOfRange where the forms are more than the total.
    """
    listed = [table[form] for form in NITROGEN_FORMS if form in table]
    if listed:
        total = table.setdefault(TOTAL_NITROGEN, sum(listed))
        if sum(listed) > total * ROUNDED_SUM + ROUNDED_PPM:
            forms = f"the forms of nitrogen in {name} add up to {sum(listed):g} ppm"
            raise OutOfRange(f"{forms}, more than N with {total:g}")
    return MappingProxyType(table)


ROUNDED_SUM = 1.01
ROUNDED_PPM = 1.0
"""How far forms of nitrogen, each rounded, may add up to more than the total: 1 % and 1 ppm."""

PPM_TABLE = PpmTableKind("ppm table")
WATER = Argument(
    "water",
    PPM_TABLE,
    "what the source water holds, a range of nutrient, ppm; none if left out",
    False,
    default=MappingProxyType({}),
)
MASSES = Argument(
    "masses",
    Column("masses", MASS),
    "the mass of each part, a column or one value",
    unit="mass_unit",
    zero=True,
)


def parts_of(masses: list[float | None], analyses: list[Analysis | None]) -> list[tuple[float, Analysis]]:
    """Mass and analysis of each filled row.

    Raises GrowError where the columns differ in length, or where a row has one without the other.
    """
    check_lengths({"masses": masses, "analyses": analyses})
    parts = []
    for row, (mass, analysis) in enumerate(zip(masses, analyses, strict=True), 1):
        if mass is not None and analysis is not None:
            parts.append((mass, analysis))
        elif mass is not None or analysis is not None:
            lacking = "masses" if mass is None else "analyses"
            raise GrowError(f"row {row} has no {lacking}: fill the row or clear it")
    if not parts:
        raise GrowError("masses and analyses are blank: give at least one part")
    return parts


def mixed(parts: Iterable[tuple[float, Analysis]]) -> dict[str, float]:
    """Mass [g] of each nutrient, by key, in parts of mass [g] and analysis.

    Forms of nitrogen are left out where a part does not tell its own: the sum of the others would be too low.
    """
    sums: dict[str, float] = {}
    untold = False
    for mass, analysis in parts:
        untold = untold or (mass > 0 and analysis.nitrogen_untold)
        for key, percent in analysis.percents.items():
            sums[key] = sums.get(key, 0.0) + mass * percent / PERCENT
    return {key: mass for key, mass in sums.items() if not (untold and key in NITROGEN_FORMS)}


def rows_of(table: PpmTable) -> tuple[tuple[str, float], ...]:
    """A ppm table as rows: those that are always listed, then what else is there."""
    keys = [*ALWAYS_LISTED, *(key for key in nutrients() if key in table and key not in ALWAYS_LISTED)]
    return tuple((key, table.get(key, 0.0)) for key in keys)


@cell_function(
    "GROW_PPM",
    family=FAMILY,
    help="ppm of one nutrient from a mass of a feed in a volume of water. " + NOT_LISTED,
    arguments=(
        MASS_GIVEN,
        VOLUME_GIVEN,
        ANALYSIS_GIVEN,
        NUTRIENT_ASKED,
    ),
    result=Result(CONCENTRATION, "the concentration of the nutrient", unit_name="ppm_unit"),
    examples=(
        Example((10, 5, "20-20-20", "N"), 2000 / (5 * 3.785411784), "2 g of N in 5 gal of 3.785411784 L (NIST SP 811)"),
        Example((1, 100, "20-20-20", "N", "oz", "gal"), 14.978, "extension bulletins: 75 × 0.20, exact 74.89", 1e-4),
        Example((1, 1, "20-20-20", "P", "g", "L"), 200 * 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((1, 1, "20-20-20", "P2O5", "g", "L"), 200.0, "the oxide as asked for"),
        Example(
            (1.1808, 1, "Ca(NO3)2.4H2O", "Ca", "g", "L"), 200.4, "5 mmol/L, Hoagland & Arnon 1950, Circ. 347", 5e-4
        ),
        Example((1, 1, "18-9-18", "Ca", "g", "L"), 0.0, "the label lists no calcium"),
    ),
    formula="mass × percent ÷ 100 ÷ volume",
    source=ATOMIC_WEIGHTS,
    advice="P and K of a grade are oxides (P2O5, K2O) on the label and elements here, unless the oxide is asked for. A "
    'substance is taken as pure unless its percent follows, as in "KNO3 99%"; a bag of calcium nitrate for greenhouses '
    "is the double salt 5Ca(NO3)2.NH4NO3.10H2O, which the name stands for.",
)
def ppm(mass: float, volume: float, analysis: Analysis, nutrient: Nutrient) -> float:
    """Concentration [mg/L] of a nutrient from a mass [g] of a product in a volume [L].

    Raises GrowError for a form of nitrogen that the analysis does not tell.
    """
    return mass * analysis.percent(nutrient) / PERCENT * MILLIGRAMS_IN_GRAM / volume


@cell_function(
    "GROW_PPM_TABLE",
    family=FAMILY,
    help="ppm of every nutrient from a whole mix in a volume of water, source water counted. " + NOT_LISTED,
    arguments=(MASSES, VOLUME_GIVEN, ANALYSES_GIVEN, WATER),
    result=Result(CONCENTRATION, "a heading row, then nutrient and ppm", unit_name="ppm_unit", columns=COLUMNS),
    examples=(
        Example(
            (((60,), (40,)), 100, (("6-12-30 Mg 4",), ("15-0-0 Ca 20",)), None, "g", "L"),
            (
                COLUMNS,
                ("N", 96.0),
                ("P", 72 * 0.43642),
                ("K", 180 * 0.83015),
                ("Ca", 80.0),
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
    """Rows of nutrient and concentration [mg/L] for masses [g] of products in a volume [L] of water."""
    return (COLUMNS, *rows_of(solution(parts_of(masses, analyses), volume, water)))


def solution(parts: Iterable[tuple[float, Analysis]], volume: float, water: PpmTable) -> PpmTable:
    """Concentrations [mg/L] by key of parts [g] dissolved in a volume [L] of water."""
    table = {key: value for key, value in water.items() if key != PH}
    added = mixed(parts)
    if added.get(TOTAL_NITROGEN) and not any(form in added for form in NITROGEN_FORMS):
        table = {key: value for key, value in table.items() if key not in NITROGEN_FORMS}
    for key, mass in added.items():
        table[key] = table.get(key, 0.0) + mass * MILLIGRAMS_IN_GRAM / volume
    return table


@cell_function(
    "GROW_PERCENT",
    family=FAMILY,
    help="Percent by mass of one nutrient in a product. " + NOT_LISTED,
    arguments=(ANALYSIS_GIVEN, NUTRIENT_ASKED),
    result=Result(NUMBER, "percent by mass"),
    examples=(
        Example(("KNO3", "N"), 13.85, "IUPAC atomic weights: 14.007 ÷ 101.10", 3e-4),
        Example(("Epsom salt", "Mg"), 9.861, "IUPAC atomic weights: 24.305 ÷ 246.47", 3e-4),
        Example(("6-11-31 Mg 3.5", "K2O"), 31.0, "the label"),
        Example(("Ca(NO3)2.4H2O 98%", "Ca"), 16.97 * 0.98, "IUPAC atomic weights: 40.078 ÷ 236.15", 3e-4),
    ),
    formula="the label's figure, or mass of the element ÷ mass of the formula × purity",
    source=ATOMIC_WEIGHTS,
)
def percent(analysis: Analysis, nutrient: Nutrient) -> float:
    """Percent by mass of a nutrient in a product."""
    return analysis.percent(nutrient)


@cell_function(
    "GROW_NITRATE_SHARE",
    family=FAMILY,
    help="The part of a feed's nitrogen that is nitrate, which is what most plants in water culture live on.",
    arguments=(
        Argument(
            "analysis",
            ANALYSIS,
            'the feed with its forms of nitrogen, such as "KNO3" or "20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5"',
        ),
    ),
    result=Result(NUMBER, "a fraction from 0 to 1"),
    examples=(
        Example(("KNO3",), 1.0, "all of it is nitrate"),
        Example(("NH4NO3",), 0.5, "one of two atoms"),
        Example(("20-20-20 NO3-N 5.6 NH4-N 3.9 urea-N 10.5",), 0.28, "5.6 ÷ 20"),
        Example(("urea",), 0.0, "none of it is nitrate"),
    ),
    formula="NO3-N ÷ N",
    source="arithmetic",
    advice="In water culture urea is of little use before bacteria have turned it into ammonium, and meters do not see "
    "it; ammonium is taken up at once, makes the water sour and harms leafy greens where it is more than about a "
    "quarter of the nitrogen (common practice, no source).",
)
def nitrate_share(analysis: Analysis) -> float:
    """Nitrate nitrogen as a part of all nitrogen.

    Raises OutOfRange where there is no nitrogen, GrowError where its form is not told.
    """
    share_above_zero(analysis, find_nutrient(TOTAL_NITROGEN))
    return analysis.percent(find_nutrient("NO3-N")) / analysis.percent(find_nutrient(TOTAL_NITROGEN))


@cell_function(
    "GROW_BLEND",
    family=FAMILY,
    help="The label of a mix of dry feeds, weighted by mass, as a text that every function takes as an analysis.",
    arguments=(MASSES, ANALYSES_GIVEN),
    result=Result(TEXT, "the analysis of the mix"),
    examples=(
        Example(
            (((1,), (1,)), (("15.5-0-0 Ca 19",), ("6-12-30 Mg 4",))),
            "10.75-6-15 Ca 9.5 Mg 2",
            "equal parts: halves of each figure, not sums",
        ),
        Example((((30,), (10,)), (("20-20-20",), ("0-0-40",))), "15-15-25", "(30 × 20 + 10 × 40) ÷ 40 = 25"),
    ),
    formula="sum of mass × percent ÷ sum of masses",
    source="mass balance",
    advice="Adding up the label percents of the parts is wrong: each percent is of its own part, and every part thins "
    "the others. Equal parts of 15.5-0-0 and 6-12-30 are 10.75-6-15, not 21.5-12-30. Dry feeds that hold calcium must "
    "not be mixed wet with sulfates or phosphates at stock strength.",
)
def blend(masses: list[float | None], analyses: list[Analysis | None]) -> str:
    """The analysis of a mix of masses [g] of products.

    Raises GrowError where the masses add up to nothing.
    """
    parts = parts_of(masses, analyses)
    whole = sum(mass for mass, _ in parts)
    if not whole:
        raise GrowError("the masses add up to 0: give the mass of each part")
    return grade_text({key: PERCENT * mass / whole for key, mass in mixed(parts).items()})


@dataclass(frozen=True)
class PricePerMass(Quantity):
    """A price for a mass; its unit is that of the mass, and a larger unit makes a larger number."""

    def factors(self, unit: str | None) -> tuple[float, float]:
        return 1 / super().factors(unit)[0], 0.0


PRICE_PER_MASS = PricePerMass("mass", "kg", "g", "1 kg", "kilograms")


@cell_function(
    "GROW_COST_NUTRIENT",
    family=COST_FAMILY,
    help="Price of a kilogram (or pound) of one nutrient, to compare feeds of different strength.",
    arguments=(
        PRICE,
        PACKAGE_MASS,
        ANALYSIS_GIVEN,
        NUTRIENT_ASKED,
    ),
    result=Result(PRICE_PER_MASS, "the price of one unit of mass of the nutrient", unit_name="per_unit"),
    examples=(
        Example((31.5, 10, "20-20-20", "N", "kg"), 15.75, "31.5 ÷ 2 kg of N"),
        Example((31.5, 10, "20-20-20", "N", "lb", "lb"), 15.75, "31.5 ÷ 2 lb of N"),
        Example((31.5, 10, "20-20-20", "N"), 15.75 / 0.45359237, "NIST SP 811: 10 lb are 4.5359237 kg"),
    ),
    formula="price ÷ (package mass × percent ÷ 100)",
    source="arithmetic",
)
def cost_of_nutrient(price: float, package_mass: float, analysis: Analysis, nutrient: Nutrient) -> float:
    """Price of a gram of a nutrient from a package of a price and a mass [g].

    Raises OutOfRange where the product holds none of it.
    """
    return price / (package_mass * share_above_zero(analysis, nutrient))


def share_above_zero(analysis: Analysis, nutrient: Nutrient) -> float:
    """The mass fraction of a nutrient. Raises OutOfRange where the product holds none of it."""
    share = analysis.percent(nutrient) / PERCENT
    if not share:
        raise OutOfRange(f'"{analysis.text}" lists no {nutrient.symbol}: give a product that holds it')
    return share
