"""The growcells command. Every command imports what it needs when it runs, so that ``--help`` answers at once."""

from __future__ import annotations

import datetime
import gc
import io
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from growcells import CellFunction, functions
from growcells.version import VERSION

if TYPE_CHECKING:
    from .recalculation import Progress, Recalculation

PROBLEMS = 1
"""Exit code where the input has problems, which were reported."""
WRONG_USAGE = 2
OBJECTS_BEFORE_COLLECTION = 500_000
"""Python looks for garbage each time so many objects are new, ours.

Nearly all that a log is read into lives until the end; to search it as often as Python does by itself takes a tenth of
the time of a report.
"""

FIRST_STEPS = """growcells puts grow calculations into spreadsheet cells.

First steps:
  growcells demo                    see it all once, on invented data
  growcells new LOG.xlsx            start a log with the formulas in place
  growcells install libreoffice     the functions live in LibreOffice Calc
  growcells recalc LOG.xlsx         compute a log without a spreadsheet program
  growcells report LOG.xlsx         the weekly page to print

growcells --help lists all commands, growcells functions all cell functions."""

app = typer.Typer(
    name="growcells",
    help="Grow calculations in spreadsheet cells, and clean weekly reports from a grow log.",
    context_settings={"help_option_names": ["-h", "--help"]},
    rich_markup_mode="rich",
    pretty_exceptions_enable=False,
)
screen = Console(highlight=False, soft_wrap=True)
errors = Console(stderr=True, highlight=False, soft_wrap=True)


class Stop(Exception):
    """A sentence for the person at the keyboard, and the exit code."""

    def __init__(self, sentence: str, code: int = PROBLEMS) -> None:
        super().__init__(sentence)
        self.code = code


@contextmanager
def sentences() -> Iterator[None]:
    """Turn problems with files and bridges into one sentence and an exit code."""
    from growcells_addin.problems import BridgeProblem

    from .recalculation import FileProblem

    try:
        yield
    except (FileProblem, BridgeProblem) as problem:
        raise Stop(str(problem)) from problem


@contextmanager
def progress_shown() -> Iterator[Progress]:
    """A bar on the error stream for work that takes long; nothing where that is no terminal."""
    if not errors.is_terminal:
        yield lambda step, done, total: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=errors, transient=True) as bar:
        tasks = {}

        def tell(step: str, done: int, total: int) -> None:
            if step not in tasks:
                tasks[step] = bar.add_task(step, total=total)
            bar.update(tasks[step], completed=done, total=total)

        yield tell


