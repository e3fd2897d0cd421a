"""What carried calls cost in ironcalc, beside plain formulas of the same arithmetic over the same cells.

    python tests/carried_speed.py --cells 20000

Processor time of loading and computing a workbook, least of several rounds in turn, for each function and for all of
them: (a) both together, which has a target, and (b) the computing alone. What carried workbooks load besides their
cells is told too. The computing of a call is mostly the engine's copying of the formula under the name.
"""

from __future__ import annotations

import argparse
import functools
import math
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    root = Path(__file__).parent.parent
    sys.path[:0] = [str(Path(__file__).parent), *(str(root / room) for room in ("functions", "addin", "workbooks"))]

import ironcalc
import xlsxwriter

from growcells_workbooks.carrying.carry import carry

PAIRS = (
    ("GROW_DOSE(A#,B#)", "A#*B#"),
    ("GROW_RATE(A#,B#)", "A#/B#"),
    ("GROW_VOLUME_BOX(A#,B#,C#)", "A#*B#*C#/231"),
    ("GROW_VOLUME_ROUND(A#,B#)", "PI()/4*A#^2*B#/231"),
    ("GROW_STOCK(B#,D#,A#)", "B#*D#*A#"),
    ("GROW_COST(A#,B#,C#)", "A#/(C#*453.59237)*B#"),
    ("GROW_FILLS_LEFT(A#,B#)", "A#/B#"),
    ("GROW_TOPUP(A#,B#,B#,C#,B#)", "(A#*C#-B#*B#)*B#"),
    ("GROW_EC_25(B#,C#)", "B#/(1+0.0191*(C#-25))"),
    ("GROW_DLI(A#,B#)", "A#*B#*3600/1000000"),
    (
        "GROW_VPD(C#,D#)",
        "0.6108*EXP(17.27*C#/(C#+237.3))*(1-D#/100)",
    ),
    ("GROW_GROWTH_RATE(B#,C#,A#)", "(LN(C#)-LN(B#))/A#"),
)
"""A carried call, and its arithmetic as a grower writes it."""
COLUMN = 6
"""The column of the formulas; those before it hold their numbers."""
MOST = 3.0
"""Times of the plain formulas that a carried log may take to load and compute."""


class Took(NamedTuple):
    """Processor time [s]."""

    load: float
    compute: float

    @property
    def both(self) -> float:
        return self.load + self.compute


def write_book(path: Path, formulas: Sequence[str], cells: int) -> Path:
    """A workbook with so many cells of formulas, one after the other in turn, and the numbers that each takes."""
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        sheet = book.add_worksheet("Log")
        for row in range(cells):
            sheet.write_row(row, 0, [20 + row % 50 / 2, 1 + row % 50 / 10, 10 + row % 50 / 5, 60])
            sheet.write_formula(row, COLUMN - 1, "=" + formulas[row % len(formulas)].replace("#", str(row + 1)))
    return path


def books(folder: Path, pairs: Sequence[tuple[str, str]], cells: int) -> tuple[Path, Path]:
    """A carried workbook and one with plain formulas, whose values are the same."""
    called = write_book(folder / "called.xlsx", [call for call, _ in pairs], cells)
    plain = write_book(folder / "plain.xlsx", [formula for _, formula in pairs], cells)
    carried = folder / "carried.xlsx"
    carry(called, carried, overwrite=True)
    values = []
    for path in (carried, plain):
        model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        model.evaluate()
        values.append([model.get_cell_value(0, row, COLUMN) for row in range(1, cells + 1)])
    for one, other in zip(*values, strict=True):
        assert math.isclose(one, other, rel_tol=1e-9), (pairs, one, other)
    return carried, plain


def took(path: Path) -> Took:
    """What loading and computing a workbook takes."""
    start = time.process_time()
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    loaded = time.process_time()
    model.evaluate()
    return Took(loaded - start, time.process_time() - loaded)


def in_turn(paths: Sequence[Path], rounds: int) -> list[Took]:
    """The least time of each workbook, which other work on the machine added least to."""
    measured = [[took(path) for path in paths] for _ in range(rounds)]
    return [Took(*map(min, zip(*each, strict=True))) for each in zip(*measured, strict=True)]


def compared(folder: Path, pairs: Sequence[tuple[str, str]], cells: int, rounds: int) -> float:
    """Print what calls and their arithmetic take, and give the ratio of (a)."""
    carried, plain = in_turn(books(folder, pairs, cells), rounds)
    each = 1e6 / cells
    print(
        f"{pairs[0][0] if len(pairs) == 1 else 'all in turn':28} (a) {carried.both / plain.both:4.1f} ×"
        f" ({carried.both * each:5.1f} and {plain.both * each:5.1f} µs a cell),"
        f" (b) {carried.compute / plain.compute:3.0f} ×"
        f" ({carried.compute * each:4.1f} and {plain.compute * each:.2f} µs)",
        flush=True,
    )
    return carried.both / plain.both


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cells", type=int, default=20_000)
    parser.add_argument("--rounds", type=int, default=4)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        measured = functools.partial(compared, folder, cells=given.cells, rounds=given.rounds)
        ratios = {pair[0]: measured(pairs=[pair]) for pair in PAIRS}
        whole = measured(pairs=PAIRS)
        empty = write_book(folder / "empty.xlsx", ["1"], 1)
        carry(empty, folder / "names.xlsx", overwrite=True)
        bare, names = in_turn([empty, folder / "names.xlsx"], given.rounds)
        added = (folder / "names.xlsx").stat().st_size - empty.stat().st_size
    print(f"names and tables: {(names.load - bare.load) * 1000:.0f} ms to load, {added:,} bytes of the file")
    above = [call for call, ratio in ratios.items() if ratio > MOST]
    print(f"above {MOST:g} ×: {', '.join(above) or 'none'}")
    return int(whole > MOST)


if __name__ == "__main__":
    sys.exit(main())
