"""A price or a feed that the log does not know is said to be not known on the page of costs; it is never 0."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from growcells_workbooks.report import build_report
from growcells_workbooks.report.pages.costs_page import NOT_KNOWN
from log_books import write_log
from report_books import report_book

DAY = datetime.date(2026, 11, 16)
BEDS = [
    ["Bed", "Crop", "Feed", "Volume gal", "Rate g/gal", "Plants"],
    ["T1", "basil", "leaf", 30, 2, 20],
    ["T2", "basil", "unpriced", 30, 2, 20],
    ["T3", "basil", "unlisted", 30, 2, 20],
]
READINGS = [["Date", "Bed", "pH", "Feed added g"], *([DAY, bed, 6.0, 12] for bed in ("T1", "T2", "T3"))]
FIRST_COST, COSTS = "of a fill", 4
"""The heading of the first column of money of a bed, and how many there are: a fill, the week, to date, both."""


@pytest.fixture(scope="module", params=["blank", "dash"])
def costs(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Any]]:
    """By bed, and for all of them, what stands in the columns of money."""
    folder = tmp_path_factory.mktemp("costs")
    price = {"blank": None, "dash": "-"}[request.param]
    feeds = [["Feed", "Analysis", "Bag lb", "Price"], ["leaf", "17-7-21", 10, 30], ["unpriced", "7-9-26", 10, price]]
    log = write_log(folder, Beds=BEDS, Feeds=feeds, Readings=READINGS)
    made = build_report(log, folder / "week.xlsx", as_of=DAY)
    table = list(report_book(made.output, data_only=True)["Costs"].iter_rows(values_only=True))
    place = next(row.index(FIRST_COST) for row in table if FIRST_COST in row)
    found: dict[str, list[Any]] = {}
    for row in table:
        name = next((cell for cell in row if cell is not None), None)
        if name in ("T1", "T2", "T3", "Total"):
            found.setdefault(str(name), [cell for cell in row[place:] if cell is not None][:COSTS])
    return found


@pytest.mark.parametrize("bed", ["T2", "T3", "Total"])
def test_what_is_not_known_is_said(costs: dict[str, list[Any]], bed: str) -> None:
    assert costs[bed] == [NOT_KNOWN] * COSTS


def test_what_is_known_is_a_number(costs: dict[str, list[Any]]) -> None:
    assert all(isinstance(cost, float) and cost > 0 for cost in costs["T1"])
