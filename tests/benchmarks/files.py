"""The growcells command on files, beside programs that do as much or less."""

from __future__ import annotations

import importlib.util
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from carried_speed import MOST, PAIRS, books, took

from .in_office import convert
from .logs import FORMULAS_IN_ROW, last_values, readings_in, write_formula_log, write_readings_log
from .measuring import Benchmark, Goal, Kind, NotMeasured, Seconds, Size, clocked, growcells, in_turn, python

ENGINE_ALONE = """
import sys
import ironcalc
book = ironcalc.load_from_xlsx(sys.argv[1], "en", "UTC", "en")
book.evaluate()
assert book.get_cell_value(0, int(sys.argv[2]) + 1, 9) > 0
"""
FORMULAS_PACKAGE = """
import sys
import formulas
for name in ("GROW_VOLUME_BOX", "GROW_DOSE"):
    formulas.get_functions()[name] = lambda *cells: 7.0
model = formulas.ExcelModel().loads(sys.argv[1]).finish()
place = f"'[{sys.argv[3]}]LOG'!G{int(sys.argv[2]) + 1}"
assert model.calculate()[place].value[0, 0] == 7.0
"""
LOAD_ONLY = "import sys, openpyxl; openpyxl.load_workbook(sys.argv[1])"
SMALL_LOG_FORMULAS = 4_000
PART = 10
"""The formulas package is given this part of the log, and its time is multiplied."""


