"""The nutrients by the names that people use for them, and the weights that relate their bases.

A nutrient is counted as its element, as an oxide (the basis of labels) or as an ion (the basis of water reports).
"""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import GrowError
from ..cells.kinds import NUMBER
from ..cells.registry import Family, cell_function
from ..chemistry.chemical_formulas import ATOMIC_WEIGHTS
from ..chemistry.nutrient_bases import LABEL_OXIDES, Nutrient, nutrients
from ..terms.names import NUTRIENT


@cell_function(
    "GROW_ELEMENTAL",
    family=Family.CHEMISTRY,
    help="A figure on the oxide basis of labels as the element: P2O5 as P, K2O as K.",
    arguments=(
        Argument("value", NUMBER, "the percent or ppm as the oxide"),
        Argument("oxide", NUTRIENT, "the oxide, such as P2O5, K2O, CaO, MgO or SO3"),
    ),
    result=Result(NUMBER, "the same amount as the element"),
    examples=(
        Example((20, "P2O5"), 20 * 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((20, "K2O"), 20 * 0.8302, "IUPAC atomic weights: K is 0.8302 of K2O", 2e-4),
        Example((10, "CaO"), 7.147, "IUPAC atomic weights: Ca is 0.7147 of CaO", 2e-4),
    ),
    formula="value × mass of the element in the oxide ÷ mass of the oxide",
    source=ATOMIC_WEIGHTS,
    advice="Nitrogen is elemental on every label. A recipe from the literature is elemental unless it says otherwise.",
)
def elemental(value: float, oxide: Nutrient) -> float:
    """The elemental figure for one on an oxide basis, in the unit of the one given.

    Raises GrowError where the basis given is the element already.

    >>> from growcells.terms.names import find_nutrient
    >>> round(elemental(10.0, find_nutrient("P2O5")), 3)
    4.364
    """
    if oxide.share == 1:
        raise GrowError(f"oxide is {oxide.symbol}, which is elemental already: give an oxide such as P2O5 or K2O")
    return value * oxide.share


@cell_function(
    "GROW_OXIDE",
    family=Family.CHEMISTRY,
    help="An elemental figure on the oxide basis of labels: P as P2O5, K as K2O.",
    arguments=(
        Argument("value", NUMBER, "the percent or ppm as the element"),
        Argument("element", NUTRIENT, "the element: P, K, Ca, Mg, S, Si, Na or B"),
    ),
    result=Result(NUMBER, "the same amount as the oxide"),
    examples=(
        Example((31, "P"), 31 / 0.4364, "IUPAC atomic weights: P is 0.4364 of P2O5", 2e-4),
        Example((235, "potassium"), 235 / 0.8302, "IUPAC atomic weights: K is 0.8302 of K2O", 2e-4),
    ),
    formula="value × mass of the oxide ÷ mass of the element in it",
    source=ATOMIC_WEIGHTS,
)
def oxide(value: float, element: Nutrient) -> float:
    """The figure on the label's oxide basis for an elemental one, in the unit of the one given.

    Raises GrowError where labels count the nutrient as the element.

    >>> from growcells.terms.names import find_nutrient
    >>> round(oxide(10.0, find_nutrient("K")), 3)
    12.046
    """
    if element.symbol not in LABEL_OXIDES:
        raise GrowError(
            f"element is {element.symbol}, which has no oxide basis on labels: give one of {', '.join(LABEL_OXIDES)}"
        )
    return value / nutrients()[LABEL_OXIDES[element.symbol]].share
