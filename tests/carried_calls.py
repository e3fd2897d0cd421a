"""Calls made by chance, in Python and by the formulas that a log carries, computed by another engine.

    python tests/carried_calls.py --count 200000 --seed 1 [--function GROW_DOSE]

Each call is a cell of a carried workbook. What it gives in ironcalc and what the function gives in Python must be equal
to a relative 1e-12, or both an error. The exit code is 1 where any differs.
"""

from __future__ import annotations

import argparse
import collections
import functools
import math
import random
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    root = Path(__file__).parent.parent
    sys.path[:0] = [str(Path(__file__).parent), *(str(root / room) for room in ("functions", "addin", "workbooks"))]

import ironcalc
from openpyxl import Workbook

from growcells import CellError, CellFunction
from growcells.cells.arguments import Argument, formula_text
from growcells.cells.errors import ERROR_CODES, GrowError
from growcells.cells.kinds import COUNT, DATE, FRACTION, MONEY, STRENGTH, UNIT, Choice, Kind, Quantity, is_range
from growcells.cells.liquids import ProductQuantity
from growcells.cells.ranges import Column
from growcells.cells.units import split_quantity
from growcells.chemistry.nutrient_bases import nutrients
from growcells.chemistry.substances import substances
from growcells.terms.analyses import ANALYSIS
from growcells.terms.names import ION, NUTRIENT, folded_substances, names_in
from growcells.terms.ppm_tables import RECIPE_NAME
from growcells_workbooks.carrying.carry import carry
from growcells_workbooks.carrying.native_names import carried
from growcells_workbooks.carrying.unit_rows import spellings, units_of

BLANK_CELL = "Z1"
EQUAL = 1e-12
BATCH = 1000

UNITS_MEANT = (
    "gal",
    "L",
    "in",
    "cm",
    "g",
    "kg",
    "oz",
    "lb",
    "ppm",
    "mg/L",
    "g/gal",
    "F",
    "°C",
    "mS",
    "uS/cm",
    "h",
    "W",
)
ODD_TEXTS = (
    "five",
    "1,5",
    "1,234.5",
    "12,345,678",
    "1/0",
    "--5",
    "5 x",
    "1.2.3",
    "in",
    "",
    " ",
    "+7",
    "1e2",
    "2 1/2",
    "TRUE",
)


def random_number(choose: random.Random) -> float:
    """A number such as people type, or one of another size."""
    kind = choose.random()
    if kind < 0.5:
        return round(choose.uniform(0, 100), choose.randrange(4))
    if kind < 0.6:
        return float(choose.randrange(1, 50))
    if kind < 0.7:
        return round(choose.random(), 3)
    if kind < 0.75:
        return 0.0
    if kind < 0.8:
        return -round(choose.uniform(0, 100), 2)
    return float(f"{10 ** choose.uniform(-5, 6):.6g}")


def number_text(choose: random.Random) -> str:
    """A number as a text, in one of the ways in which people write it."""
    number = abs(random_number(choose))
    whole, above, below = choose.randrange(1, 60), choose.randrange(1, 8), choose.choice((2, 4, 8, 16))
    ways = (
        f"{number:.12g}",
        f"{number:.3f}",
        f"{whole} {above}/{below}",
        f"{above}/{below}",
        f"{whole}½",
        f"{whole:,}.5",
    )
    return choose.choice(ways)


def plausible_number(choose: random.Random, kind: Kind) -> object:
    """A number of the size that a kind of argument takes."""
    if kind is FRACTION:
        return round(choose.uniform(0, 1), choose.choice((2, 3)))
    if kind is COUNT:
        return float(choose.choice((choose.randrange(1, 12), choose.randrange(1, 300))))
    if kind is DATE:
        return float(choose.randrange(40000, 50000))
    if kind.name == "temperature":
        return round(choose.uniform(0.5, 45), 1)
    return round(10 ** choose.uniform(-1, 2), choose.randrange(1, 4))


def respelled(choose: random.Random, name: str) -> str:
    """A name as somebody else writes it."""
    return choose.choice((name, name, name, name.upper(), name.lower(), name.replace(" ", "-"), f" {name} "))


