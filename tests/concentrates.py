"""Random stock concentrates of all salts in the table, and what PHREEQC says of them by several databases.

``phreeqc`` (PyPI) carries the databases of the USGS. minteq.v4.dat knows all ions but holds for weak solutions;
pitzer.dat holds up to saturation but knows neither nitrogen nor phosphorus.
"""

from __future__ import annotations

import functools
import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from phreeqc import Phreeqc

from chemistry import column
from growcells.chemistry.concentrates import Part, water_left
from growcells.chemistry.substances import substances
from growcells.terms.analyses import parse_analysis

ELEMENTS = {
    "K": "K", "Ca": "Ca", "Mg": "Mg", "Na": "Na", "NH4": "N(-3)", "NO3": "N(5)", "PO4": "P", "SO4": "S(6)", "Cl": "Cl",
    "Fe": "Fe(2)", "Mn": "Mn(2)", "Zn": "Zn", "Cu": "Cu(2)", "H3BO3": "B", "MoO4": "Mo", "H4SiO4": "Si", "CO3": "C(4)",
    "citrate": "Citrate",
}  # fmt: skip
"""Our component: PHREEQC's name of it."""
UNKNOWN = {
    "minteq.v4.dat": (),
    "pitzer.dat": ("N(-3)", "N(5)", "P", "Zn", "Cu(2)", "Mo", "Citrate"),
    "phreeqc.dat": ("Mo", "Citrate"),
    "wateq4f.dat": ("Mo", "Citrate"),
}
"""What a database does not know."""
MANY_PHASES = 60


def part(mass: float, text: str) -> Part:
    """A mass [g] of what a cell names."""
    return Part(mass, parse_analysis(text))


@dataclass(frozen=True)
class RandomConcentrate:
    """Grams of substances for a litre, and a temperature [°C]."""

    grams: Mapping[str, float]
    temperature: float

    @property
    def cells(self) -> tuple[object, ...]:
        """What GROW_STOCK_CHECK is given."""
        return column(*self.grams.values()), column(*self.grams), "1 L", f"{self.temperature} °C"

    @property
    def molalities(self) -> dict[str, float]:
        """Moles of each component in a kilogram of water."""
        parts = [Part(grams, parse_analysis(name)) for name, grams in self.grams.items()]
        water = water_left(parts, 1.0)
        found: dict[str, float] = {}
        for part in parts:
            for name, moles in part.moles.items():
                found[name] = found.get(name, 0.0) + moles / water
        return {name: moles for name, moles in found.items() if moles > 0}


def random_concentrates(seed: int, count: int, names: Sequence[str] | None = None) -> list[RandomConcentrate]:
    """Concentrates of one to five substances, from the strength of a feed to beyond what dissolves."""
    numbers = random.Random(seed)
    chosen = names or [name for name, substance in substances().items() if substance.formula]
    found = []
    while len(found) < count:
        picked = numbers.sample(chosen, numbers.randint(1, 5))
        grams = {name: round(math.exp(numbers.uniform(math.log(0.3), math.log(400))), 3) for name in picked}
        if sum(grams.values()) < 1000:
            found.append(RandomConcentrate(grams, round(numbers.uniform(3, 35), 1)))
    return found


@functools.cache
def program(database: str) -> Phreeqc:
    """PHREEQC with one of its databases, struvite added."""
    started = Phreeqc()
    assert started.LoadBuiltInDatabase(database) == 0, started.GetErrorString()
    return started


PUNCHED = """
SELECTED_OUTPUT
 -reset false
USER_PUNCH
 -headings mu {headings}
 10 PUNCH MU
 20 total = SYS("phases", count, name$, type$, moles)
 30 FOR i = 1 TO {most}
 40 IF i <= count THEN PUNCH name$(i), moles(i) ELSE PUNCH "", 0
 50 NEXT i
"""
HEADINGS = " ".join(f"n{place} s{place}" for place in range(MANY_PHASES))


