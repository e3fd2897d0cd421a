"""Acid to bring water to a pH, through the carbonate system, and the nutrient that comes with it."""

from __future__ import annotations

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import CONCENTRATION, NUMBER, Quantity
from ..cells.registry import Family, cell_function
from ..chemistry.carbonate_system import Acid, AcidStrength, acid_needed
from ..chemistry.formulas import formula_mass
from ..chemistry.products import HIGHEST_PH
from ..chemistry.unit_factors import MILLIGRAMS_IN_GRAM
from ..terms.acids import ACID, AcidStrengthKind, Alkalinity
from ..terms.given import VOLUME_GIVEN

SAFETY = (
    "Acids burn skin and eyes: wear goggles and gloves, add acid to water and never water to acid, work in moving air, "
    "keep acids from bleach and from each other, and follow the label and local rules. Add half, stir, measure, then "
    "the rest: in an open bed carbon dioxide leaves and the pH rises again within hours, by 0.5 and up to 2. Citric "
    "acid may miss by 0.4 in water softened with salt, and bacteria eat it within days."
)

SOURCE = (
    "carbonate system, phosphate and activity coefficients of the USGS PHREEQC database; citrate of its MINTEQ "
    "database; densities of Perry's Chemical Engineers' Handbook"
)

ACID_VOLUME = Quantity("volume", "mL", "L", "10 mL", "millilitres")


def measured_ph(name: str, help: str) -> Argument:
    """A pH."""
    return Argument(name, NUMBER, help, low=0, high=HIGHEST_PH)


WATER_AND_ACID = (
    VOLUME_GIVEN,
    Argument("alkalinity", Alkalinity("alkalinity"), "the alkalinity of the water, mg/L as CaCO3"),
    measured_ph("ph", "the pH of the water now"),
    measured_ph("target_ph", "the pH wanted"),
    Argument("acid", ACID, "the acid: nitric, phosphoric, sulfuric, hydrochloric or citric"),
    Argument(
        "strength",
        AcidStrengthKind("strength"),
        'percent by mass, or a text such as "2 mol/L"; the usual strength if left out (nitric 60, phosphoric 85, '
        "sulfuric 93, hydrochloric 31, citric 50 made up)",
        False,
    ),
)


@cell_function(
    "GROW_ACID",
    family=Family.CONDUCTIVITY,
    help="Volume of acid that brings water to a target pH, from its alkalinity. Add acid to water, never the reverse; "
    "wear goggles and gloves; follow the label and local rules.",
    arguments=WATER_AND_ACID,
    result=Result(ACID_VOLUME, "the volume of acid", unit_name="acid_unit"),
    examples=(
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "nitric"),
            11.738,
            "1.5275 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; density 1.3667 kg/L of Perry",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "phosphoric", "85%"),
            9.865,
            "1.4452 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; density 1.689 kg/L of Perry",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "sulfuric", "2 mol/L"),
            38.157,
            "0.76314 mmol/L by PHREEQC with phreeqc.dat, calcium bicarbonate water, closed",
            1e-3,
        ),
    ),
    formula="acid that makes the charges of calcium, carbonate, hydrogen and the acid's own ions balance at target_ph",
    source=SOURCE,
    needs=("scipy",),
    advice=SAFETY,
)
def acid_volume(
    volume: float, alkalinity: float, ph: float, target_ph: float, acid: Acid, strength: AcidStrength | None
) -> float:
    """Volume [L] of an acid for a volume [L] of water of an alkalinity [eq/L]; of its usual strength for None.

    Raises NoAnswer where target_ph is not below ph, no such water exists, or no amount of the acid is enough.

    >>> from growcells.terms.acids import find_acid
    >>> round(acid_volume(100.0, 0.002, 7.8, 5.8, find_acid("nitric"), None), 4)
    0.0117
    """
    strong = strength or AcidStrength(acid.default_percent, molar=False)
    return acid_needed(alkalinity, ph, target_ph, acid) * volume / strong.moles_in_litre(acid)


@cell_function(
    "GROW_ACID_ADDS",
    family=Family.CONDUCTIVITY,
    help="ppm of the nutrient that the acid of GROW_ACID brings along: N from nitric, P from phosphoric, S from "
    "sulfuric, Cl from hydrochloric; citric brings none.",
    arguments=WATER_AND_ACID,
    result=Result(CONCENTRATION, "the ppm added", unit_name="ppm_unit"),
    examples=(
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "phosphoric"),
            44.764,
            "1.4452 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; IUPAC weight of P",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "nitric"),
            21.395,
            "1.5275 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; IUPAC weight of N",
            1e-3,
        ),
        Example(("100 L", "2 meq/L", 7.8, 5.8, "citric"), 0.0, "citric acid holds no nutrient"),
    ),
    formula="moles of acid × atomic weight",
    source=SOURCE,
    needs=("scipy",),
    advice="Count it with the feed. " + SAFETY,
)
def acid_adds(
    volume: float, alkalinity: float, ph: float, target_ph: float, acid: Acid, strength: AcidStrength | None
) -> float:
    """Concentration [mg/L] of the acid's nutrient after that dose; neither volume [L] nor strength changes it.

    Alkalinity [eq/L]. Raises NoAnswer where acid_volume does.

    >>> from growcells.terms.acids import find_acid
    >>> round(acid_adds(100.0, 0.002, 7.8, 5.8, find_acid("nitric"), None), 2)
    21.39
    """
    if not acid.key:
        return 0.0
    return acid_needed(alkalinity, ph, target_ph, acid) * formula_mass(acid.key) * MILLIGRAMS_IN_GRAM
