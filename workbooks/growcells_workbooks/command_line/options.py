"""Arguments and options that several commands take."""

from __future__ import annotations

import datetime
import locale
import os
import re
from pathlib import Path
from typing import Annotated, Any

import typer

FIRST_YEAR, LAST_YEAR = 1901, 9998
"""Of a day to compute for: a spreadsheet knows the days from 1900 to 9999, and weeks around the day are looked at."""


def day(text: str) -> datetime.date:
    """A date given on the command line."""
    try:
        given = datetime.date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text} is not a date: write it as 2026-11-25") from None
    if not FIRST_YEAR <= given.year <= LAST_YEAR:
        raise typer.BadParameter(f"{text} is no day of a log: give one of the years {FIRST_YEAR} to {LAST_YEAR}")
    return given


PAPERS = ("Letter", "A4")
LETTER_COUNTRIES = frozenset(["US", "CA", "MX", "BZ", "CL", "CO", "CR", "GT", "NI", "PA", "PH", "PR", "SV", "VE"])
"""Where paper is of US sizes: Unicode CLDR, supplemental data, paperSize; from memory."""


def paper_named(text: str) -> str:
    """A size of paper given on the command line."""
    known = {name.lower(): name for name in PAPERS}
    if text.lower() not in known:
        raise typer.BadParameter(f"{text} is no paper that is printed on: give Letter or A4")
    return known[text.lower()]


def paper_of_locale() -> str:
    """The paper of the country that the locale names; "" where it names none."""
    named = next((value for name in ("LC_ALL", "LC_PAPER", "LANG") if (value := os.environ.get(name))), "")
    found = re.search(r"^[a-z]{2,3}_([A-Z]{2})", named or locale.getlocale()[0] or "")
    if found is None:
        return ""
    return "Letter" if found[1] in LETTER_COUNTRIES else "A4"


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
Paper = Annotated[
    str | None,
    typer.Option(
        "--paper",
        parser=paper_named,
        metavar="PAPER",
        help="Letter or A4; by your locale, or the log's units, if left out.",
    ),
]
Pdf = Annotated[bool, typer.Option("--pdf", help="Also print it into a PDF, through LibreOffice.")]
Html = Annotated[bool, typer.Option("--html", help="Also write one file for a browser, such as that of a phone.")]


def to_write(help_text: str, metavar: str = "FILE") -> Any:
    """The option that names what a command writes."""
    return typer.Option("--output", "-o", metavar=metavar, help=help_text)


Overwrite = Annotated[bool, typer.Option("--overwrite", help="Replace the output where it exists.")]
