"""The pages of the report, a module a page."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from .charts_page import charts_page, history_page
from .checks_page import checks_page
from .costs_page import costs_page
from .doses_page import doses_page
from .material import Material
from .method_page import cautions_page, method_page
from .nutrients_page import nutrients_page
from .page import Document, Page
from .photos_page import photos_page
from .readings_page import readings_page
from .rounds_page import rounds_page
from .trial_page import trial_page
from .water_page import water_page
from .week_page import week_page

PAGES: tuple[Callable[[Material], Iterator[Page]], ...] = (
    week_page,
    doses_page,
    rounds_page,
    readings_page,
    charts_page,
    nutrients_page,
    trial_page,
    water_page,
    costs_page,
    photos_page,
    checks_page,
    method_page,
    cautions_page,
    history_page,
)


def document_of(material: Material) -> Document:
    """The report, ready for a writer to draw."""
    figures = material.figures
    return Document(
        title=f"{figures.week.title}, {figures.log.path.name}",
        footer=f"{figures.week.title} · {figures.log.path.name}",
        paper=material.paper,
        pages=[page for make in PAGES for page in make(material)],
    )
