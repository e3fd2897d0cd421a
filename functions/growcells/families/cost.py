"""What a dose, a nutrient and a head cost, and how long stock lasts. Money is in the currency of the log."""

from __future__ import annotations

from dataclasses import dataclass

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError
from ..cells.kinds import DATE, MONEY, NUMBER, WEEKS, Quantity
from ..cells.liquids import PRODUCT, PRODUCT_PACKAGE, check_alike, mass_of
from ..cells.ranges import Column
from ..cells.registry import Family, cell_function
from ..chemistry.nutrient_bases import Nutrient
from ..chemistry.products import Analysis
from ..chemistry.unit_factors import DAYS_IN_WEEK
from ..terms.analyses import ANALYSIS_GIVEN
from ..terms.mixes import share_above_zero
from ..terms.names import NUTRIENT_ASKED

PRICE = Argument("price", MONEY, "the price of the package", rare_zero="0")

PACKAGE_MASS = Argument(
    "package_mass", PRODUCT_PACKAGE, "the mass of feed in the package, or the volume of a liquid", unit="package_unit"
)

ON_HAND = Argument("on_hand", PRODUCT, "the mass in stock, or the volume of a liquid", unit="on_hand_unit", zero=True)


@cell_function(
    "GROW_COST",
    family=Family.COST,
    help="Cost of a dose, from the price of the package it comes from.",
    arguments=(
        Argument("mass", PRODUCT, "the mass of the dose, or the volume of a liquid", unit="mass_unit", zero=True),
        PRICE,
        PACKAGE_MASS,
    ),
    result=Result(MONEY, "the cost"),
    examples=(
        Example((61.2, 31.5, 10, "g", "lb"), 61.2 / 4535.9237 * 31.5, "NIST SP 811: 10 lb are 4535.9237 g"),
        Example((61.2, "$31.50", "10 lb"), 61.2 / 4535.9237 * 31.5, "NIST SP 811: 10 lb are 4535.9237 g"),
        Example(("150 mL", 22, "1 gal"), 150 / 3785.411784 * 22, "NIST SP 811: 1 gal are 3785.411784 mL"),
    ),
    formula="mass ÷ package mass × price",
    source="arithmetic",
    elementwise=True,
)
def cost(mass: float, price: float, package_mass: float) -> float:
    """Cost [money] of a mass [g] from a package of a price [money] and a mass [g]; of a liquid both in [L].

    Raises GrowError where one is a mass and the other a volume.

    >>> cost(60.0, 40.0, 5000.0)
    0.48
    """
    check_alike("mass", mass, "package_mass", package_mass)
    return mass / package_mass * price


@cell_function(
    "GROW_COST_HEAD",
    family=Family.COST,
    help="Cost of one saleable plant.",
    arguments=(
        Argument(
            "costs",
            Column("costs", MONEY),
            "one cost or a column of them: feed, seed, plugs, power",
            zero=True,
        ),
        Argument("heads", NUMBER, "how many plants were saleable"),
    ),
    result=Result(MONEY, "the cost of one"),
    examples=(
        Example((((12.5,), (4,), (1.5,)), 36), 0.5, "18 ÷ 36"),
        Example((18, 36), 0.5, "18 ÷ 36"),
    ),
    formula="sum of the costs ÷ saleable plants",
    source="arithmetic",
    advice="Count only what was sold or eaten: what died or bolted raises the cost of the rest.",
)
def cost_per_head(costs: list[float | None], heads: float) -> float:
    """Sum of the costs [money] divided by the heads [1]. Raises GrowError where every cost is blank.

    >>> cost_per_head([12.5, None, 5.5], 40.0)
    0.45
    """
    given = [value for value in costs if value is not None]
    if not given:
        raise GrowError("costs are blank: give at least one cost")
    return sum(given) / heads


@cell_function(
    "GROW_FILLS_LEFT",
    family=Family.COST,
    help="How many fills the feed in stock is enough for.",
    arguments=(ON_HAND, Argument("mass_per_fill", PRODUCT, "the mass that one fill takes", unit="fill_unit")),
    result=Result(NUMBER, "the number of fills, with its fraction"),
    examples=(
        Example((2600, 65), 40.0, "2600 ÷ 65"),
        Example((10, 61.2, "lb", "g"), 4535.9237 / 61.2, "NIST SP 811"),
        Example(("2 L", "160 mL"), 12.5, "2000 ÷ 160"),
    ),
    formula="mass in stock ÷ mass a fill",
    source="arithmetic",
    elementwise=True,
)
def fills_left(on_hand: float, mass_per_fill: float) -> float:
    """Fills [1] that a stock [g] gives at a mass [g] each; of a liquid both in [L].

    Raises GrowError where one is a mass and the other a volume.

    >>> fills_left(2600.0, 65.0)
    40.0
    """
    check_alike("on_hand", on_hand, "mass_per_fill", mass_per_fill)
    return on_hand / mass_per_fill


