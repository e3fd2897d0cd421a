"""The equilibrium of ions, ion pairs and weak acids in water, by Newton's method on the logarithms of activities.

Of each component the total is known, or its activity is held: that of hydrogen by a pH, that of carbonate by the air
above. One thing more may be sought by a condition on the species: the pH at which charges balance, the acid that
brings them to a sum, the carbonate that makes up an alkalinity.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from ..no_answer import NoAnswer
from .ions import (
    HYDROGEN,
    ROOM,
    STRONGEST,
    WARMED,
    Species,
    all_species,
    component_charges,
    debye_hueckel,
    warmth,
)

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Numbers = NDArray[float64]

LN10 = math.log(10)
# Ours are the numbers of the search that follow: tried on waters, feeds and concentrates.
NEUTRAL_PH = 7.0
"""Where the search for a pH begins."""
MOST_ROUNDS = 200
"""Concentrates of many salts take 30, most waters 4."""
QUICK_ROUNDS = 50
"""Rounds after which steps are halved: where the ionic strength goes to and fro across its limit."""
LAST_STEP = 1e-5
"""Largest difference of the logarithms of what was put in and what is found again, and of the ionic strength beside
itself, before the last step, by which they become their squares."""
NEAR_ENOUGH = 1.0
"""Difference of these logarithms below which the pH and the ionic strength are looked for as well."""
LONGEST_STEP = 2.0
"""Largest change of the natural logarithm of what is sought in one round."""
LONGEST_CLIMB = 0.01
"""Largest rise of the ionic strength [mol/kg] in one round, beyond doubling it."""
EXPONENTS = (-700.0, 100.0)
"""Natural logarithms of moles between which numbers neither overflow nor vanish."""
LEAST = 1e-15
"""Amount [mol/kg] below which a component counts as not there."""
LEAST_START = 1e-3
"""Least ionic strength [mol/kg] from which it is looked for: near 0 the slopes are too steep to go by."""
LEAST_WATER_ACTIVITY = 0.3
"""Activity of water below which it is not told: the straight line would go on to zero. Ours."""
LEAST_ROOT = 1e-4
"""Root of an ionic strength below which its slope, which grows without end towards pure water, is held."""
USUAL_AMOUNT = 1e-4
"""[mol/kg] Where the search for an amount begins of which its own ions do not tell."""
KEPT_SYSTEMS = 256
"""Sets of components, and temperatures of each, whose arrays are kept."""


class NoneNeeded(NoAnswer):
    """The condition is met without any of what is sought, or by a negative amount."""


class NoneEnough(NoAnswer):
    """No amount that a litre of water could take meets the condition."""


@dataclass(frozen=True)
class Equilibrium:
    """Moles in a kilogram of water of each species, log10 activities of the components, the ionic strength.

    ``sought`` is the amount [mol/kg] that a condition asked for.
    """

    moles: Mapping[Species, float]
    log_activities: Mapping[str, float]
    strength: float
    sought: float = 0.0

    @property
    def charge(self) -> float:
        """Sum of the charges [mol/kg]; 0 where every ion is counted."""
        return sum(species.charge * amount for species, amount in self.moles.items())

    @property
    def log_water_activity(self) -> float:
        """log10 of the activity of water: it falls with the moles dissolved, by 0.017 each, as PHREEQC has it."""
        return math.log10(max(1 - 0.017 * sum(self.moles.values()), LEAST_WATER_ACTIVITY))


@dataclass(frozen=True, eq=False)
class System:
    """The species that a set of components can form, as arrays with a row for each species.

    First come the components whose totals are ``known``, then those of held activities; hydrogen is the last.
    """

    components: tuple[str, ...]
    known: int
    species: tuple[Species, ...]
    counts: Numbers
    charges: Numbers

    @functools.cached_property
    def constants(self) -> tuple[Numbers, Numbers]:
        """log10 of the formation constant of each species at 25 °C, and its enthalpy [kJ/mol]."""
        import numpy

        return numpy.array([s.log_k for s in self.species]), numpy.array([s.enthalpy for s in self.species])

    @functools.cached_property
    def sizes(self) -> tuple[Numbers, Numbers, Numbers]:
        """Of each species 1 where the law of Davies holds, else 0; its size, and its salting."""
        import numpy

        davies = numpy.array([float(s.ion_size is None) for s in self.species])
        sizes = numpy.array([s.ion_size or 0.0 for s in self.species])
        return davies, sizes, numpy.array([s.salting for s in self.species])

    @functools.cached_property
    def strengths(self) -> Numbers:
        """What a mole of each species adds to the ionic strength."""
        halves: Numbers = 0.5 * self.charges**2
        return halves

    @functools.cached_property
    def ions_in(self) -> Numbers:
        """How many components of known totals join in each species."""
        joined: Numbers = self.counts[:, : self.known].sum(axis=1)
        return joined

    @functools.cached_property
    def squared_charges(self) -> Numbers:
        """Of the ions of the components of known totals."""
        import numpy

        return numpy.array([float(component_charges()[name] ** 2) for name in self.components[: self.known]])

    @functools.cached_property
    def largest(self) -> float:
        """Most of them that join in one species."""
        return float(self.ions_in.max(initial=1.0))

    @functools.cached_property
    def own(self) -> Numbers:
        """A column for each component of a known total: 1 where a species holds one of it and of no other."""
        alone: Numbers = (self.counts[:, : self.known] * (self.ions_in == 1)[:, None]).astype(float)
        return alone

    @functools.cached_property
    def of_held(self) -> Numbers:
        """1 for each species in which no component of a known total joins, else 0."""
        others: Numbers = (self.ions_in == 0).astype(float)
        return others


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def system_of(known: tuple[str, ...], held: tuple[str, ...]) -> System:
    """The species that components of known totals and of held activities can form in water, with hydrogen."""
    import numpy

    components = (*known, *held, HYDROGEN)
    species = tuple(s for s in all_species() if all(name in components for name in s.components))
    return System(
        components=components,
        known=len(known),
        species=species,
        counts=numpy.array([[s.components.get(name, 0) for name in components] for s in species], dtype=float),
        charges=numpy.array([s.charge for s in species], dtype=float),
    )


@dataclass(frozen=True)
class Activities:
    """Natural logarithms at a temperature of the formation constants, and what the coefficients are made of."""

    constants: Numbers
    squares: Numbers
    widths: Numbers
    linear: Numbers

    def coefficients(self, strength: float) -> tuple[Numbers, Numbers]:
        """Natural logarithms of the activity coefficients at an ionic strength [mol/kg], as
        ``log_activity_coefficient`` has them, and their slopes against it."""
        root = math.sqrt(min(strength, STRONGEST))
        below = 1 + self.widths * root
        pull = self.squares / below
        found = self.linear * root**2 - pull * root
        if strength >= STRONGEST:
            return found, 0.0 * found
        return found, self.linear - pull / below * (0.5 / max(root, LEAST_ROOT))


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def activities_of(known: tuple[str, ...], held: tuple[str, ...], temperature: float) -> Activities:
    """Those of the species of a system at a temperature [°C]."""
    import numpy

    system = system_of(known, held)
    a, b = debye_hueckel(temperature)
    log_k, enthalpies = system.constants
    davies, sizes, salting = system.sizes
    squares = a * system.charges**2
    # Davies' law has the shape of the other with a size of 1 ÷ B.
    linear = numpy.where(davies, 0.3 * squares, salting)
    return Activities(
        LN10 * (log_k + enthalpies * (warmth(temperature) / WARMED)),
        LN10 * squares,
        numpy.where(davies, 1.0, b * sizes),
        LN10 * numpy.where(system.charges == 0, 0.1, linear),
    )


def charge_of(species: Species) -> float:
    """The charge of a mole."""
    return species.charge


def alkalinity_of(species: Species) -> float:
    """Hydrogen that a mole lacks beside carbon dioxide, H2PO4, NH4, H3BO3 and H4SiO4."""
    components = species.components
    return 2 * components.get("CO3", 0) + 2 * components.get("PO4", 0) - components.get(HYDROGEN, 0)


@dataclass(frozen=True)
class Condition:
    """A sum over the species of weight × moles that is to be met, and what is sought for that.

    ``formula`` is how many of each component a mole of what is sought brings; nothing where it is the pH.
    """

    weight: Callable[[Species], float]
    value: float
    formula: Mapping[str, int] = field(default_factory=dict)
    rises: bool = True
    """Whether more of what is sought makes the sum larger."""
    most: float = 0.0
    """[mol/kg] More of the formula is not looked for."""


CHARGES_BALANCE = Condition(charge_of, 0.0)


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def weights_of(system: System, weight: Callable[[Species], float]) -> Numbers:
    """The weight of each species in the sum of a condition."""
    import numpy

    return numpy.array([weight(species) for species in system.species], dtype=float)


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def sums_of(system: System, weight: Callable[[Species], float] | None) -> Numbers:
    """A row for each sum over the species of a system: of each component of a known total, of the positive and the
    negative part of a condition, of the ionic strength."""
    import numpy

    rows = [system.counts[:, : system.known].T]
    if weight:
        weights = weights_of(system, weight)
        rows += [weights.clip(min=0)[None, :], (-weights).clip(min=0)[None, :]]
    return numpy.vstack([*rows, system.strengths[None, :]])


@functools.lru_cache(maxsize=KEPT_SYSTEMS)
def effects_of(system: System, seeks_ph: bool, seeks_amount: bool) -> Numbers:
    """A column for each unknown: what each species changes by with it; that of the ionic strength is left empty."""
    import numpy

    columns = [system.counts[:, : system.known]]
    if seeks_ph:
        columns.append(system.counts[:, -1:])
    if seeks_amount:
        columns.append(numpy.zeros((len(system.species), 1)))
    return numpy.hstack([*columns, numpy.zeros((len(system.species), 1))])


def equilibrium(totals: Mapping[str, float], ph: float | None, temperature: float = ROOM) -> Equilibrium:
    """The species that totals [mol/kg] of components form at a pH and a temperature [°C].

    Where no pH is given it is the one at which the charges balance, which says that all ions were counted.
    Raises NoAnswer where no equilibrium is found.
    """
    if ph is None:
        return settled(totals, {}, CHARGES_BALANCE, temperature)
    return settled(totals, {HYDROGEN: -ph}, None, temperature)


def settled(
    totals: Mapping[str, float],
    held: Mapping[str, float],
    condition: Condition | None = None,
    temperature: float = ROOM,
) -> Equilibrium:
    """The species that totals [mol/kg] form beside components of held log10 activities, with what a condition seeks.

    Raises NoneNeeded and NoneEnough where the condition cannot be met, NoAnswer where no equilibrium is found.
    """
    found = Search(totals, held, condition, temperature).settled()
    if found:
        return found
    if condition and condition.formula:
        return _bracketed(totals, held, condition, temperature)
    raise NoAnswer("no equilibrium was found for this solution: look for an amount far too large or small")


def _bracketed(
    totals: Mapping[str, float], held: Mapping[str, float], condition: Condition, temperature: float
) -> Equilibrium:
    """The same for a condition that Newton's method did not meet: between none and the most of what is sought."""
    from scipy.optimize import brentq

    def with_amount(amount: float) -> Equilibrium:
        added = {name: totals.get(name, 0.0) + count * amount for name, count in condition.formula.items()}
        return settled({**totals, **added}, held, None, temperature)

    def lacking(amount: float) -> float:
        found = with_amount(amount)
        reached = sum(condition.weight(species) * moles for species, moles in found.moles.items())
        return (condition.value - reached) * (1 if condition.rises else -1)

    if lacking(0.0) < 0:
        raise NoneNeeded("none of it is needed")
    if lacking(condition.most) > 0:
        raise NoneEnough("no amount of it is enough")
    amount = float(brentq(lacking, 0.0, condition.most, xtol=1e-12, rtol=1e-9))
    return replace(with_amount(amount), sought=amount)


