"""Doses, top-ups, rounds, harvests and what falls due: logs with true figures worked out by hand beside them."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from growcells_workbooks.reading import GrowLog, read_log
from growcells_workbooks.reading.frames import frames_of
from growcells_workbooks.reading.frames.fixed_units import Fixed
from growcells_workbooks.season_figures.doses import full_fills
from growcells_workbooks.season_figures.due import due
from growcells_workbooks.season_figures.frames import FRAMES
from growcells_workbooks.season_figures.round_standings import trials
from growcells_workbooks.season_figures.round_sums import round_sums
from growcells_workbooks.season_figures.top_ups import top_ups
from log_books import write_log
from random_seasons import run

D = datetime.date
DAY = D(2026, 11, 25)
MIX = [
    ["Feed", "Part", "Analysis", "Rate g/gal", "Bag lb", "Price"],
    ["A", "calcium nitrate", "13.3-0-0 Ca 18", 1.2, 25, 28],
    ["A", "base", "7-9-26 Mg 3.5", 1.8, 10, 30],
    ["A", "Epsom salt", "MgSO4.7H2O", 0.6, 5, 9],
]
ONE = [["Feed", "Analysis", "Rate g/gal"], ["B", "7-9-26 Mg 3.5", 1]]
BED = [["Bed", "Volume gal", "Water depth in", "Feed"], ["T1", 26, 6, "A"]]
LOGS = 20
"""Random seasons of the run in CI; tests/random_seasons.py --logs 2000 makes more."""


def log_of(folder: Path, **sheets: Any) -> GrowLog:
    return read_log(write_log(folder, **sheets), DAY)


def amounts(log: GrowLog, bed: str = "T1") -> dict[str, tuple[float | None, float | None]]:
    fill = next(fill for fill in full_fills(log, DAY) if fill.bed.name == bed)
    return {dose.part.name: (dose.grams, dose.millilitres) for dose in fill.doses}


def test_a_mix_is_weighed_part_by_part_in_the_order_of_mixing(tmp_path: Path) -> None:
    # By hand: 26 gal x 1.8, 0.6 and 1.2 g; calcium last, apart from phosphate and sulfate.
    found = amounts(log_of(tmp_path, Feeds=MIX, Beds=BED))
    assert list(found) == ["base", "Epsom salt", "calcium nitrate"]
    assert [grams for grams, _ in found.values()] == pytest.approx([46.8, 15.6, 31.2], rel=1e-8)


def test_parts_in_columns_and_liquids_in_one_of_them(tmp_path: Path) -> None:
    feeds = [["Feed", "part A g/gal", "part B g/gal", "silica mL/gal"], ["A", 1.8, 1.2, 5]]
    found = amounts(log_of(tmp_path, Feeds=feeds, Beds=BED))
    assert found["part A"][0] == pytest.approx(46.8, rel=1e-8)
    assert found["part B"][0] == pytest.approx(31.2, rel=1e-8)
    assert found["silica"] == (None, pytest.approx(130, rel=1e-8))  # 26 gal x 5 mL


def test_a_liquid_among_powders(tmp_path: Path) -> None:
    feeds = [*MIX[:2], ["A", "liquid", "3-1.2-4.4 density 1.15", "5 mL/gal", None, None]]
    grams, millilitres = amounts(log_of(tmp_path, Feeds=feeds, Beds=BED))["liquid"]
    assert millilitres == pytest.approx(130, rel=1e-8)
    assert grams == pytest.approx(149.5, rel=1e-8)  # 130 mL x 1.15


def test_the_newest_fill_is_at_the_rate_in_force(tmp_path: Path) -> None:
    """A bed moved from 1 to 2.5 g a gallon: the old readings say nothing of what a gram does now."""
    fills = [["Date", "Bed", "Gallons", "g/gal"], [D(2026, 10, 1), "T1", 26, 1], [D(2026, 11, 10), "T1", 26, 2.5]]
    readings = [
        ["Date", "Bed", "EC mS/cm", "Depth in"],
        [D(2026, 10, 2), "T1", 0.8, 6],
        [D(2026, 11, 11), "T1", 2.0, 6],
        [D(2026, 11, 24), "T1", 1.5, 3],
    ]
    beds = [["Bed", "Volume gal", "Water depth in", "Feed"], ["T1", 26, 6, "B"]]
    log = log_of(tmp_path, Feeds=ONE, Beds=beds, Fills=fills, Readings=readings)
    assert amounts(log)["B"][0] == pytest.approx(65, rel=1e-8)  # 26 gal x 2.5 g
    (top_up,) = top_ups(log, DAY)
    # 13 of 26 gal are left at 1.5; full at 2.0 again lacks 26 x 2.0 - 13 x 1.5 = 32.5 gal mS; 2.5 g/gal make 2.0 mS.
    assert top_up.known and top_up.doses[0].grams == pytest.approx(32.5 * 2.5 / 2.0, rel=1e-6)
    without = log_of(tmp_path, Feeds=ONE, Beds=beds, Fills=fills, Readings=[readings[0], readings[1], readings[3]])
    (top_up,) = top_ups(without, DAY)
    assert not top_up.known or "GROW_EC" in top_up.why, "what the old rate did is never used"


FILLS = ["Date", "Bed", "Gallons", "g/gal"]
SCALED = "each part is taken 1.25 times, in the same proportions"


@pytest.mark.parametrize(
    ("sheets", "times", "word"),
    [
        ({"Fills": [FILLS, [D(2026, 11, 1), "T1", 26, 3.6], [D(2026, 11, 9), "T1", 26, 4.5]]}, 1.25, SCALED),
        ({"Plan": [["Bed", "Feed", "Planted", "Rate g/gal"], ["T1", "A", D(2026, 11, 1), 4.5]]}, 1.25, SCALED),
        ({"Fills": [FILLS, [D(2026, 11, 9), "T1", 26, 3.6]]}, 1, ""),
    ],
)
def test_a_mix_at_another_rate_keeps_its_proportions_and_says_so(
    tmp_path: Path, sheets: dict[str, Any], times: float, word: str
) -> None:
    # By hand: 26 gal x 1.8, 0.6 and 1.2 g, 3.6 g/gal together; 4.5 g/gal is 1.25 times as much.
    log = log_of(tmp_path, Feeds=MIX, Beds=BED, **sheets)
    assert [grams for grams, _ in amounts(log).values()] == pytest.approx([46.8 * times, 15.6 * times, 31.2 * times])
    (fill,) = full_fills(log, DAY)
    assert word in fill.why and bool(word) == bool(fill.why)


def test_a_mix_at_the_rate_of_one_part_is_said_not_to_be_known(tmp_path: Path) -> None:
    fills = [FILLS, [D(2026, 11, 1), "T1", 26, 3.6], [D(2026, 11, 9), "T1", 26, 1.8]]
    (fill,) = full_fills(log_of(tmp_path, Feeds=MIX, Beds=BED, Fills=fills), DAY)
    assert not fill.doses and "is that of base alone" in fill.why


def test_a_column_of_units_beside_the_rates(tmp_path: Path) -> None:
    feeds = [["Feed", "Part", "Analysis", "Rate", "Unit", "Bag", "Bag unit", "Price"]]
    feeds += [
        ["A", "base", "7-9-26", 1.8, "g/gal", 10, "lb", 30],
        ["A", "nitrate", "13.3-0-0 Ca 18", 0.3, "g/L", 5, "kg", 20],
    ]  # type: ignore[list-item]
    feeds += [
        ["A", "liquid", "3-1.2-4.4 density 1.15", 5, "mL/gal", 1, "L", 9],
        ["A", "more", "13.3-0-0 Ca 18", 1, "pinch", 1, "lb", 2],
    ]  # type: ignore[list-item]
    feeds += [["A", "rest", "13.3-0-0 Ca 18", 1, None, 1, "lb", 2]]  # type: ignore[list-item]
    log = log_of(tmp_path, Feeds=feeds, Beds=BED)
    found = amounts(log)
    assert found["base"][0] == pytest.approx(46.8) and found["liquid"][1] == pytest.approx(130)
    assert found["nitrate"][0] == pytest.approx(26 * 3.785411784 * 0.3)
    assert found["more"] == found["rest"] == (None, None), "a number whose unit is not understood is no number"
    (feed,) = log.feeds
    fixed = Fixed(log)
    assert fixed.of_part(feed.parts[1], "package", "mL")[0] == pytest.approx(5000)
    assert fixed.of_part(feed.parts[2], "package", "mL")[1] == pytest.approx(1000)
    assert {left.cell for left in log.left_out} == {"D5", "E5", "D6"}


def test_two_rates_of_which_neither_is_newer_are_said_not_to_be_known(tmp_path: Path) -> None:
    beds = [["Bed", "Volume gal", "Feed", "Rate g/gal"], ["T1", 26, "B", 2.5]]
    fills = [["Date", "Bed", "Gallons", "g/gal"], [D(2026, 11, 1), "T1", 26, 1]]
    (fill,) = full_fills(log_of(tmp_path, Feeds=ONE, Beds=beds, Fills=fills), DAY)
    assert not fill.doses and "two rates" in fill.why


def test_a_rate_of_another_round_is_not_taken_over(tmp_path: Path) -> None:
    beds = [["Bed", "Volume gal"], ["T1", 26]]
    plan = [
        ["Bed", "Crop", "Feed", "Planted", "Rate g/gal"],
        ["T1", "basil", "B", D(2026, 9, 1), 2],
        ["T1", "basil", "B", D(2026, 11, 1), None],
    ]
    assert amounts(log_of(tmp_path, Feeds=ONE, Beds=beds, Plan=plan))["B"][0] == pytest.approx(26, rel=1e-8)


def test_rounds_are_never_pooled(tmp_path: Path) -> None:
    plan = [["Bed", "Crop", "Feed", "Planted"]]
    plan += [
        [bed, "kale", feed, day] for bed, feed in (("T1", "A"), ("T2", "B")) for day in (D(2026, 9, 1), D(2026, 10, 10))
    ]  # type: ignore[list-item]
    weights = [["Date", "Bed", "Plant", "Fresh g"]]
    for day, plus in ((D(2026, 10, 5), 0), (D(2026, 11, 20), 50)):
        weights += [[day, bed, n, 100 + plus + n + more] for bed, more in (("T1", 0), ("T2", 20)) for n in (1, 2)]  # type: ignore[list-item]
    log = log_of(tmp_path, Beds=[["Bed", "Volume gal"], ["T1", 26], ["T2", 26]], Plan=plan, Weights=weights)
    found = {(trial.round, one.treatment): (one.n, one.mean) for trial in trials(log, DAY) for one in trial.standings}
    assert found == {(1, "A"): (1, 101.5), (1, "B"): (1, 121.5), (2, "A"): (1, 151.5), (2, "B"): (1, 171.5)}


def test_a_round_by_its_harvest(tmp_path: Path) -> None:
    plan = [["Bed", "Crop", "Feed", "Planted"], ["T1", "kale", "A", D(2026, 9, 1)]]
    harvests = [
        ["Date", "Bed", "Heads", "Total weight lb", "Price a head"],
        [D(2026, 10, 6), "T1", 20, 8, 2.5],
        [D(2026, 10, 9), "T1", 4, 1, 2.5],
    ]
    log = log_of(tmp_path, Feeds=MIX, Beds=BED, Plan=plan, Harvests=harvests)
    (one,) = round_sums(log, DAY)
    # By hand: 24 heads at 2.50; 31.2 g of 25 lb at 28, 46.8 of 10 lb at 30, 15.6 of 5 lb at 9; 453.59237 g a lb (NIST)
    cost = (31.2 / 25 * 28 + 46.8 / 10 * 30 + 15.6 / 5 * 9) / 453.59237
    assert (one.cut.heads, one.cut.income, one.days) == (24, 60, 38)
    assert one.cut.mass == pytest.approx(9 * 453.59237)
    assert one.cost == pytest.approx(cost) and one.left == pytest.approx(60 - cost)


def test_what_falls_due(tmp_path: Path) -> None:
    plan = [
        ["Bed", "Crop", "Feed", "Sown", "Transplanted", "Expected harvest"],
        ["T1", "lettuce", "A", D(2026, 10, 15), D(2026, 10, 29), D(2026, 12, 1)],
        ["T1", "lettuce", "A", D(2026, 11, 27), D(2026, 12, 4), None],
        ["T2", "lettuce", "A", D(2026, 11, 1), D(2026, 11, 24), None],
    ]
    log = log_of(tmp_path, Beds=[["Bed", "Volume gal"], ["T1", 26], ["T2", 26]], Plan=plan)
    found = [(entry.when, entry.bed, entry.what) for entry in due(log, DAY)]
    assert found == [
        (D(2026, 11, 27), "T1", "sow"),
        (D(2026, 11, 27), "T2", "first check"),  # 3 days after transplanting
        (D(2026, 12, 1), "T1", "harvest"),
        (D(2026, 12, 4), "T1", "transplant"),
    ]


def test_tables_have_the_columns_that_were_promised(tmp_path: Path) -> None:
    frames = frames_of(log_of(tmp_path, Feeds=MIX, Beds=BED), DAY, FRAMES)
    assert list(frames["doses"])[:7] == ["bed", "feed", "part", "order", "volume_l", "amount_g", "amount_ml"]
    assert list(frames["topups"])[:6] == ["bed", "water_l", "part", "amount_g", "amount_ml", "known"]
    assert list(frames["standings"])[:7] == ["round", "treatment", "n", "mean_g", "low_g", "high_g", "letters"]
    assert list(frames["todo"]) == ["when", "bed", "what", "why"]
    assert set(frames["topups"]["known"]) == {"no"}


def test_random_seasons() -> None:
    """No dose, top-up, income or round of a random season is off without a word."""
    told: list[str] = []
    counts = run(range(LOGS), told.append)
    assert not told, told[:3]
    assert counts["doses", "right"] > 5 * counts["doses", "said"] > 0
    assert counts["topups", "right"] and counts["harvests", "right"]
