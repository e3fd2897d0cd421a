"""Every page of a report as it is printed, kept as PNG in tests/artefacts for people to look at."""

from __future__ import annotations

import re
from pathlib import Path

import pypdfium2
import pytest

from growcells_workbooks.demo import run
from growcells_workbooks.report import build_report
from growcells_workbooks.report.look.pdf import write_pdf
from libreoffice import RunningOffice
from log_books import ROOFTOP

ARTEFACTS = Path(__file__).with_name("artefacts") / "report"
SCALE = 1.25
"""Pixels to a point: 90 to an inch."""


def pages(pdf: Path, name: str) -> list[str]:
    """The text of each page of a PDF, its pictures kept."""
    ARTEFACTS.mkdir(parents=True, exist_ok=True)
    for old in ARTEFACTS.glob(f"{name}-*.png"):
        old.unlink()
    texts = []
    document = pypdfium2.PdfDocument(pdf)
    for number, page in enumerate(document, 1):
        page.render(scale=SCALE).to_pil().save(ARTEFACTS / f"{name}-{number:02d}.png")
        texts.append(page.get_textpage().get_text_bounded())
    document.close()
    return texts


@pytest.fixture(scope="module")
def rooftop(office: RunningOffice, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    made = build_report(ROOFTOP, tmp_path_factory.mktemp("pages") / "week.xlsx", week="2026-W47", pdf=True)
    assert made.pdf is not None
    return pages(made.pdf, "rooftop")


@pytest.fixture(scope="module")
def demo(office: RunningOffice, tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    folder = tmp_path_factory.mktemp("pages")
    made = run(folder, lambda line: None).report
    return pages(write_pdf(made.output, folder / "week.pdf"), "demo")


@pytest.mark.office
@pytest.mark.parametrize("report", ["rooftop", "demo"])
class TestPages:
    def test_the_first_page_is_one_sheet(self, report: str, request: pytest.FixtureRequest) -> None:
        texts = request.getfixturevalue(report)
        assert "What to do next" in texts[0] and "In short" in texts[0]
        assert "To weigh in the coming week" in texts[1]

    def test_no_number_is_too_wide_for_its_column(self, report: str, request: pytest.FixtureRequest) -> None:
        assert not [number for number, text in enumerate(request.getfixturevalue(report), 1) if "###" in text]

    def test_no_error_and_no_formula_is_shown(self, report: str, request: pytest.FixtureRequest) -> None:
        for text in request.getfixturevalue(report):
            assert not re.search(r"#(NAME|VALUE|REF|DIV|NUM|N/A)|Err:\d|nan\b", text)

    def test_every_page_has_its_number(self, report: str, request: pytest.FixtureRequest) -> None:
        texts = request.getfixturevalue(report)
        for number, text in enumerate(texts, 1):
            assert f"page {number} of {len(texts)}" in text

    def test_no_page_is_blank(self, report: str, request: pytest.FixtureRequest) -> None:
        assert all(len(text) > 150 for text in request.getfixturevalue(report))