class Search:
    """Newton's method for one equilibrium.

    Unknown are the activities of the components whose totals are known, what the condition seeks (the activity of
    hydrogen, or an amount), and the ionic strength. All but the last go by logarithms; a condition is met as the
    logarithm of the positive over the negative part of its sum.
    """

    def __init__(
        self, totals: Mapping[str, float], held: Mapping[str, float], condition: Condition | None, temperature: float
    ) -> None:
        import numpy

        formula = condition.formula if condition else {}
        known = tuple(name for name in {**totals, **formula} if totals.get(name, 0.0) > LEAST or name in formula)
        fixed = tuple(name for name in held if name != HYDROGEN)
        self.condition, self.seeks_amount = condition, bool(formula)
        self.system = system_of(known, fixed)
        self.activities = activities_of(known, fixed, temperature)
        self.base = numpy.array([totals.get(name, 0.0) for name in known])
        self.gains = numpy.array([float(formula.get(name, 0)) for name in known])
        activities = [*[0.0] * len(known), *(held[name] for name in fixed), held.get(HYDROGEN, -NEUTRAL_PH)]
        self.logs = LN10 * numpy.array(activities)
        self.amount, self.strength = self._start()

    def _start(self) -> tuple[float, float]:
        """The amount sought and the ionic strength, had each component nothing to pair with; puts into ``logs`` the
        activities that follow."""
        import numpy

        system, condition, known = self.system, self.condition, self.system.known
        strength = max(0.5 * float(self.base @ system.squared_charges), LEAST_START)
        coefficients, _ = self.activities.coefficients(strength)
        held = system.counts[:, known:] @ self.logs[known:]
        forms = exponential(self.activities.constants + held - coefficients)
        sums = forms @ system.own
        amount = 0.0
        if condition and self.seeks_amount:
            weights = weights_of(system, condition.weight) * forms
            shares = weights @ system.own / sums
            left_over = condition.value - float(shares @ self.base) - float(weights @ system.of_held)
            amount = left_over / (float(shares @ self.gains) or 1.0)
            amount = min(amount if amount > LEAST else USUAL_AMOUNT, condition.most)
        activities = (self.base + self.gains * amount) / sums
        self.logs[:known] = numpy.log(activities)
        moles = forms * (system.own @ activities + system.of_held)
        return amount, max(float(system.strengths @ moles), LEAST_START)

    def settled(self) -> Equilibrium | None:
        """The equilibrium; None where the method does not find it."""
        import numpy

        system, condition, known = self.system, self.condition, self.system.known
        sums = sums_of(system, condition.weight if condition else None)
        effects = effects_of(system, condition is not None and not self.seeks_amount, self.seeks_amount).copy()
        shares, lacking = numpy.empty(effects.T.shape), numpy.empty(effects.shape[1])
        shares[-1] = -system.strengths
        # Views: what is put into these is put into those.
        of_components, share_of_components, lacking_of_components = sums[:known], shares[:known], lacking[:known]
        for turn in range(MOST_ROUNDS):
            coefficients, slopes = self.activities.coefficients(self.strength)
            exponents = system.counts @ self.logs
            exponents += self.activities.constants
            exponents -= coefficients
            moles = exponential(exponents)
            found = sums @ moles
            wanted = self.base + self.gains * self.amount if self.seeks_amount else self.base
            numpy.log(wanted / found[:known], out=lacking_of_components)
            if farthest(lacking_of_components) > NEAR_ENOUGH:
                self.logs[:known] += lacking_of_components / system.largest
                continue
            lacking[-1] = float(found[-1]) - self.strength
            if condition:
                more = float(found[known]) + max(-condition.value, 0.0)
                less = float(found[known + 1]) + max(condition.value, 0.0)
                lacking[known] = math.log(less / more)
                shares[known] = sums[known] / more - sums[known + 1] / less
            numpy.divide(of_components, found[:known, None], out=share_of_components)
            numpy.negative(slopes, out=effects[:, -1])
            # What each sum changes by with the logarithm of the moles of a species, times what that does by an unknown.
            jacobian = shares @ (effects * moles[:, None])
            jacobian[-1, -1] += 1
            if self.seeks_amount:
                jacobian[:known, known] -= self.gains * self.amount / wanted
            step = _step(jacobian, lacking, condition)
            self._move(step if turn < QUICK_ROUNDS else step / 2)
            if condition and self.seeks_amount and not LEAST < self.amount <= condition.most:
                return None
            if max(farthest(lacking[:-1]), abs(float(lacking[-1])) / self.strength) < LAST_STEP:
                return self._found(moles * numpy.exp(effects @ step))
        return None

    def _move(self, step: Numbers) -> None:
        known = self.system.known
        self.logs[:known] += step[:known]
        if self.seeks_amount:
            self.amount *= math.exp(step[known])
        elif self.condition:
            self.logs[-1] += step[known]
        self.strength = min(max(self.strength + step[-1], self.strength / 2), 2 * self.strength + LONGEST_CLIMB)

    def _found(self, moles: Numbers) -> Equilibrium:
        return Equilibrium(
            dict(zip(self.system.species, moles.tolist(), strict=True)),
            dict(zip(self.system.components, (self.logs / LN10).tolist(), strict=True)),
            self.strength,
            self.amount,
        )