@cell_function(
    "GROW_REORDER",
    family=Family.COST,
    help="The date to order, so that the new package comes when the old one is used up.",
    arguments=(
        ON_HAND,
        Argument("use_per_week", PRODUCT, "the mass used in a week", unit="use_unit"),
        Argument("lead_weeks", WEEKS, "weeks from order to delivery", zero=True),
        Argument("from_date", DATE, "the date of the stock count"),
    ),
    result=Result(DATE, "the date to order, a date before today means now; format the cell as a date", negative=True),
    examples=(
        Example((2600, 650, 2, "2026-11-16"), 46342 + 14, "4 weeks of stock less 2 weeks; 46342 is 2026-11-16"),
        Example((650, 650, 2, 46342), 46342 - 7, "one week too late"),
        Example(("2 L", "500 mL", 2, "2026-11-16"), 46342 + 14, "4 weeks of stock less 2 weeks"),
    ),
    formula="from_date + 7 × (stock ÷ weekly use − lead weeks)",
    source="arithmetic; date serial numbers of ISO/IEC 29500-1, 18.17.4.1",
)
def reorder_date(on_hand: float, use_per_week: float, lead_weeks: float, from_date: float) -> float:
    """Date serial [day] to order, lead_weeks [week] before a stock [g] ends that is used at a mass a week [g/week].

    Of a liquid both are volumes [L]; raises GrowError where one is a mass and the other a volume.

    >>> reorder_date(2600.0, 650.0, 2.0, 46342.0)
    46356.0
    """
    check_alike("on_hand", on_hand, "use_per_week", use_per_week)
    return from_date + DAYS_IN_WEEK * (on_hand / use_per_week - lead_weeks)


@dataclass(frozen=True)
class PricePerMass(Quantity):
    """A price for a mass; its unit is that of the mass, and a larger unit makes a larger number."""

    def factors(self, unit: str | None) -> tuple[float, float]:
        return 1 / super().factors(unit)[0], 0.0


PRICE_PER_MASS = PricePerMass("mass", "kg", "g", "1 kg", "kilograms")


@cell_function(
    "GROW_COST_NUTRIENT",
    family=Family.COST,
    help="Price of a kilogram (or pound) of one nutrient, to compare feeds of different strength.",
    arguments=(
        PRICE,
        PACKAGE_MASS,
        ANALYSIS_GIVEN,
        NUTRIENT_ASKED,
    ),
    result=Result(PRICE_PER_MASS, "the price of one unit of mass of the nutrient", unit_name="per_unit"),
    examples=(
        Example((31.5, 10, "17-7-21", "N", "kg"), 31.5 / 1.7, "31.5 ÷ 1.7 kg of N"),
        Example((31.5, 10, "17-7-21", "N", "lb", "lb"), 31.5 / 1.7, "31.5 ÷ 1.7 lb of N"),
        Example((31.5, 10, "17-7-21", "N"), 31.5 / 1.7 / 0.45359237, "NIST SP 811: 10 lb are 4.5359237 kg"),
        Example((23, "2 L", "3-1.2-4.4 density 1.15", "N"), 23 / 0.069, "2 L are 2.3 kg with 0.069 kg of N"),
    ),
    formula="price ÷ (package mass × percent ÷ 100)",
    source="arithmetic",
)
def cost_of_nutrient(price: float, package_mass: float, analysis: Analysis, nutrient: Nutrient) -> float:
    """Price [money/g] of a nutrient from a package of a price [money] and a mass [g].

    Raises OutOfRange where the product holds none of it.

    >>> from growcells.terms.analyses import parse_analysis
    >>> from growcells.terms.names import find_nutrient
    >>> round(cost_of_nutrient(40.0, 5000.0, parse_analysis("17-7-21"), find_nutrient("N")), 5)
    0.04706
    """
    return price / (mass_of(package_mass, analysis.density, "package_mass") * share_above_zero(analysis, nutrient))
