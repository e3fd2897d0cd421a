"""Ions in water: what dissolved substances turn into, and how active each ion is.

The equilibrium of ions, ion pairs and weak acids at a given pH. Constants are those of the USGS PHREEQC and MINTEQ
databases (public domain), in ``data/species.csv``; amounts are in moles in a kilogram of water, which for the
solutions that plants grow in is a litre.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..data import read_data
from ..no_answer import NoAnswer

if TYPE_CHECKING:
    from numpy import bool_ as numpy_bool
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

ROOM = 25.0
"""Temperature [°C] for which the constants are tabulated."""
ABSOLUTE_ZERO = -273.15
GAS_CONSTANT = 8.314462618e-3
"""[kJ/(mol K)] CODATA 2018."""
WARMED = math.log(10) * GAS_CONSTANT
"""Turns an enthalpy [kJ/mol] into the change of log10 K with 1/T (van 't Hoff)."""
HYDROGEN = "H"
LN10 = math.log(10)
NEUTRAL_PH = 7.0
"""Where the search for a pH begins."""
MOST_ROUNDS = 200
"""Concentrates of many salts take 30."""
QUICK_ROUNDS = 50
"""Rounds after which steps are halved: where the ionic strength goes to and fro across its limit."""
CLOSE_ENOUGH = 1e-9
"""Largest difference of the logarithms of what was put in and what is found again."""
NEAR_ENOUGH = 1.0
"""Difference of these logarithms below which the pH and the ionic strength are looked for as well."""
LONGEST_STEP = 2.0
"""Largest change of the natural logarithm of the activity of hydrogen in one round."""
LONGEST_CLIMB = 0.01
"""Largest rise of the ionic strength [mol/kg] in one round, beyond doubling it."""
EXPONENTS = (-700.0, 100.0)
"""Natural logarithms of moles between which numbers neither overflow nor vanish."""
LEAST = 1e-15
"""Amount [mol/kg] below which a component counts as not there."""
STRONGEST = 4.0
"""Ionic strength [mol/kg] above which activity coefficients stay as they are there: the formulas hold no further."""

LEAST_START = 1e-3
"""Least ionic strength [mol/kg] from which it is looked for: near 0 the slopes are too steep to go by."""
LEAST_WATER_ACTIVITY = 0.3
LEAST_ROOT = 1e-4
"""Root of an ionic strength below which its slope, which grows without end towards pure water, is held."""


class TooStrong(NoAnswer):
    """A solution with more ions in it than the formulas reach."""


@dataclass(frozen=True, eq=False)
class Species:
    """An ion, ion pair or molecule in water, made of components: Ca+2 and SO4-2 make CaSO4."""

    name: str
    charge: int
    components: Mapping[str, int]
    log_k: float
    enthalpy: float
    ion_size: float | None
    salting: float
    conductivity: float
    warming: tuple[float, float, float] | None

    def log_k_at(self, temperature: float) -> float:
        """log10 of the formation constant at a temperature [°C]."""
        return warmed(self.log_k, self.enthalpy, temperature)


def warmed(log_k: float, enthalpy: float, temperature: float) -> float:
    """log10 of a constant of 25 °C and an enthalpy [kJ/mol] at a temperature [°C]: van 't Hoff."""
    warmth = 1 / (ROOM - ABSOLUTE_ZERO) - 1 / (temperature - ABSOLUTE_ZERO)
    return log_k + enthalpy / WARMED * warmth


@functools.cache
def all_species() -> tuple[Species, ...]:
    """Every species of ``species.csv``."""
    return tuple(_species(row) for row in read_data("species.csv"))


def _species(row: Mapping[str, str]) -> Species:
    components = {}
    for part in row["components"].split("; "):
        name, count = part.split()
        components[name] = int(count)
    warming = (row["warming2"], row["warming1"], row["warming0"])
    return Species(
        name=row["species"],
        charge=int(row["charge"]),
        components=components,
        log_k=float(row["log_k"]),
        enthalpy=float(row["enthalpy"]),
        ion_size=float(row["ion_size"]) if row["ion_size"] else None,
        salting=float(row["salting"] or 0),
        conductivity=float(row["conductivity"] or 0),
        warming=(float(warming[0]), float(warming[1]), float(warming[2])) if warming[0] else None,
    )


@functools.cache
def component_charges() -> Mapping[str, int]:
    """The charge of each component's own ion."""
    return {
        next(iter(species.components)): species.charge
        for species in all_species()
        if not species.log_k and sum(species.components.values()) == 1 and len(species.components) == 1
    }


def dielectric_constant(temperature: float) -> float:
    """Of water at a temperature [°C]: Malmberg & Maryott 1956, J. Res. Natl. Bur. Stand. 56:1, from memory."""
    return 87.740 - 0.40008 * temperature + 9.398e-4 * temperature**2 - 1.410e-6 * temperature**3


@functools.lru_cache(maxsize=64)
def debye_hueckel(temperature: float) -> tuple[float, float]:
    """A [(kg/mol)^½] and B [(kg/mol)^½/Å] of the Debye-Hückel law at a temperature [°C], water of density 1 kg/L.

    Source: Robinson & Stokes, Electrolyte Solutions, 2nd ed. 1959.
    """
    product = dielectric_constant(temperature) * (temperature - ABSOLUTE_ZERO)
    return 1.8246e6 / product**1.5, 50.29 / product**0.5


def log_activity_coefficient(species: Species, strength: float, temperature: float) -> float:
    """log10 of the activity coefficient at an ionic strength [mol/kg].

    The extended Debye-Hückel law with the sizes of Truesdell & Jones 1974 where they are known, else the law of
    Davies 1962; 0.1 × strength for molecules, as PHREEQC has it.
    """
    if not species.charge:
        return 0.1 * strength
    a, b = debye_hueckel(temperature)
    root = math.sqrt(strength)
    square = species.charge**2
    if species.ion_size is None:
        return -a * square * (root / (1 + root) - 0.3 * strength)
    return -a * square * root / (1 + b * species.ion_size * root) + species.salting * strength


@dataclass(frozen=True)
class Equilibrium:
    """Moles in a kilogram of water of each species, log10 activities of the components, the ionic strength."""

    moles: Mapping[Species, float]
    log_activities: Mapping[str, float]
    strength: float

    @property
    def charge(self) -> float:
        """Sum of the charges [mol/kg]; 0 where every ion is counted."""
        return sum(species.charge * amount for species, amount in self.moles.items())

    @property
    def log_water_activity(self) -> float:
        """log10 of the activity of water: it falls with the moles dissolved, by 0.017 each, as PHREEQC has it."""
        return math.log10(max(1 - 0.017 * sum(self.moles.values()), LEAST_WATER_ACTIVITY))


@dataclass(frozen=True)
class System:
    """The species that a set of components can form, as arrays with a row for each species.

    The last column is that of hydrogen, whatever the components are.
    """

    components: tuple[str, ...]
    species: tuple[Species, ...]
    counts: Numbers
    charges: Numbers
    sizes: Numbers
    """[Å]; Davies' law, where there is none, is that of 1 ÷ B."""
    salting: Numbers
    davies: NDArray[numpy_bool]

    @functools.cached_property
    def cations(self) -> Numbers:
        """Charge of each species that has a positive one."""
        return self.charges.clip(min=0)

    @functools.cached_property
    def anions(self) -> Numbers:
        """Charge of each species that has a negative one, without its sign."""
        return (-self.charges).clip(min=0)

    @functools.cached_property
    def largest(self) -> float:
        """Most ions that join in one species."""
        return float(self.counts[:, :-1].sum(axis=1).max(initial=1.0))

    def log_constants(self, temperature: float) -> Numbers:
        """log10 of the formation constants at a temperature [°C]."""
        import numpy

        return numpy.array([species.log_k_at(temperature) for species in self.species])

    def log_coefficients(self, strength: float, temperature: float) -> tuple[Numbers, Numbers]:
        """log10 of the activity coefficients at an ionic strength [mol/kg], as ``log_activity_coefficient`` has them,
        and their slopes against it."""
        squares, widths, linear = _activity_terms(self.components, temperature)
        held = min(strength, STRONGEST)
        root = math.sqrt(held)
        found = linear * held - squares * (root / (1 + widths * root))
        slopes = linear - squares / (2 * max(root, LEAST_ROOT) * (1 + widths * root) ** 2)
        return found, slopes * (strength < STRONGEST)


@functools.lru_cache(maxsize=256)
def system_of(components: tuple[str, ...]) -> System:
    """The species that these components can form in water."""
    import numpy

    held = (*components, HYDROGEN)
    species = tuple(s for s in all_species() if all(name in held for name in s.components))
    return System(
        components=components,
        species=species,
        counts=numpy.array([[s.components.get(name, 0) for name in held] for s in species], dtype=float),
        charges=numpy.array([s.charge for s in species], dtype=float),
        sizes=numpy.array([s.ion_size or 0.0 for s in species]),
        salting=numpy.array([s.salting for s in species]),
        davies=numpy.array([s.ion_size is None for s in species]),
    )


@functools.lru_cache(maxsize=256)
def _log_constants(components: tuple[str, ...], temperature: float) -> Numbers:
    return system_of(components).log_constants(temperature)


@functools.lru_cache(maxsize=256)
def _activity_terms(components: tuple[str, ...], temperature: float) -> tuple[Numbers, Numbers, Numbers]:
    """What the activity coefficients of a system's species hang on beside the ionic strength."""
    import numpy

    system = system_of(components)
    a, b = debye_hueckel(temperature)
    widths = numpy.where(system.davies, 1.0, b * system.sizes)
    linear = numpy.where(system.davies, 0.3 * a * system.charges**2, system.salting)
    return a * system.charges**2, widths, numpy.where(system.charges == 0, 0.1, linear)


def equilibrium(totals: Mapping[str, float], ph: float | None, temperature: float = ROOM) -> Equilibrium:
    """The species that totals [mol/kg] of components form at a pH and a temperature [°C].

    Where no pH is given it is the one at which the charges balance, which says that all ions were counted.
    Newton's method on the logarithms of the activities; the charges as the logarithm of cations over anions.
    Raises NoAnswer where no equilibrium is found.
    """
    import numpy

    present = {name: total for name, total in totals.items() if total > LEAST}
    system = system_of(tuple(present))
    squares = 0.5 * system.charges**2
    constants = _log_constants(system.components, temperature) * LN10
    wanted = numpy.log(numpy.array([*present.values()]))
    logs = numpy.append(wanted, -LN10 * (NEUTRAL_PH if ph is None else ph))
    strength = max(0.5 * sum(total * component_charges()[name] ** 2 for name, total in present.items()), LEAST_START)
    for turn in range(MOST_ROUNDS):
        coefficients, slopes = system.log_coefficients(strength, temperature)
        moles = numpy.exp(numpy.clip(constants + system.counts @ logs - coefficients * LN10, *EXPONENTS))
        sums = system.counts[:, :-1].T @ moles
        lacking = wanted - numpy.log(sums)
        if numpy.abs(lacking).max(initial=0.0) > NEAR_ENOUGH:
            logs[:-1] += lacking / system.largest
            continue
        # What moles change by with each unknown: the activities, and the ionic strength by way of the coefficients.
        effects = numpy.column_stack([system.counts, -LN10 * slopes]) * moles[:, None]
        plus, minus = system.cations @ moles, system.anions @ moles
        uneven = 0.0 if ph is not None else math.log(minus / plus)
        lacking = numpy.concatenate([lacking, [uneven, squares @ moles - strength]])
        if numpy.abs(lacking).max() < CLOSE_ENOUGH:
            names = (*system.components, HYDROGEN)
            return Equilibrium(
                dict(zip(system.species, moles.tolist(), strict=True)),
                dict(zip(names, (logs / LN10).tolist(), strict=True)),
                strength,
            )
        jacobian = numpy.vstack(
            [
                (system.counts[:, :-1].T @ effects) / sums[:, None],
                (system.cations @ effects) / plus - (system.anions @ effects) / minus,
                -(squares @ effects),
            ]
        )
        jacobian[-1, -1] += 1
        step = _step(jacobian, lacking, fixed_ph=ph is not None) / (1 if turn < QUICK_ROUNDS else 2)
        logs += step[:-1]
        strength = min(max(strength + step[-1], strength / 2), 2 * strength + LONGEST_CLIMB)
    raise NoAnswer("no equilibrium was found for this solution: look for an amount far too large or small")


def _step(jacobian: Numbers, lacking: Numbers, fixed_ph: bool) -> Numbers:
    """The change of the unknowns in a round: the activities of the components, that of hydrogen, the ionic strength.

    The pH is changed by little at a time, since amounts hang on it with high powers.
    """
    import numpy

    hydrogen = len(lacking) - 2
    step: Numbers = numpy.zeros(len(lacking))
    if not fixed_ph:
        step[:] = numpy.linalg.solve(jacobian, lacking)
    # More hydrogen always makes up for a lack of cations, also where the slopes are too flat to tell.
    uneven = lacking[hydrogen]
    astray = step[hydrogen] * uneven < 0 and abs(uneven) > numpy.abs(numpy.delete(lacking, hydrogen)).max()
    if fixed_ph or astray or abs(step[hydrogen]) > LONGEST_STEP:
        held = math.copysign(min(abs(step[hydrogen]), LONGEST_STEP), uneven if astray else step[hydrogen])
        others = [place for place in range(len(lacking)) if place != hydrogen]
        rest = (lacking - jacobian[:, hydrogen] * held)[others]
        step[others] = numpy.linalg.solve(jacobian[numpy.ix_(others, others)], rest)
        step[hydrogen] = held
    return step
