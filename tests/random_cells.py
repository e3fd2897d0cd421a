"""Call every function with cells made by chance or meant to hurt, and look for what no cell may ever see.

    python tests/random_cells.py --count 1000000 --seed 1 [--milliseconds 50]

Each call is one that a cell function's example makes, with some of its arguments made others: numbers of every size,
texts of every length, units, names, errors, ranges. A fault is an exception, a value that is not finite, a negative one
where the result cannot be negative, a text that no cell holds, or a call that takes longer than the limit, in time of
the processor: one that seems to is made twice more with nothing remembered, and its shortest time counts, since what
else a machine does makes single calls slow. Memory that grows over the calls is a fault too, since a spreadsheet
program lives long. The exit code is 1 where anything was found.
"""

from __future__ import annotations

import argparse
import collections
import datetime
import inspect
import math
import os
import random
import statistics
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parent.parent / "functions")]

from growcells import CellError, CellFunction, functions  # the path first
from growcells.cells.errors import ERROR_CODES
from growcells.cells.kinds import LONGEST_TEXT, is_range

SMALLEST = 5e-324
"""The smallest step from zero (IEEE 754 binary64)."""
NUMBERS = (
    *(1e-300, 1e300, -1e300, SMALLEST, -SMALLEST, sys.float_info.max, sys.float_info.min, 1e-30, 1e15, 2.0**53),
    *(1 - 2**-53, 1 + 2**-52, -1.0, 0.0, -0.0, 0.5, 1.0, 1e9 + 0.5, 2958465.0, 2958466.0),
    *(math.nan, math.inf, -math.inf),
)
WHOLE_NUMBERS = (10**400, -(10**400), 2**63, -1, 0, 1)
PIECES = (
    *("x", "9", "1 ", "1in ", "m*", "m^", "N 5%, ", "(", "K(NO3)", "1/", "½", "1,", "'", '"', "°", "e", "-", "1-2-"),
    *("CaCO3 ", "5 kg/m^2 ", "é", "ß", "\0", "٣", "²", "\U0001f331", "10**", " "),
)
"""What texts of the greatest length are made of."""
TEXTS = (
    *("", " ", "5", "45 in", "2 g/gal", "1,5", "17-7-21", "KNO3", "N", "P2O5", "box", "pipe", "dead", "gal", "0 °C"),
    *("1/0", "85 %", "1e308", "1e-308", "1e999", "-5", "=1+1", "5 m**99999999999999999999", "1e" + "9" * 250, "20 C"),
    *("67F", "1.8 mS/cm", "900 ppm", "N 5%, P 3%", "Hoagland & Arnon 1", "2026-11-25", "2026-13-45", "$5", "GROW_WHY"),
)
DATES = (datetime.date.min, datetime.date.max, datetime.date(2026, 11, 25), datetime.datetime(1900, 2, 28, 12))
LONG_TEXTS = tuple((piece * LONGEST_TEXT)[:length] for piece in PIECES for length in (LONGEST_TEXT, 255))
MOST_GROWTH = 16.0
"""What memory may grow by over a hundred thousand calls, once as many have been made [MiB]: ours."""
PAUSE = 10_000
"""Calls between looks at the memory."""
EXTREMES: tuple[object, ...] = (*NUMBERS, *WHOLE_NUMBERS, *LONG_TEXTS, LONG_TEXTS[0] + "x", True, *DATES)


def random_text(choose: random.Random) -> str:
    """A text of any length, of pieces that mean something."""
    kind = choose.random()
    if kind < 0.6:
        return choose.choice(TEXTS)
    if kind < 0.7:
        return choose.choice(LONG_TEXTS)
    return "".join(choose.choice(choose.choice((PIECES, TEXTS))) for _ in range(choose.choice((1, 2, 3, 5, 40))))


def random_cell(choose: random.Random) -> object:
    """A cell that nobody typed, mostly a number."""
    kind = choose.random()
    if kind < 0.3:
        return choose.choice((1, -1, 1, 1)) * 10 ** choose.uniform(-320, 308)
    if kind < 0.45:
        return round(choose.uniform(0, 100), choose.randrange(4))
    if kind < 0.55:
        return choose.choice(NUMBERS)
    if kind < 0.9:
        return random_text(choose)
    return choose.choice((None, True, CellError(choose.choice(ERROR_CODES)), *WHOLE_NUMBERS, *DATES))


def spoiled(choose: random.Random, cell: object) -> object:
    """Another cell; of a range mostly one of its cells, or its size."""
    if not is_range(cell) or choose.random() < 0.1:
        return random_cell(choose)
    assert isinstance(cell, (list, tuple))
    rows = [list(row) if is_range(row) else [row] for row in cell]
    if choose.random() < 0.2:
        rows = rows * choose.choice((2, 5)) if choose.random() < 0.5 else rows[: choose.randrange(len(rows) + 1)]
        return tuple(map(tuple, rows))
    for row in choose.choices(rows, k=choose.choice((1, 1, 3))) if rows else ():
        if row:
            row[choose.randrange(len(row))] = random_cell(choose)
    return tuple(map(tuple, rows))


def random_call(choose: random.Random, function: CellFunction) -> list[object]:
    """The cells of a call that is an example in part."""
    cells = list(choose.choice(function.examples).arguments)
    lacking = len(function.arguments) - len(cells)
    cells += [random_cell(choose) if choose.random() < 0.2 else None for _ in range(lacking)]
    for _ in range(choose.choice((1, 1, 2, 4))):
        if cells:
            place = choose.randrange(len(cells))
            cells[place] = spoiled(choose, cells[place])
    return cells


