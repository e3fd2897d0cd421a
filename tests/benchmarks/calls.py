"""Calls of cell functions in Python."""

from __future__ import annotations

from dataclasses import replace

from growcells import functions
from growcells.cells.arguments import Argument, Result
from growcells.cells.cell_function import CellFunction
from growcells.cells.kinds import CONCENTRATION, MASS, NUMBER, VOLUME
from us_units import CUBIC_INCHES_IN_GALLON

from .measuring import Benchmark, Goal, Kind, Seconds, Size, statements

TARGETS = (
    *(("N", 210.0), ("P", 31.0), ("K", 234.0), ("Ca", 200.0), ("Mg", 48.6), ("S", 64.0)),
    *(("Fe", 2.5), ("Mn", 0.5), ("Zn", 0.05), ("Cu", 0.02), ("B", 0.5), ("Mo", 0.01)),
)
SALTS = (
    *("KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "MgSO4.7H2O", "K2SO4", "NH4NO3"),
    *("0-0-0 Fe 11", "MnSO4.H2O", "ZnSO4.7H2O", "CuSO4.5H2O", "H3BO3", "Na2MoO4.2H2O"),
)


def box_alone(length: float, width: float, depth: float) -> float:
    """Volume [gal] of a box of inside sizes [in]."""
    return length * width * depth / CUBIC_INCHES_IN_GALLON


def ppm_of_numbers() -> CellFunction:
    """GROW_PPM with two numbers where it takes an analysis and a nutrient."""

    def ppm(mass: float, volume: float, percent: float, share: float) -> float:
        return mass * (percent * share) / 100 * 1000 / volume

    real = functions()["GROW_PPM"]
    return replace(
        real,
        arguments=(
            Argument("mass", MASS, "mass"),
            Argument("volume", VOLUME, "volume"),
            Argument("percent", NUMBER, "percent"),
            Argument("share", NUMBER, "share"),
        ),
        result=Result(CONCENTRATION, "ppm"),
        calculation=ppm,
    )


def scalar(size: Size) -> Seconds:
    """A call with plain numbers."""
    box = functions()["GROW_VOLUME_BOX"]
    assert abs(float(str(box(42.0, 31.0, 6.0))) - box_alone(42.0, 31.0, 6.0)) < 1e-9
    names = {"box": box, "alone": box_alone}
    return statements(size, "box(42.0, 31.0, 6.0)", "alone(42.0, 31.0, 6.0)", names)


def analysis(size: Size) -> Seconds:
    """A call with an analysis text that was seen before."""
    names = {"ppm": functions()["GROW_PPM"], "numbers": ppm_of_numbers()}
    same = [eval(call, {**names}) for call in ('ppm(10.0, 5.0, "17-7-21", "N")', "numbers(10.0, 5.0, 17.0, 1.0)")]
    assert same[0] == same[1], same
    return statements(size, 'ppm(10.0, 5.0, "17-7-21", "N")', "numbers(10.0, 5.0, 17.0, 1.0)", names)


def known_unit(size: Size, call: str = 'box("42 in", 31.0, 6.0)') -> Seconds:
    """A call with a unit text that was seen before."""
    import pint

    names = {"box": functions()["GROW_VOLUME_BOX"], "Quantity": pint.UnitRegistry().Quantity}
    return statements(size, call, 'Quantity(42.0, "in").to("dm")', names)


def known_unit_argument(size: Size) -> Seconds:
    """A call with unit arguments that were seen before."""
    return known_unit(size, 'box(42.0, 31.0, 6.0, "cm", "L")')


def rows(size: Size, row_by_row: str = "box") -> Seconds:
    """A range of many rows, as numpy arrays, in one call."""
    import numpy as np

    box = functions()["GROW_VOLUME_BOX"]
    columns = np.random.default_rng(8).uniform(10, 60, (3, size.range_rows))
    names = {"box": box, "alone": box_alone, "columns": columns, "rows": list(zip(*columns.tolist(), strict=True))}
    assert box(*columns)[-1] == box(*names["rows"][-1])  # type: ignore[index]  # an array
    return statements(
        replace(size, calls=1, rounds=5 * size.rounds), "box(*columns)", f"[{row_by_row}(*row) for row in rows]", names
    )


BENCHMARKS = (
    Benchmark(
        "scalar",
        "a scalar GROW_ call in Python, plain numbers",
        "the same arithmetic in a bare Python function",
        Goal(Kind.TIMES, 8),
        scalar,
    ),
    Benchmark(
        "analysis",
        "GROW_PPM with an analysis text seen before",
        "the same function declared with numbers in place of texts",
        Goal(Kind.TIMES, 1.5),
        analysis,
    ),
    Benchmark(
        "known-unit",
        "a call with a unit text seen before",
        "one pint conversion",
        Goal(Kind.FASTER, 50),
        known_unit,
    ),
    Benchmark(
        "known-unit-argument",
        "a call with unit arguments seen before",
        "one pint conversion",
        Goal(Kind.FASTER, 50),
        known_unit_argument,
    ),
    Benchmark(
        "rows",
        "100,000 rows as numpy arrays in one call",
        "100,000 scalar calls",
        Goal(Kind.FASTER, 200),
        rows,
    ),
    Benchmark(
        "rows-bare",
        "100,000 rows as numpy arrays in one call",
        "the same arithmetic in a bare Python function, row by row",
        Goal(Kind.FASTER, 25),
        lambda size: rows(size, "alone"),
    ),
)
