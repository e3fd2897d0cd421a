"""Arguments and options that several commands take."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Annotated

import typer


def day(text: str) -> datetime.date:
    """A date given on the command line."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text} is not a date: write it as 2026-11-25") from None


Log = Annotated[Path, typer.Argument(metavar="LOG.xlsx", help="The grow log: .xlsx, .xlsm, .ods or .csv.")]
AsOf = Annotated[
    datetime.date | None,
    typer.Option(
        "--as-of", parser=day, metavar="DATE", help="The day to compute for, such as 2026-11-25; today if left out."
    ),
]
InPlace = Annotated[bool, typer.Option("--in-place", help="Replace the log itself; a backup stays beside it.")]
MapFile = Annotated[
    Path | None,
    typer.Option("--map", metavar="FILE", help="The mapping file; log.map.toml beside the log if left out."),
]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace the output where it exists.")]
