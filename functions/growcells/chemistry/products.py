"""What products hold of each nutrient, and what a mix of them puts into water."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..no_answer import NoAnswer
from .nutrient_bases import NITROGEN_FORMS, TOTAL_NITROGEN, Nutrient
from .unit_factors import MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE

LABEL_ROUNDING = 0.5
"""How far [percent] figures of a label may add up to over what they can: each of them is rounded."""


class UntoldNitrogen(NoAnswer):
    """A form of nitrogen is asked of a product that tells only its total."""


@dataclass(frozen=True)
class Analysis:
    """What a product holds: ``percents`` by nutrient key, elemental. ``substance`` is its name where it is one.

    ``density`` [kg/L] is that of a liquid, where it is given.
    """

    text: str
    percents: Mapping[str, float]
    substance: str = ""
    formula: str = ""
    purity: float = PERCENT_IN_WHOLE
    density: float | None = None

    def percent(self, nutrient: Nutrient) -> float:
        """Percent of a nutrient on its own basis; 0 where the analysis does not list it.

        Raises UntoldNitrogen for a form of nitrogen that is not listed where those of all the nitrogen are not told.
        """
        try:
            return self.percents[nutrient.key] / nutrient.share
        except KeyError:
            if nutrient.key in NITROGEN_FORMS and self.nitrogen_untold:
                raise UntoldNitrogen(f'"{self.text}" does not tell the form of all its nitrogen') from None
            return 0.0

    @property
    def nitrogen_untold(self) -> bool:
        """Whether the forms listed leave a part of the nitrogen open."""
        told = sum(self.percents.get(form, 0.0) for form in NITROGEN_FORMS)
        rounding = LABEL_ROUNDING if told else 0.0
        return self.percents.get(TOTAL_NITROGEN, 0.0) > told + rounding


PH = "pH"

HIGHEST_PH = 14.0

PpmTable = Mapping[str, float]
"""ppm by nutrient key, elemental; alkalinity as mg/L of CaCO3; pH as itself."""


def mixed(parts: Iterable[tuple[float, Analysis]]) -> dict[str, float]:
    """Mass [g] of each nutrient, by key, in parts of mass [g] and analysis.

    Forms of nitrogen are left out where a part does not tell its own: the sum of the others would be too low.
    """
    sums: dict[str, float] = {}
    untold = False
    for mass, analysis in parts:
        untold = untold or (mass > 0 and analysis.nitrogen_untold)
        for key, percent in analysis.percents.items():
            sums[key] = sums.get(key, 0.0) + mass * percent / PERCENT_IN_WHOLE
    return {key: mass for key, mass in sums.items() if not (untold and key in NITROGEN_FORMS)}


def solution(parts: Iterable[tuple[float, Analysis]], volume: float, water: PpmTable) -> PpmTable:
    """Concentrations [mg/L] by key of parts [g] dissolved in a volume [L] of water."""
    table = {key: value for key, value in water.items() if key != PH}
    added = mixed(parts)
    if added.get(TOTAL_NITROGEN) and not any(form in added for form in NITROGEN_FORMS):
        table = {key: value for key, value in table.items() if key not in NITROGEN_FORMS}
    for key, mass in added.items():
        table[key] = table.get(key, 0.0) + mass * MILLIGRAMS_IN_GRAM / volume
    return table
