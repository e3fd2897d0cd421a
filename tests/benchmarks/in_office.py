"""Cells in a running LibreOffice."""

from __future__ import annotations

import atexit
import functools
import shutil
import subprocess
import tempfile
from pathlib import Path

import xlsxwriter

from growcells import functions
from growcells_addin.libreoffice.install import install_libreoffice
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options
from libreoffice import RunningOffice

from .empty_addin import NAME, install_empty_addin
from .measuring import Benchmark, Goal, Kind, Seconds, Size, in_turn

SECONDS = 600
EMPTY = f"{NAME}(A{{row}},B{{row}},C{{row}})"


@functools.cache
def profile() -> Path:
    """A folder in which LibreOffice has growcells and the empty add-in. Raises BridgeProblem."""
    folder = Path(tempfile.mkdtemp(prefix="growcells-benchmark-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    install_libreoffice(lambda line: None, folder / "profile")
    install_empty_addin(find_office(), folder / "profile")
    return folder / "profile"


@functools.cache
def running_office() -> RunningOffice:
    """A LibreOffice with a copy of that profile; it ends when Python does. Raises BridgeProblem."""
    running = RunningOffice(find_office(), shutil.copytree(profile(), profile().with_name("running")))
    atexit.register(running.close)
    return running


def convert(source: Path, folder: Path) -> Path:
    """The workbook as a LibreOffice started for that opens and saves it, into another folder."""
    office = find_office()
    start: list[str | Path] = [office.soffice, *profile_options(profile()), "--headless", "--norestore", "--nologo"]
    subprocess.run(
        [*start, "--convert-to", "xlsx", "--outdir", folder, source],
        check=True,
        capture_output=True,
        timeout=SECONDS,
        env=clean_environment(),
    )
    return folder / source.name


def write_cells(path: Path, formula: str, columns: tuple[object, ...], rows: int) -> Path:
    """A workbook with the same formula in every row; ``{row}`` stands for its number."""
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        for row in range(rows):
            first, *others = columns
            sheet.write_row(row, 0, [float(str(first)) + row % 50, *others])
            sheet.write_formula(row, len(columns), "=" + formula.format(row=row + 1))
    return path


def cells(size: Size, name: str, columns: tuple[object, ...]) -> Seconds:
    """Cells of a function computed anew, and as many of the empty one."""
    office = running_office()
    letters = "ABCD"[: len(columns)]
    formula = f"{name}({','.join(letter + '{row}' for letter in letters)})"
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        ours = write_cells(Path(folder, "ours.xlsx"), formula, columns, size.cells)
        empty = write_cells(Path(folder, "empty.xlsx"), EMPTY, (42.0, 31.0, 6.0), size.cells)
        with office.open(ours) as measured, office.open(empty) as reference:
            # In some runs of LibreOffice every second recalculation takes 0.2 s more, whatever is in the cells.
            pairs = in_turn(
                size.rounds,
                lambda: min(measured.recalculate(SECONDS) for _ in range(2)),
                lambda: min(reference.recalculate(SECONDS) for _ in range(2)),
            )
            expected = functions()[name](float(str(columns[0])) + (size.cells - 1) % 50, *columns[1:])
            assert measured.value(f"{'ABCDE'[len(columns)]}{size.cells}") == expected
            assert reference.value(f"D{size.cells}") == 0.0
    return pairs


def boxes(size: Size) -> Seconds:
    """Cells with numbers only."""
    return cells(size, "GROW_VOLUME_BOX", (42.0, 31.0, 6.0))


def ppms(size: Size) -> Seconds:
    """Cells with an analysis."""
    return cells(size, "GROW_PPM", (10.0, 5.0, "17-7-21", "N"))


BENCHMARKS = (
    Benchmark(
        "office-box",
        "20,000 GROW_VOLUME_BOX cells recalculated in LibreOffice",
        "20,000 cells of an empty Python add-in function",
        Goal(Kind.TIMES, 2),
        boxes,
    ),
    Benchmark(
        "office-ppm",
        "20,000 GROW_PPM cells recalculated in LibreOffice",
        "the same empty function",
        Goal(Kind.TIMES, 3),
        ppms,
    ),
)
