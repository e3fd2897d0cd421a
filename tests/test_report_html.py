"""The report as one file for a browser: its text, its bytes, and how Chromium shows it at three widths."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from browsers import WIDTHS, Chromium, found_chromium
from growcells_workbooks.report import build_form, build_report
from growcells_workbooks.sheets.shown_values import shown
from log_books import ROOFTOP, write_log
from report_books import TITLES, report_book, titles_of

ARTEFACTS = Path(__file__).with_name("artefacts") / "html"
LEAST_ON_A_SCREEN = 11.5
"""Pixels of the smallest letters; those of charts are made larger with the chart."""
CONTROL = "a\x01b<script>alert(1)</script>"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = build_report(ROOFTOP, tmp_path_factory.mktemp("html") / "week.xlsx", week="2026-W47", html=True)
    assert made.html is not None
    return made.html


@pytest.fixture(scope="module")
def tree(page: Path) -> Any:
    return html.document_fromstring(page.read_text(encoding="utf-8"))


def test_it_has_the_pages_of_the_workbook(page: Path, tree: Any) -> None:
    printed = titles_of(report_book(page.with_suffix(".xlsx")))[:-1]  # the figures of charts come last
    told = [section.get("aria-label") for section in tree.iter("section")]
    assert all(re.fullmatch(TITLES[name], title) for name, title in zip(printed, told, strict=True))


def test_it_needs_no_other_file_and_no_script(tree: Any) -> None:
    assert not list(tree.iter("script", "link", "iframe"))
    assert not [source for source in tree.xpath("//@src") if not source.startswith("data:")]
    assert not [name for element in tree.iter() for name in element.attrib if name.startswith("on")]


def test_each_chart_says_in_words_what_it_shows(tree: Any) -> None:
    told = [drawing.get("aria-label") for drawing in tree.iter("svg")]
    assert len(told) == 18
    # T3 of the log: the last pH of week 47 is 6.0
    assert any(
        re.match(r"T3, basil: pH; latest 6 on 22 Nov; \d+ readings from .*; band from 5.5 to 6.5", text)
        for text in told
    )


def test_each_cell_names_its_column_where_rows_are_cards(tree: Any) -> None:
    row = next(row for row in tree.xpath("//tbody/tr") if row[0].text == "T3")
    assert [cell.get("data-label") for cell in row][2:5] == ["tank full [gal]", "rate [g/gal]", "to weigh [g]"]
    assert row[0].get("scope") == "row"


def test_the_same_log_gives_the_same_bytes(page: Path, tmp_path: Path) -> None:
    again = build_report(ROOFTOP, tmp_path / "week.xlsx", week="2026-W47", html=True)
    assert again.html is not None and again.html.read_bytes() == page.read_bytes()


def test_the_form_is_the_form_alone(tmp_path: Path) -> None:
    made = build_form(ROOFTOP, tmp_path / "form.xlsx", week="2026-W47", html=True)
    assert titles_of(report_book(made.output)) == ["Form"]
    assert made.html is not None
    tree = html.document_fromstring(made.html.read_text(encoding="utf-8"))
    assert [section.get("aria-label") for section in tree.iter("section")] == [TITLES["Form"]]
    beds = [cell.text for cell in tree.xpath("//tbody/tr/th")]
    assert len(beds) == 6 * len(tree.xpath("//table")) and set(beds) == {f"T{number}" for number in range(1, 7)}


def test_text_of_the_log_stays_text(tmp_path: Path) -> None:
    log = write_log(tmp_path, Beds=[["Bed", "Crop"], ["T<b>1", "basil"]], Log=[["Date", "Bed", "pH", "Notes"]])
    book = report_book(log)
    book["Log"].append(["2026-11-20", "T<b>1", 6.0, CONTROL.replace("\x01", "")])
    book.save(log)
    made = build_report(log, tmp_path / "week.xlsx", week="2026-W47", html=True)
    assert made.html is not None
    written = made.html.read_text(encoding="utf-8")
    assert "<script" not in written and "T<b>1" not in written and "T&lt;b&gt;1" in written


@pytest.mark.parametrize(
    ("value", "number_format", "text"),
    [
        (1234.5, "[$€-407] #,##0.00", "€ 1,234.50"),
        (1234.5, "#,##0.00\\ [$kr-41D]", "1,234.50 kr"),
        (0.3, "0%", "30%"),
        (-2.0, "+0.0;-0.0;0.0", "-2.0"),
        (46346, "ddd d mmm", "Fri 20 Nov"),  # 20 November 2026 is 46346 days after 30 December 1899
    ],
)
def test_numbers_are_shown_as_a_spreadsheet_shows_them(value: float, number_format: str, text: str) -> None:
    assert shown(value, number_format) == text


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Chromium:
    return found_chromium(tmp_path_factory.mktemp("node"))


@pytest.fixture(scope="module")
def looks(browser: Chromium, page: Path) -> list[dict[str, Any]]:
    return browser.looked_at(page, ARTEFACTS)


@pytest.mark.slow
@pytest.mark.browser
class TestInChromium:
    def test_nothing_is_wider_than_the_screen(self, looks: list[dict[str, Any]]) -> None:
        assert [look["width"] for look in looks] == [int(width) for width in WIDTHS for _ in range(2)]
        for look in looks:
            assert look["wide"] <= look["width"] and look["over"] == [], look

    def test_axe_finds_nothing(self, looks: list[dict[str, Any]]) -> None:
        assert [(look["width"], look["colorScheme"], look["told"]) for look in looks if look["told"]] == []

    def test_letters_are_large_enough(self, looks: list[dict[str, Any]]) -> None:
        assert min(look["smallest"] for look in looks) >= LEAST_ON_A_SCREEN

    def test_it_asks_for_nothing_but_itself(self, looks: list[dict[str, Any]]) -> None:
        assert {(look["asked"], look["scripts"]) for look in looks} == {(1, 0)}
