"""What a fresh Python pays before the first cell is computed, in processor seconds."""

from __future__ import annotations

from .measuring import Benchmark, Goal, Kind, Seconds, Size, in_turn, python

IMPORT_PINT = "import time; begin = time.process_time(); import pint; print(time.process_time() - begin)"
FIRST_TEXT = (
    "import growcells, time; box = growcells.functions()['GROW_VOLUME_BOX']; begin = time.process_time(); "
    "box('1.2 yd', 31.0, 6.0); print(time.process_time() - begin)"
)


def light_import(size: Size) -> Seconds:
    """Importing growcells."""
    return in_turn(size.rounds, lambda: python("import growcells").processor, lambda: python("pass").processor)


def first_text(size: Size) -> Seconds:
    """The first call with a unit that stands in no table of ours, which imports pint and reads the units."""
    return in_turn(size.rounds, lambda: told(FIRST_TEXT), lambda: told(IMPORT_PINT))


def told(code: str) -> float:
    """The seconds that code prints as its first line."""
    return float(python(code).said.splitlines()[0])


BENCHMARKS = (
    Benchmark("import", "import growcells", "python -c pass", Goal(Kind.MORE, 40), light_import),
    Benchmark(
        "first-text",
        "the first call with a unit that only pint knows",
        "importing pint",
        Goal(Kind.MORE, 30),
        first_text,
    ),
)
