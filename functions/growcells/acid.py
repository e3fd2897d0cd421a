"""Acid to bring water to a pH, through the carbonate system, and the nutrient that comes with it."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .conductivity import FAMILY
from .dose import VOLUME_GIVEN
from .errors import GrowError, OutOfRange
from .ions import equilibrium
from .kinds import CONCENTRATION, NUMBER, Kind, Quantity, finite, read_number, shown
from .nutrients import formula_mass, look_up, names_in
from .ppm import HIGHEST_PH, MILLIGRAMS_IN_GRAM, PERCENT
from .registry import Argument, Example, Result, cell_function
from .tables import read_data
from .units import split_quantity

MOST_CARBONATE = 0.5
MOST_ACID = 0.5
"""[mol/L] Far beyond any water: where no answer lies below, there is none."""
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


@dataclass(frozen=True)
class Acid:
    """A row of ``acids.csv``; ``key`` is the nutrient that it adds, empty where it adds none."""

    name: str
    formula: str
    component: str
    key: str
    default_percent: float

    @property
    def molar_mass(self) -> float:
        """[g/mol]"""
        return formula_mass(self.formula)


@functools.cache
def acids() -> Mapping[str, Acid]:
    """All acids by name."""
    return {
        row["acid"]: Acid(row["acid"], row["formula"], row["component"], row["key"], float(row["default_percent"]))
        for row in read_data("acids.csv")
    }


@functools.cache
def find_acid(name: str) -> Acid:
    """The acid of this name. Raises UnknownName with the names known."""
    return acids()[look_up(name, names_in("acids.csv", "acid"), "acid", f"give one of {', '.join(acids())}")]


@functools.cache
def _densities(acid: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    rows = [row for row in read_data("acid_densities.csv") if row["acid"] == acid]
    return tuple(float(row["percent"]) for row in rows), tuple(float(row["density"]) for row in rows)


def density(acid: Acid, percent: float) -> float:
    """Density [kg/L] of an acid of a strength [percent by mass] at 20 °C, between the rows of the table.

    Raises OutOfRange beyond the strongest row.
    """
    import numpy

    percents, densities = _densities(acid.name)
    if percent > percents[-1]:
        raise OutOfRange(f"{acid.name} acid of {percent:g} % is not in the tables: give up to {percents[-1]:g} %")
    return float(numpy.interp(percent, (0.0, *percents), (0.9982, *densities)))


@dataclass(frozen=True)
class AcidName(Kind):
    """The name or formula of an acid."""

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> Acid:
        if not isinstance(cell, str):
            raise GrowError(f"{argument.name} is {shown(cell)}: give an acid as text, such as phosphoric")
        return find_acid(cell.strip())


@dataclass(frozen=True)
class AcidStrength:
    """How strong an acid is: percent by mass, or mol/L."""

    number: float
    molar: bool

    def moles_in_litre(self, acid: Acid) -> float:
        """[mol/L]"""
        if self.molar:
            return self.number
        return self.number / PERCENT * density(acid, self.number) * MILLIGRAMS_IN_GRAM / acid.molar_mass


@dataclass(frozen=True)
class AcidStrengthKind(Kind):
    """The strength of an acid: a number or text in percent by mass, or a text in mol/L."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> AcidStrength:
        example = '38, "38%" or "2 mol/L"'
        if isinstance(cell, str):
            parts = split_quantity(cell)
            if parts is None or len(parts) != 1 or parts[0][1].lower() not in ("", "%", "percent", "mol/l", "m"):
                raise GrowError(f'{argument.name} is "{cell}": give percent by mass or mol/L, such as {example}')
            number, molar = parts[0][0], parts[0][1].lower() in ("mol/l", "m")
        else:
            number, molar = read_number(cell, argument, example), False
        finite(number, argument)
        if number <= 0 or (not molar and number > PERCENT):
            raise OutOfRange(
                f"{argument.name} is {shown(cell)}: give percent by mass up to 100 or mol/L, such as {example}"
            )
        return AcidStrength(number, molar)


@dataclass(frozen=True)
class Alkalinity(Kind):
    """Alkalinity of water: a number in mg/L as CaCO3, or a text such as 1.8 meq/L or 5 dKH; read as eq/L."""

    numeric = True

    def read(self, cell: object, argument: Argument, unit: str | None = None) -> float:
        example = '120 or a text such as "1.8 meq/L" or "5 dKH"'
        if not isinstance(cell, str):
            return read_number(cell, argument, example) / equivalents()["mg/l"]
        parts = split_quantity(cell)
        spelled = " ".join(parts[0][1].lower().replace("°", "").split()) if parts and len(parts) == 1 else None
        if not parts or spelled is None or (spelled or "mg/l") not in equivalents():
            raise GrowError(f'{argument.name} is "{cell}": give mg/L as CaCO3, such as {example}')
        return finite(parts[0][0] / equivalents()[spelled or "mg/l"], argument)


