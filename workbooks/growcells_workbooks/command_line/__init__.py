"""The growcells command. Every command imports what it needs when it runs, so that ``--help`` answers at once."""

from __future__ import annotations

import gc
import io
import sys
import warnings
from typing import Annotated

import typer

from growcells.version import VERSION

from .bridges import install, uninstall
from .exports import export
from .function_list import list_functions
from .logs import carry, check, clear, demo, new, recalc
from .reports import form, report
from .seasons import season
from .terminal import PROBLEMS, Stop, fault_told, say

OBJECTS_BEFORE_COLLECTION = 500_000
"""Python looks for garbage each time so many objects are new: our choice.

Nearly all that a command imports lives until the end. The work on a file does without the search: ``gate/apart.py``.
"""

FIRST_STEPS = """growcells puts grow calculations into spreadsheet cells.

First steps:
  growcells demo                    see it all once, on invented data
  growcells install libreoffice     the functions live in LibreOffice Calc
  growcells new LOG.xlsx            start a log with the formulas in place
  growcells recalc LOG.xlsx         compute a log without a spreadsheet program
  growcells report LOG.xlsx         the weekly page to print

growcells --help lists all commands, and growcells functions all cell functions."""

COMMANDS = (
    (demo, "demo", "growcells demo --folder growcells-demo"),
    (install, "install", "growcells install libreoffice"),
    (uninstall, "uninstall", "growcells uninstall libreoffice"),
    (new, "new", "growcells new log.xlsx"),
    (clear, "clear-examples", "growcells clear-examples log.xlsx --in-place"),
    (carry, "carry", "growcells carry log.xlsx --output carried.xlsx"),
    (recalc, "recalc", "growcells recalc log.xlsx --output computed.xlsx"),
    (check, "check", "growcells check log.xlsx"),
    (report, "report", "growcells report log.xlsx --week 2026-W47 --output week.xlsx"),
    (form, "form", "growcells form log.xlsx --pdf"),
    (season, "season", "growcells season spring.xlsx autumn.xlsx --output season.xlsx"),
    (export, "export", "growcells export log.xlsx --output tables"),
    (list_functions, "functions", "growcells functions --search nitrogen"),
)
"""Each command, its name and an example, in the order in which people meet them."""

app = typer.Typer(
    name="growcells",
    help="Grow calculations in spreadsheet cells, and clean weekly reports from a grow log.",
    context_settings={"help_option_names": ["-h", "--help"]},
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
    add_completion=False,
)
for command, name, example in COMMANDS:
    app.command(name, epilog=f"Example: {example}")(command)


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and leave.")] = False,
) -> None:
    """Grow calculations in spreadsheet cells, and clean weekly reports from a grow log."""
    if version:
        say(f"growcells {VERSION}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        say(FIRST_STEPS)


def main() -> None:
    """Run the command; a problem is a sentence on the error stream, never a traceback."""
    gc.set_threshold(OBJECTS_BEFORE_COLLECTION)
    warnings.filterwarnings("ignore", module="openpyxl")  # what it warns of is said in sentences, or of no matter
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console of Windows may lack a sign such as ×
    try:
        app(prog_name="growcells")
    except Stop as stop:
        say(f"growcells: {stop}", errors=True)
        sys.exit(stop.code)
    except Exception as fault:
        say(fault_told(next(iter(sys.argv[1:]), "the command"), fault), errors=True)
        sys.exit(PROBLEMS)
    finally:
        gc.freeze()  # all that is left goes with the process: Python need not search it for garbage once more
