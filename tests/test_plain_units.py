"""Plain numbers in cells are computed without pint, by the factors that pint gives."""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest

from growcells import functions
from growcells.cells.kinds import Kind, Quantity
from growcells.cells.ranges import Column
from growcells.cells.units import conversion, dimension_name, known_unit, known_units, parse_unit, short_unit
from growcells_workbooks.data import read_data

MASSES = [unit for unit, known in known_units().items() if known.measures == "mass"]
FUNCTIONS = Path(__file__).parent.parent / "functions"


def quantities() -> set[tuple[str, str]]:
    """The unit of plain numbers and that of calculations, of every argument and result."""
    kinds: set[Kind] = set()
    for function in functions().values():
        for kind in (*(argument.kind for argument in function.arguments), function.result.kind):
            kinds.add(kind.element if isinstance(kind, Column) else kind)
    return {(kind.unit, kind.inside) for kind in kinds if isinstance(kind, Quantity)}


def test_the_table_has_every_unit_of_plain_numbers_and_of_logs() -> None:
    units = {unit for pair in quantities() if pair[0] != pair[1] for unit in pair}
    units |= {row["unit"] for row in read_data("log_units.csv")}
    assert not {unit for unit in units if known_unit(unit) is None}


def test_the_table_is_what_pint_says(monkeypatch: pytest.MonkeyPatch) -> None:
    table = [*known_units(), *(f"{mass}/{volume}" for mass in MASSES for volume in ("L", "gal", "mL", "gal_uk"))]
    pairs = [(a, b) for a, b in product(table, table) if dimension_name(a) == dimension_name(b)]
    shorts = {unit: short_unit(unit) for unit in table if dimension_name(unit) != "area"}
    said = {unit: dimension_name(unit) for unit in table}
    factors = {pair: conversion(*pair) for pair in pairs}
    monkeypatch.setattr("growcells.cells.units.known_unit", lambda text: None)
    assert factors == {pair: conversion.__wrapped__(*pair) for pair in pairs}
    assert said == {unit: dimension_name.__wrapped__(unit) for unit in table}
    assert shorts == {unit: f"{parse_unit(unit):~C}" for unit in shorts}


CALLS = {
    "GROW_VOLUME_BOX": [42.0, 31.0, 6.0],
    "GROW_DOSE": [34.0, 2.0],
    "GROW_PPM": [68.0, 34.0, "17-7-21", "N"],
    "GROW_EC_25": [1.8, 21.0],
}


def test_plain_numbers_need_no_pint() -> None:
    """Nor numpy, which pint loads: the first cell of a session does not wait for them."""
    program = (
        "import sys\nfrom growcells import functions\n"
        f"print([functions()[name].evaluate(cells) for name, cells in {CALLS}.items()])\n"
        "print([name for name in ('pint', 'numpy') if name in sys.modules])"
    )
    environment = {**os.environ, "PYTHONPATH": str(FUNCTIONS)}
    done = subprocess.run([sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True)
    here = [functions()[name].evaluate(cells) for name, cells in CALLS.items()]
    assert done.stdout.splitlines() == [str(here), "[]"]
