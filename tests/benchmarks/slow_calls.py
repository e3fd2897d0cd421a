"""Cells of the functions that solve equations: each asked something new, and asked again what was asked before."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Sequence

from growcells import functions
from growcells.cells.kept_results import MOST_RESULTS

from .calls import SALTS, TARGETS
from .measuring import Benchmark, Goal, Kind, Seconds, Size

Cells = tuple[object, ...]
CHANCE = random.Random(11)
FEED = (("NO3-N", 95), ("P", 30), ("K", 145), ("Ca", 88), ("Mg", 23), ("S", 31))
"""ppm of an invented feed."""
TRACES = (("Fe", 1.9), ("Mn", 0.4), ("Zn", 0.1), ("Cu", 0.05), ("B", 0.4), ("Mo", 0.03))
PLANTS = 30


def concentrate() -> Cells:
    """Eight salts at a temperature."""
    return tuple((CHANCE.uniform(10, 90),) for _ in SALTS[:8]), tuple((s,) for s in SALTS[:8]), "10 L", temperature()


def temperature() -> float:
    """[°C] as water has."""
    return CHANCE.uniform(4, 30)


def water(contact: str | None = None, feed: tuple[tuple[str, float], ...] | None = None) -> Cells:
    """Water to be brought down to a pH."""
    alkalinity, ph, target = CHANCE.uniform(60, 250), CHANCE.uniform(7, 8.2), CHANCE.uniform(5.5, 6.2)
    return "100 L", alkalinity, ph, target, "nitric", None, contact, feed


def solution() -> Cells:
    """A complete feed in tap water."""
    table = (*FEED, *TRACES, ("Na", CHANCE.uniform(5, 40)), ("alkalinity", CHANCE.uniform(20, 120)), ("pH", 5.8))
    return table, temperature()


def trial(first: str) -> Cells:
    """Thirty plants of three treatments."""
    names = (first, "leaf", "fruit")
    values = tuple((CHANCE.gauss(50 + 2 * (plant % 3), 3),) for plant in range(PLANTS))
    return values, tuple((names[plant % 3],) for plant in range(PLANTS))


def another_volume() -> Cells:
    """Twelve salts for twelve nutrients in a volume."""
    return TARGETS, tuple((salt,) for salt in SALTS), CHANCE.uniform(50, 200)


def seconds_of(name: str, cells: Sequence[Cells]) -> float:
    """Processor seconds of a call."""
    function = functions()[name]
    begin = time.process_time()
    for asked in cells:
        function(*asked)
    return (time.process_time() - begin) / len(cells)


def anew(name: str, chosen: Callable[[], Cells]) -> Callable[[Size], Seconds]:
    """Cells that were not asked before, in turn with the same once more, whose results are kept."""

    def measure(size: Size) -> Seconds:
        function = functions()[name]
        seconds_of(name, [chosen()])  # imports what it needs
        measured, reference = [], []
        for _ in range(size.slow_rounds):
            cells = [chosen() for _ in range(size.slow_calls)]
            hits, misses, _ = function.kept.count()
            measured.append(seconds_of(name, cells))
            assert function.kept.count()[1] == misses + len(cells), "an answer was kept already"
            reference.append(seconds_of(name, cells))
            assert function.kept.count()[0] == hits + len(cells), "an answer was not kept"
        return Seconds(measured, reference)

    return measure


def beside_nnls(size: Size) -> Seconds:
    """GROW_RECIPE for cells asked before, beside the solver alone."""
    import numpy as np
    from scipy.optimize import nnls

    from growcells.terms.analyses import parse_analysis

    given = np.array([[parse_analysis(salt).percents.get(key, 0.0) / ppm for salt in SALTS] for key, ppm in TARGETS])
    wanted = np.ones(len(TARGETS))

    def alone() -> float:
        begin = time.process_time()
        for _ in range(size.slow_calls):
            nnls(given, wanted)
        return (time.process_time() - begin) / size.slow_calls

    again = anew("GROW_RECIPE", another_volume)(size).reference
    return Seconds(again, [alone() for _ in again])


DAYS = 365


def year(size: Size) -> Seconds:
    """The slow cells of a year's log, a day in a row, computed when it is opened, and once more."""
    days = DAYS if size.slow_calls > 1 else 5
    waters = [water() for _ in range(12)]  # a water report a month
    log: list[tuple[str, list[Cells]]] = [
        ("GROW_ACID", [waters[day % 12] for day in range(days)]),
        ("GROW_EC", [(FEED, float(18 + day % 9)) for day in range(days)]),
        ("GROW_STOCK_CHECK", [concentrate()] * days),
    ]
    measured, reference = [], []
    counts = [functions()[name].kept.count() for name, _ in log]
    first = sum(seconds_of(name, cells) * len(cells) for name, cells in log)
    for _ in range(size.slow_rounds):
        measured.append(sum(seconds_of(name, cells) * len(cells) for name, cells in log))
        reference.append(first)
    found = [function.kept.count() for function in (functions()[name] for name, _ in log)]
    asked = days * len(log) * (1 + size.slow_rounds)
    missed = sum(after[1] - before[1] for before, after in zip(counts, found, strict=True))
    print(
        f"{'':20} of {asked:,} cells {missed} were computed, {1 - missed / asked:.1%} were kept; "
        f"{max(kept for *_, kept in found)} results kept of a function, at most {MOST_RESULTS:,}"
    )
    return Seconds(measured, reference)


SEEN = "the same cells once more, which are kept"
MILLISECONDS = (
    ("stock-check", "GROW_STOCK_CHECK of eight salts at a temperature", "GROW_STOCK_CHECK", concentrate, 3.0),
    ("acid-closed", "GROW_ACID in plain water, closed", "GROW_ACID", water, 0.4),
    ("acid-open", "GROW_ACID in plain water, open", "GROW_ACID", lambda: water("open"), 0.4),
    ("acid-feed", "GROW_ACID in a tank that holds feed, open", "GROW_ACID", lambda: water("open", FEED), 0.5),
    ("ec", "GROW_EC of a complete feed in tap water", "GROW_EC", solution, 0.5),
    ("recipe-anew", "GROW_RECIPE, 12 salts by 12 nutrients, another volume", "GROW_RECIPE", another_volume, 0.15),
    ("trial", "GROW_TRIAL_TABLE of 30 plants, three treatments", "GROW_TRIAL_TABLE", lambda: trial("plain"), 3.0),
    ("trial-control", "the same beside a control", "GROW_TRIAL_TABLE", lambda: trial("control"), 3.0),
)
BENCHMARKS = (
    *(
        Benchmark(name, f"{what}, asked anew", SEEN, Goal(Kind.MILLISECONDS, limit), anew(function, chosen))
        for name, what, function, chosen, limit in MILLISECONDS
    ),
    Benchmark(
        "recipe",
        "GROW_RECIPE, 12 salts by 12 nutrients, asked before",
        "scipy.optimize.nnls alone",
        Goal(Kind.TIMES, 3),
        beside_nnls,
    ),
    Benchmark(
        "kept",
        "the slow cells of a year's log computed again",
        "their first computation, in which days ask what others did",
        Goal(Kind.FASTER, 2),
        year,
    ),
)
