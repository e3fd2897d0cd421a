"""What a carried call costs in ironcalc, beside plain formulas of the same arithmetic.

    python tests/carried_speed.py --cells 20000

Processor time of a computation of the whole sheet for a cell, in microseconds, and the ratios. The time of a call is
mostly the engine's copying of the formula under the name: a LAMBDA of two names and one product is the least there is.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    root = Path(__file__).parent.parent
    sys.path[:0] = [str(Path(__file__).parent), *(str(root / room) for room in ("functions", "addin", "workbooks"))]

from carried_calls import carried_model

PAIRS = (
    ("GROW_DOSE(A#,B#)", "A#*B#", "IF(AND(ISNUMBER(A#),ISNUMBER(B#),A#>0,B#>0),A#*B#,NA())"),
    (
        "GROW_VOLUME_BOX(A#,B#,C#)",
        "A#*B#*C#/231",
        "IF(AND(ISNUMBER(A#),ISNUMBER(B#),ISNUMBER(C#),A#>0,B#>0,C#>0),A#*B#*C#/231,NA())",
    ),
    (
        "GROW_VPD(C#,D#)",
        "0.6108*EXP(17.27*C#/(C#+237.3))*(1-D#/100)",
        "IF(AND(ISNUMBER(C#),ISNUMBER(D#),C#<>0,D#>0,D#<=100),0.6108*EXP(17.27*C#/(C#+237.3))*(1-D#/100),NA())",
    ),
)
"""A carried call, its arithmetic, and the arithmetic with what the call checks."""
LAMBDA = "LAMBDA(x,y,x*y)(A#,B#)"
ROWS = 50


def microseconds(model: Any, formula: str, cells: int) -> float:
    """Processor time for a cell, the least of three computations."""
    for row in range(1, cells + 1):
        model.set_user_input(0, row, 6, "=" + formula.replace("#", str(row % ROWS + 1)))
    times = []
    for _ in range(3):
        start = time.process_time()
        model.evaluate()
        times.append(time.process_time() - start)
    return min(times) / cells * 1e6


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cells", type=int, default=20_000)
    cells = parser.parse_args().cells
    with tempfile.TemporaryDirectory() as folder:
        model = carried_model(Path(folder))
    for row in range(1, ROWS + 2):
        for column, value in enumerate((20 + row / 2, 1 + row / 10, 10 + row / 5, 60), 1):
            model.set_user_input(0, row, column, str(value))
    print(f"{LAMBDA}: {microseconds(model, LAMBDA, cells):.2f} µs")
    for call, plain, checked in PAIRS:
        called, bare, guarded = (microseconds(model, formula, cells) for formula in (call, plain, checked))
        print(
            f"{call}: {called:.1f} µs, {called / bare:.0f} times its arithmetic ({bare:.2f} µs), "
            f"{called / guarded:.1f} times its arithmetic with the same checks ({guarded:.2f} µs)"
        )


if __name__ == "__main__":
    main()
