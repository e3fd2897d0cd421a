"""What will not dissolve in a stock concentrate, and what will fall out of it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..chemistry.concentrates import Concentrate, Part, settled, space, water_left
from ..chemistry.ions import HYDROGEN, STRONGEST, component_charges
from ..chemistry.saturation import Mineral, minerals, possible, salts
from ..chemistry.unit_factors import GRAMS_IN_KILOGRAM
from ..no_answer import NoAnswer

ALL_WELL = "all dissolves"
NEAR = 0.3
"""log10 of the saturation below which a solid is called near in weak solutions: what differs between good databases."""
NEAR_LIMIT = 0.75
"""Part of what dissolves from which on a salt is called near: a night 10 K colder may take a quarter."""
DOUBT = 0.25
"""How much further from saturation it is called near for each mol/kg of ionic strength: databases differ the more."""
MOST_DOUBTFUL = 4.0
"""Ionic strength [mol/kg] up to which that doubt grows."""
STRONG_ACID, STRONG_ALKALI = 0.0, 14.0
"""pH beyond which activity formulas tell nothing of what falls out."""
BROWNING = 5.5
"""pH above which PHREEQC finds brown manganese oxides in water with air; they form the faster the higher it is."""
SALTING_OUT = 0.15
"""How much further from saturation a salt is called near for each mol/kg of ionic strength beyond the formulas' reach:
strong salts drive each other out, by pitzer.dat of PHREEQC up to so much."""
MOST_SALTED_OUT = 1.0
FAR_OVER = 10_000
"""How many times over saturation is told at most."""
TWO_TANKS = "keep them in two tanks"
LESS = "give less mass or more stock_volume"


def parted(names: Sequence[str]) -> str:
    """Names in a row with an *and*."""
    *first, last = dict.fromkeys(names)
    return f"{', '.join(first)} and {last}" if first else last


def too_much(
    parts: Sequence[Part], water: float, volume: float, temperature: float
) -> tuple[dict[str, str], frozenset[str]]:
    """A sentence for each salt of which about as much is weighed as dissolves in so much water [kg], by its formula.

    Beside it the formulas of those of which more is weighed than dissolves.
    """
    sentences, more = {}, set()
    for formula in dict.fromkeys(part.dry_formula for part in parts if part.salt):
        same = [part for part in parts if part.dry_formula == formula]
        mass, dry = (sum(part.mass for part in same), sum(part.dry_mass for part in same) / GRAMS_IN_KILOGRAM)
        solubility = salts()[formula].most(temperature)
        # Less of the salt leaves more water.
        most = solubility * (water + dry * space(formula)) / (1 + solubility * space(formula))
        if dry > NEAR_LIMIT * most:
            limit = f"the {most * mass / dry / volume:.3g} g/L that dissolves at {temperature:g} °C"
            weighed = f"{parted([part.name for part in same])}: {mass / volume:.4g} g/L is"
            near = f"{weighed} near {limit}: a colder tank lets it fall out"
            sentences[formula] = f"{weighed} more than {limit}" if dry > most else near
            more |= {formula} if dry > most else set()
    return sentences, frozenset(more)


def brought(components: Mapping[str, int], parts: Sequence[Part]) -> str:
    """The parts that bring most of what a solid is made of."""
    names = [source(name, parts) for name in components if name != HYDROGEN]
    if components.get(HYDROGEN, 0) < 0 and (alkali := strongest_alkali(parts)):
        names.append(alkali)
    return parted(names)


def source(component: str, parts: Sequence[Part]) -> str:
    """The part that brings most of a component, as it was given."""
    return max(parts, key=lambda part: part.moles.get(component, 0.0)).analysis.text


def strongest_alkali(parts: Sequence[Part]) -> str:
    """The part that brings most cations without their anions, which are those of water; empty where none does."""
    charges = component_charges()
    over = {part.analysis.text: sum(charges[name] * mole for name, mole in part.moles.items()) for part in parts}
    text = max(over, key=lambda name: over[name])
    return text if over[text] > 0 else ""


def common_ions(concentrate: Concentrate, known: Mapping[str, str], more: frozenset[str]) -> Iterator[tuple[str, str]]:
    """Formula and sentence of each salt that the ions of several parts together make fall out.

    Not of those of which ``more`` is weighed than dissolves alone; of those known to be near where it falls out.
    """
    if len({part.dry_formula for part in concentrate.parts if part.mass}) < 2:
        return
    temperature = concentrate.temperature
    margin = NEAR + min(SALTING_OUT * max(concentrate.dissolved.strength - STRONGEST, 0.0), MOST_SALTED_OUT)
    names = {part.dry_formula: part.name for part in concentrate.parts}
    for formula, salt in salts().items():
        if formula in more or not possible(salt.components, concentrate.dissolved.log_activities):
            continue
        if not salt.is_near(concentrate.dissolved, temperature, margin):
            continue
        saturation = salt.saturation(concentrate.dissolved, temperature)
        if saturation > -margin:
            together = f"{names.get(formula, formula)} (from {brought(salt.components, concentrate.parts)})"
            if saturation > 0:
                yield formula, f"{together} falls out at {temperature:g} °C, {over(saturation)} its solubility: {LESS}"
            elif formula not in known:
                yield formula, f"{together} is near its solubility at {temperature:g} °C beside the others: {LESS}"


def over(saturation: float) -> str:
    """How many times over, in words."""
    times = float(f"{10**saturation:.2g}")
    return f"{times:,g} times over" if times < FAR_OVER else "far over"


def falls_out(concentrate: Concentrate) -> Iterator[str]:
    """A sentence for each pair of ions whose mineral a concentrate is saturated with, or nearly so."""
    doubt = NEAR + DOUBT * min(concentrate.dissolved.strength, MOST_DOUBTFUL)
    found: dict[str, list[tuple[float, Mineral]]] = {}
    for mineral in minerals():
        if possible(mineral.components, concentrate.dissolved.log_activities):
            saturation = mineral.saturation(concentrate.dissolved, concentrate.temperature)
            if saturation > -doubt:
                found.setdefault(mineral.pair, []).append((saturation, mineral))
    for pair, candidates in found.items():
        quick = [candidate for candidate in candidates if not candidate[1].slow]
        saturation, mineral = max(quick or candidates, key=lambda candidate: candidate[0])
        sources = brought(mineral.components, concentrate.parts)
        what = f"{mineral.name}, {pair} (from {sources})"
        remedy = TWO_TANKS if " and " in sources else LESS
        if mineral.slow:
            yield f"{what} may fall out within days or weeks: {remedy}"
        elif saturation > 0:
            yield f"{what} falls out, {over(saturation)} its solubility product: {remedy}"
        else:
            yield f"{what} is near saturation and may fall out: {remedy}"


def left_open(concentrate: Concentrate) -> Iterator[str]:
    """What the ions of a concentrate do not tell, in a sentence each."""
    ph = -concentrate.dissolved.log_activities[HYDROGEN]
    if not STRONG_ACID <= ph <= STRONG_ALKALI:
        yield f"not checked: what falls out of so strong an {'acid' if ph < STRONG_ACID else 'alkali'}: {LESS}"
    told = {name for part in concentrate.parts if part.is_told for name, moles in part.moles.items() if moles}
    if "Fe" in told:
        yield "not checked: air, which turns ferrous iron to rust within days; a chelate stays dissolved"
    if "Mn" in told and ph > BROWNING:
        yield f"not checked: air, which turns manganese brown above pH {BROWNING:g}"


def unchecked(parts: Sequence[Part]) -> Iterator[str]:
    """A sentence on the parts of which no solubility is known, where there are any."""
    unknown = [part.name if part.analysis.substance else f'"{part.name}"' for part in parts if not part.is_checked]
    if unknown:
        yield f"not checked: how much of {parted(unknown)} dissolves, of which no solubility is known here"


def verdict(parts: Sequence[Part], volume: float, temperature: float) -> str:
    """Everything there is to say of parts in a volume [L] of concentrate at a temperature [°C]."""
    water = water_left(parts, volume)
    if water <= 0:
        return f"there is more salt than water: {LESS}"
    undissolved, more = too_much(parts, water, volume, temperature)
    sentences: list[str] = []
    try:
        concentrate = settled(parts, water, temperature)
    except NoAnswer:
        sentences.append(f"not checked: what falls out, of which such a strong solution does not tell: {LESS}")
    else:
        undissolved |= dict(common_ions(concentrate, undissolved, more))
        sentences += [*falls_out(concentrate), *left_open(concentrate)]
    return "; ".join([*undissolved.values(), *sentences, *unchecked(parts)]) or ALL_WELL
