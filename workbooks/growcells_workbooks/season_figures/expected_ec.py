"""The conductivity that a mix makes, from its analyses by GROW_EC, and how far it may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from growcells.cells.errors import GrowError
from growcells.chemistry.charges import charge_without_nitrogen, charged_nitrogen, untold_nitrogen
from growcells.chemistry.chemical_formulas import formula_mass
from growcells.chemistry.products import solution
from growcells.families.conductivity import expected_conductivity
from growcells.no_answer import NoAnswer

from .not_known import NotKnown
from .parts import PartRate

OF_FORMULA = 0.05
"""Part by which GROW_EC is off where every ion is listed, with a meter's own error: GROW_EC's documentation."""
MOST_ERROR = 0.25
"""Beyond this part a conductivity from the label is no help in dosing. Ours."""
ROOM = 25.0


@dataclass(frozen=True)
class ExpectedEc:
    """A conductivity [mS/cm] above that of the water, and the part of it by which it may be off."""

    value: float
    error: float


def expected_ec(parts: Sequence[PartRate]) -> ExpectedEc:
    """What parts at their rates add to the conductivity of water. Raises NotKnown."""
    given = []
    for part in parts:
        if part.analysis is None:
            raise NotKnown(f"the log gives no analysis of {part.name}")
        if part.grams_in_litre is None:
            raise NotKnown(
                f"the log gives no rate of {part.name}"
                if part.millilitres is None
                else f"the log gives no density of {part.name}"
            )
        given.append((part.grams_in_litre, part.analysis))
    table = dict(solution(given, 1.0, {}))
    try:
        value = expected_conductivity(table, ROOM)
        nitrate, ammonium = charged_nitrogen(table)
        gap = charge_without_nitrogen(table) + ammonium - nitrate
        most = _with_salts_of_nitrogen(table, nitrate)
        error = OF_FORMULA + (expected_conductivity(most, ROOM) / value - 1) + abs(gap) / _charges(table)
    except (GrowError, NoAnswer, ZeroDivisionError) as problem:
        raise NotKnown(f"GROW_EC gives none: {problem}") from None
    if error > MOST_ERROR:
        raise NotKnown(
            f"what the label leaves out may change the conductivity by {error * 100:.0f} %: it is not reckoned from it"
        )
    return ExpectedEc(value, error)


def _with_salts_of_nitrogen(table: dict[str, float], nitrate: float) -> dict[str, float]:
    """The table with the nitrogen that is left over as ammonium nitrate, the most that its form can do."""
    left = untold_nitrogen(table) - max(nitrate * formula_mass("N") - table.get("NO3-N", 0.0), 0.0)
    return {
        **table,
        "NO3-N": nitrate * formula_mass("N") + left / 2,
        "NH4-N": table.get("NH4-N", 0.0) + left / 2,
    }


def _charges(table: dict[str, float]) -> float:
    """Cations and anions together [meq/L]."""
    from growcells.chemistry.charges import ions
    from growcells.chemistry.nutrient_bases import NITROGEN_FORMS

    nitrate, ammonium = charged_nitrogen(table)
    others = sum(
        ppm / ions()[key].milliequivalent for key, ppm in table.items() if key in ions() and key not in NITROGEN_FORMS
    )
    return others + nitrate + ammonium
