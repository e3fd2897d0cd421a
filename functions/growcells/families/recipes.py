"""Published solutions, what a tank lacks beside one of them, and the masses that come nearest to one."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError, UnknownName
from ..cells.kinds import CONCENTRATION
from ..cells.liquids import PRODUCT, of_density
from ..cells.registry import Family, cell_function
from ..chemistry.nutrient_bases import ALWAYS_LISTED, Nutrient, nutrients
from ..chemistry.products import Analysis, PpmTable, UntoldNitrogen, solution
from ..chemistry.published_solutions import fitted
from ..chemistry.unit_factors import PERCENT_IN_WHOLE
from ..terms.analyses import ANALYSES_GIVEN
from ..terms.given import VOLUME_GIVEN
from ..terms.mixes import untold
from ..terms.names import NUTRIENT_ASKED
from ..terms.ppm_tables import PPM_TABLE, RECIPE, WATER, WEIGHTS, Targets, rows_of

LITERATURE = "data/recipes.csv, with the source of each solution and how sure its figures are"

SHORT = 0.8

OVER = 1.25
"""Parts of the target below and above which a nutrient is called short or over: common practice, no source."""

ABSENT = 0.02
"""Part of the target below which a nutrient counts as absent."""

ADVICE_ABSENT = {
    "Ca": "an all-purpose feed without Ca and Mg cannot carry leafy greens alone in soft water; "
    "add calcium nitrate from its own tank",
    "Mg": "an all-purpose feed without Ca and Mg cannot carry leafy greens alone in soft water; add Epsom salt",
    "S": "many labels do not list it: look for sulfates among the ingredients before adding any",
    "Fe": "young leaves turn yellow within days; add a chelate",
}


@cell_function(
    "GROW_TARGET",
    family=Family.CHEMISTRY,
    help="The ppm of a nutrient in a published solution.",
    arguments=(RECIPE, NUTRIENT_ASKED),
    result=Result(CONCENTRATION, "the ppm, elemental unless the oxide is asked", unit_name="ppm_unit"),
    examples=(
        Example(("Hoagland & Arnon 1", "Ca"), 200.0, "Hoagland & Arnon 1950, Circ. 347"),
        Example(("Hoagland & Arnon 2", "Ca"), 160.0, "Hoagland & Arnon 1950, Circ. 347"),
        Example(("Steiner", "N"), 168.1, "Steiner 1961, 12 meq/L of nitrate"),
    ),
    formula="table look-up",
    source=LITERATURE,
    advice="Published solutions differ by a factor of two and all grow plants: none is right to the ppm.",
)
def target(recipe: PpmTable, nutrient: Nutrient) -> float:
    """Concentration [mg/L] of a nutrient in a recipe [mg/L].

    Raises UnknownName where its source gives none.

    >>> from growcells.terms.names import find_nutrient
    >>> target({"N": 150.0, "K": 210.0}, find_nutrient("K"))
    210.0
    """
    if nutrient.key not in recipe:
        raise UnknownName(f"the source of this recipe gives no figure for {nutrient.symbol}: ask for another nutrient")
    return recipe[nutrient.key] / nutrient.share


def verdict(key: str, ppm: float, wanted: float) -> str:
    """Absent, short, fine or over, with a sentence where a nutrient is absent."""
    if wanted <= 0:
        return "fine" if ppm <= 0 else "over"
    part = ppm / wanted
    if part < ABSENT:
        told = ADVICE_ABSENT.get(key)
        return f"absent: no {nutrients()[key].name}" + (f": {told}" if told else "")
    return "short" if part < SHORT else "over" if part > OVER else "fine"


GAP_COLUMNS = ("nutrient", "ppm", "target", "percent of target", "verdict")


@cell_function(
    "GROW_GAPS",
    family=Family.CHEMISTRY,
    help="What a solution lacks or has too much of, compared with a published one: absent, short, fine or over.",
    arguments=(
        Argument("ppm_table", PPM_TABLE, "a range of nutrient, ppm, such as GROW_PPM_TABLE gives"),
        Argument("recipe", Targets("targets"), "the name of a published solution, or a range of nutrient, ppm"),
    ),
    result=Result(CONCENTRATION, "a heading row, then a row for each nutrient", columns=GAP_COLUMNS),
    examples=(
        Example(
            ((("N", 180), ("P", 40), ("K", 149)), (("N", 150), ("P", 50), ("K", 200), ("Ca", 90))),
            (
                GAP_COLUMNS,
                ("N", 180.0, 150.0, 120.0, "fine"),
                ("P", 40.0, 50.0, 80.0, "fine"),
                ("K", 149.0, 200.0, 74.5, "short"),
                ("Ca", 0.0, 90.0, 0.0, "absent: no calcium: " + ADVICE_ABSENT["Ca"]),
            ),
            "arithmetic; limits of 80 and 125 percent: common practice, no source",
        ),
    ),
    formula="ppm ÷ target × 100; absent below 2, short below 80, over above 125 percent",
    source=LITERATURE + "; limits: common practice, no source",
    advice="A label that does not list a nutrient may still contain it: an absent sulfur is often only unlisted.",
)
def gaps(ppm_table: PpmTable, recipe: PpmTable) -> tuple[tuple[object, ...], ...]:
    """Rows of nutrient, concentration [mg/L], target [mg/L], percent of it [%], verdict.

    >>> gaps({"N": 90.0}, {"N": 150.0})[1]
    ('N', 90.0, 150.0, 60.0, 'short')
    """
    rows = []
    for key in (*ALWAYS_LISTED, *(key for key in nutrients() if key not in ALWAYS_LISTED)):
        if key in recipe:
            ppm, wanted = ppm_table.get(key, 0.0), recipe[key]
            percent = PERCENT_IN_WHOLE * ppm / wanted if wanted else ""
            rows.append((key, ppm, wanted, percent, verdict(key, ppm, wanted)))
    return (GAP_COLUMNS, *rows)


FITTED = (
    Argument("targets", Targets("targets"), "the name of a published solution, or a range of nutrient, ppm"),
    ANALYSES_GIVEN,
    VOLUME_GIVEN,
    WATER,
    Argument(
        "weights",
        WEIGHTS,
        "a range of nutrient, weight: how much the miss of a nutrient counts, P and P2O5 alike; 1 if left out",
        False,
        default=MappingProxyType({}),
    ),
)

FIT_FORMULA = "least sum of (weight × (reached − target) ÷ target)², no mass below zero"

FIT_SOURCE = "Lawson & Hanson 1974, Solving Least Squares Problems, chapter 23, as scipy.optimize.nnls"

FIT_ADVICE = (
    "Missing a target by 10 percent counts the same for every nutrient, however small its ppm. Weigh trace elements as "
    "a ready mix or from a dissolved stock: their masses are far below what a kitchen scale shows."
)


def weighed(
    targets: PpmTable, analyses: Sequence[Analysis], volume: float, water: PpmTable, weights: PpmTable
) -> list[float]:
    """The masses [g] fitted. Raises GrowError where an analysis does not tell its forms of nitrogen."""
    try:
        return fitted(targets, analyses, volume, water, weights)
    except UntoldNitrogen as problem:
        raise untold(problem) from None


def parts(analyses: Sequence[Analysis | None]) -> list[Analysis]:
    """The analyses given. Raises GrowError where there is none."""
    given = [analysis for analysis in analyses if analysis is not None]
    if not given:
        raise GrowError("analyses are blank: give at least one part")
    return given


@cell_function(
    "GROW_RECIPE",
    family=Family.CHEMISTRY,
    help="What to weigh of each part so that the water comes nearest to the targets, none negative.",
    arguments=FITTED,
    result=Result(PRODUCT, "a mass for each row of analyses, no heading row", unit_name="mass_unit", columns=("mass",)),
    examples=(
        Example(
            (
                (("N", 210.1), ("P", 30.97), ("K", 234.6), ("Ca", 200.4), ("Mg", 48.61), ("S", 64.1)),
                (("KNO3",), ("Ca(NO3)2.4H2O",), ("KH2PO4",), ("MgSO4.7H2O",)),
                "100 L",
            ),
            ((50.55,), (118.07,), (13.61,), (49.29,)),
            "Hoagland & Arnon 1950, Circ. 347: 5 mmol/L KNO3 and Ca(NO3)2, 1 KH2PO4, 2 MgSO4 in 100 L",
            1e-3,
        ),
        Example(
            ((("N", 60),), (("3-1.2-4.4 density 1.15",),), "10 L", None, None, None, "mL"),
            ((20 / 1.15,),),
            "0.6 g of N at 3 percent are 20 g, 1.15 g a mL",
        ),
    ),
    formula=FIT_FORMULA,
    source=FIT_SOURCE,
    needs=("numpy", "scipy"),
    advice="GROW_RECIPE_FIT tells what these masses reach, and which target cannot be met. " + FIT_ADVICE,
)
def recipe_masses(
    targets: PpmTable, analyses: list[Analysis | None], volume: float, water: PpmTable, weights: PpmTable
) -> tuple[tuple[object, ...], ...]:
    """A mass [g] for each row of analyses, blank where the row is; targets and water [mg/L], volume [L], weights [1].

    Raises GrowError where no analysis is given, or where a form of nitrogen is a target and one does not tell its own.

    >>> from growcells.terms.analyses import parse_analysis
    >>> recipe_masses({"N": 133.0}, [parse_analysis("13.3-0-0"), None], 100.0, {}, {})
    ((100.0,), ('',))
    """
    masses = iter(weighed(targets, parts(analyses), volume, water, weights))
    return tuple(("" if analysis is None else of_density(next(masses), analysis.density),) for analysis in analyses)


FIT_COLUMNS = ("nutrient", "target", "reached", "difference", "note")

NEAR = 0.05
"""Part of a target by which it may be missed before the note says why: common practice, no source."""


@cell_function(
    "GROW_RECIPE_FIT",
    family=Family.CHEMISTRY,
    help="Target, reached and difference for every nutrient with the masses of GROW_RECIPE, those without "
    "a target as well, and why a target is not met.",
    arguments=FITTED,
    result=Result(
        CONCENTRATION, "a heading row, then a row for each nutrient", "ppm_unit", negative=True, columns=FIT_COLUMNS
    ),
    examples=(
        Example(
            ((("N", 100), ("Ca", 100)), "NH4NO3", "100 L"),
            (
                FIT_COLUMNS,
                ("N", 100.0, 100.0, 0.0, ""),
                *((key, "", 0.0, "", "") for key in ("P", "K")),
                ("Ca", 100.0, 0.0, -100.0, "short by 100 %: no part holds Ca"),
                *((key, "", 0.0, "", "") for key in ALWAYS_LISTED[4:]),
                ("NO3-N", "", 50.0, "", "no target"),
                ("NH4-N", "", 50.0, "", "no target"),
            ),
            "mass balance: half of the nitrogen of ammonium nitrate is nitrate",
        ),
    ),
    formula=FIT_FORMULA,
    source=FIT_SOURCE,
    needs=("numpy", "scipy"),
    advice=FIT_ADVICE,
)
def recipe_fit(
    targets: PpmTable, analyses: list[Analysis | None], volume: float, water: PpmTable, weights: PpmTable
) -> tuple[tuple[object, ...], ...]:
    """Rows of nutrient, target, reached, difference [mg/L] and a note; volume [L], weights [1].

    Raises GrowError where no analysis is given, or where a form of nitrogen is a target and one does not tell its own.

    >>> from growcells.terms.analyses import parse_analysis
    >>> recipe_fit({"Ca": 100.0}, [parse_analysis("13.3-0-0")], 100.0, {}, {})[4]
    ('Ca', 100.0, 0.0, -100.0, 'short by 100 %: no part holds Ca')
    """
    given = parts(analyses)
    masses = weighed(targets, given, volume, water, weights)
    reached = solution(zip(masses, given, strict=True), volume, water)
    rows: list[tuple[object, ...]] = []
    for key, ppm in rows_of({**dict.fromkeys(targets, 0.0), **reached}):
        if key not in targets:
            rows.append((key, "", ppm, "", "no target" if ppm else ""))
            continue
        wanted = targets[key]
        rows.append((key, wanted, ppm, ppm - wanted, why_missed(key, wanted, ppm, given, water)))
    return (FIT_COLUMNS, *rows)


def why_missed(key: str, wanted: float, reached: float, analyses: Sequence[Analysis], water: PpmTable) -> str:
    """A note where a target is missed by more than 5 %: by how much, and what stands in the way."""
    if abs(reached - wanted) <= NEAR * wanted:
        return ""
    holders = [analysis for analysis in analyses if analysis.percents.get(key)]
    by = f" by {abs(reached / wanted - 1) * PERCENT_IN_WHOLE:.3g} %" if wanted else ""
    if reached < wanted:
        if not holders:
            return f"short{by}: no part holds {key}"
        return f"short{by}: more of {held_by(holders)} would bring too much of others"
    if water.get(key, 0.0) > wanted:
        return f"over{by}: the water alone holds {water[key]:.3g} ppm"
    return f"over{by}: it comes with {held_by(holders)}, which others need"


def held_by(holders: Sequence[Analysis]) -> str:
    """The parts by the texts they were given as."""
    return " and ".join(f'"{holder.text}"' for holder in holders)
