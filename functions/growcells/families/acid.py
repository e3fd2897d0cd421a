"""Acid to bring water to a pH, through the carbonate system, and the nutrient that comes with it."""

from __future__ import annotations

from types import MappingProxyType

from ..cells.arguments import Argument, Example, Result
from ..cells.kinds import CONCENTRATION, MASS, NUMBER, Choice, Quantity
from ..cells.registry import Family, cell_function
from ..chemistry.alkalis import Base, base_needed
from ..chemistry.carbonate_system import Acid, AcidStrength, Tank, acid_needed
from ..chemistry.chemical_formulas import ATOMIC_WEIGHTS, formula_mass
from ..chemistry.ion_mobility import component_moles
from ..chemistry.products import HIGHEST_PH, PpmTable
from ..chemistry.unit_factors import MILLIGRAMS_IN_GRAM, PERCENT_IN_WHOLE
from ..terms.acids import ACID, AcidStrengthKind, Alkalinity, strength_of
from ..terms.bases import BASE
from ..terms.given import VOLUME_GIVEN
from ..terms.ppm_tables import PPM_TABLE

SAFETY = (
    "Acids burn skin and eyes: wear goggles and gloves, add acid to water and never water to acid, work in moving air, "
    "keep acids from bleach and from each other, and follow the label and local rules. Add half, stir, measure, then "
    "the rest. In an open bed carbon dioxide leaves and the pH rises again within hours to days, by about 2 after the "
    "closed dose of a strong acid: the open dose, a third larger and more, holds at the end and is below the target "
    "at first, so give it in parts. Citric acid may miss by 0.4 in water softened with salt, and bacteria eat it "
    "within days. Densities of citric acid above 30 % are reckoned, those of sulfuric acid above 90 % and of "
    "hydrochloric acid above 36 % from memory: weigh them, or give mol/L."
)

OF_WATER = "carbonate system, phosphate and activity coefficients of the USGS PHREEQC database"

OF_ACIDS = f"{OF_WATER}; citrate of its MINTEQ database"

OPEN = "open"

TANK_WITH_FEED = (("NO3-N", 100), ("P", 31), ("K", 150), ("Ca", 90), ("Mg", 24), ("S", 32))
"""ppm of an invented feed."""

ACID_VOLUME = Quantity("volume", "mL", "L", "10 mL", "millilitres")


def measured_ph(name: str, help: str) -> Argument:
    """A pH."""
    return Argument(name, NUMBER, help, low=0, high=HIGHEST_PH)


WATER = (
    VOLUME_GIVEN,
    Argument("alkalinity", Alkalinity("alkalinity"), "the alkalinity of the water as it is now, mg/L as CaCO3"),
    measured_ph("ph", "the pH of the water now"),
    measured_ph("target_ph", "the pH wanted"),
)

SURROUNDINGS = (
    Argument(
        "contact",
        Choice("contact", ("closed", OPEN)),
        "closed if left out: the pH right after the dose; open: the dose that holds once the tank has come to terms "
        "with the carbon dioxide of air",
        False,
        "closed",
    ),
    Argument(
        "feed",
        PPM_TABLE,
        "what the tank holds already, a range of nutrient, ppm such as GROW_PPM_TABLE gives; plain water if left out",
        False,
        default=MappingProxyType({}),
    ),
)
"""What else of the tank the dose hangs on."""

WATER_AND_ACID = (
    *WATER,
    Argument(
        "acid",
        ACID,
        "the acid: nitric, phosphoric, sulfuric, hydrochloric or citric, alone or with its percent: phosphoric 75%",
    ),
    Argument(
        "strength",
        AcidStrengthKind("strength"),
        'percent by mass, or a text such as "2 mol/L"; the usual strength if left out (nitric 60, phosphoric 85, '
        "sulfuric 93, hydrochloric 31, citric 50 made up); battery and muriatic acid vary and need it",
        False,
    ),
    *SURROUNDINGS,
)


BASE_SAFETY = (
    "Bases burn skin and eyes, potassium hydroxide worst of all and with much heat: wear goggles and gloves, add the "
    "base to cold water and never water to it, keep it from acids, aluminium and dry feed, and follow the label and "
    "local rules. Dissolve it, add half, stir, measure, then the rest: where the water holds little alkalinity a gram "
    "too much is a pH too much. In an open bed the pH moves on towards that of air."
)

WATER_AND_BASE = (
    *WATER,
    Argument(
        "base",
        BASE,
        "the base: potassium hydroxide, potassium carbonate or potassium bicarbonate, with its percent: potassium "
        "hydroxide 45%; alone it is dry, of 90 % (hydroxide) or 99 %",
    ),
    *SURROUNDINGS,
)


def tank_of(alkalinity: float, ph: float, feed: PpmTable) -> Tank:
    """The tank of an alkalinity [eq/L], a pH and what a feed has brought into it [mg/L]."""
    return Tank(alkalinity, ph, {name: moles for name, moles in component_moles(feed).items() if moles} if feed else {})