class Calls:
    """Random calls of the functions that a log carries."""

    def __init__(self, seed: int) -> None:
        self.choose = random.Random(seed)
        self.units: dict[str, tuple[str, ...]] = {}

    def units_of(self, kind: Quantity) -> tuple[str, ...]:
        if kind.inside not in self.units:
            self.units[kind.inside] = units_of(kind)
        return self.units[kind.inside]

    def unit(self, kind: Quantity) -> str:
        """A unit of a kind, now and then one of another."""
        choose = self.choose
        if choose.random() < 0.08:
            return choose.choice((*UNITS_MEANT, "furlong", "M", "MS", "g*", "m*"))
        return choose.choice(self.units_of(kind))

    def cell(self, argument: Argument, function: CellFunction) -> object:
        """A cell for an argument."""
        choose, kind = self.choose, argument.kind
        way = choose.random()
        if not argument.required and way < 0.5:
            return None
        if kind is UNIT and argument.name in function._unit_names:
            asked = [other.kind for other in function.arguments if other.unit == argument.name]
            of = asked[0] if asked else function.result.kind
            assert isinstance(of, Quantity)
            return self.unit(of)
        if way < 0.03:
            return choose.choice((None, CellError(choose.choice(("#N/A", "#NUM!", "#VALUE!", "#DIV/0!"))), True))
        if way < 0.08:
            return choose.choice(ODD_TEXTS)
        if way < 0.15:
            return random_number(choose)
        extra = self.special(argument)
        if extra is not None:
            return extra
        if isinstance(kind, Quantity) and way < 0.6:
            if kind.name == "length" and way < 0.3:
                return f"{choose.randrange(1, 9)} ft {choose.randrange(0, 12)} in"
            if kind.name == "temperature":
                return f"{choose.uniform(1, 40):.1f} {choose.choice(('°C', 'C', 'degC'))}"
            return f"{number_text(choose)}{choose.choice(('', ' '))}{self.unit(kind)}"
        if way < 0.25:
            sign = {FRACTION: " %", MONEY: "$"}.get(kind, "")  # type: ignore[call-overload]
            text = number_text(choose)
            return sign + text if kind is MONEY else text + sign
        if kind is STRENGTH and way < 0.4:
            return f"{choose.uniform(0.1, 4):.2f} {choose.choice(('mS/cm', 'mS', 'ppm', 'mg/L', 'uS/cm'))}"
        return plausible_number(choose, kind)

    def special(self, argument: Argument) -> object:
        """A cell for the kinds whose values are names or ranges, or None."""
        choose, kind = self.choose, argument.kind
        if kind in (NUTRIENT, ION, RECIPE_NAME):
            table, column = {NUTRIENT: ("nutrients.csv", "symbol"), ION: ("ions.csv", "ion")}.get(
                kind,
                ("recipes.csv", "recipe"),
            )
            names = [*names_in(table, column), "nitrate", "NH4", "boron", "xenon"]
            return respelled(choose, choose.choice(names))
        if kind is ANALYSIS:
            return self.analysis()
        if kind is UNIT:
            return choose.choice((*UNITS_MEANT, *spellings()))
        if isinstance(kind, Choice):
            return choose.choice((*kind.words, *kind.words, "cone", "Box", 5.0))
        if isinstance(kind, Column):
            return tuple((self.cost(),) for _ in range(choose.randrange(1, 5)))
        return None

    def cost(self) -> object:
        """A cell of a column of costs."""
        choose = self.choose
        cells = (None, round(choose.uniform(0, 50), 2), 4.0, 0.0, f"${choose.uniform(1, 9):.2f}", -1.0, "x", "feed 2")
        return choose.choices(cells, (1, 9, 9, 2, 3, 0.3, 0.3, 0.3))[0]

    def analysis(self) -> object:
        """An analysis as people write it, now and then with a slip."""
        choose = self.choose
        way = choose.random()
        symbols = choose.sample([*nutrients()], choose.randrange(1, 6))
        figures = [round(choose.uniform(0, 9), choose.randrange(3)) for _ in symbols]
        between, behind = choose.choice((" ", " ", "  ", ": ", "=", " = ")), choose.choice(("", "", "%", " %"))
        listed = choose.choice((" ", ", ", "; ")).join(
            f"{respelled(choose, symbol)}{between}{figure:g}{behind}"
            for symbol, figure in zip(symbols, figures, strict=True)
        )
        if way < 0.1:
            return tuple((symbol, figure) for symbol, figure in zip(symbols, figures, strict=True))
        if way < 0.2:
            return listed
        if way < 0.6:
            dash = choose.choice(("-", "-", "-", " - ", "–"))
            grade = dash.join(f"{round(choose.uniform(0, 34), choose.choice((0, 0, 1))):g}" for _ in range(3))
            return grade if way < 0.4 else f"{grade} {listed}"
        if way < 0.93:
            name = respelled(
                choose, choose.choice([*folded_substances(), *(one.name for one in substances().values())])
            )
            return name if way < 0.75 else f"{name} {choose.choice((99, 98.5, 13, 0, 101))}{choose.choice(('%', ' %'))}"
        return choose.choice(("17-7", "17-7-21-3", "17-7-21%", "lead dust", "17", "Ca 5 Ca 6", "-1-2-3", "60-60-60"))

    def cells(self, function: CellFunction) -> list[object]:
        """The cells of a call, those left out at its end dropped."""
        if self.choose.random() < 0.25:  # an example with one cell made another
            cells = list(self.choose.choice(function.examples).arguments)
            if cells:
                place = self.choose.randrange(len(cells))
                cells[place] = self.cell(function.arguments[place], function)
        else:
            cells = [self.cell(argument, function) for argument in function.arguments]
        while cells and cells[-1] is None:
            cells.pop()
        return cells

    def calls(self, names: Sequence[str]) -> Iterator[tuple[CellFunction, list[object]]]:
        """Calls without end, each function as often as another."""
        while True:
            for name in names:
                function = carried()[name].function
                yield function, self.cells(function)