def extreme_calls(function: CellFunction) -> Iterator[list[object]]:
    """Each argument of its first example in turn made each of the extremes, also as a cell of its range."""
    example = [*function.examples[0].arguments]
    example += [None] * (len(function.arguments) - len(example))
    for place, cell in enumerate(example):
        for extreme in EXTREMES:
            yield [*example[:place], extreme, *example[place + 1 :]]
            if is_range(cell):
                assert isinstance(cell, (list, tuple))
                *rows, last = (tuple(row) if is_range(row) else (row,) for row in cell)
                for within in range(len(last)):
                    changed = (*last[:within], extreme, *last[within + 1 :])
                    yield [*example[:place], (*rows, changed), *example[place + 1 :]]


def remembering() -> list[Any]:
    """The functions of growcells that remember what they gave for what cells hold, or for anything else."""
    modules = [module for name, module in sys.modules.items() if name.partition(".")[0] == "growcells"]
    found = {value for module in modules for value in vars(module).values() if hasattr(value, "cache_parameters")}
    return [function for function in found if inspect.signature(function).parameters]


def timed(function: CellFunction, cells: Sequence[object]) -> tuple[object, float]:
    """The result of a call, and how long it takes [s of the processor]."""
    start = time.process_time()
    result = function.evaluate(cells)
    return result, time.process_time() - start


def fault_of(function: CellFunction, cells: Sequence[object], seconds: float) -> tuple[str, float]:
    """What is wrong with a call, or nothing, and how long it took [s]."""
    result, taken = timed(function, cells)
    for _ in range(2):
        if taken > seconds:
            for remembered in remembering():
                if remembered.cache_parameters()["maxsize"] is not None:  # the others hold tables
                    remembered.cache_clear()
            taken = min(taken, timed(function, cells)[1])
    if taken > seconds:
        return f"takes {taken * 1000:.0f} ms", taken
    return fault_of_result(function, result), taken


def fault_of_result(function: CellFunction, result: object) -> str:
    """What is wrong with a result, or nothing."""
    if is_range(result):
        assert isinstance(result, (list, tuple))
        return next(filter(None, (fault_of_result(function, cell) for cell in result)), "")
    if isinstance(result, CellError):
        if result.code not in ERROR_CODES or not result.message or "a fault in growcells" in result.message:
            return f"{result.code} {result.message[-300:]}"
        return "a sentence too long for a cell" if len(result.message) > LONGEST_TEXT else ""
    if isinstance(result, str):
        return "a text too long for a cell" if len(result) > LONGEST_TEXT else ""
    if not isinstance(result, (int, float)):
        return f"a result of type {type(result).__name__}"
    if not math.isfinite(result):
        return f"gives {result}"
    return f"gives {result}, below zero" if result < 0 and not function.result.negative else ""


def resident_memory() -> float:
    """The memory that this process holds [MiB]; 0 where the system does not tell."""
    try:
        return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 2**20
    except OSError:
        return 0.0


@dataclass
class Figures:
    """What came of all calls."""

    calls: int = 0
    faults: list[str] = field(default_factory=list)
    slowest: dict[str, float] = field(default_factory=lambda: collections.defaultdict(float))
    memory: list[float] = field(default_factory=list)
    """At each pause [MiB]."""

    def note(self, function: CellFunction, cells: Sequence[object], seconds: float) -> None:
        """Make a call and count what came of it."""
        fault, taken = fault_of(function, cells, seconds)
        self.calls += 1
        self.slowest[function.name] = max(self.slowest[function.name], taken)
        if self.calls % PAUSE == 0:
            self.memory.append(resident_memory())
        if fault:
            self.faults.append(f"{function.name}: {fault} with {', '.join(repr(cell)[:60] for cell in cells)}")

    @property
    def growth(self) -> float | None:
        """By how much memory grew in a hundred thousand calls [MiB], the first as many left out; None for too few."""
        warm = self.memory[100_000 // PAUSE :]
        return statistics.linear_regression(range(len(warm)), warm).slope * 100_000 / PAUSE if len(warm) > 10 else None

    def lines(self) -> Iterator[str]:
        """The figures in words."""
        for name, taken in sorted(self.slowest.items(), key=lambda item: -item[1])[:5]:
            yield f"slowest call of {name}: {taken * 1000:.1f} ms"
        if self.growth is not None:
            yield f"memory: {self.memory[-1]:.0f} MiB at the end, growing by {self.growth:.2f} MiB in 100,000 calls"
        yield f"{self.calls:,} calls, {len(self.faults)} faults"


def warm_up() -> None:
    """Make each example's call, so that no call to come imports anything."""
    for function in functions().values():
        for example in function.examples:
            function.evaluate(example.arguments)


def try_all(count: int, seed: int, seconds: float) -> Figures:
    """Make at least so many calls, each function as often as another."""
    warm_up()
    figures = Figures()
    choose = random.Random(seed)
    while figures.calls < count:
        for function in functions().values():
            figures.note(function, random_call(choose, function), seconds)
    if figures.growth is not None and figures.growth > MOST_GROWTH:
        figures.faults.append(f"memory grows by {figures.growth:.1f} MiB in 100,000 calls")
    return figures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=1_000_000, help="calls")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--milliseconds", type=float, default=50, help="longest time of a call")
    given = parser.parse_args()
    figures = try_all(given.count, given.seed, given.milliseconds / 1000)
    print("\n".join((*figures.faults[:50], *figures.lines())))
    return 1 if figures.faults else 0


if __name__ == "__main__":
    sys.exit(main())
