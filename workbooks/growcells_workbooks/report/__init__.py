"""The weekly report: one workbook that says how the beds did, what to mix, and what it costs."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

from growcells.version import VERSION

from ..reading import Fate, read_log
from ..recalculation import FileProblem, Progress
from ..writing import check_new_workbook, save_workbook
from .account_pages import left_out_page, method_page
from .feeds_pages import costs_page, nutrients_page
from .figures import count_cells, figures_of
from .look import new_book
from .paper import Paper
from .readings_pages import charts_page, history_page, readings_page
from .week import Week, last_week, parse_week
from .week_page import week_page

__all__ = ["Report", "Week", "build_report", "parse_week"]

PAGES = (
    week_page,
    readings_page,
    charts_page,
    nutrients_page,
    costs_page,
    left_out_page,
    method_page,
    history_page,
)


@dataclass(frozen=True)
class Report:
    """What was written: counts of readings, and of cells of the log that were left out."""

    source: Path
    output: Path
    week: Week
    as_of: datetime.date
    beds: int
    readings: int
    unreadable: int
    ignored: int
    problems: tuple[str, ...]


def build_report(
    source: Path,
    output: Path,
    *,
    week: str | None = None,
    as_of: datetime.date | None = None,
    overwrite: bool = False,
    progress: Progress | None = None,
) -> Report:
    """Write the report of a week of a grow log, its formulas computed anew.

    ``week`` is an ISO week such as ``2026-W47``, by default the last with readings up to ``as_of``. ``as_of`` is the
    day of the report, by default the week's Sunday where a week is given, else today. The same log, week and day give
    the same bytes. Raises FileProblem, whose text is one sentence.
    """
    check_new_workbook(output, overwrite)
    asked = parse_week(week) if week is not None else None
    day = as_of or (asked.last if asked else datetime.date.today())
    log = read_log(source, day, progress)
    if output.exists() and output.samefile(source):
        raise FileProblem(f"{output} is the log itself: give another name for the report")
    if not log.beds:
        raise FileProblem(
            f"{source} holds no beds and no readings that are known here: a table needs a row of headings, such as "
            "Date, Bed, pH, EC mS; growcells new writes a log to start from"
        )
    chosen = asked or last_week((reading.date for reading in log.readings), day)
    if chosen is None:
        raise FileProblem(f"{source} has no reading up to {day.isoformat()}: name a week, such as --week 2026-W47")
    figures = figures_of(log, chosen, day)
    book = new_book()
    for make in PAGES:
        make(Paper(book, figures))
    book.properties.title = f"{chosen.title}, {log.path.name}"
    book.properties.creator = f"growcells {VERSION}"
    save_workbook(book, output, day)
    return Report(
        source=source,
        output=output,
        week=chosen,
        as_of=day,
        beds=len(log.beds),
        readings=len(figures.in_week),
        unreadable=count_cells(log, Fate.UNREADABLE),
        ignored=count_cells(log, Fate.IGNORED),
        problems=tuple(figures.problems),
    )
