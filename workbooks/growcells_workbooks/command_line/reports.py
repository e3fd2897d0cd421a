"""The command that builds weekly reports."""

from __future__ import annotations

import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from growcells.cells.number_texts import count

from ..data import USUAL_RECIPE
from .options import AsOf, Html, Log, MapFile, Overwrite, Paper, Pdf, paper_of_locale, to_write
from .terminal import PROBLEMS, WRONG_USAGE, Stop, named_beside, progress_shown, say, sentences

if TYPE_CHECKING:
    from ..report import Report


class Choices(NamedTuple):
    """What a report is asked to be, whether of one log or of several."""

    week: str | None
    as_of: datetime.date | None
    recipe: str
    photos: Path | None
    map_path: Path | None
    short: bool
    paper: str
    pdf: bool
    html: bool
    overwrite: bool


def report(
    logs: Annotated[list[Path], typer.Argument(metavar="LOG.xlsx", help="The grow log; several with --out.")],
    week: Annotated[
        str | None,
        typer.Option(
            "--week", metavar="WEEK", help="The ISO week, such as 2026-W47; the last week with readings if left out."
        ),
    ] = None,
    output: Annotated[Path | None, to_write("The report to write; log.week.xlsx if left out.")] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FOLDER", help="The folder for the reports of several logs.")
    ] = None,
    recipe: Annotated[
        str, typer.Option("--recipe", metavar="NAME", help="The published recipe that feeds are compared with.")
    ] = USUAL_RECIPE,
    previous: Annotated[
        Path | None,
        typer.Option("--previous", metavar="LOG.xlsx", help="Last week's copy of the log, to tell what changed."),
    ] = None,
    photos: Annotated[
        Path | None,
        typer.Option(
            "--photos", metavar="FOLDER", help="The folder of photos named by date and bed, such as 2026-11-16 T1.jpg."
        ),
    ] = None,
    map_path: MapFile = None,
    short: Annotated[
        bool, typer.Option("--short", help="Leave out what stands behind the divider: method, checks, history.")
    ] = False,
    paper: Paper = None,
    pdf: Pdf = False,
    html: Html = False,
    overwrite: Overwrite = False,
    as_of: AsOf = None,
) -> None:
    """Build the weekly report of a log: what to print, send to a partner, or open on a phone."""
    on_paper = paper or paper_of_locale()
    choices = Choices(week, as_of, recipe, photos, map_path, short, on_paper, pdf, html, overwrite)
    if out is not None:
        if output is not None or previous is not None:
            raise Stop("--out is for the reports of several logs: leave out --output and --previous", WRONG_USAGE)
        if out.suffix.lower() in (".xlsx", ".xlsm"):
            raise Stop(f"--out takes a folder: for one report give --output {out}", WRONG_USAGE)
        report_many(logs, out, choices)
        return
    if len(logs) > 1:
        raise Stop("several logs need a folder for their reports: add --out FOLDER", WRONG_USAGE)
    report_one(logs[0], output or named_beside(logs[0], ".week.xlsx"), previous, choices)


def report_one(log: Path, output: Path, previous: Path | None, choices: Choices) -> None:
    """Build the report of one log, and say what it holds."""
    from ..gate import apart
    from ..report import build_report

    with sentences(), progress_shown() as progress:
        done = build_report(log, output, previous=previous, progress=progress, run=apart, **choices._asdict())
    say(f"Week {done.week}: {count(done.beds, 'bed')}, {count(done.readings, 'reading')}.")
    say(f"{count(done.unreadable, 'cell')} could not be read, and {done.ignored} were ignored: see its page Checks.")
    if choices.photos is not None:
        say(f"{count(done.photos, 'photo')} shown, and {done.photos_left_out} not used; the report says why.")
    for problem in done.problems:
        say(problem)
    _say_written(done)


def _say_written(done: Report) -> None:
    for path in (done.output, done.html, done.pdf):
        if path:
            say(f"Written: {path}")


def form(
    log: Log,
    week: Annotated[
        str | None,
        typer.Option(
            "--week", metavar="WEEK", help="The ISO week before it, such as 2026-W47; the last with readings."
        ),
    ] = None,
    output: Annotated[Path | None, to_write("The form to write; log.form.xlsx if left out.")] = None,
    map_path: MapFile = None,
    paper: Paper = None,
    pdf: Pdf = False,
    html: Html = False,
    overwrite: Overwrite = False,
    as_of: AsOf = None,
) -> None:
    """Write a form for the readings of the coming week, with beds and days filled in, to print and write into."""
    from ..gate import apart
    from ..report import build_form

    with sentences(), progress_shown() as progress:
        done = build_form(
            log,
            output or named_beside(log, ".form.xlsx"),
            week=week,
            as_of=as_of,
            map_path=map_path,
            paper=paper or paper_of_locale(),
            pdf=pdf,
            html=html,
            overwrite=overwrite,
            progress=progress,
            run=apart,
        )
    say(f"A form for {count(done.beds, 'bed')} and the week after week {done.week}.")
    _say_written(done)


def report_many(logs: list[Path], folder: Path, choices: Choices) -> None:
    """Build the reports of several logs, and say which failed."""
    from ..gate import apart
    from ..report import build_report
    from ..report.many import Failed, build_reports

    with sentences(), progress_shown() as progress:
        build = partial(build_report, run=apart, **choices._asdict())
        results = build_reports(logs, folder, build, lambda number, total: progress("reports", number, total))
    failed = [result for result in results if isinstance(result, Failed)]
    for result in results:
        if not isinstance(result, Failed):
            readings = count(result.readings, "reading")
            say(f"{result.source.name}: week {result.week}, {readings}. Written: {result.output}")
    for result in failed:
        say(f"{result.source.name}: no report. {result.why}")
    say(f"{count(len(results) - len(failed), 'report')} written, and {len(failed)} failed.")
    if failed:
        raise typer.Exit(PROBLEMS)