def _moles(alkalinity: float, ph: float, target_ph: float, acid: Acid, contact: str, feed: PpmTable) -> float:
    """The acid [mol/L] that a tank takes."""
    return acid_needed(tank_of(alkalinity, ph, feed), target_ph, acid, contact == OPEN)


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
            11.733,
            "1.5275 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; density 1.3673 kg/L of Laliberté 2007",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "phosphoric", "85%"),
            9.865,
            "1.4452 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; density 1.6891 kg/L of Laliberté 2007",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "sulfuric", "2 mol/L"),
            38.157,
            "0.76314 mmol/L by PHREEQC with phreeqc.dat, calcium bicarbonate water, closed",
            1e-3,
        ),
        Example(
            ("100 L", "2 meq/L", 7.8, 5.8, "nitric", "1 mol/L", "open"),
            199.766,
            "1.99766 mmol/L by PHREEQC with phreeqc.dat, in balance with carbon dioxide at 10^-3.4 atm",
            1e-3,
        ),
        Example(
            ("1000 L", "1.2 meq/L", 7, 5.8, "phosphoric", "1 mol/L", "closed", TANK_WITH_FEED),
            870.84,
            "0.87084 mmol/L by PHREEQC with phreeqc.dat: phosphate takes up acid beside the carbonate",
            1e-3,
        ),
    ),
    formula="acid that makes the charges of calcium, carbonate, hydrogen and the acid's own ions balance at target_ph",
    source=f"{OF_ACIDS}; densities of Laliberté 2007, Myhre 1998 and the CRC Handbook",
    needs=("scipy",),
    advice=SAFETY,
)
def acid_volume(
    volume: float,
    alkalinity: float,
    ph: float,
    target_ph: float,
    acid: Acid,
    strength: AcidStrength | None = None,
    contact: str = "closed",
    feed: PpmTable = MappingProxyType({}),
) -> float:
    """Volume [L] of an acid for a volume [L] of water of an alkalinity [eq/L]; of its usual strength for None.

    ``contact`` is closed or open; ``feed`` is what the tank holds already [mg/L]. Raises NoAnswer where target_ph is
    not below ph, no such water exists, or no amount of the acid is enough, GrowError where the acid has no usual
    strength.

    >>> from growcells.terms.acids import find_acid
    >>> round(acid_volume(100.0, 0.002, 7.8, 5.8, find_acid("nitric"), None), 4)
    0.0117
    """
    strong = strength_of(acid, strength)
    return _moles(alkalinity, ph, target_ph, acid, contact, feed) * volume / strong.moles_in_litre(acid)


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
    source=f"{OF_ACIDS}; {ATOMIC_WEIGHTS}",
    needs=("scipy",),
    advice="Count it with the feed. " + SAFETY,
)
def acid_adds(
    volume: float,
    alkalinity: float,
    ph: float,
    target_ph: float,
    acid: Acid,
    strength: AcidStrength | None = None,
    contact: str = "closed",
    feed: PpmTable = MappingProxyType({}),
) -> float:
    """Concentration [mg/L] of the acid's nutrient after that dose; neither volume [L] nor strength changes it.

    Alkalinity [eq/L]. Raises NoAnswer where acid_volume does.

    >>> from growcells.terms.acids import find_acid
    >>> round(acid_adds(100.0, 0.002, 7.8, 5.8, find_acid("nitric"), None), 2)
    21.39
    """
    if not acid.key:
        return 0.0
    needed = _moles(alkalinity, ph, target_ph, acid, contact, feed)
    return needed * formula_mass(acid.key) * MILLIGRAMS_IN_GRAM


@cell_function(
    "GROW_BASE",
    family=Family.CONDUCTIVITY,
    help="Mass of a base that brings water up to a target pH, from its alkalinity. Wear goggles and gloves; follow the "
    "label and local rules.",
    arguments=WATER_AND_BASE,
    result=Result(MASS, "the mass of the base", unit_name="mass_unit"),
    examples=(
        Example(
            ("100 L", "0.5 meq/L", 5.5, 6.2, "potassium hydroxide 100%"),
            6.6616,
            "1.18732 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; IUPAC weights",
            3e-3,
        ),
        Example(
            ("100 L", "0.5 meq/L", 5.5, 6.2, "potassium bicarbonate 100%"),
            20.943,
            "2.09190 mmol/L by PHREEQC with phreeqc.dat, CaCO3 water, closed; IUPAC weights",
            3e-3,
        ),
    ),
    formula="base that makes the charges of calcium, potassium, carbonate and hydrogen balance at target_ph",
    source=f"{OF_WATER}; {ATOMIC_WEIGHTS}",
    needs=("scipy",),
    advice=BASE_SAFETY,
)
def base_mass(
    volume: float,
    alkalinity: float,
    ph: float,
    target_ph: float,
    base: Base,
    contact: str = "closed",
    feed: PpmTable = MappingProxyType({}),
) -> float:
    """Mass [g] of a base for a volume [L] of water of an alkalinity [eq/L].

    ``contact`` is closed or open; ``feed`` is what the tank holds already [mg/L]. Raises NoAnswer where target_ph is
    not above ph, no such water exists, or no amount of the base is enough.

    >>> from growcells.terms.bases import find_base
    >>> round(base_mass(100.0, 0.0005, 5.5, 6.2, find_base("KOH 100%")), 1)
    6.7
    """
    needed = base_needed(tank_of(alkalinity, ph, feed), target_ph, base, contact == OPEN)
    return needed * volume * base.molar_mass / (base.percent / PERCENT_IN_WHOLE)