def typed(cell: object) -> str:
    """A cell as it stands in the formula of the call."""
    if cell is None:
        return BLANK_CELL
    return cell.code if isinstance(cell, CellError) else formula_text(cell)


def carried_model(folder: Path) -> Any:
    """An empty carried workbook, opened by ironcalc."""
    Workbook().save(folder / "log.xlsx")
    carry(folder / "log.xlsx", folder / "carried.xlsx")
    return ironcalc.load_from_xlsx(str(folder / "carried.xlsx"), "en", "UTC", "en")


def computed(model: Any, formulas: Sequence[str]) -> list[object]:
    """What ironcalc gives for formulas, errors as CellError."""
    for row, formula in enumerate(formulas, 1):
        model.set_user_input(0, row, 1, formula)
    model.evaluate()
    values = [model.get_cell_value(0, row, 1) for row in range(1, len(formulas) + 1)]
    return [CellError(value) if value in ERROR_CODES else value for value in values]


def of_liquid(function: CellFunction, cells: Sequence[object]) -> bool:
    """Whether a call measures a liquid by its volume, or tells its density: a log carries what is weighed."""
    kinds = {argument.unit: argument.kind for argument in function.arguments if argument.unit}
    kinds[function.result.unit_name] = function.result.kind
    for argument, cell in zip(function.arguments, cells, strict=False):
        if isinstance(cell, str) and argument.kind is ANALYSIS and "density" in cell.lower():
            return True
        kind = kinds.get(argument.name, argument.kind)
        try:
            texts = split_quantity(cell) if isinstance(cell, str) and kind is argument.kind else [(0.0, str(cell))]
        except GrowError:  # a comma that may mean two things
            continue
        if isinstance(kind, ProductQuantity) and any(kind.is_volume(unit) for _, unit in texts or () if unit):
            return True
    return False


ROUNDED = {"GROW_WEIGH": 1e-11}
"""Functions that round a step to twelve figures: at a half, programs round a double up and down."""


def same(expected: object, value: object, name: str = "") -> bool:
    """Whether a value is the one expected of a function."""
    if isinstance(expected, CellError) or isinstance(value, CellError):
        return isinstance(expected, CellError) and isinstance(value, CellError)
    if isinstance(expected, float) and isinstance(value, (int, float)):
        return math.isclose(expected, value, rel_tol=ROUNDED.get(name, EQUAL), abs_tol=1e-12)
    return expected == value


def read_values(function: CellFunction, cells: Sequence[object]) -> list[object]:
    """What the calculation is handed, or nothing where a cell is wrong."""
    try:
        return function._read(cells)
    except GrowError:
        return []


MOST_SOWN = 100_000
"""Seeds sown for which ironcalc still finds a limit: at 12,345,678 its BETA.INV was not done after minutes."""


