"""The commands that write a log, compute it and say what is in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.table import Table

from .options import AsOf, InPlace, Log, MapFile, Overwrite
from .terminal import PROBLEMS, progress_shown, say, screen, sentences

if TYPE_CHECKING:
    from ..demo import Demo
    from ..recalculation import Recalculation


def demo(
    folder: Annotated[
        Path,
        typer.Option("--folder", metavar="FOLDER", help="Where its files go, in place of those of its last run."),
    ] = Path("growcells-demo"),
) -> None:
    """Show it all once on invented data: a log, a tank that changes, the doses that follow, a weekly report."""
    from ..demo import run

    with sentences():
        shown = run(folder, say, overwrite=True)
    screen.print(doses_before_and_after(shown))
    say("All data is invented. Next: growcells new log.xlsx")


def doses_before_and_after(shown: Demo) -> Table:
    """The tanks of the demo with volume and dose before and after, the changed one marked."""
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
    return table


def new(
    log: Annotated[Path, typer.Argument(metavar="LOG.xlsx", help="The log to write.")],
    empty: Annotated[bool, typer.Option("--empty", help="Leave out the example rows.")] = False,
    overwrite: Overwrite = False,
) -> None:
    """Write a starter log: the sheets that a season needs, with the formulas in place."""
    from ..starter import new_log

    with sentences(), progress_shown() as progress:
        written = new_log(log, examples=not empty, overwrite=overwrite, progress=progress)
    say(f"Written: {written}")
    say("Its first sheet says how it works.")
    if not empty:
        say(f"The example rows are invented: growcells clear-examples {log} --in-place takes them out.")


def clear(
    log: Log,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="The copy to write; log.cleared.xlsx if left out."),
    ] = None,
    in_place: InPlace = False,
    overwrite: Overwrite = False,
) -> None:
    """Empty the example rows of a log that growcells new wrote; rows that were typed over stay, and all else."""
    from ..starter import clear_examples

    copy = copy_beside(log, "cleared", output, in_place)
    with sentences(), progress_shown() as progress:
        cleared = clear_examples(log, copy, in_place=in_place, overwrite=overwrite, progress=progress)
    rows = ", ".join(f"{sheet} {count}" for sheet, count in cleared.emptied.items())
    say(f"Example rows emptied: {rows}.")
    if cleared.left:
        say(f"Typed over, and left as they are: {', '.join(cleared.left)}.")
    say_formula_problems(cleared.done)
    say_where(cleared.done)


def recalc(
    log: Log,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="The copy to write; log.computed.xlsx if left out."),
    ] = None,
    in_place: InPlace = False,
    overwrite: Overwrite = False,
    everything: Annotated[
        bool,
        typer.Option(
            "--all",
            help="Compute every formula, those too whose stored value nothing changed: for a file whose stored values "
            "are old, because a program that does not calculate changed what they depend on.",
        ),
    ] = False,
    as_of: AsOf = None,
) -> None:
    """Compute what has to be computed in a log without a spreadsheet program; only the values of formulas change.

    Computed are the formulas with growcells functions, those without a stored value, those of the day or of chance,
    those that depend on a value that changed, and those whose stored value their own inputs prove to be old. Every
    other formula keeps the value that a spreadsheet program stored. What would have to be computed and cannot be is
    listed, with what rests on it, and the exit code is 1.
    """
    from ..recalculation import recalculate_apart

    copy = copy_beside(log, "computed", output, in_place)
    with sentences(), progress_shown() as progress:
        done = recalculate_apart(
            log, copy, in_place=in_place, overwrite=overwrite, everything=everything, as_of=as_of, progress=progress
        )
    say(f"{done.formulas} formulas, {done.changed} values changed, {len(done.kept)} kept that may be old.")
    say_formula_problems(done)
    say_where(done)
    if done.failed or done.kept:
        raise typer.Exit(PROBLEMS)


def copy_beside(log: Path, word: str, output: Path | None, in_place: bool) -> Path | None:
    """The copy to write: the one asked for, or one beside the log; None where the log itself is replaced."""
    return output if output is not None or in_place else log.with_suffix(f".{word}{log.suffix}")


def say_formula_problems(done: Recalculation) -> None:
    """List the formulas that failed, were kept, or rest on kept values, and what to know of the file."""
    for cell in done.failed:
        say(f"{cell.sheet}!{cell.cell}  {cell.code}  {cell.formula}\n    {cell.why}")
    for kept in done.kept:
        say(f"{kept.sheet}!{kept.cell}  keeps its stored value  {kept.formula}\n    {kept.why}")
    for resting in done.resting:
        say(f"{resting.sheet}!{resting.cell}  rests on the stored value of {resting.rests_on}")
    for note in done.notes:
        say(note)


def say_where(done: Recalculation) -> None:
    """Say which file holds the log now, and which holds it as it was."""
    if done.backup:
        say(f"The log as it was: {done.backup}")
    say(f"Written: {done.output}")


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
    from ..checking import count_problems, lines_of
    from ..reading import map_beside, read_log
    from ..reading.mapping import write_map as write

    target = map_path or map_beside(log)
    with sentences(), progress_shown() as progress:
        found = read_log(log, as_of, progress, None if write_map and not target.exists() else map_path)
    for line in lines_of(found, every):
        say(" " * line.indent + line.text, style=line.style)
    if write_map:
        with sentences():
            write(found, target, overwrite)
        say(f"Written: {target}. Correct it; from now on the log is read by it.")
    if count_problems(found):
        raise typer.Exit(PROBLEMS)
