"""The command that compares the rounds of a season."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from growcells.cells.number_texts import count

from .options import AsOf, MapFile, Overwrite, Paper, paper_of_locale, to_write
from .terminal import progress_shown, say, sentences


def season(
    logs: Annotated[list[Path], typer.Argument(metavar="LOG", help="The grow log, or several.")],
    output: Annotated[Path, to_write("The workbook to write.")],
    as_of: AsOf = None,
    map_path: MapFile = None,
    paper: Paper = None,
    overwrite: Overwrite = False,
) -> None:
    """Compare the rounds of one log or several: yield, cost, days, and what the feeds' differences are worth."""
    from ..gate import apart
    from ..season import build_season

    with sentences(), progress_shown() as progress:
        done = build_season(
            logs,
            output,
            as_of=as_of,
            map_path=map_path,
            paper=paper or paper_of_locale(),
            overwrite=overwrite,
            progress=progress,
            run=apart,
        )
    if done.rounds:
        say(f"{count(done.rounds, 'round')} compared.")
    else:
        say("No rounds to compare: a round begins with a planting, its bed, feed and day, and none is in the log.")
    for text in done.told:
        say(text)
    say(f"Written: {done.output}")
