"""Cells in a running LibreOffice."""

from __future__ import annotations

import atexit
import functools
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import xlsxwriter

from growcells import functions
from growcells_addin.libreoffice.install import install_libreoffice
from growcells_addin.libreoffice.program import clean_environment, find_office, profile_options
from libreoffice import RunningOffice, Workbook

from .empty_addin import NAME, install_empty_addin
from .measuring import Benchmark, Goal, Kind, NotMeasured, Seconds, Size, in_turn, worked

SECONDS = 600
RECALCULATIONS = 4
"""In a round."""
LEAST_SECONDS = 0.01
"""In which Linux counts the time of processors: proc_pid_stat(5)."""
EMPTY = f"{NAME}(A{{row}},B{{row}},C{{row}})"


@functools.cache
def growcells_alone() -> Path:
    """A folder in which LibreOffice has growcells and nothing else. Raises BridgeProblem."""
    folder = Path(tempfile.mkdtemp(prefix="growcells-benchmark-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    install_libreoffice(lambda line: None, folder / "alone")
    return folder / "alone"


@functools.cache
def profile() -> Path:
    """A copy of it, in which LibreOffice has the empty add-in too. Raises BridgeProblem."""
    folder = shutil.copytree(growcells_alone(), growcells_alone().with_name("profile"))
    install_empty_addin(find_office(), folder)
    return folder


@functools.cache
def running_office() -> RunningOffice:
    """A LibreOffice with a copy of that profile; it ends when Python does. Raises BridgeProblem."""
    running = RunningOffice(find_office(), shutil.copytree(profile(), profile().with_name("running")))
    atexit.register(running.close)
    return running


def convert(source: Path, folder: Path, place: Path | None = None) -> Path:
    """The workbook as a LibreOffice started for that opens and saves it, into another folder."""
    office = find_office()
    start: list[str | Path] = [
        office.soffice,
        *profile_options(place or profile()),
        "--headless",
        "--norestore",
        "--nologo",
    ]
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
            pairs = in_turn(
                size.rounds, lambda: recalculated(office, measured), lambda: recalculated(office, reference)
            )
            expected = functions()[name](float(str(columns[0])) + (size.cells - 1) % 50, *columns[1:])
            assert measured.value(f"{'ABCDE'[len(columns)]}{size.cells}") == expected
            assert reference.value(f"D{size.cells}") == 0.0
    return pairs


def recalculated(office: RunningOffice, book: Workbook) -> float:
    """Seconds that processors work while LibreOffice computes every formula of a workbook anew, the mean of some times:
    in some runs of LibreOffice every second one takes longer, whatever is in the cells.

    Raises NotMeasured.
    """
    begin = worked_by(office)
    for _ in range(RECALCULATIONS):
        book.recalculate(SECONDS)
    return max(worked_by(office) - begin, LEAST_SECONDS) / RECALCULATIONS


def worked_by(office: RunningOffice) -> float:
    """Seconds that processors have worked for a LibreOffice. Raises NotMeasured."""
    if sys.platform != "linux":
        raise NotMeasured("processor time of LibreOffice is read as Linux tells it")
    return office.processor_seconds()


def boxes(size: Size) -> Seconds:
    """Cells with numbers only."""
    return cells(size, "GROW_VOLUME_BOX", (42.0, 31.0, 6.0))


def ppms(size: Size) -> Seconds:
    """Cells with an analysis."""
    return cells(size, "GROW_PPM", (10.0, 5.0, "17-7-21", "N"))


@functools.cache
def offices() -> tuple[RunningOffice, RunningOffice]:
    """A LibreOffice with growcells alone, and one that has never seen it. Raises BridgeProblem."""
    alone = shutil.copytree(growcells_alone(), growcells_alone().with_name("running-alone"))
    both = RunningOffice(find_office(), alone), RunningOffice(find_office(), alone.with_name("bare"))
    for running in both:
        atexit.register(running.close)
    return both


def opened(office: RunningOffice, book: Path, times: int) -> float:
    """Seconds that processors work while a running LibreOffice opens a workbook, the mean of some times.

    Raises NotMeasured.
    """
    begin = worked_by(office)
    for _ in range(times):
        with office.open(book):
            pass
    return (worked_by(office) - begin) / times


def write_plain(path: Path, rows: int) -> Path:
    """A workbook without functions of ours: texts, numbers and formulas."""
    chance = random.Random(1)
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        for row in range(1, rows + 1):
            sheet.write_row(
                row - 1, 0, [row, chance.random(), f"note {chance.random()}", chance.random(), f"t{row % 77}"]
            )
            sheet.write_formula(row - 1, 5, f"=B{row}*2+D{row}", None, 1)
    return path


def openings(size: Size, rows: int, times: int) -> Seconds:
    """A plain workbook opened with growcells installed, and without."""
    with_ours, bare = offices()
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        book = write_plain(Path(folder, "plain.xlsx"), rows)
        for office in (with_ours, bare):
            opened(office, book, times)  # the first takes longer
        return in_turn(size.openings, lambda: opened(with_ours, book, times), lambda: opened(bare, book, times))


def starts_of_office(size: Size, rows: int) -> Seconds:
    """LibreOffice started, a plain workbook opened and saved, with growcells installed and without."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as folder:
        book = write_plain(Path(folder, "plain.xlsx"), rows)
        bare = growcells_alone().with_name("bare-start")
        with_ours = worked(lambda: convert(book, Path(folder, "out"), growcells_alone()))
        without = worked(lambda: convert(book, Path(folder, "out"), bare))
        for run in (with_ours, without):
            run()  # the first makes the profile
        return in_turn(size.openings, with_ours, without)


BENCHMARKS = (
    Benchmark(
        "office-open-empty",
        "an empty workbook opened in a running LibreOffice, growcells installed (processor time)",
        "the same without growcells",
        Goal(Kind.TIMES, 1.02),
        lambda size: openings(size, 0, 20),
    ),
    Benchmark(
        "office-open-large",
        "a workbook of 78,000 rows without functions of ours (5 MB) opened there, growcells installed (processor time)",
        "the same without growcells",
        Goal(Kind.TIMES, 1.02),
        lambda size: openings(size, size.plain_rows, 1),
    ),
    Benchmark(
        "office-start-empty",
        "LibreOffice started, an empty workbook opened and saved, growcells installed (processor time)",
        "the same without growcells",
        Goal(Kind.TIMES, 1.02),
        lambda size: starts_of_office(size, 0),
    ),
    Benchmark(
        "office-start-large",
        "LibreOffice started, the workbook of 5 MB opened and saved, growcells installed (processor time)",
        "the same without growcells",
        Goal(Kind.TIMES, 1.02),
        lambda size: starts_of_office(size, size.plain_rows),
    ),
    Benchmark(
        "office-box",
        "20,000 GROW_VOLUME_BOX cells recalculated in LibreOffice (processor time)",
        "20,000 cells of an empty Python add-in function",
        Goal(Kind.TIMES, 1.5),
        boxes,
    ),
    Benchmark(
        "office-ppm",
        "20,000 GROW_PPM cells recalculated in LibreOffice (processor time)",
        "the same empty function",
        Goal(Kind.TIMES, 1.5),
        ppms,
    ),
)