def recalculated(size: Size, other: Callable[[Path, Path, list[object]], Callable[[], float]]) -> Seconds:
    """growcells recalc, in turn with something else that is told the log, a folder and the last row's values."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        folder = Path(place)
        log = write_formula_log(folder / "log.xlsx", size.log_rows)
        output = folder / "computed.xlsx"

        def recalc() -> float:
            return growcells("recalc", log, "--output", output, "--overwrite").seconds

        recalc()
        values = last_values(output, size.log_rows)
        assert None not in values and float(str(values[5])) > 0, values
        return in_turn(size.long_rounds, recalc, other(log, folder, values))


def against_engine(size: Size) -> Seconds:
    """Beside the engine that growcells uses."""
    return recalculated(size, lambda log, folder, values: lambda: python(ENGINE_ALONE, log, str(size.log_rows)).seconds)


def within_a_process(size: Size) -> Seconds:
    """Processor seconds of recalculation beside the engine's alone, in one process that has both loaded."""
    import ironcalc

    from growcells_workbooks.recalculation import recalculate

    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        log = write_formula_log(Path(place, "log.xlsx"), SMALL_LOG_FORMULAS // FORMULAS_IN_ROW)
        output = Path(place, "computed.xlsx")

        def ours() -> float:
            start = time.process_time()
            recalculate(log, output, overwrite=True)
            return time.process_time() - start

        def engine() -> float:
            start = time.process_time()
            ironcalc.load_from_xlsx(str(log), "en", "UTC", "en").evaluate()
            return time.process_time() - start

        ours()
        return least(in_turn(size.rounds, ours, engine))


def least(seconds: Seconds) -> Seconds:
    """The best of several rounds alone: other work on the machine only adds."""
    return Seconds([min(seconds.measured)], [min(seconds.reference)])


def against_formulas(size: Size) -> Seconds:
    """Beside another package that computes workbooks in Python; on a part of the log, since it is slow."""
    if importlib.util.find_spec("formulas") is None:
        raise NotMeasured("the package formulas is not installed: pip install formulas")

    def other(log: Path, folder: Path, values: list[object]) -> Callable[[], float]:
        rows = size.log_rows // PART
        part = write_formula_log(folder / "part.xlsx", rows)
        seconds = PART * python(FORMULAS_PACKAGE, part, str(rows), part.name).seconds
        return lambda: seconds

    return recalculated(size, other)


def against_office(size: Size) -> Seconds:
    """Beside LibreOffice, which opens the log, computes it as the extension has it do, and saves it."""

    def other(log: Path, folder: Path, values: list[object]) -> Callable[[], float]:
        saved = folder / "saved"
        theirs = last_values(convert(log, saved), size.log_rows)
        for ours, other_value in zip(values, theirs, strict=True):
            assert ours == other_value or abs(float(str(ours)) - float(str(other_value))) < 1e-9, (values, theirs)
        return clocked(lambda: convert(log, saved))

    return recalculated(size, other)


def small_against_office(size: Size) -> Seconds:
    """The same with a log as growers have."""
    return against_office(replace(size, log_rows=SMALL_LOG_FORMULAS // FORMULAS_IN_ROW))


def beside_loading(command: str, *options: str) -> Callable[[Size], Seconds]:
    """Processor seconds of a command on a log of readings beside those of a process that only loads the log."""

    def measure(size: Size) -> Seconds:
        with tempfile.TemporaryDirectory(prefix="growcells-") as place:
            log = write_readings_log(Path(place, "year.xlsx"), readings_in(size.days))
            given = [option.format(folder=place) for option in options]
            return in_turn(
                size.long_rounds,
                lambda: growcells(command, log, *given, "--as-of", "2026-12-31").processor,
                lambda: python(LOAD_ONLY, log).processor,
            )

    return measure


def carrying(size: Size) -> Seconds:
    """Processor seconds of growcells carry beside those of a process that only loads the log."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        log = write_formula_log(Path(place, "log.xlsx"), size.carried_rows)
        output = Path(place, "carried.xlsx")
        return in_turn(
            size.long_rounds,
            lambda: growcells("carry", log, "--output", output, "--overwrite").processor,
            lambda: python(LOAD_ONLY, log).processor,
        )


def carried(size: Size) -> Seconds:
    """Processor seconds of the engine for a carried log beside those for plain formulas of the same arithmetic."""
    with tempfile.TemporaryDirectory(prefix="growcells-") as place:
        calls, plain = books(Path(place), PAIRS, size.cells)
        return in_turn(size.rounds, lambda: took(calls).both, lambda: took(plain).both)


LOG = "growcells recalc, a log with 100,000 formula cells, 40,000 of them GROW_"
OPTIONS = {
    "report": ("--output", "{folder}/week.xlsx", "--overwrite"),
    "check": (),
    "export": ("--output", "{folder}/tables", "--overwrite"),
}
assert FORMULAS_IN_ROW == 5
BENCHMARKS = (
    Benchmark(
        "recalc-engine",
        LOG,
        "the engine alone loading and evaluating it once, without the growcells functions",
        Goal(Kind.TIMES, 1.6),
        against_engine,
    ),
    Benchmark(
        "recalc-within",
        f"recalculation of a log with {SMALL_LOG_FORMULAS:,} formula cells, 1,600 of them GROW_, in a running process",
        "the engine alone loading and evaluating it once, without the growcells functions",
        Goal(Kind.TIMES, 1.6),
        within_a_process,
    ),
    Benchmark(
        "recalc-formulas",
        LOG,
        "the formulas package on a tenth of it, empty callbacks, times ten",
        Goal(Kind.FASTER, 5),
        against_formulas,
    ),
    Benchmark(
        "recalc-office",
        LOG,
        "LibreOffice with the extension, headless, opening and saving it",
        Goal(Kind.FASTER, 1),
        against_office,
    ),
    Benchmark(
        "recalc-office-small",
        f"growcells recalc, a log with {SMALL_LOG_FORMULAS:,} formula cells, 1,600 of them GROW_",
        "LibreOffice with the extension, headless, opening and saving it",
        Goal(Kind.FASTER, 1),
        small_against_office,
    ),
    *(
        Benchmark(
            name,
            f"growcells {name} on a year of 6 beds, four readings a day",
            "a process that only loads that log with openpyxl",
            Goal(Kind.TIMES, 1.2),
            beside_loading(name, *options),
        )
        for name, options in OPTIONS.items()
    ),
    Benchmark(
        "carry",
        "growcells carry, a log with 25,000 formula cells, 10,000 of them GROW_",
        "a process that only loads that log with openpyxl",
        Goal(Kind.MILLISECONDS, 2000),
        carrying,
    ),
    Benchmark(
        "carried",
        f"ironcalc loading and computing a log that carries its functions, 20,000 calls of {len(PAIRS)} in turn",
        "ironcalc loading and computing plain formulas of the same arithmetic over the same cells",
        Goal(Kind.TIMES, MOST),
        carried,
    ),
)