def day(text: str) -> datetime.date:
    """A date given on the command line."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text} is no date: write it as 2026-11-25") from None


Log = Annotated[Path, typer.Argument(metavar="LOG.xlsx", help="The grow log, an .xlsx or .xlsm workbook.")]
AsOf = Annotated[
    datetime.date | None,
    typer.Option(
        "--as-of", parser=day, metavar="DATE", help="The day to compute for, as 2026-11-25; today if left out."
    ),
]
MapFile = Annotated[
    Path | None,
    typer.Option("--map", metavar="FILE", help="The mapping file; log.map.toml beside the log if left out."),
]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace the output where it exists.")]


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and leave.")] = False,
) -> None:
    """Grow calculations in spreadsheet cells, and clean weekly reports from a grow log."""
    if version:
        screen.print(f"growcells {VERSION}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        screen.print(FIRST_STEPS, markup=False)


@app.command(epilog="Example: growcells recalc log.xlsx --output computed.xlsx")
def recalc(
    log: Log,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The copy to write; log.computed.xlsx if left out.")
    ] = None,
    in_place: Annotated[
        bool, typer.Option("--in-place", help="Replace the log itself; a backup stays beside it.")
    ] = False,
    overwrite: Overwrite = False,
    as_of: AsOf = None,
) -> None:
    """Compute every formula of a log without a spreadsheet program; only the values of formulas change."""
    from .recalculation import recalculate_apart

    if output is None and not in_place:
        output = log.with_suffix(f".computed{log.suffix}")
    with sentences(), progress_shown() as progress:
        done = recalculate_apart(log, output, in_place=in_place, overwrite=overwrite, as_of=as_of, progress=progress)
    screen.print(f"{done.formulas} formulas computed, {done.changed} values changed.", markup=False)
    print_formula_problems(done)
    if done.backup:
        screen.print(f"The log as it was: {done.backup}", markup=False)
    screen.print(f"Written: {done.output}", markup=False)
    if done.failed:
        raise typer.Exit(PROBLEMS)


def print_formula_problems(done: Recalculation) -> None:
    """List the formulas that failed, were kept, or rest on kept values, and what to know of the file."""
    for cell in done.failed:
        screen.print(f"{cell.sheet}!{cell.cell}  {cell.code}  {cell.formula}\n    {cell.why}", markup=False)
    for kept in done.kept:
        screen.print(f"{kept.sheet}!{kept.cell}  keeps its stored value  {kept.formula}\n    {kept.why}", markup=False)
    for resting in done.resting:
        screen.print(f"{resting.sheet}!{resting.cell}  rests on the stored value of {resting.rests_on}", markup=False)
    for note in done.notes:
        screen.print(note, markup=False)


@app.command(epilog="Example: growcells report log.xlsx --week 2026-W47 --output week.xlsx")
def report(
    logs: Annotated[list[Path], typer.Argument(metavar="LOG.xlsx...", help="The grow log; several with --out.")],
    week: Annotated[
        str | None,
        typer.Option("--week", metavar="WEEK", help="ISO week, as 2026-W47; the last with readings if left out."),
    ] = None,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The report to write; log.week.xlsx if left out.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="The folder for the reports of several logs.")
    ] = None,
    recipe: Annotated[
        str, typer.Option("--recipe", metavar="NAME", help="The published recipe that feeds are compared with.")
    ] = "Leafy greens",
    previous: Annotated[
        Path | None,
        typer.Option("--previous", metavar="LOG.xlsx", help="Last week's copy of the log, to tell what changed."),
    ] = None,
    photos: Annotated[
        Path | None,
        typer.Option("--photos", metavar="FOLDER", help="Photos named by date and bed, as 2026-11-16 T1.jpg."),
    ] = None,
    map_path: MapFile = None,
    pdf: Annotated[bool, typer.Option("--pdf", help="Also print the report into a PDF, through LibreOffice.")] = False,
    overwrite: Overwrite = False,
    as_of: AsOf = None,
) -> None:
    """Build the weekly report of a log: what to print, send to a partner, or open on a phone."""
    choices = ReportChoices(week, as_of, recipe, photos, map_path, pdf, overwrite)
    if out is not None:
        if output is not None or previous is not None:
            raise Stop("--out is for the reports of several logs: leave out --output and --previous", WRONG_USAGE)
        report_many(logs, out, choices)
        return
    if len(logs) > 1:
        raise Stop("several logs need a folder for their reports: add --out FOLDER", WRONG_USAGE)
    from .report import build_report

    with sentences(), progress_shown() as progress:
        done = build_report(
            logs[0],
            output or logs[0].with_suffix(".week.xlsx"),
            previous=previous,
            progress=progress,
            **choices._asdict(),
        )
    say(f"Week {done.week}: {done.beds} beds, {done.readings} readings.")
    say(f"{done.unreadable} cells could not be read and {done.ignored} were ignored; the report lists each.")
    if photos is not None:
        say(f"{done.photos} photos shown, {done.photos_left_out} not used; the report says why.")
    for problem in done.problems:
        say(problem)
    say(f"Written: {done.output}")
    if done.pdf:
        say(f"Written: {done.pdf}")


class ReportChoices(NamedTuple):
    """What a report is asked to be."""

    week: str | None
    as_of: datetime.date | None
    recipe: str
    photos: Path | None
    map_path: Path | None
    pdf: bool
    overwrite: bool


def report_many(logs: list[Path], folder: Path, choices: ReportChoices) -> None:
    """Build the reports of several logs, and say which failed."""
    from .report.many import Failed, build_reports

    with sentences(), progress_shown() as progress:
        results = build_reports(
            logs, folder, done=lambda number, total: progress("reports", number, total), **choices._asdict()
        )
    failed = [result for result in results if isinstance(result, Failed)]
    for result in results:
        if not isinstance(result, Failed):
            say(f"{result.source.name}: week {result.week}, {result.readings} readings. Written: {result.output}")
    for result in failed:
        say(f"{result.source.name}: no report. {result.why}")
    say(f"{len(results) - len(failed)} reports written, {len(failed)} failed.")
    if failed:
        raise typer.Exit(PROBLEMS)


@app.command(epilog="Example: growcells check log.xlsx")
def check(
    log: Log,
    map_path: MapFile = None,
    write_map: Annotated[
        bool, typer.Option("--write-map", help="Write the mapping file as far as it can be guessed, to correct it.")
    ] = False,
    overwrite: Overwrite = False,
    every: Annotated[bool, typer.Option("--all", help="List every cell, however many are alike.")] = False,
    as_of: AsOf = None,
) -> None:
    """Say what a log was taken for, what could not be read and why; exit code 1 where there are problems."""
    from .checking import count_problems, lines_of
    from .reading import map_beside, read_log
    from .reading.mapping import write_map as write

    target = map_path or map_beside(log)
    with sentences(), progress_shown() as progress:
        found = read_log(log, as_of, progress, None if write_map and not target.exists() else map_path)
    for line in lines_of(found, every):
        screen.print(Text(" " * line.indent + line.text, style=line.style))
    if write_map:
        with sentences():
            write(found, target, overwrite)
        say(f"Written: {target}. Correct it; from now on the log is read by it.")
    if count_problems(found):
        raise typer.Exit(PROBLEMS)


@app.command(epilog="Example: growcells new log.xlsx")
def new(
    log: Annotated[Path, typer.Argument(metavar="LOG.xlsx", help="The log to write.")], overwrite: Overwrite = False
) -> None:
    """Write a starter log: the sheets that a season needs, with the formulas in place."""
    from .starter import new_log

    with sentences(), progress_shown() as progress:
        written = new_log(log, overwrite=overwrite, progress=progress)
    say(f"Written: {written}")
    say("Its first sheet says how it works. The example rows are invented: clear them and enter your own.")


@app.command(epilog="Example: growcells demo --folder growcells-demo")
def demo(
    folder: Annotated[Path, typer.Option("--folder", help="Where the demo's files go.")] = Path("growcells-demo"),
) -> None:
    """Show it all once on invented data: a log, a tank that changes, the doses that follow, a weekly report."""
    from .demo import run

    with sentences():
        shown = run(folder, say, overwrite=True)
    table = Table(title=f"{shown.tank} grows from {shown.old_length:g} to {shown.new_length:g} in: the doses follow")
    table.add_column("bed")
    table.add_column("feed")
    for heading in ("gal before", "gal now", "dose before", "dose now"):
        table.add_column(heading, justify="right")
    for change in shown.doses:
        table.add_row(
            change.bed,
            change.feed,
            f"{change.old_volume:.1f}",
            f"{change.new_volume:.1f}",
            f"{change.old_dose:.1f} g",
            f"{change.new_dose:.1f} g" + ("  ←" if change.changed else ""),
            style="bold" if change.changed else "",
        )
    screen.print(table, soft_wrap=False)
    say(f"The log: {shown.log}")
    say(f"The log with the larger tank: {shown.changed_log}")
    say(f"The report of its last week: {shown.report.output}")
    say("All data is invented. Next: growcells new log.xlsx")


@app.command(name="functions", epilog="Example: growcells functions --search nitrogen")
def list_functions(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="One function, to see all about it.")] = None,
    search: Annotated[str | None, typer.Option("--search", help="Only functions whose texts hold this word.")] = None,
    whole: Annotated[bool, typer.Option("--reference", help="Print the whole reference as Markdown.")] = False,
) -> None:
    """List the cell functions, or tell all about one."""
    if whole:
        from growcells.reference import reference

        print(reference(), end="")
        return
    if name is not None:
        function = functions().get(name.upper())
        if function is None:
            raise Stop(f"{name} is no function of growcells: growcells functions lists them all", WRONG_USAGE)
        screen.print(function.__doc__, markup=False)
        return
    found = [function for function in functions().values() if search is None or mentions(function, search)]
    if not found:
        raise Stop(f"no function mentions {search}: growcells functions lists them all")
    family = ""
    for function in found:
        if function.family != family:
            family = function.family
            screen.print(f"\n[bold]{family}[/bold]")
        screen.print(Padding(Text(function.signature), (0, 0, 0, 2), expand=False), soft_wrap=False)
        screen.print(Padding(Text(function.help, style="dim"), (0, 0, 0, 6), expand=False), soft_wrap=False)


def mentions(function: CellFunction, word: str) -> bool:
    """Whether the texts of a function hold a word."""
    return word.lower() in f"{function.family} {function.__doc__}".lower()


BRIDGES = ("libreoffice", "excel")
Program = Annotated[str, typer.Argument(metavar="PROGRAM", help=f"{' or '.join(BRIDGES)}.")]


def bridge(program: str, verb: str) -> Callable[..., object]:
    """What installs into a program, uninstalls from it, or writes the file that another can install from."""
    if program.lower() not in BRIDGES:
        raise Stop(f"{program} is not a program growcells knows: give {' or '.join(BRIDGES)}", WRONG_USAGE)
    actions: dict[str, Callable[..., object]]
    if program.lower() == "excel":
        from growcells_addin.excel import install as excel

        actions = {"install": excel.install_excel, "uninstall": excel.uninstall_excel, "write": excel.export_bas}
    else:
        from growcells_addin.libreoffice import extension
        from growcells_addin.libreoffice import install as libreoffice

        actions = {
            "install": libreoffice.install_libreoffice,
            "uninstall": libreoffice.uninstall_libreoffice,
            "write": lambda target: extension.write_portable_extension(target, say),
        }
    return actions[verb]


def say(sentence: str) -> None:
    """Print a step of an installation."""
    screen.print(sentence, markup=False)


@app.command(epilog="Example: growcells install libreoffice")
def install(
    program: Program,
    file: Annotated[
        Path | None,
        typer.Option(
            "--file",
            help="Install nothing, but write what can be given to others: an extension for LibreOffice (.oxt) that a "
            "double click installs, or the macros for Excel (.bas) to import by hand.",
        ),
    ] = None,
) -> None:
    """Put the functions into a spreadsheet program; can be repeated, and upgrades."""
    with sentences():
        if file is None:
            bridge(program, "install")(say)
            return
        bridge(program, "write")(file)
        say(f"Written: {file}")


@app.command(epilog="Example: growcells uninstall libreoffice")
def uninstall(program: Program) -> None:
    """Take the functions out of a spreadsheet program."""
    with sentences():
        bridge(program, "uninstall")(say)


def main() -> None:
    """Run the command; a problem is a sentence on the error stream, never a traceback."""
    gc.disable()  # the search for circles of objects takes a quarter of a long log's time and finds little
    gc.set_threshold(OBJECTS_BEFORE_COLLECTION)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console of Windows may lack a sign such as ×
    try:
        app(prog_name="growcells")
    except Stop as stop:
        errors.print(f"growcells: {stop}", markup=False)
        sys.exit(stop.code)
