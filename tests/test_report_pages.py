"""The pages of reports as they are printed, read letter by letter, and kept as PNG in tests/artefacts to look at.

Here a small sample of logs; ``python tests/printed_pages.py`` prints the whole grid.
"""

from __future__ import annotations

import re
import time
from contextlib import closing
from pathlib import Path

import pypdfium2
import pytest

from growcells_workbooks.demo import run
from growcells_workbooks.report import build_form, build_report
from growcells_workbooks.report.look.charts import in_a_line
from growcells_workbooks.report.look.pdf import write_pdf
from libreoffice import RunningOffice
from log_books import ROOFTOP
from printed_pages import MOST_PAGES, SUNDAY, cut_off, faults, write_log

ARTEFACTS = Path(__file__).with_name("artefacts") / "report"
SCALE = 1.25
"""Pixels to a point: 90 to an inch."""
LETTER, A4 = (612, 792), (595, 842)
"""Points: ANSI/ASME Y14.1, ISO 216."""
BEDS = {"rooftop": 6, "demo": 4}
SAMPLE = ((1, 1, "A4"), (13, 3, "Letter"), (13, 3, "A4"))


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
def rooftop(office: RunningOffice, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = build_report(ROOFTOP, tmp_path_factory.mktemp("pages") / "week.xlsx", week="2026-W47", pdf=True)
    assert made.pdf is not None
    return made.pdf


@pytest.fixture(scope="module")
def demo(office: RunningOffice, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("pages")
    made = run(folder, lambda line: None).report
    return write_pdf(made.output, made.output.with_suffix(".pdf"))


@pytest.fixture(scope="module", params=["rooftop", "demo"])
def printed(request: pytest.FixtureRequest) -> tuple[Path, list[str]]:
    pdf: Path = request.getfixturevalue(request.param)
    return pdf, pages(pdf, request.param)


@pytest.mark.office
class TestPages:
    def test_the_order_is_that_of_use(self, printed: tuple[Path, list[str]]) -> None:
        text = " ".join(printed[1])
        order = (
            "To order",
            "To weigh",
            "Readings of the coming week",
            "the last four weeks",
            "Costs",
            "Behind this line",
        )
        places = [text.index(part) for part in order]
        assert places == sorted(places)
        assert "To order" in printed[1][0] and "Not known" in printed[1][0]

    def test_no_error_and_no_formula_is_shown(self, printed: tuple[Path, list[str]]) -> None:
        for text in printed[1]:
            assert not re.search(r"#(NAME|VALUE|REF|DIV|NUM|N/A)|Err:\d|nan\b", text)

    def test_every_page_has_its_number(self, printed: tuple[Path, list[str]]) -> None:
        for number, text in enumerate(printed[1], 1):
            assert f"page {number} of {len(printed[1])}" in text

    def test_the_figures_of_charts_are_not_printed(self, printed: tuple[Path, list[str]]) -> None:
        assert not any("The readings behind the charts" in text for text in printed[1])

    def test_letters_fit_and_no_page_is_half_empty(
        self, printed: tuple[Path, list[str]], request: pytest.FixtureRequest
    ) -> None:
        _, _, wrong = faults(printed[0], BEDS[request.node.callspec.params["printed"]])
        assert wrong == []
        assert list(cut_off(printed[0].with_suffix(".xlsx"))) == []


@pytest.mark.office
@pytest.mark.slow
@pytest.mark.parametrize(("beds", "feeds", "paper"), SAMPLE)
def test_a_log_of_the_grid(office: RunningOffice, tmp_path: Path, beds: int, feeds: int, paper: str) -> None:
    log = write_log(tmp_path / "log.xlsx", beds, feeds)
    made = build_report(log, tmp_path / "week.xlsx", as_of=SUNDAY, paper=paper, pdf=True)
    assert made.pdf is not None
    before, _, wrong = faults(made.pdf, beds)
    assert wrong == [] and list(cut_off(made.output)) == []
    assert before <= MOST_PAGES.get(beds, before)
    with closing(pypdfium2.PdfDocument(made.pdf)) as document:
        assert document[0].get_size() == pytest.approx(LETTER if paper == "Letter" else A4, abs=1)


@pytest.mark.office
def test_the_form_is_printed_alone(office: RunningOffice, tmp_path: Path) -> None:
    made = build_form(ROOFTOP, tmp_path / "form.xlsx", week="2026-W47", paper="A4", pdf=True)
    assert made.pdf is not None
    texts = pages(made.pdf, "form")
    assert "Readings of the coming week" in texts[0] and "Tue 24 Nov" in texts[0]
    assert "Week 48 of 2026 · " in texts[0] and "Week 47" not in texts[0]
    assert not any("To weigh" in text for text in texts)
    assert faults(made.pdf, 0)[2] == []


def test_a_long_name_does_not_stand_over_a_plot() -> None:
    assert in_a_line("T1: pH", 160) == "T1: pH"
    assert in_a_line("The long channel beside the old door, chard: EC [mS/cm]", 160).endswith("…: EC [mS/cm]")


def test_a_name_of_the_greatest_length_is_cut_at_once() -> None:
    """Each sign taken by itself would take a minute."""
    start = time.process_time()
    shown = in_a_line(f"{'wide bed ' * 3600}: pH", 160)
    assert shown.startswith("wide bed") and shown.endswith("…: pH") and len(shown) < 40
    assert len(in_a_line("i" * 30_000, 160)) < 160
    assert time.process_time() - start < 1
