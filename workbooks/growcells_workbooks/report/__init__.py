"""The weekly report: one workbook that says how the beds did, what to mix, and what it costs."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from growcells.cells.errors import UnknownName
from growcells.chemistry.published_solutions import recipes
from growcells.terms.ppm_tables import find_recipe
from growcells.version import VERSION

from ..data import USUAL_RECIPE
from ..gate import (
    FileProblem,
    Progress,
    Runner,
    check_file,
    check_new_file,
    far_values_told,
    here,
    status_of,
    write_whole,
)
from ..reading import Fate, GrowLog, read_log
from ..sheets.workbook_files import check_new_workbook
from .figures import figures_of
from .figures.changes import Previous, compared, read_previous
from .figures.iso_week import Week, last_week, parse_week
from .figures.photo_folder import Photos, read_photos
from .figures.week_figures import Figures, count_cells
from .look.html import html_bytes
from .look.workbook import report_bytes
from .pages import document_of, form_of
from .pages.material import Material
from .pages.page import Document

__all__ = ["Report", "Week", "build_form", "build_report", "parse_week"]

CATEGORY = "growcells report"
"""By this property of its file a report is known from a log."""
Bytes = tuple[bytes, bytes | None]
"""The workbook of a report, and its page for a browser where that is asked for."""


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
    pdf: Path | None = None
    html: Path | None = None
    photos: int = 0
    photos_left_out: int = 0


def build_report(
    source: Path,
    output: Path,
    *,
    week: str | None = None,
    as_of: datetime.date | None = None,
    recipe: str = USUAL_RECIPE,
    previous: Path | None = None,
    photos: Path | None = None,
    map_path: Path | None = None,
    short: bool = False,
    paper: str = "",
    pdf: bool = False,
    html: bool = False,
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Report:
    """Write the report of a week of a grow log, its formulas computed anew.

    ``week`` is an ISO week such as ``2026-W47``, by default the last with readings up to ``as_of``. ``as_of`` is the
    day of the report, by default the week's Sunday where a week is given, else today. ``recipe`` names the published
    solution that feeds are compared with. ``previous`` is an earlier copy of the log, to tell what changed. ``photos``
    is a folder of pictures named by date and bed. ``map_path`` is the mapping file of the log, by default the one
    beside it, if there is one; given, it also holds for the earlier copy. ``short`` leaves out what stands behind the
    divider. ``paper`` is ``Letter`` or ``A4``, by default the one of the log's units. ``pdf`` also prints the report
    into a PDF beside it, through LibreOffice; ``html`` writes it for a browser too. ``run`` is how the files are
    worked on. The same files, week and day give the same bytes of the workbook and of the page for a browser. Raises
    FileProblem, whose text is one sentence.
    """
    asked = parse_week(week) if week is not None else None
    day = as_of or (asked.last if asked else datetime.date.today())
    look = partial(document_of, short=short)
    work = partial(
        _built, source, output, asked, day, _recipe(recipe), previous, photos, map_path, paper, look, html
    )  # fmt: skip
    return _written(source, output, work, pdf, html, overwrite, progress, run)


def build_form(
    source: Path,
    output: Path,
    *,
    week: str | None = None,
    as_of: datetime.date | None = None,
    map_path: Path | None = None,
    paper: str = "",
    pdf: bool = False,
    html: bool = False,
    overwrite: bool = False,
    progress: Progress | None = None,
    run: Runner = here,
) -> Report:
    """Write the form for the readings of the coming week alone; all else as for ``build_report``."""
    asked = parse_week(week) if week is not None else None
    day = as_of or (asked.last if asked else datetime.date.today())
    work = partial(_built, source, output, asked, day, USUAL_RECIPE, None, None, map_path, paper, form_of, html)
    return _written(source, output, work, pdf, html, overwrite, progress, run)


def _written(
    source: Path,
    output: Path,
    work: Callable[[Progress], tuple[Report, Bytes]],
    pdf: bool,
    html: bool,
    overwrite: bool,
    progress: Progress | None,
    run: Runner,
) -> Report:
    """Check where the files will go, do the work, and write them."""
    check_file(source)
    check_new_workbook(output, overwrite)
    if status_of(output) is not None and output.samefile(source):
        raise FileProblem(f"{output} is the log itself: give another name for the report")
    printed, shown = output.with_suffix(".pdf"), output.with_suffix(".html")
    for asked, path in ((pdf, printed), (html, shown)):
        if asked:
            check_new_file(path, overwrite)
    report, (content, page) = run(work, source, progress)
    write_whole(output, content)
    if page is not None:
        write_whole(shown, page)
        report = replace(report, html=shown)
    if not pdf:
        return report
    from .look.pdf import write_pdf  # few reports are printed, and what finds LibreOffice takes a while to import

    return replace(report, pdf=write_pdf(output, printed))


def _built(
    source: Path,
    output: Path,
    asked: Week | None,
    day: datetime.date,
    recipe: str,
    previous: Path | None,
    photos: Path | None,
    map_path: Path | None,
    paper: str,
    look: Callable[[Material], Document],
    html: bool,
    progress: Progress,
) -> tuple[Report, Bytes]:
    """What is to be told of a report, and its bytes."""
    log = read_log(source, day, progress, map_path)
    _check_log(log, source)
    chosen = asked or last_week((reading.date for reading in log.readings), day)
    if chosen is None:
        raise FileProblem(f"{source} has no reading up to {day.isoformat()}: name a week, such as --week 2026-W47")
    progress("building the report", 0, 1)
    with far_values_told(source):
        figures = figures_of(log, chosen, day, recipe)
        pictures = _pictures(photos, figures)
        document = look(Material(figures, _before(previous, figures, map_path), pictures, paper))
        creator = f"growcells {VERSION}"
        content = report_bytes(document, day, creator=creator, category=CATEGORY)
        page = html_bytes(document, creator) if html else None
    progress("building the report", 1, 1)
    report = Report(
        source=source,
        output=output,
        week=chosen,
        as_of=day,
        beds=len(log.beds),
        readings=len(figures.in_week),
        unreadable=count_cells(log, Fate.UNREADABLE),
        ignored=count_cells(log, Fate.IGNORED),
        problems=tuple(figures.problems),
        photos=len(pictures.shown) if pictures else 0,
        photos_left_out=len(pictures.left_out) if pictures else 0,
    )
    return report, (content, page)


def _recipe(name: str) -> str:
    """The full name of a recipe. Raises FileProblem where none is called so."""
    try:
        wanted = find_recipe(name)
    except UnknownName as problem:
        raise FileProblem(str(problem)) from None
    return next(known for known, table in recipes().items() if table is wanted)


def _check_log(log: GrowLog, source: Path) -> None:
    if log.category == CATEGORY:  # the tables of a report are like those of a log
        raise FileProblem(f"{source} is a report that growcells wrote: give the log that it was made from")
    if not log.beds:
        raise FileProblem(
            f"{source} holds no beds and no readings that growcells recognises: a table needs a row of headings "
            "such as Date, Bed, pH, EC mS; growcells new writes a log to start from"
        )


def _pictures(folder: Path | None, figures: Figures) -> Photos | None:
    if folder is None:
        return None
    return read_photos(folder, [bed.name for bed in figures.beds], figures.week, figures.as_of)


def _before(previous: Path | None, figures: Figures, map_path: Path | None) -> Previous | None:
    if previous is None:
        return None
    return compared(read_previous(previous, figures.week, figures.as_of, figures.recipe, map_path), figures)
