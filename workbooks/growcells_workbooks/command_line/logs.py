"""The commands that write a log, compute it and say what is in it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from growcells.cells.number_texts import count

from ..file_kinds import DELIMITED, OPENDOCUMENT
from .options import AsOf, InPlace, Log, MapFile, Overwrite, to_write
from .terminal import PROBLEMS, WRONG_USAGE, Stop, console, named_beside, progress_shown, say, sentences

if TYPE_CHECKING:
    from rich.table import Table

    from ..demo import Demo
    from ..recalculation import Recalculation


def demo(
    folder: Annotated[
        Path,
        typer.Option("--folder", metavar="FOLDER", help="Where its files go; those of an earlier run are replaced."),
    ] = Path("growcells-demo"),
) -> None:
    """Show it all once on invented data: a log, a tank that changes, the doses that follow, a weekly report."""
    from ..demo import run

    with sentences():
        shown = run(folder, say, overwrite=True)
    console().print(doses_before_and_after(shown))
    say("All of this data is invented. To start a log of your own: growcells new log.xlsx")


def doses_before_and_after(shown: Demo) -> Table:
    """The tanks of the demo with volume and dose before and after, the changed one marked."""
    from rich.table import Table

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
    carried: Annotated[
        bool,
        typer.Option(
            "--carry/--plain",
            help="Put the functions into the log, so that Excel of today computes it with nothing installed, or not.",
        ),
    ] = True,
    overwrite: Overwrite = False,
) -> None:
    """Write a starter log: the sheets that a season needs, with the formulas in place and the functions in it."""
    from ..starter import new_log

    with sentences(), progress_shown() as progress:
        written = new_log(log, examples=not empty, carried=carried, overwrite=overwrite, progress=progress)
    say(f"Written: {written}")
    say("Its first sheet says how it works.")
    if not empty:
        say(f"The example rows are invented: growcells clear-examples {log} --in-place takes them out.")


def carry(
    log: Log,
    output: Annotated[Path | None, to_write("The copy to write; log.carried.xlsx if left out.")] = None,
    in_place: InPlace = False,
    remove: Annotated[bool, typer.Option("--remove", help="Take the functions out of the log again.")] = False,
    inline: Annotated[
        bool,
        typer.Option(
            "--inline",
            help="Write a copy in which the calls are native formulas, for programs that know no LAMBDA. It knows the "
            "texts with units and the products that the log has now.",
        ),
    ] = False,
    overwrite: Overwrite = False,
) -> None:
    """Put the functions into a log as names of its own, so that Excel of today computes it with nothing installed."""
    from ..carrying.carry import carry as carry_functions
    from ..gate import apart

    if inline:
        if remove or in_place:
            raise Stop("--inline writes a copy: leave out --remove and --in-place", WRONG_USAGE)
        write_out(log, copy_beside(log, "inline", output, False), overwrite)
        return
    copy = copy_beside(log, "plain" if remove else "carried", output, in_place)
    with sentences(), progress_shown() as progress:
        done = carry_functions(
            log, copy, in_place=in_place, overwrite=overwrite, remove=remove, progress=progress, run=apart
        )
    if remove:
        say("The functions are out of the log.")
    else:
        calling = f"{count(done.calling_cells, 'cell')} {'calls' if done.calling_cells == 1 else 'call'} one"
        say(f"{len(done.carried)} functions are in the log, and {calling}.")
        say(f"These give #N/A where growcells is not installed: {', '.join(done.needing)}.")
        if done.uncarried_cells:
            say(f"Cells that call them: {', '.join(done.uncarried_cells)}.")
    if done.backup:
        say(f"The log as it was: {done.backup}")
    say(f"Written: {done.output}")


def write_out(log: Path, copy: Path | None, overwrite: bool) -> None:
    """The copy with native formulas, and what is said of it."""
    from ..carrying.inline import write_out as write_copy
    from ..gate import apart

    assert copy is not None
    with sentences(), progress_shown() as progress:
        done = write_copy(log, copy, overwrite=overwrite, progress=progress, run=apart)
    cells = f"{count(done.cells, 'cell')} {'computes' if done.cells == 1 else 'compute'}"
    say(f"{cells} without growcells in the copy.")
    if done.kept:
        say("These need growcells still:")
        for line in done.kept:
            say(f"  {line}")
    say(f"Written: {done.output}")


def clear(
    log: Log,
    output: Annotated[Path | None, to_write("The copy to write; log.cleared.xlsx if left out.")] = None,
    in_place: InPlace = False,
    overwrite: Overwrite = False,
) -> None:
    """Empty the example rows of a log that growcells new wrote; rows that you typed over stay, and so does all else."""
    from ..gate import apart
    from ..starter import clear_examples

    copy = copy_beside(log, "cleared", output, in_place)
    with sentences(), progress_shown() as progress:
        cleared = clear_examples(log, copy, in_place=in_place, overwrite=overwrite, progress=progress, run=apart)
    rows = ", ".join(f"{sheet} {emptied}" for sheet, emptied in cleared.emptied.items())
    say(f"Example rows emptied: {rows}.")
    if cleared.left:
        say(f"These rows were typed over and stay as they are: {', '.join(cleared.left)}.")
    say_formula_problems(cleared.done)
    say_where(cleared.done)


def recalc(
    log: Log,
    output: Annotated[Path | None, to_write("The copy to write; log.computed.xlsx if left out.")] = None,
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
    """Compute what has to be computed in a log; only the values of formulas change. LibreOffice computes .ods logs.

    Computed are the formulas with growcells functions, those without a stored value, those of the day or of chance,
    those that depend on a value that changed, and those whose stored value their own inputs prove to be old. Every
    other formula keeps the value that a spreadsheet program stored. What would have to be computed and cannot be, or
    comes out otherwise here without anything that tells which value is right, is listed, with what rests on it, and
    the exit code is 1.
    """
    from ..gate import apart

    recalculate = recalculation_of(log)
    copy = copy_beside(log, "computed", output, in_place)
    with sentences(), progress_shown() as progress:
        done = recalculate(
            log,
            copy,
            in_place=in_place,
            overwrite=overwrite,
            everything=everything,
            as_of=as_of,
            progress=progress,
            run=apart,
        )
    formulas, changed = count(done.formulas, "formula"), count(done.changed, "value")
    say(f"{formulas}, {changed} changed, {len(done.kept):,} kept that may be old.")
    say_formula_problems(done)
    say_where(done)
    if done.failed or done.kept:
        raise typer.Exit(PROBLEMS)


def recalculation_of(log: Path) -> Callable[..., Recalculation]:
    """What computes a log of this kind."""
    if log.suffix.lower() == OPENDOCUMENT:
        from ..through_office import recalculate_opendocument

        return recalculate_opendocument
    if log.suffix.lower() in DELIMITED:
        raise Stop(f"{log} is a text file, which holds no formulas: there is nothing to compute")
    from ..recalculation import recalculate

    return recalculate


def copy_beside(log: Path, word: str, output: Path | None, in_place: bool) -> Path | None:
    """The copy to write: the one asked for, or one beside the log; None where the log itself is replaced."""
    return output if output is not None or in_place else named_beside(log, f".{word}{log.suffix}")


def say_formula_problems(done: Recalculation) -> None:
    """List the formulas that failed, were kept, or rest on kept values, and what to know of the file."""
    for cell in done.failed:
        say(f"{cell.sheet}!{cell.cell}  {cell.code}  {cell.formula}\n    {cell.why}")
    for kept in done.kept:
        say(f"{kept.sheet}!{kept.cell}  keeps its stored value  {kept.formula}\n    {kept.why}")
    for resting in done.resting:
        say(f"{resting.sheet}!{resting.cell}  is computed from the stored value of {resting.rests_on}")
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
    from ..gate import apart
    from ..log_check import check_log

    with sentences(), progress_shown() as progress:
        found = check_log(
            log,
            map_path,
            as_of=as_of,
            every=every,
            write_map=write_map,
            overwrite=overwrite,
            progress=progress,
            run=apart,
        )
    for line in found.lines:
        say(" " * line.indent + line.text, style=line.style)
    if found.new_map:
        say(f"Written: {found.new_map}. Correct it; from now on the log is read by it.")
    if found.problems:
        raise typer.Exit(PROBLEMS)