@functools.cache
def equivalents() -> Mapping[str, float]:
    """How much of each unit of alkalinity is an equivalent in a litre.

    A German degree of carbonate hardness is 10 mg/L of CaO.
    """
    carbonate = formula_mass("CaCO3") / 2 * MILLIGRAMS_IN_GRAM
    lime = formula_mass("CaO") / 2 * MILLIGRAMS_IN_GRAM
    bicarbonate = formula_mass("HCO3") * MILLIGRAMS_IN_GRAM
    as_carbonate = dict.fromkeys(("mg/l", "ppm", "mg/l as caco3", "mg/l caco3", "ppm as caco3", "ppm caco3"), carbonate)
    as_bicarbonate = dict.fromkeys(("mg/l hco3", "mg/l as hco3", "ppm hco3", "ppm as hco3"), bicarbonate)
    return {
        **as_carbonate,
        **as_bicarbonate,
        "meq/l": MILLIGRAMS_IN_GRAM,
        "dkh": lime / 10,
        "dh": lime / 10,
    }


ACID_VOLUME = Quantity("volume", "mL", "L", "10 mL", "millilitres")


def measured_ph(name: str, help: str) -> Argument:
    """A pH."""
    return Argument(name, NUMBER, help, low=0, high=HIGHEST_PH)


WATER_AND_ACID = (
    VOLUME_GIVEN,
    Argument("alkalinity", Alkalinity("alkalinity"), "the alkalinity of the water, mg/L as CaCO3"),
    measured_ph("ph", "the pH of the water now"),
    measured_ph("target_ph", "the pH wanted"),
    Argument("acid", AcidName("acid"), "the acid: nitric, phosphoric, sulfuric, hydrochloric or citric"),
    Argument(
        "strength",
        AcidStrengthKind("strength"),
        'percent by mass, or a text such as "2 mol/L"; the usual strength if left out (nitric 60, phosphoric 85, '
        "sulfuric 93, hydrochloric 31, citric 50 made up)",
        False,
    ),
)


def acid_needed(alkalinity: float, ph: float, target_ph: float, acid: Acid) -> float:
    """Moles of acid for a litre of water of an alkalinity [eq/L] and pH to reach a target pH in a closed vessel.

    The water's cations are taken as calcium. First the carbonate that makes such a water neutral in charge is found,
    then the acid that makes it neutral at the target. Raises OutOfRange where there is none.
    """
    if target_ph >= ph:
        raise OutOfRange(f"target_ph is {target_ph:g}, not below the pH of {ph:g}: acid only lowers pH")
    calcium = {"Ca": alkalinity / 2}

    def water_charge(carbonate: float) -> float:
        return equilibrium({**calcium, "CO3": carbonate}, ph).charge

    if water_charge(0.0) < 0 or water_charge(MOST_CARBONATE) > 0:
        raise OutOfRange(
            f"no water has a pH of {ph:g} and an alkalinity of {alkalinity * equivalents()['mg/l']:.4g} mg/L: "
            "measure both again; natural water lies between pH 5 and 9.5"
        )
    water = {**calcium, "CO3": root(water_charge, MOST_CARBONATE)}

    def charge(amount: float) -> float:
        return equilibrium({**water, acid.component: amount}, target_ph).charge

    if charge(MOST_ACID) > 0:
        raise OutOfRange(f"{acid.name} acid cannot bring this water to pH {target_ph:g}: give a higher target_ph")
    return root(charge, MOST_ACID)


def root(falling: Callable[[float], float], most: float) -> float:
    """Where a falling function is 0 between 0 and a largest value."""
    from scipy.optimize import brentq

    return float(brentq(falling, 0.0, most, xtol=1e-12, rtol=1e-9))


@cell_function(
    "GROW_ACID",
    family=FAMILY,
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
    """Volume [L] of an acid of a strength for a volume [L] of water of an alkalinity [eq/L]."""
    strong = strength or AcidStrength(acid.default_percent, molar=False)
    return acid_needed(alkalinity, ph, target_ph, acid) * volume / strong.moles_in_litre(acid)


@cell_function(
    "GROW_ACID_ADDS",
    family=FAMILY,
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
    """Concentration [mg/L] of the acid's nutrient after that dose; neither volume nor strength changes it."""
    if not acid.key:
        return 0.0
    return acid_needed(alkalinity, ph, target_ph, acid) * formula_mass(acid.key) * MILLIGRAMS_IN_GRAM