def exponential(exponents: Numbers) -> Numbers:
    """Of each exponent, which is held where numbers neither overflow nor vanish; takes the place of them."""
    import numpy

    numpy.maximum(exponents, EXPONENTS[0], out=exponents)
    numpy.minimum(exponents, EXPONENTS[1], out=exponents)
    moles: Numbers = numpy.exp(exponents, out=exponents)
    return moles


def farthest(numbers: Numbers) -> float:
    """The largest of a few numbers, signs aside; 0 of none."""
    return max(map(abs, numbers.tolist()), default=0.0)


def _step(jacobian: Numbers, lacking: Numbers, condition: Condition | None) -> Numbers:
    """The change of the unknowns in a round: activities of components, what is sought, the ionic strength.

    What is sought is changed by little at a time, since amounts hang on it with high powers.
    """
    import numpy

    step: Numbers = numpy.asarray(numpy.linalg.solve(jacobian, lacking), dtype=numpy.float64)
    if condition is None:
        return step
    sought = len(lacking) - 2
    # More of what is sought always makes up for a lack, also where the slopes are too flat to tell.
    change, uneven = float(step[sought]), float(lacking[sought]) * (1 if condition.rises else -1)
    astray = change * uneven < 0 and abs(uneven) > max(farthest(lacking[:sought]), abs(float(lacking[-1])))
    if astray or abs(change) > LONGEST_STEP:
        held = math.copysign(min(abs(change), LONGEST_STEP), uneven if astray else change)
        others = [place for place in range(len(lacking)) if place != sought]
        rest = (lacking - jacobian[:, sought] * held)[others]
        step[others] = numpy.linalg.solve(jacobian[numpy.ix_(others, others)], rest)
        step[sought] = held
    return step
