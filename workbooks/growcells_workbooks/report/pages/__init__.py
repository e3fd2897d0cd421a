"""The pages of the report, a module a page."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from ..figures.iso_week import Week
from .charts_page import charts_page, history_page
from .checks_page import checks_page
from .costs_page import costs_page
from .doses_page import doses_page
from .form_page import coming, form_page, whole_form
from .material import Material
from .method_page import cautions_page, method_page
from .nutrients_page import nutrients_page
from .page import Document, Page
from .photos_page import photos_page
from .readings_page import readings_page
from .reasons_page import reasons_page
from .rounds_page import rounds_page
from .trial_page import trial_page
from .water_page import water_page
from .week_page import week_page

PAGES: tuple[Callable[[Material], Iterator[Page]], ...] = (
    week_page,
    doses_page,
    form_page,
    charts_page,
    photos_page,
    trial_page,
    costs_page,
    rounds_page,
    reasons_page,
    method_page,
    checks_page,
    cautions_page,
    readings_page,
    water_page,
    nutrients_page,
    history_page,
)
"""In the order of use: what is taken along first, what is read at the desk last."""
DIVIDER = "Behind this line: how the figures were made, and what the log holds. For the desk, not for the beds."


def document_of(material: Material, *, short: bool = False) -> Document:
    """The report, ready for a writer to draw; ``short`` leaves out what stands behind the divider."""
    pages = [page for make in PAGES for page in make(material) if not (short and page.behind)]
    first = next((place for place, page in enumerate(pages) if page.behind), None)
    if first is not None:
        pages[first] = replace(pages[first], subtitle=f"{DIVIDER} {pages[first].subtitle}")
    return _document(material, pages, material.figures.week)


def form_of(material: Material) -> Document:
    """The form for the coming week alone."""
    return _document(material, list(whole_form(material)), coming(material.figures))


def _document(material: Material, pages: list[Page], week: Week) -> Document:
    log = material.figures.log.path.name
    return Document(
        title=f"{week.title}, {log}",
        footer=f"{week.title} · {log}",
        paper=material.paper,
        pages=pages,
    )
