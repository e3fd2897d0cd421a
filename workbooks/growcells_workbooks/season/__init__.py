"""A season: the rounds of one log or several side by side, as one workbook."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from growcells.version import VERSION

from ..gate import FileProblem, Progress, Runner, check_file, far_values_told, here, status_of, write_whole
from ..reading import read_log
from ..report.figures.log_units import paper_of_units
from ..report.look.workbook import report_bytes
from ..sheets.workbook_files import check_new_workbook
from .compared_rounds import season_of
from .pages import document_of, in_words

__all__ = ["SeasonReport", "build_season"]

CATEGORY = "growcells report"
"""As of a weekly report, so that it is not taken for a log."""


@dataclass(frozen=True)
class SeasonReport:
    """What was written: the rounds compared, and in words what the feeds differ by."""

    output: Path
    rounds: int
    told: tuple[str, ...]


def build_season(
    sources: Sequence[Path],
    output: Path,
    *,
    as_of: datetime.date | None = None,
    map_path: Path | None = None,
    paper: str = "",
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> SeasonReport:
    """Write the comparison of the rounds of logs into a workbook. Raises FileProblem, whose text is one sentence.

    ``paper`` is ``Letter`` or ``A4``; if it is "", that of the units of the first log.
    """
    if not sources:
        raise FileProblem("give one log or several")
    for source in sources:
        check_file(source)
        if status_of(output) is not None and output.samefile(source):
            raise FileProblem(f"{output} is a log itself: give another name for the season")
    check_new_workbook(output, overwrite)
    day = as_of or datetime.date.today()
    report, content = run(partial(_built, tuple(sources), output, day, map_path, paper), sources[0], progress)
    write_whole(output, content)
    return report


def _built(
    sources: tuple[Path, ...],
    output: Path,
    day: datetime.date,
    map_path: Path | None,
    paper: str,
    progress: Progress,
) -> tuple[SeasonReport, bytes]:
    logs = []
    for number, source in enumerate(sources):
        progress("reading logs", number, len(sources))
        logs.append(read_log(source, day, None, map_path))
    progress("reading logs", len(sources), len(sources))
    with far_values_told(*sources):
        season = season_of(logs, day)
        document = document_of(season, [log.path.name for log in logs], paper or paper_of_units(logs[0].units))
    content = report_bytes(document, day, creator=f"growcells {VERSION}", category=CATEGORY)
    return SeasonReport(output, len(season.rounds), tuple(map(in_words, season.differences))), content
