"""How time and memory grow with the rows of a log."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from .logs import write_formula_log, write_readings_log, write_sheet
from .measuring import Run, Size, growcells, python

NOISE = 1.25
"""A further row may cost this much more than an earlier one and still count as the same: two runs differ by as much."""
MEBIBYTE = 2**20
LEAST = 1e-6
"""What more rows cost at least, in seconds or bytes, so that there is a ratio where two runs are alike."""


@dataclass(frozen=True)
class Growth:
    """A command at several numbers of rows."""

    name: str
    what: str
    rows: Sequence[int]
    runs: Sequence[Run]

    def of(self, measure: Callable[[Run], float]) -> float:
        """What each further row costs between the last two sizes, as a multiple of that between the first two."""
        small, middle, large = (measure(run) for run in self.runs)
        first, second, third = self.rows
        earlier = max(middle - small, LEAST)
        return ((large - middle) / (third - second)) / (earlier / (second - first))

    @property
    def time(self) -> float:
        """Of processor time, in which other programs have no part."""
        return self.of(lambda run: run.processor)

    @property
    def memory(self) -> float:
        return self.of(lambda run: run.peak)


def recalc(folder: Path, rows: int) -> Run:
    """Recalculation of a log with half as many rows, five formulas in each: more take more memory than a log may."""
    log = write_formula_log(folder / f"log{rows}.xlsx", rows // 2)
    return growcells("recalc", log, "--output", folder / "computed.xlsx", "--overwrite")


def report(folder: Path, rows: int) -> Run:
    """The report of a log with so many readings."""
    log = write_readings_log(folder / f"readings{rows}.xlsx", rows)
    return growcells("report", log, "--output", folder / "week.xlsx", "--overwrite", "--as-of", "2040-12-31")


READ_SHEETS = """
import sys
from pathlib import Path
from growcells_workbooks.reading.inputs import read_input
cells = sum(len(row) for sheet in read_input(Path(sys.argv[1])).sheets for row in sheet.rows.values())
assert cells == int(sys.argv[2]), cells
"""
KINDS = ("xlsx", "ods", "csv")
COLUMNS = 10
MOST_COLUMNS = 16_000
WIDE_ROWS = 20


def sheet(kind: str) -> Callable[[Path, int], Run]:
    """Reading the cells of a sheet of ten columns from one kind of file."""

    def read(folder: Path, rows: int) -> Run:
        path = write_sheet(folder / f"sheet{rows}{kind}", rows, COLUMNS)
        return python(READ_SHEETS, path, str(rows * COLUMNS))

    return read


def wide(folder: Path, rows: int) -> Run:
    """Reading the cells of a sheet with a few rows, and up to as many columns as there are rows elsewhere."""
    columns = min(rows, MOST_COLUMNS)
    path = write_sheet(folder / f"wide{rows}.xlsx", WIDE_ROWS * rows // columns, columns)
    return python(READ_SHEETS, path, str(WIDE_ROWS * rows // columns * columns))


READ_LOG = """
import datetime, sys
from pathlib import Path
from growcells_workbooks.reading.inputs.log_cells import LogCell, Sheet
from growcells_workbooks.reading.read import read_tables
layout, size = sys.argv[1], int(sys.argv[2])
rows, first = {}, datetime.datetime(1950, 1, 1)
def put(row, column, value):
    rows.setdefault(row, {})[column] = LogCell("log", row, column, value)
def day(number):
    return first + datetime.timedelta(days=number)
if layout == "rows":
    for column, heading in enumerate(("Date", "Bed", "pH", "EC mS", "Notes"), 1):
        put(1, column, heading)
    for row in range(size // 5):
        for column, value in enumerate((day(row // 20), f"T{row % 20 + 1}", 6.1, 1.8, f"note {row}"), 1):
            put(row + 2, column, value)
elif layout == "plants":
    for column, heading in enumerate(("Bed", "Mix", "Plant", "Fresh g"), 1):
        put(1, column, heading)
    for row in range(size // 4):
        for column, value in enumerate((f"T{row % 20 + 1}", "A", row, 60.5), 1):
            put(row + 2, column, value)
elif layout == "wide":
    put(2, 1, "Date")
    for bed in range(50):
        put(1, 2 * bed + 2, f"T{bed + 1}")
        put(2, 2 * bed + 2, "pH")
        put(2, 2 * bed + 3, "EC mS")
    for row in range(size // 100):
        put(row + 3, 1, day(row))
        for column in range(2, 102):
            put(row + 3, column, (6.0, 1.5)[column % 2])
else:
    columns = min(size // 20, 16_000)
    put(1, 1, "Bed")
    for column in range(columns):
        put(1, column + 3, day(column))
    for row in range(size // columns):
        put(row + 2, 1, f"T{row // 2 + 1}")
        put(row + 2, 2, ("pH", "EC mS")[row % 2])
        for column in range(columns):
            put(row + 2, column + 3, (6.0, 1.5)[row % 2])
log = read_tables([Sheet("log", rows, datetime.datetime(1899, 12, 30))], Path("log.xlsx"))
assert log.counts.not_understood == 0 and (log.readings or log.weights)
"""
CELLS_A_ROW = 5


def understanding(layout: str) -> Callable[[Path, int], Run]:
    """Understanding a log of one layout, five cells for each row."""

    def read(folder: Path, rows: int) -> Run:
        return python(READ_LOG, layout, str(rows * CELLS_A_ROW))

    return read


LAYOUTS = {
    "rows": "a reading in a row",
    "plants": "a plant in a row",
    "wide": "a hundred columns under fifty beds",
    "across": "up to 16,000 columns of dates",
}

COMMANDS = {
    "growth-recalc": ("growcells recalc, five formulas in every second row", recalc),
    "growth-report": ("growcells report, a reading in a row", report),
    **{f"growth-{kind}": (f"the cells of a .{kind} sheet, ten in a row", sheet(f".{kind}")) for kind in KINDS},
    **{
        f"growth-log-{layout}": (f"a log understood, {what}", understanding(layout)) for layout, what in LAYOUTS.items()
    },
    "growth-wide": (f"the cells of a sheet, {WIDE_ROWS} for each row in up to {MOST_COLUMNS:,} columns", wide),
}


def growths(size: Size, names: Sequence[str]) -> Iterator[Growth]:
    """Measure the commands of these names."""
    for name in names:
        what, command = COMMANDS[name]
        with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
            runs = [
                min((command(Path(folder), rows) for _ in range(size.long_rounds)), key=lambda run: run.processor)
                for rows in size.growth
            ]
        yield Growth(name, what, size.growth, runs)
