"""What harvests were sold for: tables as growers head them, the true income worked out by hand beside each."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.reading import read_log
from growcells_workbooks.reading.frames.fixed_units import Fixed
from growcells_workbooks.reading.frames.yields import in_log
from growcells_workbooks.reading.model.log_cells import Sheet
from growcells_workbooks.reading.read import read_tables
from growcells_workbooks.season_figures.round_sums import round_sums
from log_books import BEDS, write_log
from log_pages import Page, sheet_of

DAY = datetime.date(2026, 11, 20)
SALES: list[tuple[list[str], list[object], float | str]] = [
    (["Heads", "Price a head"], [20, 2.5], 50.0),
    (["Heads", "Income"], [20, 41.25], 41.25),
    (["Heads cut", "Culls", "Price a head"], [20, 3, 2.5], 42.5),
    (["Heads cut", "Losses", "Price a head"], [20, 2, 2.5], 50.0),
    (["Heads harvested", "Culls", "Losses", "Price each"], [20, 3, 2, 2.5], 42.5),
    (["Heads", "Heads sold", "Culls", "Price per head"], [20, 16, 3, 2.5], 40.0),
    (["Heads sold", "Price a head"], [16, 2.5], 40.0),
    (["Heads", "Culls", "Price a head"], [20, 3, 2.5], "its culls are among the heads"),
    (["Heads", "Culls", "Price a head"], [20, 0, 2.5], 50.0),
    (["Heads", "Losses", "Price a head"], [20, 2, 2.5], "its losses are among the heads"),
    (["Heads cut", "Culls", "Price a head"], [2, 3, 2.5], "more heads were culled than cut"),
    (["Bunches sold", "Price a bunch"], [6, 4], 24.0),
    (["Bunches", "Price per bunch"], [6, 4], 24.0),
    (["Bunches", "Culls", "Price a bunch"], [6, 2, 4], "among the bunches"),
    (["Heads cut", "Heads per bunch", "Culls", "Price a bunch"], [21, 3, 3, 4], 24.0),
    (["Heads", "Price a bunch"], [20, 4], "how many heads make one"),
    (["Heads", "Bunches", "Price each"], [20, 6, 4], "what its price is of"),
    (["Bunches", "Price each"], [6, 4], 24.0),
    (["Heads", "Total weight lb", "Price"], [20, 8, 4], "what its price is of"),
    (["Heads", "Total weight lb", "Price/lb"], [20, 8, 4], 32.0),
    (["Heads", "Total weight lb", "$/lb"], [20, 8, 4], 32.0),
    (["Heads", "Total weight kg", "Price ($/lb)"], [20, 2, 4], 4 * 2000 / 453.59237),
    (["Heads", "Total weight lb", "Weight sold lb", "Price/lb"], [20, 8, 6, 4], 24.0),
    (["Heads", "Total weight lb", "Culls", "Price/lb"], [20, 8, 2, 4], "what was sold alone"),
    (["Heads", "Culls lb", "Price a head"], [20, 2, 4], 'column "Culls lb" is not understood'),
    (["Heads", "Sold", "Price a head"], [20, 18, 4], 'column "Sold" is not understood'),
]


def page_of(title: str, rows: list[list[Any]]) -> Sheet:
    """A sheet in memory."""
    page = Page(title)
    for number, row in enumerate(rows, 1):
        for place, value in enumerate(row, 1):
            page.put(number, place, value)
    return sheet_of(page)


@pytest.mark.parametrize(("heads", "cells", "true"), SALES)
def test_income(heads: list[str], cells: list[object], true: float | str) -> None:
    rows = [["Date", "Bed", *heads], [DAY, "T1", *cells]]
    log = read_tables([page_of("Beds", BEDS), page_of("Harvests", rows)], Path("log.xlsx"))
    (cut,) = log.harvests
    sale = in_log(Fixed(log), cut)
    if isinstance(true, str):
        assert sale.income is None and true in sale.why, sale
    else:
        assert sale.income == pytest.approx(true, rel=1e-9) and not sale.why, sale


@pytest.mark.parametrize(
    ("heads", "sizes", "square_metres"),
    [
        (["Length in", "Width in", "Depth in"], [40, 25, 6], 1000 * 0.0254**2),
        (["Length cm", "Width cm"], [100, 60], 0.6),
        (["Shape", "Length cm", "Depth cm"], ["round", 80, 20], 0.16 * 3.141592653589793),
        (["Volume gal"], [26], None),
    ],
)
def test_the_yield_of_an_area(tmp_path: Path, heads: list[str], sizes: list[Any], square_metres: float | None) -> None:
    plan = [["Bed", "Crop", "Planted"], ["T1", "kale", DAY - datetime.timedelta(days=40)]]
    cut = [["Date", "Bed", "Heads cut", "Culls", "Weight kg", "Price a head"], [DAY, "T1", 20, 2, 3, 2]]
    log = read_log(write_log(tmp_path, Beds=[["Bed", *heads], ["T1", *sizes]], Plan=plan, Harvests=cut), DAY)
    (one,) = round_sums(log, DAY)
    assert one.cut.income == 36 and one.cut.mass_a_head == 150
    assert one.mass_a_square_metre == (None if square_metres is None else pytest.approx(3000 / square_metres))
