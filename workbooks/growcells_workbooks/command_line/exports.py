"""The command that hands out what was read of a log."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from growcells.cells.number_texts import count

from .options import AsOf, Log, MapFile, Overwrite, to_write
from .terminal import WRONG_USAGE, Stop, progress_shown, say, sentences

FORMAT_HELP = (
    "csv, parquet or xlsx. A csv file has every text as the log has it, also one that begins with =, +, - or @, which "
    "a spreadsheet program computes: take xlsx to open the tables in one."
)


def export(
    log: Log,
    output: Annotated[Path, to_write("The folder for the tables.", "FOLDER")],
    as_of: AsOf = None,
    form: Annotated[str, typer.Option("--format", metavar="FORMAT", help=FORMAT_HELP)] = "csv",
    map_path: MapFile = None,
    overwrite: Overwrite = False,
) -> None:
    """Hand out what was read of a log as tidy tables in fixed units, to take elsewhere."""
    from ..export import FORMATS, export_log
    from ..gate import apart

    if form not in FORMATS:
        raise Stop(
            f"{form} is no format of tables: give --format {', '.join(FORMATS[:-1])} or {FORMATS[-1]}", WRONG_USAGE
        )
    with sentences(), progress_shown() as progress:
        done = export_log(
            log,
            output,
            as_of=as_of,
            form=form,
            map_path=map_path,
            overwrite=overwrite,
            progress=progress,
            run=apart,
        )
    for path, rows in done.rows.items():
        say(f"Written: {path}, {count(rows, 'row')}")
    if done.like_formulas:
        say(
            f"{count(done.like_formulas, 'text')} in the csv files would be computed by a spreadsheet program: take "
            "--format xlsx to open them in one."
        )
    if done.left_out:
        say(f"{count(done.left_out, 'cell')} could not be read: growcells check {log} says why.")