def saturation_indices(database: str, concentrate: RandomConcentrate) -> tuple[float, dict[str, float]] | None:
    """Ionic strength, and log10 of the saturation with each solid that a database knows.

    None where it lacks an element, or where PHREEQC finds no answer.
    """
    amounts = {ELEMENTS[name]: moles for name, moles in concentrate.molalities.items()}
    if set(amounts) & set(UNKNOWN[database]):
        return None
    lines = "".join(f" {name} {moles}\n" for name, moles in amounts.items())
    script = PUNCHED.format(headings=HEADINGS, most=MANY_PHASES)
    script += f"SOLUTION 1\n units mol/kgw\n temp {concentrate.temperature}\n pH 7 charge\n{lines}END\n"
    if program(database).RunString(script):
        return None
    table = program(database).GetSelectedOutput()
    found = {str(table[f"n{place}"][-1]): float(table[f"s{place}"][-1]) for place in range(MANY_PHASES)}
    return float(table["mu"][-1]), {name: index for name, index in found.items() if name and "(g)" not in name}


def log_activities(
    database: str, amounts: Mapping[str, float], ph: float, temperature: float, names: Sequence[str]
) -> dict[str, float]:
    """log10 of the activities of species in a solution [mol/kg] by a database's own names."""
    headings = " ".join(f"a{place}" for place in range(len(names)))
    punches = "\n".join(f' {place + 10} PUNCH LA("{name}")' for place, name in enumerate(names))
    lines = "".join(f" {name} {moles}\n" for name, moles in amounts.items())
    script = f"SELECTED_OUTPUT\n -reset false\nUSER_PUNCH\n -headings {headings}\n{punches}\n"
    script += f"SOLUTION 1\n units mol/kgw\n temp {temperature}\n pH {ph}\n{lines}END\n"
    assert program(database).RunString(script) == 0, program(database).GetErrorString()
    table = program(database).GetSelectedOutput()
    return {name: float(table[f"a{place}"][-1]) for place, name in enumerate(names)}


FREE = {
    **{name: f"{name}+2" for name in ("Ca", "Mg", "Fe", "Mn", "Zn", "Cu")},
    **{name: f"{name}+" for name in ("K", "Na", "NH4", "H")},
    **{"NO3": "NO3-", "Cl": "Cl-", "F": "F-", "SO4": "SO4-2", "MoO4": "MoO4-2", "PO4": "PO4-3", "CO3": "CO3-2"},
    **{"H3BO3": "H3BO3", "H4SiO4": "H4SiO4", "citrate": "Citrate-3"},
}
"""Our component: the name of its own ion in minteq.v4.dat."""


def mineral_constant(
    database: str, phase: str, components: Mapping[str, int], water: float, temperature: float
) -> float:
    """log10 of a solubility product: the activities that PHREEQC finds less its saturation index."""
    known = [
        name for name in FREE if ELEMENTS.get(name, name) not in (*UNKNOWN[database], "H", "F", "citrate", "Citrate")
    ]
    free = FREE | ({"H3BO3": "B(OH)3"} if database == "pitzer.dat" else {})
    punches = [f'LA("{free[name]}")' for name in components] + ['LA("H2O")', f'SI("{phase}")']
    headings = " ".join(f"a{place}" for place in range(len(punches)))
    basic = "\n".join(f" {place + 10} PUNCH {punch}" for place, punch in enumerate(punches))
    amounts = {ELEMENTS[name]: 0.001 for name in known} | ({"F": 0.001} if "F" in components else {})
    lines = "".join(f" {name} {moles}\n" for name, moles in amounts.items())
    script = f"SELECTED_OUTPUT\n -reset false\nUSER_PUNCH\n -headings {headings}\n{basic}\n"
    script += f"SOLUTION 1\n units mol/kgw\n temp {temperature}\n pH 7\n{lines}END\n"
    assert program(database).RunString(script) == 0, program(database).GetErrorString()
    found = program(database).GetSelectedOutput()
    *ions, of_water, index = (float(found[f"a{place}"][-1]) for place in range(len(punches)))
    product = sum(count * ion for count, ion in zip(components.values(), ions, strict=True))
    return product + water * of_water - index