def never_ends(function: CellFunction, cells: Sequence[object]) -> bool:
    """Whether ironcalc computes a call without end, which Python does not."""
    if function.name not in ("GROW_GERM_LOW", "GROW_GERM_HIGH"):
        return False
    return any(isinstance(value, float) and value > MOST_SOWN for value in read_values(function, cells))


def engine_is_inexact(function: CellFunction, cells: Sequence[object]) -> str:
    """Why a call is not compared: rounding, or the engine's own functions, are worth more than the last figures.

    The area of a circular segment is a difference: of a thousandth of the circle it is known to 1e-13. ironcalc's
    BETA.DIST misses the seed at which a chance is reached where there are millions, and its BETA.INV is good to 4e-8
    at 43,508 seeds.
    """
    values = read_values(function, cells)
    numbers = [value for value in values if isinstance(value, float)]
    if any(0 < abs(number) < TAKEN_FOR_ZERO for number in numbers):
        return "numbers that ironcalc takes for zero"
    if function.name == "GROW_DEPTH_FOR" and "pipe" in values and len(numbers) >= 3:
        volume, diameter, length = numbers[:3]
        return "nearly empty pipes" if volume < NEARLY_EMPTY * math.pi / 4 * diameter**2 * length else ""
    if function.name == "GROW_VOLUME_PIPE" and values:
        return "nearly empty pipes" if numbers[2] < NEARLY_EMPTY * numbers[0] else ""
    if function.name in ("GROW_GERM_LOW", "GROW_GERM_HIGH") and values:
        return "more than ten thousand seeds sown" if numbers[1] > MOST_SOWN_EXACTLY else ""
    if function.name == "GROW_SEEDS_TO_SOW" and values:
        return "millions of seeds" if numbers[0] > MOST_PLANTS * numbers[1] else ""
    return ""


TAKEN_FOR_ZERO = 1e-14
"""What ironcalc does not tell from zero where it compares."""
NEARLY_EMPTY = 1e-3
"""Part of a pipe, or of its diameter, below which its volume is not compared."""
MOST_SOWN_EXACTLY = 10_000
"""Seeds sown up to which the limits of germination are compared."""
MOST_PLANTS = 100_000
"""Plants for one that germinates up to which the seeds are compared."""

Figures = collections.Counter[str]


def compared(
    count: int, seed: int, names: Sequence[str], told: Callable[[str], None] | None = None
) -> tuple[list[str], Figures]:
    """The calls that differ, and how many gave a value, an error, the same error; ``told`` hears how far it is."""
    differences: list[str] = []
    figures: Figures = collections.Counter()
    source = Calls(seed).calls(names)
    with tempfile.TemporaryDirectory() as folder:
        model = carried_model(Path(folder))
        while figures["calls"] < count:  # those left out are made up for
            found = len(differences)
            batch = [next(source) for _ in range(min(BATCH, count - figures["calls"]))]
            endless = sum(never_ends(*call) for call in batch)
            figures["calls that ironcalc never ends, not compared"] += endless
            batch = [call for call in batch if not never_ends(*call)]
            formulas = [f"={function.name}({','.join(map(typed, cells))})" for function, cells in batch]
            for (function, cells), formula, value in zip(batch, formulas, computed(model, formulas), strict=True):
                expected = function.evaluate(cells)
                figures["calls"] += 1
                figures["errors" if isinstance(expected, CellError) else "values"] += 1
                if isinstance(expected, CellError) and isinstance(value, CellError):
                    figures["errors of the same code"] += expected.code == value.code
                if of_liquid(function, cells):
                    expected = CellError("#VALUE!")
                inexact = engine_is_inexact(function, cells)
                if inexact:
                    figures[f"of {inexact}, not compared"] += 1
                elif is_range(expected) or not same(expected, value, function.name):
                    differences.append(f"{formula}: {expected!r} in Python, {value!r} carried")
                    figures[f"differences of {function.name}"] += 1
            if told:
                told("\n".join([*differences[found:], _in_words(figures)]))
    return differences, figures


def _in_words(figures: Figures) -> str:
    return ", ".join(f"{number:,} {what}" for what, number in figures.items())


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=200_000, help="calls")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--function", action="append", help="only this function")
    given = parser.parse_args()
    differences, _ = compared(
        given.count, given.seed, given.function or list(carried()), functools.partial(print, flush=True)
    )
    print(f"{len(differences)} differ")
    return 1 if differences else 0


if __name__ == "__main__":
    sys.exit(main())
