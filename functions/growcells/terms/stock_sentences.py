"""What will not dissolve in a stock concentrate, and what will fall out of it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ..chemistry.concentrates import Concentrate, Part, settled, space, water_left
from ..chemistry.ions import HYDROGEN, component_charges
from ..chemistry.saturation import Mineral, minerals, possible, salts
from ..chemistry.unit_factors import GRAMS_IN_KILOGRAM
from ..no_answer import NoAnswer

ALL_WELL = "all dissolves"
NEAR = 0.3
"""log10 of the saturation below which a solid is called near in weak solutions: what differs between good databases."""
DOUBT = 0.25
"""How much further from saturation it is called near for each mol/kg of ionic strength: databases differ the more."""
MOST_DOUBTFUL = 4.0
"""Ionic strength [mol/kg] up to which that doubt grows."""
FAR_OVER = 10_000
"""How many times over saturation is told at most."""
TWO_TANKS = "keep them in two tanks"
LESS = "give less mass or more stock_volume"


def parted(names: Sequence[str]) -> str:
    """Names in a row with an *and*."""
    *first, last = dict.fromkeys(names)
    return f"{', '.join(first)} and {last}" if first else last


def too_much(parts: Sequence[Part], water: float, volume: float, temperature: float) -> dict[str, str]:
    """A sentence for each salt of which more is weighed than dissolves in so much water [kg], by its formula."""
    sentences = {}
    for formula in dict.fromkeys(part.dry_formula for part in parts if part.salt):
        same = [part for part in parts if part.dry_formula == formula]
        mass, dry = (sum(part.mass for part in same), sum(part.dry_mass for part in same) / GRAMS_IN_KILOGRAM)
        solubility = salts()[formula].most(temperature)
        if dry > solubility * water:
            # Less of the salt leaves more water.
            most = solubility * (water + dry * space(formula)) / (1 + solubility * space(formula))
            sentences[formula] = (
                f"{parted([part.name for part in same])}: {mass / volume:.4g} g/L is more than the "
                f"{most * mass / dry / volume:.3g} g/L that dissolves at {temperature:g} °C"
            )
    return sentences


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


def common_ions(concentrate: Concentrate, known: Mapping[str, str]) -> Iterator[str]:
    """A sentence for each salt that the ions of several parts together make fall out, but those already known."""
    if len({part.dry_formula for part in concentrate.parts if part.mass}) < 2:
        return
    temperature = concentrate.temperature
    names = {part.dry_formula: part.name for part in concentrate.parts}
    for formula, salt in salts().items():
        if formula in known or not possible(salt.components, concentrate.dissolved.log_activities):
            continue
        saturation = salt.saturation(concentrate.dissolved, temperature)
        if saturation > -NEAR:
            together = f"{names.get(formula, formula)} (from {brought(salt.components, concentrate.parts)})"
            if saturation > 0:
                yield f"{together} falls out at {temperature:g} °C, {over(saturation)} its solubility: {LESS}"
            else:
                yield f"{together} is near its solubility at {temperature:g} °C beside the others: {LESS}"


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


def unchecked(parts: Sequence[Part]) -> Iterator[str]:
    """What was not checked, in a sentence where there is any."""
    names = [f'"{part.analysis.text}"' if not part.analysis.substance else part.name for part in parts]
    unknown = [name for name, part in zip(names, parts, strict=True) if part.mass and not part.is_checked]
    if unknown:
        yield f"not checked: how much of {parted(unknown)} dissolves, of which no solubility is known here"
    if any(part.is_told and part.moles.get("Fe") for part in parts):
        yield "not checked: air, which turns ferrous iron to rust within days; a chelate stays dissolved"


def verdict(parts: Sequence[Part], volume: float, temperature: float) -> str:
    """Everything there is to say of parts in a volume [L] of concentrate at a temperature [°C]."""
    water = water_left(parts, volume)
    if water <= 0:
        return f"there is more salt than water: {LESS}"
    undissolved = too_much(parts, water, volume, temperature)
    sentences = list(undissolved.values())
    try:
        concentrate = settled(parts, water, temperature)
    except NoAnswer:
        sentences.append(f"not checked: what falls out, of which such a strong solution does not tell: {LESS}")
    else:
        sentences += [*common_ions(concentrate, undissolved), *falls_out(concentrate)]
    return "; ".join([*sentences, *unchecked(parts)]) or ALL_WELL
